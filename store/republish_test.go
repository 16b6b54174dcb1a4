package store

import (
	"testing"
	"time"

	"ventdue/vent"
)

// house stores a customer with a contact, a site, a unit, a run with one open due and a visit.
func house(t *testing.T, s *Store) (due, visit vent.ID) {
	t.Helper()
	update(t, s, 0, func(tx *Tx) error {
		puts := []func() error{
			func() error {
				return Operators.Put(tx, vent.Operator{Kind: vent.Customers, Name: "Larkspur Vents", Zone: "UTC", Units: vent.US}, "")
			},
			func() error { return Persons.Put(tx, vent.Person{ID: id(1), Name: "Ida Lund"}, "") },
			func() error {
				return Customers.Put(tx, vent.Customer{ID: id(2), Name: "Lund", Persons: []vent.ID{id(1)}}, "")
			},
			func() error {
				return Sites.Put(tx, vent.Site{ID: id(3), CustomerID: id(2), Name: "Maple House", Zone: "UTC"}, "")
			},
			func() error {
				return Units.Put(tx, vent.Unit{ID: id(4), SiteID: id(3), Kind: vent.Flat, Name: "3B"}, "")
			},
			func() error {
				return Runs.Put(tx, vent.Run{ID: id(5), SiteID: id(3), UnitID: id(4), Name: "dryer", Shape: vent.Single}, "")
			},
			func() error {
				return Visits.Put(tx, vent.Visit{ID: id(6), SiteID: id(3), TechnicianID: id(1), On: vent.NewDate(2026, 12, 1), UID: "v"}, "")
			},
			func() error {
				return Visits.Put(tx, vent.Visit{ID: id(7), SiteID: id(3), On: vent.NewDate(2026, 10, 1), UID: "old"}, "")
			},
			func() error {
				return Appointments.Put(tx, vent.Appointment{ID: id(8), VisitID: id(6), CustomerID: id(2)}, "")
			},
			func() error {
				_, err := Reconcile(tx, Place{Subject: ofRun(id(5)), Site: id(3), Customer: id(2)},
					[]vent.Wanted{{Kind: vent.DueClean, Opener: id(5), Day: vent.NewDate(2026, 12, 24)}}, vent.OperatorSubject)
				return err
			},
			func() error { return tx.SetWake(WakeTell, id(1), 0) },
		}
		for _, put := range puts {
			if err := put(); err != nil {
				return err
			}
		}
		return nil
	})
	view(t, s, func(tx *Tx) error {
		all, err := Collect(OpenDues(tx, 0, 0))
		due = all[0].ID
		return err
	})
	return due, id(6)
}

// What is shown of a due stands in other records too. Each line changes one of them, and says whether the due's and
// the visit's entries change by it, and whether the contact is to be looked at.
func TestWhatFollowsFromAChange(t *testing.T) {
	lat := 40.5
	for _, c := range []struct {
		name             string
		change           func(*Tx) error
		due, visit, wake bool
	}{
		{"site renamed", edit(Sites, id(3), func(v *vent.Site) { v.Name = "Maple Court" }), true, true, false},
		{"site's address", edit(Sites, id(3), func(v *vent.Site) { v.Address = "12 Maple Road" }), true, true, false},
		{"site found on the map", edit(Sites, id(3), func(v *vent.Site) { v.Lat, v.Lon = &lat, &lat }), true, true, false},
		{"site's door code", edit(Sites, id(3), func(v *vent.Site) { v.Access.Codes = "4711" }), false, false, false},
		{"unit renamed", edit(Units, id(4), func(v *vent.Unit) { v.Name = "3C" }), true, false, false},
		{"unit's pets", edit(Units, id(4), func(v *vent.Unit) { v.Pets = true }), false, false, false},
		{"run renamed", edit(Runs, id(5), func(v *vent.Run) { v.Name = "laundry" }), true, false, false},
		{"run's note", edit(Runs, id(5), func(v *vent.Run) { v.Note = "long" }), false, false, false},
		{"customer renamed", edit(Customers, id(2), func(v *vent.Customer) { v.Name = "Lund and Daughter" }), true, false, false},
		{"customer ended", edit(Customers, id(2), func(v *vent.Customer) { v.Ended = vent.NewDate(2026, 1, 1) }), false, false, true},
		{"contact gone", edit(Customers, id(2), func(v *vent.Customer) { v.Persons = nil }), false, false, true},
		{"language", edit(Operators, vent.ID{}, func(v *vent.Operator) { v.Language = "es" }), true, true, false},
		{"operator's phone", edit(Operators, vent.ID{}, func(v *vent.Operator) { v.Phone = "555-0100" }), false, false, false},
		{"new address", edit(Persons, id(1), func(v *vent.Person) { v.Email = "ida@example.com" }), false, false, true},
		{"reachable again", edit(Persons, id(1), func(v *vent.Person) { v.Undeliverable = "550" }), false, false, true},
		{"wants mail again", edit(Persons, id(1), func(v *vent.Person) { v.Consents = []vent.Consent{{Purpose: "all", Given: true}} }), false, false, true},
		{"moved to another zone", edit(Persons, id(1), func(v *vent.Person) { v.Zone = "Pacific/Apia" }), false, false, true},
		{"married", edit(Persons, id(1), func(v *vent.Person) { v.Name = "Ida Berg" }), false, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := opened(t)
			dueID, visitID := house(t, s)
			update(t, s, time.Hour, c.change)
			view(t, s, func(tx *Tx) error {
				d, err := Dues.Get(tx, dueID)
				if err != nil {
					return err
				}
				v, err := Visits.Get(tx, visitID)
				if err != nil {
					return err
				}
				rose(t, "due", c.due, d.Sequence, d.Modified)
				rose(t, "visit", c.visit, v.Sequence, v.Modified)
				if past, _ := Visits.Get(tx, id(7)); past.Sequence != 0 {
					t.Error("a visit that is over was published anew")
				}
				later := vent.InstantOf(t0.Add(time.Hour))
				for _, scope := range []vent.Scope{vent.OperatorScope, {Kind: vent.KindSite, ID: id(3)}, {Kind: vent.KindCustomer, ID: id(2)}} {
					if got := tx.Revision(scope).At == later; c.due && !got {
						t.Errorf("revision of %s: %v", scope, tx.Revision(scope))
					}
				}
				if tech := tx.Revision(vent.Scope{Kind: vent.KindPerson, ID: id(1)}); c.visit && tech.At != later {
					t.Errorf("revision of the technician: %v", tech)
				}
				at, err := tx.NextWake(WakeTell)
				if (at == later) != c.wake {
					t.Errorf("contact wakes at %s, want now: %v", at, c.wake)
				}
				return err
			})
		})
	}
}

func edit[T any](t *Table[T], id vent.ID, f func(*T)) func(*Tx) error {
	return func(tx *Tx) error {
		v, err := t.Get(tx, id)
		if err != nil {
			return err
		}
		f(&v)
		return t.Put(tx, v, "changed")
	}
}

func rose(t *testing.T, what string, want bool, sequence int, modified vent.Instant) {
	t.Helper()
	if got := sequence == 1 && modified > vent.InstantOf(t0); got != want {
		t.Errorf("%s: SEQUENCE %d, LAST-MODIFIED %s; want a rise: %v", what, sequence, modified, want)
	}
}

// A due that moved later while the mail about its old day was on its way has to be told again.
func TestNoteTold(t *testing.T) {
	told := vent.NewDate(2026, 12, 24)
	for _, c := range []struct {
		moved, arm  int
		again       bool
		wantToldDay vent.Date
	}{{0, 0, false, told}, {14, 0, false, told}, {15, 0, true, 0}, {-9, 0, false, told}, {0, 1, false, 0}} {
		s := opened(t)
		due, _ := house(t, s)
		update(t, s, time.Hour, edit(Dues, due, func(d *vent.Due) { d.Day = told.AddDays(c.moved) }))
		update(t, s, time.Hour, func(tx *Tx) error {
			again, err := NoteTold(tx, due, c.arm, told)
			d, _ := Dues.Get(tx, due)
			if again != c.again || d.ToldDay != c.wantToldDay || (d.Arm == 1) != c.again || d.Sequence != 0 {
				t.Errorf("moved by %d: again %v, %+v", c.moved, again, d)
			}
			return err
		})
	}
}
