package visits

import (
	"slices"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Job is a due with what matters of the place for whoever comes.
type Job struct {
	Due    vent.Due
	UnitID vent.ID // the door; none for a riser or a building
	Gas    bool    // it is about a gas dryer
	Roof   bool    // somebody must go on the roof
	// Shortest is how many days after a full cleaning no preventive work is done.
	Shortest int
	// LookMinutes is how long a look, a check or a first answer to a sign takes; cleaning takes what the technician takes.
	LookMinutes int
	// Tried is the last day on which somebody came for it and could do nothing; none: nobody did.
	Tried vent.Date
}

// Work turns a due into work for a visit; false where nobody has to come for it: the people who live there do it.
//
// What an unlicensed technician must not do on a gas dryer (move it, open its connection) asks for a licence. A sign
// and a stop do not wait for the site's notice: an occupant asked, or nobody may use the dryer; local law still decides.
func Work(j Job) (Due, bool) {
	d := j.Due
	if d.Kind == vent.DueCheck && !askForVisit(d.Reason) {
		return Due{}, false
	}
	out := Due{
		ID: d.ID, SiteID: d.SiteID, UnitID: j.UnitID, Kind: d.Kind, Earliest: d.Earliest, Day: d.Day, Latest: d.Latest,
		Stop: d.Severity == vent.Stop, Chance: min(1, max(0, d.Reason.Chance)), Every: every(d),
	}
	if out.Earliest > out.Day {
		out.Earliest = out.Day
	}
	if out.Latest < out.Day {
		out.Latest = out.Day
	}
	out.Waived = out.Stop || d.Kind == vent.DueSign
	if d.Kind != vent.DueClean && d.Kind != vent.DueFault {
		out.Minutes = j.LookMinutes
	}
	if (d.Kind == vent.DueClean || d.Kind == vent.DueLook) && d.Reason.Since != 0 {
		out.Floor = d.Reason.Since.AddDays(j.Shortest)
	}
	if j.Gas && d.Kind != vent.DueLook {
		out.Skills = append(out.Skills, SkillGas)
	}
	if j.Roof && (d.Kind == vent.DueClean || d.Kind == vent.DueLook) {
		out.Skills = append(out.Skills, SkillRoof)
	}
	if j.Tried != 0 {
		out.tryAgain(j.Tried)
	}
	return out, true
}

// tryAgain opens the window on the day after one on which nothing could be done. One that has closed by then is left to catching up.
func (d *Due) tryAgain(tried vent.Date) {
	again := tried.AddDays(1)
	if again > d.Earliest && again <= d.Latest {
		d.Earliest, d.Day = again, max(d.Day, again)
	}
}

// askForVisit reports whether one of the checks of a due is for somebody trained or licensed.
func askForVisit(r vent.Reason) bool {
	for _, id := range append(strings.Split(r.Also, ","), r.Rule) {
		if c, ok := rules.CheckByID(strings.TrimSpace(id)); ok && c.By != rules.Anybody {
			return true
		}
	}
	return false
}

// usualYear is after how many days preventive work comes again where nothing says so.
const usualYear = 365

// every is how many days after it was done preventive work is due again; 0 for work that is done once.
func every(d vent.Due) int {
	switch d.Kind {
	case vent.DueFault, vent.DueSign:
		return 0
	case vent.DueCheck:
		return d.Reason.Months * 30
	}
	if d.Reason.Since != 0 && d.Reason.Since < d.Day {
		return min(2*usualYear, max(30, d.Reason.Since.DaysUntil(d.Day)))
	}
	return usualYear
}

// Group gives the dues that can be done at one go with the most pressing one: their windows share a day with all of those before.
// What is over already counts as due until `until`. The dues must be of one site; the rest is left for another visit.
func Group(dues []Due, today, until vent.Date) []Due {
	all := slices.Clone(dues)
	slices.SortStableFunc(all, func(a, b Due) int { return int(closes(a, today, until) - closes(b, today, until)) })
	var out []Due
	var lo, hi vent.Date
	for _, d := range all {
		earliest, _ := d.window()
		first, last := max(earliest, today), closes(d, today, until)
		if len(out) > 0 && (first > hi || last < lo) {
			continue
		}
		if len(out) == 0 {
			lo, hi = first, last
		}
		lo, hi = max(lo, first), min(hi, last)
		out = append(out, d)
	}
	return out
}

func closes(d Due, today, until vent.Date) vent.Date {
	_, latest := d.window()
	if latest < today {
		return until
	}
	return latest
}
