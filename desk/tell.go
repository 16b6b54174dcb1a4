package desk

import (
	"context"
	"errors"
	"hash/fnv"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// tellAtOnce is how many persons one transaction looks at.
const tellAtOnce = 100

// classReminder is the class of messages that carry reminders: at most one a person and day.
const classReminder = "reminder"

// Tell looks at every person whose moment has come, writes down what they have to be told and the message that will
// carry it, and gives when to come again. Nothing leaves the house here: see Claim.
func (d *Desk) Tell(ctx context.Context, by By) (next time.Time, err error) {
	for ctx.Err() == nil {
		n := 0
		err := d.store.Update(by, func(tx *store.Tx) error {
			ids, err := tx.Waking(store.WakeTell, tx.Now(), tellAtOnce)
			if err != nil {
				return err
			}
			n = len(ids)
			for _, id := range ids {
				if err := d.tellPerson(tx, id); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return time.Time{}, err
		}
		if n < tellAtOnce {
			break
		}
	}
	err = d.store.View(func(tx *store.Tx) error {
		at, err := tx.NextWake(store.WakeTell)
		next = at.Time()
		return err
	})
	d.kick(JobDeliver)
	return next, errors.Join(err, ctx.Err())
}

// tellPerson writes one person's wanted notices and when to look again.
func (d *Desk) tellPerson(tx *store.Tx, id vent.ID) error {
	p, err := store.Persons.Get(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return tx.SetWake(store.WakeTell, id, 0)
	}
	if err != nil {
		return err
	}
	if reachable(p, string(vent.NoticeRunDue)) != "" {
		return tx.SetWake(store.WakeTell, id, 0) // whoever makes them reachable wakes them
	}
	policy := d.Policy().Cadence
	dues, zone, err := duesToTell(tx, p, policy.Ahead())
	if err != nil {
		return err
	}
	plan := cadence.Tell(dues, toldIn(tx, p.ID), policy, zone, tx.Now())
	if len(plan.Wanted) > 0 {
		if err := writeNotices(tx, p, plan.Wanted, policy, zone); err != nil {
			return err
		}
	}
	return tx.SetWake(store.WakeTell, id, plan.Next)
}

// reachable says why a person cannot or must not be sent notices of the purpose; "" when they can.
func reachable(p vent.Person, purpose string) string {
	switch {
	case p.Email == "":
		return "no e-mail address is known"
	case p.Undeliverable != "":
		return "mail to " + p.Email + " failed for good: " + p.Undeliverable
	case !p.Wants(purpose):
		return "asked not to be reminded"
	}
	return ""
}

// duesToTell gives the open dues of the person's customers that lie within the ladder, the first one beyond it, and the
// zone of the person's day.
func duesToTell(tx *store.Tx, p vent.Person, ahead int) (dues []vent.Due, zone *time.Location, err error) {
	customers, err := store.Collect(store.CustomersOf(tx, p.ID))
	if err != nil {
		return nil, nil, err
	}
	zone = zoneOf(personZone(tx, p, customers))
	last := tx.Now().DateIn(zone).AddDays(ahead)
	for _, c := range customers {
		if c.Ended != 0 && c.Ended <= tx.Now().DateIn(zone) {
			continue
		}
		for due, err := range store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindCustomer, ID: c.ID}, 0, 0) {
			if err != nil {
				return nil, nil, err
			}
			dues = append(dues, due)
			if due.Day > last {
				break // enough to know when to look again: dues come by day
			}
		}
	}
	return dues, zone, nil
}

// personZone gives the zone of a person's day: their own, else that of their first site, else the office's.
func personZone(tx *store.Tx, p vent.Person, customers []vent.Customer) string {
	if p.Zone != "" {
		return p.Zone
	}
	for _, c := range customers {
		for site, err := range store.SitesOf(tx, c.ID) {
			if err == nil {
				return site.Zone
			}
		}
	}
	return operator(tx).Zone
}

func noticeKeyFor(person vent.ID, d vent.Due, s vent.Step) vent.NoticeKey {
	return vent.NoticeKey{PersonID: person, Thing: vent.Subject{Kind: vent.KindDue, ID: d.ID}, Opener: d.Opener,
		Arm: d.Arm, Step: s, Channel: vent.ByMail}
}

func toldIn(tx *store.Tx, person vent.ID) cadence.Told {
	return func(d vent.Due, s vent.Step) bool {
		_, err := store.NoticeByKey(tx, noticeKeyFor(person, d, s))
		return err == nil
	}
}

// writeNotices stores the obligations and puts them into the person's message of the day.
//
// Invariant: a notice's natural key exists once, so that the same thing is told once, however often the clock
// comes by.
func writeNotices(tx *store.Tx, p vent.Person, wanted []cadence.Want, policy cadence.Policy, zone *time.Location) error {
	m, err := messageOfTheDay(tx, p, policy, zone)
	if err != nil {
		return err
	}
	for _, w := range wanted {
		n := vent.Notice{ID: tx.NewID(), Key: noticeKeyFor(p.ID, w.Due, w.Step), Kind: vent.NoticeRunDue,
			State: vent.NoticeWanted, Created: tx.Now(), MessageID: m.ID, Day: w.Due.Day}
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return err
		}
		m.Notices = append(m.Notices, n.ID)
	}
	return store.Messages.Put(tx, m, "")
}

// messageOfTheDay gives the message that can still take a notice: today's if it has not been tried and the window is
// open, else the next day's.
func messageOfTheDay(tx *store.Tx, p vent.Person, policy cadence.Policy, zone *time.Location) (vent.Message, error) {
	var failed error
	taken := func(on vent.Date) bool {
		for m, err := range store.MessagesOn(tx, p.ID, on) {
			if err != nil {
				failed = err
				return false
			}
			if m.Class == classReminder && m.Attempts > 0 {
				return true
			}
		}
		return false
	}
	on, at := policy.Slot(tx.Now(), zone, taken, spread(p.ID))
	if failed != nil {
		return vent.Message{}, failed
	}
	m, err := store.OpenMessage(tx, p.ID, on, vent.ByMail, classReminder)
	if !errors.Is(err, vent.ErrNotFound) {
		return m, err
	}
	return vent.Message{ID: tx.NewID(), PersonID: p.ID, On: on, Channel: vent.ByMail, Class: classReminder,
		State: vent.MessagePending, Created: tx.Now(), NotFor: at, Expires: at.Add(cadence.GiveUpAfter)}, nil
}

// spread gives a person's own place in the window, 0 to 1, always the same.
func spread(id vent.ID) float64 {
	h := fnv.New32a()
	h.Write(id[:])
	return float64(h.Sum32()) / (1 << 32)
}
