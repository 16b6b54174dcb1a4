package desk

import (
	"time"

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

// classOf gives the class in which a notice goes out.
func classOf(k vent.NoticeKind) string {
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

// messageFor gives the message of a class that takes what a person is to be told: the one that still waits, else a new one
// that goes at the first moment from a given one on.
func messageFor(tx *store.Tx, person vent.ID, class string, from vent.Instant, policy cadence.Policy, zone *time.Location) (vent.Message, error) {
	for m, err := range store.MessagesTo(tx, person) {
		if err != nil || m.Class == class && m.Channel == vent.ByMail && m.Waits() {
			return m, err
		}
	}
	how := mannerOf(class)
	on, at := from.DateIn(zone), from
	if !how.atOnce {
		quiet := func(d vent.Date) bool { return how.rests && policy.QuietOn(d) } // Claim sees to the rest
		on, at = policy.Slot(from, zone, quiet, how.place(person))
	}
	return vent.Message{ID: tx.NewID(), PersonID: person, On: on, Channel: vent.ByMail, Class: class,
		State: vent.MessagePending, Created: tx.Now(), NotFor: at, Expires: at.Add(cadence.GiveUpAfter)}, nil
}
