package desk

import (
	"errors"
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// TripView is a visit with all that a person wants to know of it.
type TripView struct {
	Visit      vent.Visit
	Site       vent.Site // zero for a block of the technician's own time
	Customer   vent.Customer
	Technician vent.Person
	Parts      []TripPart // the earliest first
}

// TripPart is one door's part with its door, who lives there on the day, and what is due.
type TripPart struct {
	PartView
	Occupant vent.Person // zero: nobody is known
	Dues     []DueView
}

// tripView loads all of a visit.
func tripView(tx *store.Tx, v vent.Visit) (t TripView, err error) {
	t.Visit = v
	if !v.SiteID.IsZero() {
		if t.Site, err = store.Sites.Get(tx, v.SiteID); err != nil {
			return t, err
		}
		if t.Customer, err = store.Customers.Get(tx, t.Site.CustomerID); err != nil {
			return t, err
		}
	}
	if !v.TechnicianID.IsZero() {
		if t.Technician, err = store.Persons.Get(tx, v.TechnicianID); err != nil {
			return t, err
		}
	}
	parts, err := partsOf(tx, v.ID)
	if err != nil {
		return t, err
	}
	g := newGuide(tx)
	for _, p := range parts {
		x := TripPart{PartView: p}
		if id := p.Unit.OccupantOn(v.On); !id.IsZero() {
			if x.Occupant, err = store.Persons.Get(tx, id); err != nil && !errors.Is(err, vent.ErrNotFound) {
				return t, err
			}
		}
		for _, id := range p.Appointment.Dues {
			due, err := store.Dues.Get(tx, id)
			if errors.Is(err, vent.ErrNotFound) {
				continue
			}
			if err != nil {
				return t, err
			}
			v, err := g.due(due)
			if err != nil {
				return t, err
			}
			x.Dues = append(x.Dues, v)
		}
		t.Parts = append(t.Parts, x)
	}
	return t, nil
}

// VisitQuery asks for visits.
type VisitQuery struct {
	From, To     vent.Date // To is the first day no longer; zero is no bound
	TechnicianID vent.ID   // zero: everybody
	SiteID       vent.ID   // zero: everywhere
	Over         bool      // those that are over or called off as well
	Max          int       // 0: all
}

// Visits lists visits by day and time. Ways to get in are left out: see DaySheet.
func (d *Desk) Visits(by By, q VisitQuery) (list []TripView, total int, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		list, total = nil, 0
		walk := store.VisitsBetween(tx, q.From, q.To)
		switch {
		case !q.TechnicianID.IsZero():
			walk = store.VisitsByOn(tx, q.TechnicianID, q.From, q.To)
		case !q.SiteID.IsZero():
			walk = store.VisitsAt(tx, q.SiteID, q.From, q.To)
		}
		now := vent.InstantOf(by.Now)
		var found []vent.Visit
		for v, err := range walk {
			if err != nil {
				return err
			}
			live := v.State == vent.Proposed || v.Blocks(now)
			if (!q.SiteID.IsZero() && v.SiteID != q.SiteID) || !live && !q.Over {
				continue
			}
			found = append(found, v)
		}
		total = len(found)
		slices.SortStableFunc(found, func(a, b vent.Visit) int {
			if a.On != b.On {
				return int(a.On - b.On)
			}
			return a.Start - b.Start
		})
		if q.Max > 0 && len(found) > q.Max {
			found = found[:q.Max]
		}
		for _, v := range found {
			t, err := tripView(tx, v)
			if err != nil {
				return err
			}
			t.Site.Access = t.Site.Access.Public()
			list = append(list, t)
		}
		return nil
	})
	return list, total, err
}

// Visit gives one visit, without the codes and keys of its site.
func (d *Desk) Visit(id vent.ID) (t TripView, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		v, err := store.Visits.Get(tx, id)
		if err != nil {
			return err
		}
		t, err = tripView(tx, v)
		t.Site.Access = t.Site.Access.Public()
		return err
	})
	return t, err
}

// Technicians lists the people for whom visits are planned.
func (d *Desk) Technicians() (all []vent.Person, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all, err = store.Collect(store.Technicians(tx))
		return err
	})
	return all, err
}

// SiteWish is a wish with its site.
type SiteWish struct {
	vent.Wish
	Site vent.Site
	Unit vent.Unit
}

// Wishes lists the days that people asked for and nobody has answered, the oldest first.
func (d *Desk) Wishes() (all []SiteWish, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all = nil
		for s, err := range store.Sites.All(tx) {
			if err != nil {
				return err
			}
			for _, w := range s.Wishes {
				x := SiteWish{Wish: w, Site: s}
				x.Site.Access, x.Site.Wishes = vent.Access{}, nil
				if !w.UnitID.IsZero() {
					if x.Unit, err = store.Units.Get(tx, w.UnitID); err != nil {
						return err
					}
				}
				all = append(all, x)
			}
		}
		return nil
	})
	slices.SortStableFunc(all, func(a, b SiteWish) int { return int(a.At - b.At) })
	return all, err
}
