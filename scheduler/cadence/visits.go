package cadence

import (
	"time"

	"ventdue/vent"
)

// The steps of what is told of a visit, beside the days before it.
const (
	StepBooked    vent.Step = "booked"
	StepMoved     vent.Step = "moved"
	StepCancelled vent.Step = "cancelled"
	StepEntry     vent.Step = "entry"
)

// VisitMatter is one appointment as it concerns one person.
type VisitMatter struct {
	Visit  vent.Visit
	Part   vent.Appointment
	Begins vent.Instant // of the part
	// Occupant says that they live there and are no contact of who booked it: they are told of the entry, EntryDays before.
	Occupant  bool
	EntryDays int
	// Told are the notices of it that stand with the person, oldest first.
	Told []vent.Notice
}

// State gives where the part stands: it is cancelled with its visit. What is offered, or over, is nothing to tell of.
func (m VisitMatter) State() vent.VisitState {
	switch {
	case m.Visit.State == vent.Cancelled || m.Part.State == vent.Cancelled:
		return vent.Cancelled
	case m.Visit.State == vent.Booked && m.Part.State == vent.Booked:
		return vent.Booked
	}
	return vent.Proposed
}

// VisitStanding is what is to be told of an appointment at a moment.
type VisitStanding struct {
	Kind vent.NoticeKind // "": nothing
	Step vent.Step
	Next vent.Date // on which that changes by itself; none: never
}

// On gives what a person is to be told of the appointment.
//
// Who was told a day and an hour is told when they no longer hold; who never was told is not told that it was cancelled. A
// notice that still waits says what holds when it goes. A reminder is spared to whom the day was told on that reminder's own day
// or later.
func (m VisitMatter) On(p Policy, zone *time.Location, now vent.Instant) VisitStanding {
	said, knows := m.said()
	if m.Begins <= now {
		return VisitStanding{}
	}
	switch m.State() {
	case vent.Cancelled:
		if knows && said.State != vent.NoticeWanted {
			return VisitStanding{Kind: vent.NoticeVisitCancelled, Step: StepCancelled}
		}
	case vent.Booked:
		switch {
		case !knows:
			return m.first(now.DateIn(zone))
		case said.State != vent.NoticeWanted && (said.Day != m.Visit.On || said.Start != m.Part.Start):
			return VisitStanding{Kind: vent.NoticeVisitMoved, Step: StepMoved}
		}
		return m.soon(p, said, zone, now)
	}
	return VisitStanding{}
}

// said gives the notice by which the person last learnt when the visit is; none where they believe that there is none.
func (m VisitMatter) said() (last vent.Notice, knows bool) {
	for _, n := range m.Told {
		switch n.Kind {
		case vent.NoticeVisitCancelled:
			last, knows = n, false
		case vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeEntry:
			last, knows = n, true
		}
	}
	return last, knows
}

// first is the first word of a visit: at once to who booked it, some days before to who lives there.
func (m VisitMatter) first(today vent.Date) VisitStanding {
	if !m.Occupant {
		return VisitStanding{Kind: vent.NoticeVisitBooked, Step: StepBooked}
	}
	if on := m.Visit.On.AddDays(-m.EntryDays); on > today {
		return VisitStanding{Next: on}
	}
	return VisitStanding{Kind: vent.NoticeEntry, Step: StepEntry}
}

// soon reminds of a visit that was told before.
func (m VisitMatter) soon(p Policy, said vent.Notice, zone *time.Location, now vent.Instant) VisitStanding {
	last, ahead := p.Visit.at(m.Visit.On, now.DateIn(zone))
	s := VisitStanding{Next: ahead}
	if last.step != "" && last.on > max(said.Created, said.Settled).DateIn(zone) {
		s.Kind, s.Step = vent.NoticeVisitSoon, last.step
	}
	return s
}

// VisitWant is one notice of an appointment that is wanted now.
type VisitWant struct {
	Matter VisitMatter
	Kind   vent.NoticeKind
	Step   vent.Step
}

// VisitPlan is what follows for one person.
type VisitPlan struct {
	Wanted []VisitWant
	Next   vent.Instant // when to look again though nothing changes; never when nothing lies ahead
}

// TellVisits decides what one person is to be told at the moment about the visits that concern them.
func TellVisits(matters []VisitMatter, p Policy, zone *time.Location, now vent.Instant) VisitPlan {
	var plan VisitPlan
	for _, m := range matters {
		s := m.On(p, zone, now)
		if s.Kind != "" && !m.told(s) {
			plan.Wanted = append(plan.Wanted, VisitWant{m, s.Kind, s.Step})
		}
		if s.Next != 0 {
			plan.Next = earlier(plan.Next, vent.InstantOf(s.Next.At(p.Opens, zone)))
		}
	}
	return plan
}

// told reports whether the person was reminded at this step of the day that holds. The other kinds are told by what was
// said last.
func (m VisitMatter) told(s VisitStanding) bool {
	if s.Kind != vent.NoticeVisitSoon {
		return false
	}
	for _, n := range m.Told {
		if n.Kind == s.Kind && n.Key.Step == s.Step && n.Day == m.Visit.On && n.Start == m.Part.Start {
			return true
		}
	}
	return false
}
