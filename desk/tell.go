package desk

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

const (
	// tellAtOnce is how many persons one transaction looks at.
	tellAtOnce = 100
	// classReminder is the class of messages that carry reminders: at most one a person and day.
	classReminder = "reminder"
	// setAside is for how long a person or a message is left alone that cannot be worked on for a fault in what is stored,
	// so that one broken record keeps nobody else from being told.
	setAside = time.Hour
)

// Tell looks at every person whose moment has come, writes down what they have to be told and the message that will
// carry it, and gives when to come again. Nothing leaves the house here: see Claim.
//
// A person who cannot be looked at is set aside for an hour and named in the error; all others are told.
func (d *Desk) Tell(ctx context.Context, by By) (next time.Time, err error) {
	var faults error
	wanted := 0
	for ctx.Err() == nil {
		var round tellRound
		if err := d.store.Update(by, func(tx *store.Tx) (err error) {
			round, err = d.tellSome(tx)
			return err
		}); err != nil {
			return time.Time{}, errors.Join(faults, err)
		}
		wanted += round.wanted
		faults = errors.Join(faults, round.faults)
		if round.seen < tellAtOnce {
			break
		}
	}
	err = d.store.View(func(tx *store.Tx) error {
		at, err := tx.NextWake(store.WakeTell)
		next = at.Time()
		return err
	})
	if wanted > 0 {
		d.kick(JobDeliver)
	}
	return next, errors.Join(faults, err, ctx.Err())
}

// tellRound is what one transaction of Tell did.
type tellRound struct {
	seen, wanted int
	faults       error
}

func (d *Desk) tellSome(tx *store.Tx) (r tellRound, err error) {
	ids, err := tx.Waking(store.WakeTell, tx.Now(), tellAtOnce)
	if err != nil {
		return r, err
	}
	r.seen = len(ids)
	for _, id := range ids {
		var next vent.Instant
		for _, look := range []func(*store.Tx, vent.ID) (errand, error){d.stopErrand, d.errandFor} {
			e, err := look(tx, id)
			if err != nil {
				r.faults = errors.Join(r.faults, fmt.Errorf("tell person %s: %w", id, err))
				e = errand{next: tx.Now().Add(setAside)}
			}
			if err := e.write(tx); err != nil {
				return r, err
			}
			next = sooner(next, e.next)
			r.wanted += len(e.notices)
		}
		if err := tx.SetWake(store.WakeTell, id, next); err != nil {
			return r, err
		}
	}
	return r, nil
}

// sooner gives the earlier of two moments; never is later than any.
func sooner(a, b vent.Instant) vent.Instant {
	if a.IsZero() || !b.IsZero() && b < a {
		return b
	}
	return a
}

// errand is what follows from a look at one person: notices with the message that carries them, and the next look.
type errand struct {
	notices []vent.Notice
	message vent.Message
	next    vent.Instant
}

// write stores the notices and the message together.
//
// Invariant: a notice that is wanted is named by its message, which is not settled.
func (e errand) write(tx *store.Tx) error {
	for _, n := range e.notices {
		if err := store.Notices.Put(tx, n, ""); err != nil {
			return err
		}
	}
	if len(e.notices) == 0 {
		return nil
	}
	return store.Messages.Put(tx, e.message, "")
}

// errandFor looks at one person. It only reads.
func (d *Desk) errandFor(tx *store.Tx, id vent.ID) (e errand, err error) {
	p, err := store.Persons.Get(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return errand{}, nil
	}
	if err != nil || reachableFor(p, classReminder) != "" {
		return errand{}, err // the change that makes them reachable wakes them
	}
	policy := d.Policy().Cadence
	customers, err := store.Collect(store.CustomersOf(tx, p.ID))
	if err != nil {
		return errand{}, err
	}
	zone, err := personZone(tx, p, customers)
	if err != nil {
		return errand{}, err
	}
	dues, err := duesToTell(tx, customers, tx.Now().DateIn(zone).AddDays(policy.Ahead()), zone)
	if err != nil {
		return errand{}, err
	}
	before := notices{}
	told := func(due vent.Due, s vent.Step) bool {
		n, found := before.find(tx, noticeKeyFor(p.ID, due, s), &err)
		return found && n.State.Stands()
	}
	plan := cadence.Tell(dues, told, policy, zone, tx.Now())
	if err != nil {
		return errand{}, err
	}
	e.next = plan.Next
	if len(plan.Wanted) == 0 {
		return e, nil
	}
	if e.message, err = messageFor(tx, p, policy, zone); err != nil {
		return errand{}, err
	}
	for _, w := range plan.Wanted {
		e.add(tx, noticeKeyFor(p.ID, w.Due, w.Step), vent.NoticeRunDue, w.Due.Day, before)
	}
	return e, nil
}

// notices remembers the notices that were looked up.
type notices map[vent.NoticeKey]vent.Notice

// find looks a notice up; an error other than its absence is left in failed.
func (known notices) find(tx *store.Tx, k vent.NoticeKey, failed *error) (n vent.Notice, found bool) {
	n, err := store.NoticeByKey(tx, k)
	switch {
	case err == nil:
		known[k] = n
		return n, true
	case !errors.Is(err, vent.ErrNotFound):
		*failed = err
	}
	return n, false
}

// add wants a notice in the message. One that was dropped, failed or suppressed before is the same notice again.
func (e *errand) add(tx *store.Tx, k vent.NoticeKey, kind vent.NoticeKind, day vent.Date, before notices) {
	n, known := before[k]
	if !known {
		n = vent.Notice{ID: tx.NewID(), Key: k, Kind: kind, Created: tx.Now()}
	}
	n.State, n.Why, n.Settled, n.MessageID, n.Day = vent.NoticeWanted, "", 0, e.message.ID, day
	e.notices = append(e.notices, n)
	if !slices.Contains(e.message.Notices, n.ID) {
		e.message.Notices = append(e.message.Notices, n.ID)
	}
}

// reachableFor says why a person cannot or must not be mailed messages of a class; "" when they can. A stop goes to
// everybody who has an address.
func reachableFor(p vent.Person, class string) string {
	switch {
	case p.Email == "":
		return "no e-mail address is known"
	case p.Undeliverable != "":
		return "mail to " + p.Email + " failed for good: " + p.Undeliverable
	case class == classStop:
		return ""
	case len(p.Channels) > 0 && !slices.Contains(p.Channels, vent.ByMail):
		return "does not want mail"
	case !p.Wants(string(vent.NoticeRunDue)):
		return "asked not to be reminded"
	}
	return ""
}

// duesToTell gives the open dues of customers up to a day, and of each the first one beyond it: enough to know when to
// look again.
func duesToTell(tx *store.Tx, customers []vent.Customer, last vent.Date, zone *time.Location) (dues []vent.Due, err error) {
	for _, c := range customers {
		if ended(c, tx.Now().DateIn(zone)) {
			continue
		}
		for due, err := range store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindCustomer, ID: c.ID}, 0, 0) {
			if err != nil {
				return nil, err
			}
			if isStopDue(due) {
				continue // told as a stop
			}
			dues = append(dues, due)
			if due.Day > last {
				break
			}
		}
	}
	return dues, nil
}

func ended(c vent.Customer, today vent.Date) bool { return c.Ended != 0 && c.Ended <= today }

// personZone gives the zone of a person's day: their own, else that of their first site, else the office's.
func personZone(tx *store.Tx, p vent.Person, customers []vent.Customer) (*time.Location, error) {
	if p.Zone != "" {
		return zoneOf(p.Zone), nil
	}
	for _, c := range customers {
		for site, err := range store.SitesOf(tx, c.ID) {
			return zoneOf(site.Zone), err
		}
	}
	return zoneOf(operator(tx).Zone), nil
}

func noticeKeyFor(person vent.ID, d vent.Due, s vent.Step) vent.NoticeKey {
	return vent.NoticeKey{PersonID: person, Thing: vent.Subject{Kind: vent.KindDue, ID: d.ID}, Opener: d.Opener,
		Arm: d.Arm, Step: s, Channel: vent.ByMail}
}

// messageFor gives the message that takes what a person is to be told now: the one that still waits, else a new one.
func messageFor(tx *store.Tx, p vent.Person, policy cadence.Policy, zone *time.Location) (vent.Message, error) {
	for m, err := range store.MessagesTo(tx, p.ID) {
		if err != nil || m.Class == classReminder && m.Channel == vent.ByMail && m.Waits() {
			return m, err
		}
	}
	free := func(vent.Date) bool { return false } // Claim sees to it that a day gets one message
	on, at := policy.Slot(tx.Now(), zone, free, spread(p.ID))
	return vent.Message{ID: tx.NewID(), PersonID: p.ID, On: on, Channel: vent.ByMail, Class: classReminder,
		State: vent.MessagePending, Created: tx.Now(), NotFor: at, Expires: at.Add(cadence.GiveUpAfter)}, nil
}

// spread gives an ID its own place, 0 to 1, always the same.
func spread(id vent.ID) float64 {
	h := fnv.New32a()
	h.Write(id[:])
	return float64(h.Sum32()) / (1 << 32)
}
