package desk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
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
	Written  vent.Instant   // when
	Today    vent.Date      // at the person's place
	Items    []ReminderItem // by day
}

// Stop reports whether it says that nobody uses a dryer, past everything that holds reminders back.
func (r Reminder) Stop() bool { return r.Message.Class == classStop }

// ReminderItem is one due with the step at which it is told.
type ReminderItem struct {
	DueView
	Dryer vent.Appliance // zero where it is not known
	Step  vent.Step
	Fault vent.Fault // of a stop
}

// Letter is a composed message: whole, as it goes out.
type Letter struct {
	MailID string // Message-ID without angle brackets
	Thread string // Message-ID of the thread's root; "" when this is it
	Raw    []byte
}

// Compose turns a reminder into a letter. It may be called more than once for one attempt; only the last letter goes out.
type Compose func(Reminder) (Letter, error)

// Claim takes the message that has waited longest of those whose moment has come, and stores that it is being tried
// before it gives it out: whoever gets it hands it over and says what came of it with Settle. It gives nil when
// none is to be tried now.
//
// A message is looked at before every attempt: what is no longer true is taken out, and it is written from what is true
// now. Only when an attempt may have arrived is it frozen: from then on the same bytes go out under the same
// Message-ID.
//
// A claim that is never settled (the process was killed) comes back after half an hour, until an answer is known.
//
// A message that cannot be looked at or written, for a fault in what is stored or set, is put aside for an hour and
// named in the error, beside which another message may be given.
func (d *Desk) Claim(by By, compose Compose) (*vent.Message, error) {
	var round claimRound
	err := d.store.Update(by, func(tx *store.Tx) error {
		round = claimRound{}
		return round.claim(tx, d, compose)
	})
	if err != nil {
		return nil, err
	}
	if round.ended {
		d.kick(JobTell) // what was not told may be wanted again
	}
	return round.claimed, round.faults
}

// claimRound is what one transaction of Claim did.
type claimRound struct {
	claimed *vent.Message
	ended   bool // some message came to its end
	faults  error
}

// claim looks at waiting messages, a few at a time, until one is claimed or none waits. What it looked at has another
// moment or an end afterwards, so that the same is not seen twice.
func (r *claimRound) claim(tx *store.Tx, d *Desk, compose Compose) error {
	const few, most = 8, 400
	for range most / few {
		due, err := collectUpTo(store.MessagesDue(tx, tx.Now()), few)
		if err != nil || len(due) == 0 {
			return err
		}
		for _, was := range due {
			m, err := d.prepare(tx, was, compose)
			if err != nil {
				r.faults = errors.Join(r.faults, fmt.Errorf("claim message %s: %w", was.ID, err))
				m = was
				m.NotFor, m.Answer = tx.Now().Add(setAside), "could not be made: "+err.Error()
			}
			if err := store.Messages.Put(tx, m, ""); err != nil {
				return err
			}
			if err == nil && m.State == vent.MessageClaimed {
				r.claimed = &m
				return nil
			}
			r.ended = r.ended || m.State.Settled()
		}
	}
	return nil
}

// prepare brings one message to the point of being tried (its state is then claimed), to its end, or to a later moment.
func (d *Desk) prepare(tx *store.Tx, m vent.Message, compose Compose) (vent.Message, error) {
	if m.State == vent.MessageClaimed {
		m.State, m.Answer = vent.MessageUnknown, "the program ended while the message was being handed over"
		m.Unknowns++
	}
	person, err := store.Persons.Get(tx, m.PersonID)
	switch {
	case errors.Is(err, vent.ErrNotFound):
		return end(tx, m, vent.MessageSuppressed, "the person was erased")
	case err != nil:
		return m, err
	case m.Attempts > 0 && tx.Now() > m.Expires:
		return end(tx, m, vent.MessageExpired, "could not be handed over in time; last answer: "+m.Answer)
	}
	if why := reachableFor(person, m.Class); why != "" {
		return end(tx, m, vent.MessageSuppressed, why)
	}
	if m.Unknowns > 0 && m.To != person.Email {
		return end(tx, m, vent.MessageSuppressed, "the address changed to "+person.Email)
	}
	customers, err := store.Collect(store.CustomersOf(tx, person.ID))
	if err != nil {
		return m, err
	}
	zone, err := personZone(tx, person, customers)
	if err != nil {
		return m, err
	}
	if later, err := d.postpone(tx, m, zone); err != nil || later.NotFor > tx.Now() {
		return later, err
	}
	r := Reminder{Person: person, Operator: operator(tx), Written: tx.Now(), Today: tx.Now().DateIn(zone)}
	return d.attempt(tx, m, r, compose)
}

// postpone moves a message to the next moment at which its person may be mailed: inside the window, on a day on
// which no other message of the class went to them. Now is such a moment where NotFor is not after it.
//
// Invariant: at most one message of a class can arrive on one local day. A stop alone is not held back.
func (d *Desk) postpone(tx *store.Tx, m vent.Message, zone *time.Location) (vent.Message, error) {
	if m.Class == classStop { // nothing holds it back
		m.On, m.NotFor = tx.Now().DateIn(zone), tx.Now()
		return m, nil
	}
	had, err := dayTaken(tx, m, tx.Now().DateIn(zone))
	if err != nil {
		return m, err
	}
	taken := func(on vent.Date) bool { return had && on == tx.Now().DateIn(zone) }
	m.On, m.NotFor = d.Policy().Cadence.Slot(tx.Now(), zone, taken, spread(m.PersonID))
	return m, nil
}

// dayTaken reports whether another message like m went out on the day.
func dayTaken(tx *store.Tx, m vent.Message, on vent.Date) (bool, error) {
	for other, err := range store.MessagesOn(tx, m.PersonID, on) {
		if err != nil {
			return false, err
		}
		if other.ID != m.ID && other.Class == m.Class && other.Channel == m.Channel && other.MayHaveArrived() {
			return true, nil
		}
	}
	return false, nil
}

// attempt writes the message, unless it is frozen, and claims it. A message in which nothing is true any more is dropped.
func (d *Desk) attempt(tx *store.Tx, m vent.Message, r Reminder, compose Compose) (_ vent.Message, err error) {
	if r.Items, err = d.review(tx, m, r.Today); err != nil {
		return m, err
	}
	if len(r.Items) == 0 {
		return end(tx, m, vent.MessageDropped, "nothing in it was true any more")
	}
	if m.Unknowns == 0 {
		m.To, r.Message = r.Person.Email, m
		letter, err := compose(r)
		if err != nil {
			return m, fmt.Errorf("compose it: %w", err)
		}
		m.MailID, m.Thread, m.Raw = letter.MailID, letter.Thread, letter.Raw
	}
	if m.Attempts++; m.Attempts == 1 {
		m.First, m.Expires = tx.Now(), tx.Now().Add(cadence.GiveUpAfter)
	}
	m.State, m.Last, m.NotFor = vent.MessageClaimed, tx.Now(), tx.Now().Add(cadence.SecondLook)
	return m, nil
}

// review looks at a message's notices once more and gives those that are still true. The others are dropped from one
// that is not frozen.
func (d *Desk) review(tx *store.Tx, m vent.Message, today vent.Date) (items []ReminderItem, err error) {
	g := newGuide(tx)
	for _, id := range m.Notices {
		n, err := store.Notices.Get(tx, id)
		if err != nil {
			return nil, err
		}
		if !carries(m, n) {
			continue
		}
		item, why, err := d.stillTrue(tx, g, n, today)
		if err != nil {
			return nil, err
		}
		if why == "" {
			items = append(items, item)
		}
		if m.Unknowns > 0 {
			continue
		}
		if why != "" {
			n.State, n.Why, n.Settled = vent.NoticeDropped, why, tx.Now()
		} else {
			n.Day = item.Due.Day
		}
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(items, func(a, b ReminderItem) int { return cmp.Compare(a.Due.Day, b.Due.Day) })
	return items, nil
}

// carries reports whether a notice that a message names is still up to it: it may have been settled, or have gone into a
// later message.
func carries(m vent.Message, n vent.Notice) bool {
	return n.State == vent.NoticeWanted && n.MessageID == m.ID
}

// stillTrue looks at a notice once more: why it must not be told any more, or what there is to tell. It asks what errandFor
// asked: what it finds untrue is not wanted again.
func (d *Desk) stillTrue(tx *store.Tx, g *guide, n vent.Notice, today vent.Date) (item ReminderItem, why string, err error) {
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
	case n.Kind == vent.NoticeStop:
		return stopStillTrue(tx, g, n, due, today)
	case isStopDue(due):
		return item, "it is told as a stop by now", nil
	case d.Policy().Cadence.StepOn(due, today) != n.Key.Step:
		return item, "another step of the reminders is due by now", nil
	}
	customer, err := remembered(tx, g.customers, store.Customers, due.CustomerID)
	switch {
	case err != nil:
		return item, "", err
	case ended(customer, today):
		return item, customer.Name + " is no longer served", nil
	case !slices.Contains(customer.Persons, n.Key.PersonID):
		return item, "is no longer a contact of " + customer.Name, nil
	}
	return itemOf(tx, g, due, n.Key.Step)
}

// itemOf gathers what a mail says of a due.
func itemOf(tx *store.Tx, g *guide, due vent.Due, step vent.Step) (item ReminderItem, why string, err error) {
	item.Step = step
	if item.DueView, err = g.due(due); err != nil {
		return item, "", err
	}
	if id := item.Run.Current().DryerID; !id.IsZero() {
		item.Dryer, err = store.Appliances.Get(tx, id)
	}
	return item, "", err
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
