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

// Reminder is what a message has to say, to whom.
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

// ReminderItem is one thing that is told, with the step at which it is. What a kind has no use for is zero.
type ReminderItem struct {
	Kind vent.NoticeKind
	Step vent.Step
	DueView
	Dryer   vent.Appliance // zero where it is not known
	Visit   *VisitItem     // of the kinds about visits
	Record  *RecordItem    // of NoticeRecord
	Summary *Summary       // of NoticeSummary
	Fault   vent.Fault     // of a stop
}

// Day is what items are put in order by.
func (i ReminderItem) Day() vent.Date {
	switch {
	case i.Visit != nil:
		return i.Visit.Visit.On
	case i.Record != nil:
		return i.Record.Finding.Date
	}
	return i.Due.Day
}

// start is when a visit begins, in minutes after midnight.
func (i ReminderItem) start() int {
	if i.Visit == nil {
		return 0
	}
	return i.Visit.Part.Start
}

// Letter is a composed message: whole, as it goes out.
type Letter struct {
	MailID string // Message-ID without angle brackets
	Thread string // Message-ID of the thread's root; "" when this is it
	Raw    []byte
}

// Compose turns a reminder into a letter. It may be called more than once for one attempt; only the last letter goes out.
type Compose func(Reminder) (Letter, error)

// Claim takes the message that has waited longest of a channel's whose moment has come, and stores that it is being tried
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
func (d *Desk) Claim(by By, channel vent.Channel, compose Compose) (*vent.Message, error) {
	var round claimRound
	err := d.store.Update(by, func(tx *store.Tx) error {
		round = claimRound{}
		return round.claim(tx, d, channel, compose)
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
func (r *claimRound) claim(tx *store.Tx, d *Desk, channel vent.Channel, compose Compose) error {
	const few, most = 8, 400
	for range most / few {
		due, err := collectUpTo(store.MessagesDue(tx, channel, tx.Now()), few)
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
		m.Orphaned++
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
	if why := reachableBy(m.Channel, person, m.Class, d.Policy().Webhook); why != "" {
		return end(tx, m, vent.MessageSuppressed, why)
	}
	if m.Channel == vent.ByMail && m.Unknowns > 0 && m.To != person.Email {
		return end(tx, m, vent.MessageSuppressed, "the address changed to "+person.Email)
	}
	l, err := d.listener(tx, person.ID)
	if err != nil {
		return m, err
	}
	if later, err := l.postpone(m); err != nil || later.NotFor > tx.Now() {
		return later, err
	}
	return l.attempt(m, compose)
}

// postpone moves a message to the next moment at which its person may be mailed: inside the window, on a day on
// which no other message of the class went to them where the class goes once a day, and within the day's limits. Now is
// such a moment where NotFor is not after it.
//
// Invariant: at most one message of a daily class can arrive on one local day. A stop alone is not held back.
func (l *listener) postpone(m vent.Message) (vent.Message, error) {
	how := mannerOf(m.Class)
	if how.atOnce {
		m.On, m.NotFor = l.today, l.tx.Now()
		return m, nil
	}
	had, full, err := l.dayTaken(m, how)
	if err != nil {
		return m, err
	}
	if full && !had && m.Held != l.today {
		m.Held = l.today
		if err := l.tx.Count(tallyHeld, officeDay(l.tx)); err != nil {
			return m, err
		}
	}
	taken := func(on vent.Date) bool { return (had || full) && on == l.today || how.rests && l.policy.QuietOn(on) }
	m.On, m.NotFor = l.policy.Slot(l.tx.Now(), l.zone, taken, how.place(m.PersonID))
	return m, nil
}

// dayTaken reports whether today has had a message of m's daily class, and whether a limit of mails is reached. What has been
// tried before was counted then.
func (l *listener) dayTaken(m vent.Message, how manner) (had, full bool, err error) {
	today := 0
	for other, err := range store.MessagesOn(l.tx, m.PersonID, l.today) {
		if err != nil {
			return false, false, err
		}
		if other.ID == m.ID || other.Channel != m.Channel || !other.MayHaveArrived() {
			continue
		}
		if mannerOf(other.Class).counted {
			today++
		}
		had = had || how.daily && other.Class == m.Class
	}
	p := l.policy
	full = how.counted && (p.PerPerson > 0 && today >= p.PerPerson ||
		p.PerDay > 0 && m.Attempts == 0 && l.tx.Tally(tallyMails, officeDay(l.tx)) >= p.PerDay)
	return had, full, nil
}

// What is counted on a day at the office: the messages that count toward its limit, and those that a limit held back.
const (
	tallyMails = "mails"
	tallyHeld  = "held"
)

// MailToday gives how many mails were tried today at the office, stops and summaries not counted, and how many were held back
// because a limit of mails a day was reached.
func (d *Desk) MailToday(now time.Time) (tried, held int, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		on := vent.InstantOf(now).DateIn(zoneOf(operator(tx).Zone))
		tried, held = tx.Tally(tallyMails, on), tx.Tally(tallyHeld, on)
		return nil
	})
	return tried, held, err
}

// officeDay gives the day at the operator's office.
func officeDay(tx *store.Tx) vent.Date { return tx.Now().DateIn(zoneOf(operator(tx).Zone)) }

// attempt writes the message, unless it is frozen, and claims it. A message in which nothing is true any more is dropped.
func (l *listener) attempt(m vent.Message, compose Compose) (_ vent.Message, err error) {
	tx := l.tx
	r := Reminder{Person: l.person, Operator: l.operator, Written: tx.Now(), Today: l.today}
	if r.Items, err = l.review(m); err != nil {
		return m, err
	}
	if len(r.Items) == 0 {
		return end(tx, m, vent.MessageDropped, "nothing in it was true any more")
	}
	if m.Unknowns == 0 {
		m.To = addressFor(r.Person, m.Channel)
		r.Message = m
		letter, err := compose(r)
		if err != nil {
			return m, fmt.Errorf("compose it: %w", err)
		}
		m.MailID, m.Thread, m.Raw = letter.MailID, letter.Thread, letter.Raw
	}
	if m.Attempts++; m.Attempts == 1 {
		m.First, m.Expires = tx.Now(), tx.Now().Add(cadence.GiveUpAfter)
		if mannerOf(m.Class).counted {
			if err := tx.Count(tallyMails, officeDay(tx)); err != nil {
				return m, err
			}
		}
	}
	m.State, m.Last, m.NotFor = vent.MessageClaimed, tx.Now(), tx.Now().Add(cadence.SecondLook)
	return m, nil
}

// review looks at a message's notices once more and gives those that are still true. The others are dropped from one
// that is not frozen, and those that the person does not want any more are held back.
func (l *listener) review(m vent.Message) (items []ReminderItem, err error) {
	g := newGuide(l.tx)
	frozen := m.Unknowns > 0
	for _, id := range m.Notices {
		n, err := store.Notices.Get(l.tx, id)
		if err != nil {
			return nil, err
		}
		if !carries(m, n) {
			continue
		}
		item, why, err := l.stillTrue(g, n)
		if err != nil {
			return nil, err
		}
		_, paused := l.paused()
		unwilling := !wants(l.person, n.Kind) || paused && ClassOf(n.Kind) == classReminder
		moved := frozen && item.Visit != nil && (n.Day != item.Day() || n.Start != item.start()) // it must not be told as it was
		if why == "" && !unwilling && !moved {
			items = append(items, item)
		}
		if frozen {
			continue
		}
		switch {
		case unwilling:
			n.State, n.Why, n.Settled = vent.NoticeSuppressed, "asked not to be told of this, or for a pause", l.tx.Now()
		case why != "":
			n.State, n.Why, n.Settled = vent.NoticeDropped, why, l.tx.Now()
		default:
			n.Day, n.Start = item.Day(), item.start()
		}
		if err := store.Notices.Put(l.tx, n, ""); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(items, func(a, b ReminderItem) int {
		return cmp.Or(cmp.Compare(a.Day(), b.Day()), cmp.Compare(a.start(), b.start()))
	})
	return items, nil
}

// carries reports whether a notice that a message names is still up to it: it may have been settled, or have gone into a
// later message.
func carries(m vent.Message, n vent.Notice) bool {
	return n.State == vent.NoticeWanted && n.MessageID == m.ID
}

// stillTrue looks at a notice once more: why it must not be told any more, or what there is to tell. It asks what Tell
// asked: what it finds untrue is not wanted again.
func (l *listener) stillTrue(g *guide, n vent.Notice) (item ReminderItem, why string, err error) {
	switch n.Key.Thing.Kind {
	case vent.KindAppointment:
		item, why, err = l.visitStillTrue(g, n)
	case vent.KindFinding:
		item, why, err = l.recordStillTrue(g, n)
	case vent.KindPerson:
		item, why, err = l.summaryStillTrue(n)
	default:
		item, why, err = l.dueStillTrue(g, n)
	}
	item.Kind, item.Step = n.Kind, n.Key.Step
	return item, why, err
}

func (l *listener) dueStillTrue(g *guide, n vent.Notice) (item ReminderItem, why string, err error) {
	due, err := store.Dues.Get(l.tx, n.Key.Thing.ID)
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
		return stopStillTrue(l.tx, g, n, due, l.today)
	case isStopDue(due):
		return item, "it is told as a stop by now", nil
	}
	customer, err := remembered(l.tx, g.customers, store.Customers, due.CustomerID)
	switch {
	case err != nil:
		return item, "", err
	case ended(customer, l.today):
		return item, customer.Name + " is no longer served", nil
	case !slices.Contains(customer.Persons, n.Key.PersonID):
		return item, "is no longer a contact of " + customer.Name, nil
	}
	m, err := l.matter(due, customer)
	if err != nil {
		return item, "", err
	}
	switch s := m.On(l.today); {
	case s.Why != "":
		return item, s.Why, nil
	case s.Step != n.Key.Step:
		return item, "another step of the reminders is due by now", nil
	}
	return itemOf(l.tx, g, due)
}

// itemOf gathers what a mail says of a due.
func itemOf(tx *store.Tx, g *guide, due vent.Due) (item ReminderItem, why string, err error) {
	if item.DueView, err = g.due(due); err != nil {
		return item, "", err
	}
	if id := item.Run.Current().DryerID; !id.IsZero() {
		item.Dryer, err = store.Appliances.Get(tx, id)
	}
	return item, "", err
}

// NextDelivery gives when the next message of a channel may be tried; zero when none waits.
func (d *Desk) NextDelivery(channel vent.Channel) (at time.Time, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		next, err := store.NextMessage(tx, channel)
		at = next.Time()
		return err
	})
	return at, err
}
