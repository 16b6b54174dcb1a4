package visits

import (
	"encoding/binary"

	"ventdue/vent"
)

// Ids for tests: a letter for the kind and a number.
func id(kind byte, n int) vent.ID {
	var out vent.ID
	out[0] = kind
	binary.BigEndian.PutUint32(out[12:], uint32(n)+1)
	return out
}

func siteID(n int) vent.ID { return id('s', n) }
func techID(n int) vent.ID { return id('t', n) }
func dueID(n int) vent.ID  { return id('d', n) }

// monday is a Monday: 7 September 2026, by any calendar.
var monday = vent.NewDate(2026, 9, 7)

// weekdays are the same hours on Monday to Friday.
func weekdays(from, to int) Week {
	var w Week
	for i := 1; i <= 5; i++ {
		w[i] = Span{From: from, To: to}
	}
	return w
}

// everyDay are the same hours on all days.
func everyDay(from, to int) Week {
	w := weekdays(from, to)
	w[0], w[6] = Span{From: from, To: to}, Span{From: from, To: to}
	return w
}

// east is the place so many km east of a point on the equator, where one degree of longitude is 2πR/360.
func east(km float64) *Place { return &Place{Lat: 0, Lon: 10 + km/111.1950797} }

// worker is a technician at east(0) who works 8 to 16 on weekdays and takes 45 minutes for a run and 15 for a trip.
func worker(n int, skills ...string) Technician {
	return Technician{ID: techID(n), Hours: weekdays(480, 960), Home: east(0), RunMinutes: 45, TripMinutes: 15, Skills: skills}
}

// due is a due at a site with a window in days from monday.
func task(n, site, lo, day, hi int) Due {
	return Due{
		ID: dueID(n), SiteID: siteID(site), Kind: vent.DueClean,
		Earliest: monday.AddDays(lo), Day: monday.AddDays(day), Latest: monday.AddDays(hi),
	}
}

func tier(s Schedule, name string) Tier {
	for _, t := range s.Tiers {
		if t.Name == name {
			return t
		}
	}
	return Tier{}
}
