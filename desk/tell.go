package desk

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

const (
	// tellAtOnce is how many persons one transaction looks at.
	tellAtOnce = 100
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
		next, err := r.look(tx, d, id)
		if err != nil {
			return r, err
		}
		if err := tx.SetWake(store.WakeTell, id, next); err != nil {
			return r, err
		}
	}
	return r, nil
}

// look looks at one person and writes what follows. What cannot be looked at keeps nothing else from being told.
func (r *tellRound) look(tx *store.Tx, d *Desk, id vent.ID) (next vent.Instant, err error) {
	l, err := d.listener(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return 0, nil
	}
	looks := []func() (errand, error){func() (errand, error) { return errand{}, err }}
	if err == nil {
		looks = []func() (errand, error){l.stops, l.visits, l.reminders, l.summary}
	}
	for _, channel := range vent.Channels() {
		if l != nil {
			l.channel = channel
		}
		for _, look := range looks {
			e, err := look()
			if err != nil {
				r.faults = errors.Join(r.faults, fmt.Errorf("tell person %s: %w", id, err))
				e = errand{next: tx.Now().Add(setAside)}
			}
			if err := e.write(tx); err != nil {
				return 0, err
			}
			next = sooner(next, e.next)
			r.wanted += len(e.notices)
		}
		if l == nil {
			break
		}
	}
	return next, nil
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

// add wants a notice in the message. One that was dropped, failed or suppressed before is the same notice again.
func (e *errand) add(tx *store.Tx, n vent.Notice, before notices) {
	if old, known := before[n.Key]; known {
		n.ID, n.Created = old.ID, old.Created
	} else {
		n.ID, n.Created = tx.NewID(), tx.Now()
	}
	n.State, n.MessageID = vent.NoticeWanted, e.message.ID
	e.notices = append(e.notices, n)
	if !slices.Contains(e.message.Notices, n.ID) {
		e.message.Notices = append(e.message.Notices, n.ID)
	}
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

func (l *listener) noticeKey(d vent.Due, s vent.Step) vent.NoticeKey {
	return vent.NoticeKey{PersonID: l.person.ID, Thing: vent.Subject{Kind: vent.KindDue, ID: d.ID}, Opener: d.Opener,
		Arm: d.Arm, Step: s, Channel: l.channel}
}

// spread gives an ID its own place, 0 to 1, always the same.
func spread(id vent.ID) float64 {
	h := fnv.New32a()
	h.Write(id[:])
	return float64(h.Sum32()) / (1 << 32)
}
