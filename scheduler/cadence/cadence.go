// Package cadence decides who is told what, when. It is pure: what is due, what was told already and the present
// moment go in; the notices that are wanted now and the moment to look again come out.
package cadence

import (
	"time"

	"ventdue/vent"
)

// bookedGrace is how many days after a booked visit its dues are still left alone: somebody has to write down what was done.
const bookedGrace = 3

// Matter is one due as it concerns one person.
type Matter struct {
	Due    vent.Due
	Ladder Ladder
	Booked vent.Date // day of the visit that is agreed for it; none: nobody comes yet
}

// Standing is where a matter stands on a day.
type Standing struct {
	Step  vent.Step // at which it is told; "": not at all
	Why   string    // why not; "" before its first step
	Next  vent.Date // on which that changes by itself; none: never
	Spent bool      // the last step has come: it is left to the operator
}

// On gives where the matter stands.
//
// A late run tells what is true now, not all that was missed: of the steps that have come only the last one
// counts. Those that passed unused are gone.
func (m Matter) On(today vent.Date) Standing {
	switch {
	case m.Due.State != vent.DueOpen:
		return Standing{Why: "it is no longer due"}
	case m.Booked != 0 && today <= m.Booked.AddDays(bookedGrace):
		return Standing{Why: "a visit is booked for it", Next: m.Booked.AddDays(bookedGrace + 1)}
	}
	last, ahead := m.Ladder.at(m.Due.Day, today)
	return Standing{Step: last.step, Next: ahead, Spent: m.Ladder.spent(m.Due.Day, today)}
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

// Tell decides what one person is to be told at the moment about what is due. Each step is told once.
func Tell(matters []Matter, told Told, p Policy, zone *time.Location, now vent.Instant) Plan {
	today := now.DateIn(zone)
	var plan Plan
	for _, m := range matters {
		s := m.On(today)
		if s.Step != "" && !told(m.Due, s.Step) {
			plan.Wanted = append(plan.Wanted, Want{Due: m.Due, Step: s.Step})
		}
		if s.Next != 0 {
			plan.Next = earlier(plan.Next, vent.InstantOf(s.Next.At(p.Opens, zone)))
		}
	}
	return plan
}

func earlier(a, b vent.Instant) vent.Instant {
	if a == 0 || b != 0 && b < a {
		return b
	}
	return a
}
