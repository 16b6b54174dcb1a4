package store

import (
	"errors"
	"iter"
	"testing"

	"ventdue/vent"
)

// found says which ways lead to a record and that none leads to another's.
func found[T any](t *testing.T, tx *Tx, want T, walks map[string]func(n byte) iter.Seq2[T, error], n map[string]byte) {
	t.Helper()
	for name, walk := range walks {
		got, err := Collect(walk(n[name]))
		equal(t, name, got, []T{want})
		none, e := Collect(walk(n[name] + 100))
		if len(none) != 0 || err != nil || e != nil {
			t.Errorf("%s of another gives %v, %v, %v", name, none, err, e)
		}
	}
}

func TestEveryWalkFindsItsOwn(t *testing.T) {
	s := opened(t)
	sample(t, s)
	all := records()
	view(t, s, func(tx *Tx) error {
		run := func(n byte) vent.Subject { return vent.Subject{Kind: vent.KindRun, ID: id(n)} }
		n := map[string]byte{"customers of person": 1, "sites of customer": 10, "units of site": 20, "units of person": 1, "appliances of unit": 25,
			"runs of site": 20, "runs of unit": 25, "findings": 30, "signs": 30, "faults": 30, "checks": 30, "dues": 30, "open dues": 30,
			"visits of site": 20, "visits by technician": 1, "appointments of visit": 80, "appointments for customer": 10,
			"notices about": 70, "notices for": 1, "messages to": 1, "messages on": 1, "feeds": 20}
		found(t, tx, all[2].(vent.Customer), map[string]func(byte) iter.Seq2[vent.Customer, error]{
			"customers of person": func(n byte) iter.Seq2[vent.Customer, error] { return CustomersOf(tx, id(n)) }}, n)
		found(t, tx, all[3].(vent.Site), map[string]func(byte) iter.Seq2[vent.Site, error]{
			"sites of customer": func(n byte) iter.Seq2[vent.Site, error] { return SitesOf(tx, id(n)) }}, n)
		found(t, tx, all[4].(vent.Unit), map[string]func(byte) iter.Seq2[vent.Unit, error]{
			"units of site":   func(n byte) iter.Seq2[vent.Unit, error] { return UnitsOf(tx, id(n)) },
			"units of person": func(n byte) iter.Seq2[vent.Unit, error] { return UnitsOccupiedBy(tx, id(n)) }}, n)
		found(t, tx, all[5].(vent.Appliance), map[string]func(byte) iter.Seq2[vent.Appliance, error]{
			"appliances of unit": func(n byte) iter.Seq2[vent.Appliance, error] { return AppliancesOf(tx, id(n)) }}, n)
		found(t, tx, all[6].(vent.Run), map[string]func(byte) iter.Seq2[vent.Run, error]{
			"runs of site": func(n byte) iter.Seq2[vent.Run, error] { return RunsOfSite(tx, id(n)) },
			"runs of unit": func(n byte) iter.Seq2[vent.Run, error] { return RunsOfUnit(tx, id(n)) }}, n)
		found(t, tx, all[7].(vent.Finding), map[string]func(byte) iter.Seq2[vent.Finding, error]{
			"findings": func(n byte) iter.Seq2[vent.Finding, error] { return FindingsOf(tx, id(n)) }}, n)
		found(t, tx, all[8].(vent.Sign), map[string]func(byte) iter.Seq2[vent.Sign, error]{
			"signs": func(n byte) iter.Seq2[vent.Sign, error] { return SignsOf(tx, id(n)) }}, n)
		found(t, tx, all[9].(vent.Fault), map[string]func(byte) iter.Seq2[vent.Fault, error]{
			"faults": func(n byte) iter.Seq2[vent.Fault, error] { return FaultsOf(tx, run(n)) }}, n)
		found(t, tx, all[10].(vent.Check), map[string]func(byte) iter.Seq2[vent.Check, error]{
			"checks": func(n byte) iter.Seq2[vent.Check, error] { return ChecksOf(tx, run(n)) }}, n)
		found(t, tx, all[11].(vent.Due), map[string]func(byte) iter.Seq2[vent.Due, error]{
			"dues":      func(n byte) iter.Seq2[vent.Due, error] { return DuesOf(tx, run(n)) },
			"open dues": func(n byte) iter.Seq2[vent.Due, error] { return OpenDuesOf(tx, run(n)) }}, n)
		found(t, tx, all[12].(vent.Visit), map[string]func(byte) iter.Seq2[vent.Visit, error]{
			"visits of site":       func(n byte) iter.Seq2[vent.Visit, error] { return VisitsOf(tx, id(n)) },
			"visits by technician": func(n byte) iter.Seq2[vent.Visit, error] { return VisitsBy(tx, id(n)) }}, n)
		found(t, tx, all[13].(vent.Appointment), map[string]func(byte) iter.Seq2[vent.Appointment, error]{
			"appointments of visit":     func(n byte) iter.Seq2[vent.Appointment, error] { return AppointmentsOf(tx, id(n)) },
			"appointments for customer": func(n byte) iter.Seq2[vent.Appointment, error] { return AppointmentsFor(tx, id(n)) }}, n)
		found(t, tx, all[14].(vent.Notice), map[string]func(byte) iter.Seq2[vent.Notice, error]{
			"notices about": func(n byte) iter.Seq2[vent.Notice, error] {
				return NoticesAbout(tx, vent.Subject{Kind: vent.KindDue, ID: id(n)})
			},
			"notices for": func(n byte) iter.Seq2[vent.Notice, error] { return NoticesFor(tx, id(n)) }}, n)
		message := all[15].(vent.Message)
		found(t, tx, message, map[string]func(byte) iter.Seq2[vent.Message, error]{
			"messages to": func(n byte) iter.Seq2[vent.Message, error] { return MessagesTo(tx, id(n)) },
			"messages on": func(n byte) iter.Seq2[vent.Message, error] { return MessagesOn(tx, id(n), message.On) }}, n)
		found(t, tx, all[16].(vent.Feed), map[string]func(byte) iter.Seq2[vent.Feed, error]{
			"feeds": func(n byte) iter.Seq2[vent.Feed, error] {
				return FeedsOf(tx, vent.Scope{Kind: vent.KindSite, ID: id(n)})
			}}, n)
		return nil
	})
}

func TestRefsAreFoundAndMissed(t *testing.T) {
	s := opened(t)
	sample(t, s)
	view(t, s, func(tx *Tx) error {
		for name, by := range map[string]func(ref string) (vent.ID, error){
			"P-1": func(r string) (vent.ID, error) { v, err := PersonByRef(tx, r); return v.ID, err },
			"C-1": func(r string) (vent.ID, error) { v, err := CustomerByRef(tx, r); return v.ID, err },
			"S-1": func(r string) (vent.ID, error) { v, err := SiteByRef(tx, r); return v.ID, err },
			"U-1": func(r string) (vent.ID, error) { v, err := UnitByRef(tx, r); return v.ID, err },
			"A-1": func(r string) (vent.ID, error) { v, err := ApplianceByRef(tx, r); return v.ID, err },
			"R-1": func(r string) (vent.ID, error) { v, err := RunByRef(tx, r); return v.ID, err },
		} {
			if got, err := by(name); err != nil || got.IsZero() {
				t.Errorf("%s: %v", name, err)
			}
			for _, other := range []string{"", "P", "p-1", "P-12", "nobody"} {
				if _, err := by(other); !errors.Is(err, vent.ErrNotFound) {
					t.Errorf("%q instead of %s: %v", other, name, err)
				}
			}
		}
		if _, err := FeedByToken(tx, nil); !errors.Is(err, vent.ErrNotFound) {
			t.Errorf("a feed without token: %v", err)
		}
		next, err := NextMessage(tx, vent.ByMail)
		if next != vent.InstantOf(t0) || err != nil {
			t.Errorf("the next message is tried at %s, %v", next, err)
		}
		if n, err := CountMessagesWaiting(tx); n != 1 || err != nil {
			t.Errorf("%d messages wait, %v", n, err)
		}
		return nil
	})
}

func TestARisersBranches(t *testing.T) {
	s := opened(t)
	riser := vent.Run{ID: id(31), SiteID: id(20), Name: "riser", Shape: vent.Riser}
	branch := vent.Run{ID: id(32), SiteID: id(20), Name: "3B", Shape: vent.Branch, ParentID: id(31)}
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(errors.Join(places(tx)...), Runs.Put(tx, riser, ""), Runs.Put(tx, branch, ""))
	})
	view(t, s, func(tx *Tx) error {
		got, err := Collect(BranchesOf(tx, id(31)))
		equal(t, "branches", got, []vent.Run{branch})
		return err
	})
}

func TestAnErasedTrailIsGone(t *testing.T) {
	s := opened(t)
	sample(t, s)
	person := vent.Subject{Kind: vent.KindPerson, ID: id(1)}
	update(t, s, 0, func(tx *Tx) error {
		before, err := tx.Trail(person)
		n, e := tx.EraseTrail(person)
		if n != len(before) || n != 3 {
			t.Errorf("%d of %d lines erased", n, len(before))
		}
		return errors.Join(err, e)
	})
	view(t, s, func(tx *Tx) error {
		left, err := tx.Trail(person)
		other, e := tx.Trail(elmCourt.Subject)
		if len(left) != 0 || len(other) == 0 {
			t.Errorf("%d lines left, %d of the run", len(left), len(other))
		}
		return errors.Join(err, e)
	})
}
