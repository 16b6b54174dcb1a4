package wording

import "maps"

func init() { maps.Copy(spanish, spanishVisits) }

// spanishVisits are the texts of visits: calendars, booking by link, day sheets, the work ahead.
var spanishVisits = map[string]string{
	"feed.held":     "Propuesta: {what}",
	"feed.own_time": "Tiempo propio",
}
