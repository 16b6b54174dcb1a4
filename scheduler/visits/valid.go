package visits

import (
	"fmt"
	"math"
	"strconv"

	"ventdue/vent"
)

// longest is the longest stretch of days that can be planned in one go.
const longest = 800

// mostSkills is how many different skills one problem can tell apart.
const mostSkills = 64

// Validate names every part of the problem that cannot be. As an error it matches vent.ErrInvalid.
func (p Problem) Validate() error {
	var bad vent.Problems
	if !p.Today.Valid() {
		bad.Add("today", "", "is missing: give the first day that may be planned")
	}
	if span := p.Today.DaysUntil(p.Last); !p.Last.Valid() || span < 0 || span >= longest {
		bad.Add("last", p.Last.String(), "must be from today to %d days later", longest-1)
	}
	bad.Under("policy", p.Policy.problems())
	sites := map[vent.ID]bool{}
	for i, s := range p.Sites {
		once(&bad, sites, fmt.Sprintf("sites[%d]", i), s.ID)
		bad.Under(fmt.Sprintf("sites[%d]", i), s.problems())
	}
	technicians := map[vent.ID]bool{}
	for i, t := range p.Technicians {
		once(&bad, technicians, fmt.Sprintf("technicians[%d]", i), t.ID)
		bad.Under(fmt.Sprintf("technicians[%d]", i), t.problems())
	}
	dues := map[vent.ID]bool{}
	for i, d := range p.Dues {
		once(&bad, dues, fmt.Sprintf("dues[%d]", i), d.ID)
		if !sites[d.SiteID] {
			bad.Add(fmt.Sprintf("dues[%d].site", i), d.SiteID.String(), "is not among the sites")
		}
		bad.Under(fmt.Sprintf("dues[%d]", i), d.problems())
	}
	for i, v := range p.Frozen {
		part := fmt.Sprintf("frozen[%d]", i)
		if !technicians[v.TechnicianID] {
			bad.Add(part+".technician", v.TechnicianID.String(), "is not among the technicians")
		}
		if !v.SiteID.IsZero() && !sites[v.SiteID] {
			bad.Add(part+".site", v.SiteID.String(), "is not among the sites")
		}
		within(&bad, part+".start", float64(v.Start), 0, 24*60-1)
		within(&bad, part+".minutes", float64(v.Minutes), 1, 24*60)
	}
	return bad.Err()
}

func (p Policy) problems() vent.Problems {
	var bad vent.Problems
	within(&bad, "travel.factor", p.Travel.Factor, 1, 5)
	within(&bad, "travel.km_per_hour", p.Travel.KmPerHour, 1, 200)
	within(&bad, "travel.unknown", float64(p.Travel.Unknown), 0, 600)
	within(&bad, "catch_up", float64(p.CatchUp), 0, 366)
	within(&bad, "catch_up_stop", float64(p.CatchUpStop), 0, 366)
	within(&bad, "turnover_days", float64(p.TurnoverDays), 0, 366)
	within(&bad, "grid", float64(p.Grid), 1, 60)
	within(&bad, "effort", float64(p.Effort), 0, 1e6)
	return bad
}

func (s Site) problems() vent.Problems {
	var bad vent.Problems
	s.Place.problems(&bad)
	s.Access.problems(&bad, "access")
	within(&bad, "notice_days", float64(s.NoticeDays), 0, 365)
	for _, w := range s.Prefer {
		within(&bad, "prefer", float64(w), 0, 6)
	}
	return bad
}

func (t Technician) problems() vent.Problems {
	var bad vent.Problems
	t.Home.problems(&bad)
	t.Hours.problems(&bad, "hours")
	within(&bad, "run_minutes", float64(t.RunMinutes), 1, 24*60)
	within(&bad, "trip_minutes", float64(t.TripMinutes), 0, 24*60)
	within(&bad, "max_dues", float64(t.MaxDues), 0, 1000)
	return bad
}

func (d Due) problems() vent.Problems {
	var bad vent.Problems
	if !d.Day.Valid() {
		bad.Add("day", "", "is missing: give the day it is due")
	}
	if earliest, latest := d.window(); earliest > d.Day || latest < d.Day {
		bad.Add("window", fmt.Sprintf("%s to %s", earliest, latest), "does not hold the day %s", d.Day)
	}
	within(&bad, "minutes", float64(d.Minutes), 0, 24*60)
	within(&bad, "chance", d.Chance, 0, 1)
	within(&bad, "every", float64(d.Every), 0, 3660)
	return bad
}

// window gives the days from and to which the due may be done.
func (d Due) window() (earliest, latest vent.Date) {
	earliest, latest = d.Earliest, d.Latest
	if earliest == 0 {
		earliest = d.Day
	}
	if latest == 0 {
		latest = d.Day
	}
	return earliest, latest
}

func (p *Place) problems(bad *vent.Problems) {
	if p != nil {
		within(bad, "lat", p.Lat, -90, 90)
		within(bad, "lon", p.Lon, -180, 180)
	}
}

func (w Week) problems(bad *vent.Problems, field string) {
	for i, s := range w {
		if s.From < 0 || s.To > 24*60 || s.From > s.To {
			bad.Add(fmt.Sprintf("%s[%d]", field, i), fmt.Sprintf("%d-%d", s.From, s.To), "must be minutes of one day, the earlier first")
		}
	}
}

func within(bad *vent.Problems, field string, v, least, most float64) {
	if math.IsNaN(v) || v < least || v > most {
		bad.Add(field, strconv.FormatFloat(v, 'g', 6, 64), "must be from %g to %g", least, most)
	}
}

func once(bad *vent.Problems, seen map[vent.ID]bool, part string, id vent.ID) {
	if id.IsZero() || seen[id] {
		bad.Add(part+".id", id.String(), "must be there and be there once")
	}
	seen[id] = true
}
