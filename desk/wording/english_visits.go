package wording

import "maps"

func init() { maps.Copy(english, englishVisits) }

// englishVisits are the texts of visits: calendars, booking by link, day sheets, the work ahead.
var englishVisits = map[string]string{
	"feed.held":     "Offered: {what}",
	"feed.own_time": "Own time",
}
