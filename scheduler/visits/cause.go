package visits

import (
	"slices"
	"strings"
)

// Cause is why a due is late or stands elsewhere than before.
type Cause string

// The causes, from what rules a day out first to what rules it out last.
const (
	CauseOver    Cause = "over"    // its window was over before the plan began
	CauseNotice  Cause = "notice"  // its window is over before notice can be given
	CauseSkill   Cause = "skill"   // nobody has all the skills
	CauseWindow  Cause = "window"  // its window does not hold the day
	CauseOff     Cause = "off"     // nobody with the skills works then
	CauseClosed  Cause = "closed"  // the site is closed then
	CauseAccess  Cause = "access"  // the site's hours leave too little of the working day
	CauseLong    Cause = "long"    // work and drive do not fit into a day
	CauseBooked  Cause = "booked"  // frozen visits take the time
	CauseFull    Cause = "full"    // other dues take the time
	CauseBetter  Cause = "better"  // it fits, but elsewhere costs fewer trips, less driving or less waiting
	CauseNew     Cause = "new"     // it had no place before
	CauseGone    Cause = "gone"    // it is no longer due
	CauseSettled Cause = "settled" // it stands in a frozen visit now
)

// causes are the sentences, each with what helps.
var causes = map[Cause]string{
	CauseOver:    "its window was over before the plan began: it goes as soon as there is room",
	CauseNotice:  "its window is over before the site's notice can be given: ask the occupant to waive the notice",
	CauseSkill:   "nobody has the skills it needs",
	CauseWindow:  "its window does not hold that day",
	CauseOff:     "nobody with the skills works within its window: add a working day",
	CauseClosed:  "the site is closed on every working day of its window: ask for one day of access",
	CauseAccess:  "the site's access hours leave too little of every working day of its window: ask for longer hours",
	CauseLong:    "the work and the way there do not fit into one working day: share it or lengthen the day",
	CauseBooked:  "booked visits take the time: move one of them",
	CauseFull:    "other dues take the time: add a technician's day",
	CauseBetter:  "elsewhere it costs fewer trips, less driving or less waiting",
	CauseNew:     "it had no place before",
	CauseGone:    "it is no longer due",
	CauseSettled: "it stands in a booked visit now",
}

func (c Cause) text() string { return causes[c] }

// rank orders the causes that rule out a day.
var rank = []Cause{CauseSkill, CauseWindow, CauseOff, CauseClosed, CauseAccess, CauseLong, CauseBooked, CauseFull}

// why finds the cause of a late due: of all technicians and days of its window, the last hurdle that any of them reached.
func (best *plan) why(x int32) Cause {
	d := &best.m.dues[x]
	if d.overdue && d.latest < 0 {
		return CauseOver
	}
	if d.overdue {
		return CauseNotice
	}
	farthest := CauseSkill
	for t := range int32(len(best.m.techs)) {
		for on := d.lo; on <= d.hi; on++ {
			if c := best.hurdle(x, t, on); slices.Index(rank, c) > slices.Index(rank, farthest) {
				farthest = c
			}
		}
	}
	return farthest
}

// hurdle is what keeps a due from a technician's day; CauseFull where only other proposed visits can.
func (best *plan) hurdle(x, t, on int32) Cause {
	m := best.m
	d, s := &m.dues[x], &m.sites[m.dues[x].site]
	switch {
	case d.skills&^m.techs[t].skills != 0:
		return CauseSkill
	case on < d.lo || on > d.hi:
		return CauseWindow
	case m.works(t, on) == Span{}:
		return CauseOff
	case s.closed != nil && s.closed[on]:
		return CauseClosed
	}
	open, need := m.open(d.site, t, on), m.minutes(x, t)
	if open.To-open.From < int(need+m.techs[t].trip) {
		if hours := m.works(t, on); hours.To-hours.From < int(need+m.techs[t].trip) {
			return CauseLong
		}
		return CauseAccess
	}
	fits := func(r *route) bool {
		found := false
		m.gaps(m.dayOf(t*m.days+on), r, d.site, open, need, func(gap) { found = true })
		return found
	}
	frozen := route{stops: slices.Clone(m.frozen[t*m.days+on])}
	for i := range frozen.stops {
		frozen.count += frozen.stops[i].count
	}
	switch {
	case !fits(&route{}):
		return CauseLong
	case !fits(&frozen) || frozen.count >= m.techs[t].maxDues:
		return CauseBooked
	}
	return CauseFull
}

// say gives the sentence for a late due.
func (best *plan) say(p *Problem, c Cause, x int) string {
	if c == CauseSkill && len(p.Dues[x].Skills) > 0 {
		return "nobody has all the skills it needs: " + strings.Join(p.Dues[x].Skills, ", ")
	}
	if len(p.Technicians) == 0 {
		return "there is no technician"
	}
	return c.text()
}
