// Package scene sets up small invented installations over a real data file, for tests of what the office tells and
// publishes. Tests only.
package scene

import (
	"path/filepath"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

// Scene is one installation and the moment at which everything in it happens. Tests move Now.
type Scene struct {
	TB    testing.TB
	Store *store.Store
	Desk  *desk.Desk
	Now   time.Time
}

// Home is one customer's house with one dryer.
type Home struct{ Customer, Site, Unit, Dryer, Run vent.ID }

// Start sets up an empty installation of a service business in New York. At the end of the test its file must be whole.
func Start(tb testing.TB, now time.Time) *Scene {
	tb.Helper()
	s := Open(tb, filepath.Join(tb.TempDir(), "ventdue.db"), now, store.Options{NoSync: true})
	tb.Cleanup(func() {
		if err := s.Store.Verify().Err(); err != nil {
			tb.Errorf("verify: %v", err)
		}
		s.Close()
	})
	s.Operator(vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Zone: "America/New_York", Units: vent.US, Phone: "555-0100"})
	return s
}

// Open opens a data file that the test closes itself.
func Open(tb testing.TB, path string, now time.Time, o store.Options) *Scene {
	tb.Helper()
	st, err := store.Open(path, o)
	if err != nil {
		tb.Fatal(err)
	}
	return &Scene{TB: tb, Store: st, Desk: desk.New(st, desk.DefaultPolicy(), nil), Now: now}
}

// Close closes the data file.
func (s *Scene) Close() {
	s.TB.Helper()
	if err := s.Store.Close(); err != nil {
		s.TB.Error(err)
	}
}

// By is the stamp of the moment.
func (s *Scene) By() desk.By { return desk.By{Now: s.Now, Actor: "office"} }

// Clock gives the moment, to those who ask for it again and again.
func (s *Scene) Clock() time.Time { return s.Now }

// Operator puts the operator's record in place.
func (s *Scene) Operator(o vent.Operator) {
	s.TB.Helper()
	if err := s.Desk.SetOperator(s.By(), o); err != nil {
		s.TB.Fatal(err)
	}
}

// Update changes the records and ends the test where that fails.
func (s *Scene) Update(f func(*store.Tx) error) {
	s.TB.Helper()
	if err := s.Store.Update(s.By(), f); err != nil {
		s.TB.Fatal(err)
	}
}

// View reads the records and ends the test where that fails.
func (s *Scene) View(f func(*store.Tx) error) {
	s.TB.Helper()
	if err := s.Store.View(f); err != nil {
		s.TB.Fatal(err)
	}
}

// Person adds a person.
func (s *Scene) Person(name, email string) (id vent.ID) {
	s.TB.Helper()
	s.Update(func(tx *store.Tx) error {
		id = tx.NewID()
		return store.Persons.Put(tx, vent.Person{ID: id, Name: name, Email: email}, "added")
	})
	return id
}

// House adds a customer of the name with a house in the zone, with an electric dryer and a vent run.
func (s *Scene) House(name, zone string, contacts ...vent.ID) (h Home) {
	s.TB.Helper()
	s.Update(func(tx *store.Tx) error {
		h = Home{tx.NewID(), tx.NewID(), tx.NewID(), tx.NewID(), tx.NewID()}
		puts := []error{
			store.Customers.Put(tx, vent.Customer{ID: h.Customer, Name: name, Persons: contacts}, "added"),
			store.Sites.Put(tx, vent.Site{ID: h.Site, CustomerID: h.Customer, Name: name + " house", Address: "12 Larkspur Lane", Zone: zone,
				Access: vent.Access{Codes: "gate 4711", Keys: "under the blue pot"}}, "added"),
			store.Units.Put(tx, vent.Unit{ID: h.Unit, SiteID: h.Site, Kind: vent.House, Name: "house"}, "added"),
			store.Appliances.Put(tx, vent.Appliance{ID: h.Dryer, UnitID: h.Unit, Kind: vent.Dryer, Fuel: vent.Electric}, "added"),
			store.Runs.Put(tx, vent.Run{ID: h.Run, SiteID: h.Site, UnitID: h.Unit, Name: "house", Shape: vent.Single, Known: vent.DateOf(s.Now),
				Versions: []vent.Version{{DryerID: h.Dryer}}}, "added"),
		}
		for _, err := range puts {
			if err != nil {
				return err
			}
		}
		return nil
	})
	return h
}

// Want makes the house's open dues be these, as a new plan does, and gives them as they are stored. event is what brought
// it about; a finding closes what is no longer wanted as done.
func (s *Scene) Want(h Home, event vent.Kind, wanted ...vent.Wanted) (dues []vent.Due) {
	s.TB.Helper()
	s.Update(func(tx *store.Tx) error {
		dues = nil
		subject := vent.Subject{Kind: vent.KindRun, ID: h.Run}
		at := store.Place{Subject: subject, Site: h.Site, Customer: h.Customer}
		if _, err := store.Reconcile(tx, at, wanted, vent.Subject{Kind: event, ID: h.Run}); err != nil {
			return err
		}
		c, err := store.Customers.Get(tx, h.Customer)
		if err != nil {
			return err
		}
		for _, p := range c.Persons {
			if err := tx.WakeBy(store.WakeTell, p, tx.Now()); err != nil {
				return err
			}
		}
		dues, err = store.Collect(store.OpenDuesOf(tx, subject))
		return err
	})
	return dues
}

// Clean is a cleaning that is due on a day, twelve months after the one that opened the cycle.
func Clean(opener vent.ID, day vent.Date) vent.Wanted {
	since := day.AddMonths(-12)
	return vent.Wanted{Kind: vent.DueClean, Opener: opener, Day: day, Earliest: day.AddDays(-60), Latest: day.AddDays(30),
		Reason: vent.Reason{Bound: vent.BoundNoEvidence, Months: 12, Since: since, Limit: vent.LimitFlow, Risk: 0.1, Chance: 0.08,
			LoadsPerWeek: 5.44, LoadsFrom: vent.UseDefault}}
}

// Due makes one cleaning due at the house.
func (s *Scene) Due(h Home, day vent.Date) vent.Due {
	s.TB.Helper()
	return s.Want(h, vent.KindOperator, Clean(h.Run, day))[0]
}

// Done closes what is due at the house, as the record of a cleaning does.
func (s *Scene) Done(h Home) {
	s.TB.Helper()
	s.Want(h, vent.KindFinding)
}

// Change edits one stored record.
func Change[T any](s *Scene, t *store.Table[T], id vent.ID, edit func(*T)) {
	s.TB.Helper()
	s.Update(func(tx *store.Tx) error {
		v, err := t.Get(tx, id)
		if err != nil {
			return err
		}
		edit(&v)
		return t.Put(tx, v, "changed")
	})
}

// Get reads one stored record.
func Get[T any](s *Scene, t *store.Table[T], id vent.ID) (v T) {
	s.TB.Helper()
	s.View(func(tx *store.Tx) (err error) {
		v, err = t.Get(tx, id)
		return err
	})
	return v
}
