package store

import (
	"errors"

	"ventdue/vent"
)

const (
	wakeBucket   = "wake"
	wakeOfBucket = "wake.of"
	replanBucket = "replan"
)

// WakeKind says what a waking row is for.
type WakeKind string

// The kinds of waking rows.
const (
	WakeTell  WakeKind = "tell"  // look again at what a person has to be told; the ID is the person's
	WakeFault WakeKind = "fault" // a fault that was put off comes back; the ID is the fault's
)

// A waking row says that something has to be looked at again at a moment; each (kind, id) has at most one. The rows
// lie in the order of their moments, so that a tick costs what is due, not what is stored.

// SetWake moves the row of (kind, id) to the moment; never removes it.
func (tx *Tx) SetWake(kind WakeKind, id vent.ID, at vent.Instant) error {
	was, of := tx.WakeOf(kind, id), wakeOfKey(kind, id)
	if was == at {
		return nil
	}
	if !was.IsZero() {
		if err := tx.delete(wakeBucket, wakeKey(kind, was, id)); err != nil {
			return err
		}
	}
	if at.IsZero() {
		return tx.delete(wakeOfBucket, of)
	}
	if err := tx.put(wakeOfBucket, of, key{}.instant(at)); err != nil {
		return err
	}
	return tx.put(wakeBucket, wakeKey(kind, at, id), nil)
}

// WakeBy makes sure that (kind, id) is looked at by the moment: an earlier row stays.
func (tx *Tx) WakeBy(kind WakeKind, id vent.ID, at vent.Instant) error {
	if was := tx.WakeOf(kind, id); !was.IsZero() && was <= at {
		return nil
	}
	return tx.SetWake(kind, id, at)
}

// WakeOf gives when (kind, id) is looked at again; never when it is not.
func (tx *Tx) WakeOf(kind WakeKind, id vent.ID) vent.Instant {
	b := tx.get(wakeOfBucket, wakeOfKey(kind, id))
	if len(b) != 8 {
		return 0
	}
	return instantOf(b)
}

// Waking gives at most max IDs of the kind whose moment has come, earliest first.
func (tx *Tx) Waking(kind WakeKind, now vent.Instant, max int) ([]vent.ID, error) {
	var ids []vent.ID
	err := tx.scan(wakeBucket, key{}.text(string(kind)), key{}.text(string(kind)).instant(now+1), func(k, _ []byte) error {
		ids = append(ids, vent.ID(k[len(k)-16:]))
		if len(ids) == max {
			return errStop
		}
		return nil
	})
	return ids, ignoreStop(err)
}

// NextWake gives the earliest moment of the kind; never when there is none.
func (tx *Tx) NextWake(kind WakeKind) (vent.Instant, error) {
	var at vent.Instant
	prefix := key{}.text(string(kind))
	err := tx.scan(wakeBucket, prefix, end(prefix), func(k, _ []byte) error {
		at = instantOf(k[len(prefix):])
		return errStop
	})
	return at, ignoreStop(err)
}

func wakeOfKey(kind WakeKind, id vent.ID) key { return key{}.text(string(kind)).id(id) }

func wakeKey(kind WakeKind, at vent.Instant, id vent.ID) key {
	return key{}.text(string(kind)).instant(at).id(id)
}

// Replan queues a run whose dates must be computed anew: its neighbours taught something, or the policy or the
// model changed.
func (tx *Tx) Replan(run vent.ID, why string) error { return tx.put(replanBucket, run[:], []byte(why)) }

// Replanned takes a run out of the queue.
func (tx *Tx) Replanned(run vent.ID) error { return tx.delete(replanBucket, run[:]) }

// ToReplan gives at most max queued runs.
func (tx *Tx) ToReplan(max int) (ids []vent.ID, err error) {
	err = tx.scan(replanBucket, nil, nil, func(k, _ []byte) error {
		ids = append(ids, vent.ID(k))
		if len(ids) == max {
			return errStop
		}
		return nil
	})
	return ids, ignoreStop(err)
}

func ignoreStop(err error) error {
	if errors.Is(err, errStop) {
		return nil
	}
	return err
}
