package desk

import (
	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// The classes of messages. One person's notices of one class go out together.
const (
	classReminder = "reminder" // what is due and which visits come near: at most one a person and day
	classVisit    = "visit"    // a visit was agreed, moved or cancelled: as soon as the window is open
	classRecord   = "record"   // what was done on a visit
	classSummary  = "summary"  // to the operator: what needs somebody
	classStop     = "stop"     // nobody uses the dryer: at once, past everything
)

// manner is how the messages of a class leave.
type manner struct {
	daily   bool // at most one a person and day
	spread  bool // each person at their own place in the window's first hours
	rests   bool // not on quiet days
	counted bool // a day's limits hold it back
	atOnce  bool // at any hour, beside all others
}

func mannerOf(class string) manner {
	switch class {
	case classStop:
		return manner{atOnce: true}
	case classVisit:
		return manner{counted: true}
	case classRecord:
		return manner{rests: true, counted: true}
	case classSummary:
		return manner{daily: true}
	}
	return manner{daily: true, spread: true, rests: true, counted: true}
}

// place gives a person's place in the window.
func (m manner) place(person vent.ID) float64 {
	if !m.spread {
		return 0
	}
	return spread(person)
}

// ClassOf gives the class of the messages in which a kind goes out.
func ClassOf(k vent.NoticeKind) string {
	switch k {
	case vent.NoticeStop:
		return classStop
	case vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled, vent.NoticeEntry:
		return classVisit
	case vent.NoticeRecord:
		return classRecord
	case vent.NoticeSummary:
		return classSummary
	}
	return classReminder
}

// messageFrom gives the message of a class that takes what a person is to be told: the one that still waits, else a new one
// that goes at the first moment from a given one on.
func (l *listener) messageFrom(class string, from vent.Instant) (vent.Message, error) {
	for m, err := range store.MessagesTo(l.tx, l.person.ID) {
		if err != nil || m.Class == class && m.Channel == l.channel && m.Waits() {
			return m, err
		}
	}
	how := mannerOf(class)
	on, at := from.DateIn(l.zone), from
	if !how.atOnce {
		quiet := func(d vent.Date) bool { return how.rests && l.policy.QuietOn(d) } // Claim sees to the rest
		on, at = l.policy.Slot(from, l.zone, quiet, how.place(l.person.ID))
	}
	return vent.Message{ID: l.tx.NewID(), PersonID: l.person.ID, On: on, Channel: l.channel, Class: class,
		State: vent.MessagePending, Created: l.tx.Now(), NotFor: at, Expires: at.Add(cadence.GiveUpAfter)}, nil
}
