package desk

import (
	"errors"
	"fmt"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// Reminder is what a reminder message has to say, to whom.
type Reminder struct {
	Message  vent.Message
	Person   vent.Person
	Operator vent.Operator
	Today    vent.Date // at the person's place
	Items    []ReminderItem
}

// ReminderItem is one due with the step at which it is told.
type ReminderItem struct {
	DueView
	Step vent.Step
}

// Letter is a composed message: whole, as it goes out.
type Letter struct {
	MailID string // Message-ID without angle brackets
	Thread string // Message-ID of the thread's root; "" when this is it
	Raw    []byte
}

// Compose turns a reminder into a letter. It may be called more than once for one message and gives the same each time.
type Compose func(Reminder) (Letter, error)

// Result is what became of one attempt to hand a message over.
type Result string

// The results.
const (
	Accepted   Result = "accepted" // the server took responsibility
	Deferred   Result = "deferred" // not now: try again
	Refused    Result = "refused"  // never: a permanent answer about this recipient or message
	AnswerLost Result = "answer_lost"
)

// Claim takes at most max messages whose moment has come, and stores that each is being tried before it gives them
// out: whoever gets one hands it over and says what came of it with Settle. A message is looked at again until its
// first attempt: what is no longer true is taken out; from the first attempt on it is frozen.
//
// A claim that is never settled (the process was killed) comes back after half an hour as one whose answer was
// lost.
func (d *Desk) Claim(by By, max int, compose Compose) (claimed []vent.Message, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		claimed, err = d.claimIn(tx, max, compose)
		return err
	})
	return claimed, err
}

// claimIn looks at waiting messages, a few at a time, until enough are claimed or none waits. What it looked at
// has another moment or an end afterwards, so that the same is not seen twice.
func (d *Desk) claimIn(tx *store.Tx, max int, compose Compose) (claimed []vent.Message, err error) {
	const few, most = 8, 400
	for seen := 0; seen < most; seen += few {
		due, err := collectUpTo(store.MessagesDue(tx, tx.Now()), few)
		if err != nil {
			return nil, err
		}
		for _, m := range due {
			if len(claimed) == max {
				return claimed, nil
			}
			m, ready, err := d.prepare(tx, m, compose)
			if err != nil {
				return nil, fmt.Errorf("claim message %s: %w", m.ID, err)
			}
			if err := store.Messages.Put(tx, m, ""); err != nil {
				return nil, err
			}
			if ready {
				claimed = append(claimed, m)
			}
		}
		if len(due) < few {
			break
		}
	}
	return claimed, nil
}

// prepare brings one message to the point of being tried, or to its end, or to a later moment.
func (d *Desk) prepare(tx *store.Tx, m vent.Message, compose Compose) (_ vent.Message, ready bool, err error) {
	if m.State == vent.MessageClaimed {
		m = lost(m, "the program ended while the message was being handed over")
	}
	person, err := store.Persons.Get(tx, m.PersonID)
	switch {
	case errors.Is(err, vent.ErrNotFound):
		return d.end(tx, m, vent.MessageSuppressed, "the person was erased")
	case err != nil:
		return m, false, err
	case m.State.Settled():
		return d.end(tx, m, m.State, m.Answer)
	case tx.Now() > m.Expires:
		return d.end(tx, m, vent.MessageExpired, "could not be handed over in time; last answer: "+m.Answer)
	}
	if why := reachable(person, string(vent.NoticeRunDue)); why != "" {
		return d.end(tx, m, vent.MessageSuppressed, why)
	}
	customers, err := store.Collect(store.CustomersOf(tx, person.ID))
	if err != nil {
		return m, false, err
	}
	zone := zoneOf(personZone(tx, person, customers))
	if open, at := d.Policy().Cadence.Open(tx.Now(), zone); !open {
		m.NotFor = at
		return m, false, nil
	}
	if m.Attempts == 0 {
		if m, err = d.freeze(tx, m, person, zone, compose); err != nil || m.State.Settled() {
			return m, false, err
		}
	}
	m.State, m.Last, m.NotFor = vent.MessageClaimed, tx.Now(), tx.Now().Add(cadence.SecondLook)
	m.Attempts++
	return m, true, nil
}

// freeze makes the letter from what is true now. A message in which nothing is true any more is dropped.
func (d *Desk) freeze(tx *store.Tx, m vent.Message, person vent.Person, zone *time.Location, compose Compose) (vent.Message, error) {
	r := Reminder{Person: person, Operator: operator(tx), Today: tx.Now().DateIn(zone)}
	g := newGuide(tx)
	for _, id := range m.Notices {
		n, err := store.Notices.Get(tx, id)
		if err != nil {
			return m, err
		}
		item, why, err := stillTrue(tx, g, n)
		if err != nil {
			return m, err
		}
		if why != "" {
			n.State, n.Why, n.Settled = vent.NoticeDropped, why, tx.Now()
		} else {
			n.Day = item.Due.Day
			r.Items = append(r.Items, item)
		}
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return m, err
		}
	}
	if len(r.Items) == 0 {
		m.State, m.Answer, m.Settled = vent.MessageDropped, "nothing in it was true any more", tx.Now()
		return m, nil
	}
	m.To, m.First = person.Email, tx.Now()
	r.Message = m
	letter, err := compose(r)
	if err != nil {
		// A letter that cannot be composed will not get better by waiting for the network.
		m, _, err := d.end(tx, m, vent.MessageFailed, "could not be composed: "+err.Error())
		return m, err
	}
	m.MailID, m.Thread, m.Raw = letter.MailID, letter.Thread, letter.Raw
	return m, nil
}

// stillTrue looks at a notice once more: why it must not be told any more, or what there is to tell.
func stillTrue(tx *store.Tx, g *guide, n vent.Notice) (item ReminderItem, why string, err error) {
	if n.State != vent.NoticeWanted {
		return item, "it was settled before: " + string(n.State), nil
	}
	due, err := store.Dues.Get(tx, n.Key.Thing.ID)
	switch {
	case errors.Is(err, vent.ErrNotFound):
		return item, "what it was about is gone", nil
	case err != nil:
		return item, "", err
	case due.State == vent.DueDone:
		return item, "it was done", nil
	case due.State != vent.DueOpen:
		return item, "it is no longer due", nil
	case due.Arm != n.Key.Arm:
		return item, "the date has moved", nil
	}
	item.Step = n.Key.Step
	item.DueView, err = g.due(due)
	return item, "", err
}

// lost notes that an attempt's answer is not known. There is one further try; a second loss ends the message, visibly.
func lost(m vent.Message, why string) vent.Message {
	m.Unknowns++
	m.State, m.Answer = vent.MessageUnknown, why
	if m.Unknowns >= 2 {
		m.State, m.Answer = vent.MessageExpired, "the answer was lost twice, the mail may have arrived: "+why
	}
	return m
}

// Settle stores what came of an attempt. It is called before the connection sends anything else.
func (d *Desk) Settle(by By, id vent.ID, res Result, answer string) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		m, err := store.Messages.Get(tx, id)
		if err != nil {
			return fmt.Errorf("settle: %w", err)
		}
		if m.State != vent.MessageClaimed {
			return fmt.Errorf("settle message %s: it is %s, not being tried: %w", id, m.State, vent.ErrConflict)
		}
		m, err = d.settled(tx, m, res, answer)
		if err != nil {
			return err
		}
		return store.Messages.Put(tx, m, "")
	})
}

func (d *Desk) settled(tx *store.Tx, m vent.Message, res Result, answer string) (_ vent.Message, err error) {
	m.Answer = answer
	switch res {
	case Accepted:
		m, _, err = d.end(tx, m, vent.MessageAccepted, answer)
	case Refused:
		if m, _, err = d.end(tx, m, vent.MessageFailed, answer); err == nil {
			err = undeliverable(tx, m, answer)
		}
	case AnswerLost:
		m = lost(m, answer)
		m.NotFor = tx.Now().Add(cadence.SecondLook)
		if m.State.Settled() {
			m, _, err = d.end(tx, m, m.State, m.Answer)
		}
	default:
		m.State = vent.MessageDeferred
		m.NotFor = cadence.Retry(m.Attempts, tx.Now(), spread(m.ID))
		if m.NotFor > m.Expires {
			m, _, err = d.end(tx, m, vent.MessageExpired, "could not be handed over in time; last answer: "+answer)
		}
	}
	return m, err
}

// end brings a message and its notices to their end, and notes on each due what day its person was told.
func (d *Desk) end(tx *store.Tx, m vent.Message, state vent.MessageState, answer string) (vent.Message, bool, error) {
	m.State, m.Answer, m.Settled, m.Raw = state, answer, tx.Now(), nil
	for _, id := range m.Notices {
		n, err := store.Notices.Get(tx, id)
		if err != nil {
			return m, false, err
		}
		if n.State != vent.NoticeWanted {
			continue
		}
		n.State, n.Settled = noticeState[state], tx.Now()
		if state != vent.MessageAccepted {
			n.Why = answer
		}
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return m, false, err
		}
		if state == vent.MessageAccepted {
			if err := told(tx, n); err != nil {
				return m, false, err
			}
		}
	}
	return m, false, tx.Note(vent.Subject{Kind: vent.KindPerson, ID: m.PersonID},
		fmt.Sprintf("reminder of %s to %s: %s", m.On, m.To, state))
}

var noticeState = map[vent.MessageState]vent.NoticeState{
	vent.MessageAccepted:   vent.NoticeSent,
	vent.MessageFailed:     vent.NoticeFailed,
	vent.MessageExpired:    vent.NoticeFailed,
	vent.MessageSuppressed: vent.NoticeSuppressed,
	vent.MessageDropped:    vent.NoticeDropped,
}

// told notes the day that the person was told; calendars do not show it, so no SEQUENCE rises.
func told(tx *store.Tx, n vent.Notice) error {
	due, err := store.Dues.Get(tx, n.Key.Thing.ID)
	if err != nil {
		return err
	}
	if due.Arm != n.Key.Arm {
		return nil
	}
	due.ToldDay = n.Day
	return store.Dues.Put(tx, due, "")
}

// undeliverable remembers that mail to the person's address is refused for good, unless they have another by now.
func undeliverable(tx *store.Tx, m vent.Message, answer string) error {
	p, err := store.Persons.Get(tx, m.PersonID)
	if err != nil || p.Email != m.To {
		return err
	}
	p.Undeliverable = answer
	return store.Persons.Put(tx, p, "mail to "+m.To+" is refused for good")
}

// NextDelivery gives when the next message may be tried; zero when none waits.
func (d *Desk) NextDelivery() (at time.Time, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		next, err := store.NextMessage(tx)
		at = next.Time()
		return err
	})
	return at, err
}
