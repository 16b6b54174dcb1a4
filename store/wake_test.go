package store

import (
	"errors"
	"testing"

	"ventdue/vent"
)

func TestAWakingRowOfAnotherKindIsAnother(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(tx.SetWake("tell", id(1), 10), tx.SetWake("teller", id(1), 5), tx.SetWake("tel", id(1), 1))
	})
	view(t, s, func(tx *Tx) error {
		at, err := tx.NextWake("tell")
		if at != 10 {
			t.Errorf("next is %d", at)
		}
		due, e := tx.Waking("tell", 9, 10)
		if len(due) != 0 {
			t.Errorf("woken early: %v", due)
		}
		return errors.Join(err, e)
	})
}

func TestTheQueueOfRunsToPlanAnew(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(tx.Replan(id(2), "policy"), tx.Replan(id(1), "policy"), tx.Replan(id(2), "neighbour"), tx.Replan(id(3), "policy"))
	})
	update(t, s, 0, func(tx *Tx) error {
		two, err := tx.ToReplan(2)
		equal(t, "queue", two, []vent.ID{id(1), id(2)})
		return errors.Join(err, tx.Replanned(id(1)), tx.Replanned(id(1)))
	})
	view(t, s, func(tx *Tx) error {
		rest, err := tx.ToReplan(10)
		equal(t, "queue", rest, []vent.ID{id(2), id(3)})
		return err
	})
}

func TestMarksHorizonAndSecretAreKept(t *testing.T) {
	s := opened(t)
	day := vent.NewDate(2026, 11, 25)
	view(t, s, func(tx *Tx) error {
		if tx.Mark("tick") != 0 || tx.Horizon() != 0 || len(tx.Secret()) != 0 {
			t.Error("something is set before it was")
		}
		return nil
	})
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(tx.SetMark("tick", tx.Now()), tx.SetHorizon(day), tx.SetSecret([]byte("s3cret")))
	})
	view(t, s, func(tx *Tx) error {
		if tx.Mark("tick") != vent.InstantOf(t0) || tx.Mark("backup") != 0 || tx.Horizon() != day || string(tx.Secret()) != "s3cret" {
			t.Error("not kept")
		}
		return nil
	})
	before := s.Commits()
	update(t, s, 0, func(tx *Tx) error { return tx.SetHorizon(day) })
	if s.Commits() != before {
		t.Error("setting the same horizon made a commit")
	}
}

func TestARevisionRisesOncePerTransaction(t *testing.T) {
	s := opened(t)
	site := vent.Scope{Kind: vent.KindSite, ID: id(20)}
	for n := range uint64(3) { // all in one second
		update(t, s, 0, func(tx *Tx) error {
			return errors.Join(tx.BumpPlace(id(20), vent.ID{}), tx.BumpPlace(id(20), vent.ID{}))
		})
		view(t, s, func(tx *Tx) error {
			want := Revision{n + 1, vent.InstantOf(t0) + vent.Instant(n)}
			equal(t, "site", tx.Revision(site), want)
			equal(t, "operator", tx.Revision(vent.OperatorScope), want)
			equal(t, "customer of none", tx.Revision(vent.Scope{Kind: vent.KindCustomer}), Revision{})
			return nil
		})
	}
}
