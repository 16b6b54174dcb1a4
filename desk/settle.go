package desk

import (
	"fmt"
	"slices"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// Result is what became of one attempt to hand a message over.
type Result string

// The results.
const (
	Accepted    Result = "accepted"    // the server took responsibility
	Deferred    Result = "deferred"    // this message was certainly not taken: try again
	Unavailable Result = "unavailable" // nor was it here, but the trouble is ours or the server's: it says nothing of the address
	Refused     Result = "refused"     // never: a permanent answer about the address
	Rejected    Result = "rejected"    // never: a permanent answer about this message that says nothing of the address
	AnswerLost  Result = "answer_lost" // all of it was sent and the answer was lost: it may have arrived
)

// Settle stores what came of an attempt. It is called before the connection sends anything else.
func (d *Desk) Settle(by By, id vent.ID, res Result, answer string) error {
	var m vent.Message
	err := d.store.Update(by, func(tx *store.Tx) (err error) {
		if m, err = store.Messages.Get(tx, id); err != nil {
			return fmt.Errorf("settle: %w", err)
		}
		if m.State != vent.MessageClaimed {
			return fmt.Errorf("settle message %s: it is %s, not being tried: %w", id, m.State, vent.ErrConflict)
		}
		if m, err = settled(tx, m, res, answer); err != nil {
			return fmt.Errorf("settle message %s: %w", id, err)
		}
		return store.Messages.Put(tx, m, "")
	})
	if err == nil && m.State.Settled() && m.State != vent.MessageAccepted {
		d.kick(JobTell) // what was not told may be wanted again
	}
	return err
}

func settled(tx *store.Tx, m vent.Message, res Result, answer string) (vent.Message, error) {
	m.Answer = answer
	switch res {
	case Accepted:
		return end(tx, m, vent.MessageAccepted, answer)
	case Refused:
		if err := undeliverable(tx, m, answer); err != nil {
			return m, err
		}
		return end(tx, m, vent.MessageFailed, answer)
	case Rejected:
		return end(tx, m, vent.MessageFailed, answer) // the next step of the reminders tries again
	case AnswerLost:
		m.Unknowns++
		at, again := cadence.RetryLost(m.Unknowns-m.Orphaned, tx.Now())
		if !again {
			return end(tx, m, vent.MessageExpired, "the answer was lost more than once, the mail may have arrived: "+answer)
		}
		m.State, m.NotFor = vent.MessageUnknown, at
		return m, nil
	case Deferred, Unavailable:
		return notTaken(tx, m, res, answer)
	}
	return m, fmt.Errorf("result %q is not known: %w", res, vent.ErrInvalid)
}

// notTaken has a message tried again, until it is given up. An address that took nothing for five days is believed to
// be dead, as after a permanent answer; a server of ours that was away for five days says nothing of the address.
func notTaken(tx *store.Tx, m vent.Message, res Result, answer string) (vent.Message, error) {
	at, again := cadence.Retry(m.Attempts, m.First, tx.Now(), spread(m.ID))
	if again {
		m.State, m.NotFor = vent.MessageDeferred, at
		if m.Unknowns == 0 {
			m.Raw = nil // it is written anew
		}
		return m, nil
	}
	if res == Deferred && m.Unknowns == 0 {
		if err := undeliverable(tx, m, "not taken for days: "+answer); err != nil {
			return m, err
		}
	}
	return end(tx, m, vent.MessageExpired, "could not be handed over in time; last answer: "+answer)
}

// end brings a message and its notices to their end, notes on each due what day its person was told, and has the clock
// look again at what was not told.
func end(tx *store.Tx, m vent.Message, state vent.MessageState, answer string) (vent.Message, error) {
	m.State, m.Answer, m.Settled, m.Raw = state, answer, tx.Now(), nil
	again := state != vent.MessageAccepted && state != vent.MessageFailed
	for _, id := range m.Notices {
		n, err := store.Notices.Get(tx, id)
		if err != nil {
			return m, err
		}
		if !carries(m, n) {
			continue
		}
		n.State, n.Settled = noticeState(m), tx.Now()
		if n.State != vent.NoticeSent {
			n.Why = answer
		}
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return m, err
		}
		moved, err := noteSent(tx, n)
		if err != nil {
			return m, err
		}
		again = again || moved
	}
	if again {
		if err := tx.WakeBy(store.WakeTell, m.PersonID, tx.Now()); err != nil {
			return m, err
		}
	}
	return m, tx.Note(vent.Subject{Kind: vent.KindPerson, ID: m.PersonID}, trail(m))
}

// noteSent notes what follows from a notice that was sent; again says that the person is to be looked at once more.
func noteSent(tx *store.Tx, n vent.Notice) (again bool, err error) {
	if n.State != vent.NoticeSent {
		return false, nil
	}
	switch n.Key.Thing.Kind {
	case vent.KindAppointment:
		return true, nil // it may have moved while the mail was on its way
	case vent.KindDue:
		again, err = store.NoteTold(tx, n.Key.Thing.ID, n.Key.Arm, n.Day)
	}
	if err == nil && n.Kind == vent.NoticeStop {
		err = noteStopTold(tx, n)
	}
	return again, err
}

// noticeState gives how the notices end that a message carried to its own end.
func noticeState(m vent.Message) vent.NoticeState {
	switch m.State {
	case vent.MessageAccepted:
		return vent.NoticeSent
	case vent.MessageSuppressed:
		return vent.NoticeSuppressed
	case vent.MessageDropped:
		return vent.NoticeDropped
	}
	if m.Unknowns > 0 {
		return vent.NoticeUnsure
	}
	return vent.NoticeFailed
}

// trail says in one line what became of a message.
func trail(m vent.Message) string {
	to := m.To
	if to == "" {
		to = "nobody yet"
	}
	line := fmt.Sprintf(m.Class+" of %s to %s: %s", m.On, to, m.State)
	if m.State != vent.MessageAccepted {
		line += ": " + m.Answer
	}
	return line
}

// undeliverable remembers that mail to the person's address is not taken. If they have another by now, that one is tried.
func undeliverable(tx *store.Tx, m vent.Message, answer string) error {
	p, err := store.Persons.Get(tx, m.PersonID)
	if err != nil {
		return err
	}
	if m.Channel == vent.ByWebhook { // its receiver said that this person is not reached there any more
		p.Channels = slices.DeleteFunc(slices.Clone(p.Channels), func(c vent.Channel) bool { return c == vent.ByWebhook })
		return store.Persons.Put(tx, p, "the webhook does not reach them any more: "+answer)
	}
	if p.Email != m.To {
		return tx.WakeBy(store.WakeTell, p.ID, tx.Now())
	}
	p.Undeliverable = answer
	return store.Persons.Put(tx, p, "mail to "+m.To+" is not taken")
}
