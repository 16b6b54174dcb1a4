// Package cadence decides who is told what, when. It is pure: what is due, what was told already and the present
// moment go in; the notices that are wanted now and the moment to look again come out.
package cadence

import (
	"fmt"
	"time"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Rung is one step of the ladder of reminders: so many days from the due day.
type Rung struct {
	Step vent.Step
	Days int // from the due day: negative is before
}

// Policy is how often and at what time of day people are told.
type Policy struct {
	Ladder []Rung // earliest first
	// Opens and Shuts are minutes after midnight at the person's place; nothing is sent outside them.
	Opens, Shuts int
}

// Default is the ladder 30 days, 7 days, on the day, 14 days after, from 08:00 to 18:00.
// Two reminders beat one (a trial with 54 066 patients compared the numbers of reminders for appointments); the
// exact days are common practice with no source.
func Default() Policy {
	return Policy{
		Ladder: []Rung{{"30_days", -30}, {"7_days", -7}, {"on_the_day", 0}, {"14_days_late", 14}},
		Opens:  8 * 60, Shuts: 18 * 60,
	}
}

// Validate says what is wrong with the policy.
func (p Policy) Validate() error {
	if p.Opens < 0 || p.Shuts > 24*60 || p.Opens >= p.Shuts {
		return fmt.Errorf("the window for mail, minute %d to %d of the day, must open before it shuts, within one day", p.Opens, p.Shuts)
	}
	seen := map[vent.Step]bool{}
	for i, r := range p.Ladder {
		switch {
		case r.Step == "" || seen[r.Step]:
			return fmt.Errorf("step %d of the ladder of reminders has no name, or that of an earlier one: %q", i+1, r.Step)
		case i > 0 && r.Days <= p.Ladder[i-1].Days:
			return fmt.Errorf("step %q of the ladder of reminders does not come after the one before it", r.Step)
		}
		seen[r.Step] = true
	}
	return nil
}

// Told says which steps of a due a person was told, or is being told, for its present arm.
type Told func(d vent.Due, s vent.Step) bool

// Want is one notice that is wanted now.
type Want struct {
	Due  vent.Due
	Step vent.Step
}

// Plan is what follows for one person.
type Plan struct {
	Wanted []Want
	// Next is when to look again though nothing changes; never when nothing lies ahead.
	Next vent.Instant
}

// Tell decides what one person is to be told at the moment about the open dues.
//
// A late run tells what is true now, not all that was missed: of the rungs that have come only the last
// one counts, and it is told once. Rungs that passed unused are gone.
func Tell(dues []vent.Due, told Told, p Policy, zone *time.Location, now vent.Instant) Plan {
	today := now.DateIn(zone)
	var plan Plan
	for _, d := range dues {
		if d.State != vent.DueOpen {
			continue
		}
		rung, ahead := p.at(d, today)
		if rung != nil && !told(d, rung.Step) {
			plan.Wanted = append(plan.Wanted, Want{Due: d, Step: rung.Step})
		}
		if ahead != 0 {
			plan.Next = earlier(plan.Next, vent.InstantOf(ahead.At(p.Opens, zone)))
		}
	}
	return plan
}

// StepOn gives the step at which a due stands today: the last whose day has come; "" before the first.
func (p Policy) StepOn(d vent.Due, today vent.Date) vent.Step {
	if rung, _ := p.at(d, today); rung != nil {
		return rung.Step
	}
	return ""
}

// Ahead gives how many days before its day a due is first told.
func (p Policy) Ahead() int {
	if len(p.Ladder) == 0 {
		return 0
	}
	return -p.Ladder[0].Days
}

// at gives the last rung that has come by today, nil before the first, and the day of the next; zero after the last.
func (p Policy) at(d vent.Due, today vent.Date) (rung *Rung, ahead vent.Date) {
	for i := range p.Ladder {
		if !climbs(d, p.Ladder[i]) {
			continue
		}
		on := d.Day.AddDays(p.Ladder[i].Days)
		if on > today {
			return rung, on
		}
		rung = &p.Ladder[i]
	}
	return rung, 0
}

// climbs reports whether a due takes a rung. A check for which nobody has to be called is told on its day, and once more
// where it comes so seldom that the next one would not remind of it: whoever is told every week stops reading. Ours.
func climbs(d vent.Due, r Rung) bool {
	if d.Kind != vent.DueCheck {
		return true
	}
	rule, _ := rules.CheckByID(d.Reason.Rule)
	if rule.Once || rule.By == rules.Licensed || rule.By == rules.Competent {
		return true // something is to be bought, or somebody to be called
	}
	return r.Days == 0 || r.Days > 0 && d.Reason.Months >= monthsTwice
}

// monthsTwice is the shortest interval of a check that is told twice.
const monthsTwice = 3

// Slot gives the local day and the moment, now or later, at which a message may go: inside the window at the person's
// place, today if the window has not shut, else tomorrow. taken days are passed over: they have had their message.
// spread, 0 to 1, gives a person their place within the window's first two hours, so that not all leave at once.
func (p Policy) Slot(now vent.Instant, zone *time.Location, taken func(vent.Date) bool, spread float64) (vent.Date, vent.Instant) {
	day := now.DateIn(zone)
	if now >= vent.InstantOf(day.At(p.Shuts, zone)) {
		day = day.AddDays(1)
	}
	for taken(day) {
		day = day.AddDays(1)
	}
	width := min(120, p.Shuts-p.Opens-1)
	at := vent.InstantOf(day.At(p.Opens, zone).Add(time.Duration(spread * float64(width) * float64(time.Minute))))
	return day, max(at, now)
}

func earlier(a, b vent.Instant) vent.Instant {
	if a == 0 || b < a {
		return b
	}
	return a
}
