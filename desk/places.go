package desk

import (
	"errors"
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// SiteView is a building: how its doors stand, who is coming, and who is told.
type SiteView struct {
	SiteService
	Visits []BookedVisit // booked, from today on
	Feeds  []vent.Feed   // in use
}

// Site gives everything about one building.
func (d *Desk) Site(by By, id vent.ID) (v SiteView, err error) {
	if v.SiteService, err = d.SiteService(by, id); err != nil {
		return v, err
	}
	err = d.store.View(func(tx *store.Tx) error {
		v.Visits, v.Feeds = nil, nil
		g := newGuide(tx)
		for x, err := range store.VisitsAt(tx, id, v.Today, v.Today.AddDays(400)) {
			if err != nil {
				return err
			}
			if x.State == vent.Booked {
				shown, err := g.visit(x)
				if err != nil {
					return err
				}
				v.Visits = append(v.Visits, shown)
			}
		}
		v.Feeds, err = liveFeeds(tx, vent.Scope{Kind: vent.KindSite, ID: id})
		return err
	})
	return v, err
}

func liveFeeds(tx *store.Tx, s vent.Scope) ([]vent.Feed, error) {
	feeds, err := store.Collect(store.FeedsOf(tx, s))
	return slices.DeleteFunc(feeds, func(f vent.Feed) bool { return f.Revoked != 0 }), err
}

// CustomerView is a customer with their buildings, people and calendars.
type CustomerView struct {
	Customer vent.Customer
	Today    vent.Date
	Persons  []ContactView
	Sites    []SiteSum
	Feeds    []vent.Feed // in use
}

// ContactView is a person with why no mail reaches them; "" where it does.
type ContactView struct {
	Person vent.Person
	Why    string
}

// SiteSum is a building in a list.
type SiteSum struct {
	Site   vent.Site
	Runs   int
	Counts BoardCounts
	Next   vent.Due // the first that is open; zero: nothing is due
}

// Customer gives everything about one customer.
func (d *Desk) Customer(by By, id vent.ID) (v CustomerView, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		v = CustomerView{Today: vent.InstantOf(by.Now).DateIn(zoneOf(operator(tx).Zone))}
		if v.Customer, err = store.Customers.Get(tx, id); err != nil {
			return err
		}
		for _, person := range v.Customer.Persons {
			p, err := store.Persons.Get(tx, person)
			if errors.Is(err, vent.ErrNotFound) {
				continue
			}
			if err != nil {
				return err
			}
			v.Persons = append(v.Persons, ContactView{p, reachableFor(p, classReminder)})
		}
		sites, err := store.Collect(store.SitesOf(tx, id))
		if err != nil {
			return err
		}
		for _, s := range sites {
			sum, err := sumOf(tx, s, v.Today)
			if err != nil {
				return err
			}
			v.Sites = append(v.Sites, sum)
		}
		v.Feeds, err = liveFeeds(tx, vent.Scope{Kind: vent.KindCustomer, ID: id})
		return err
	})
	slices.SortStableFunc(v.Sites, func(a, b SiteSum) int { return naturally(a.Site.Name, b.Site.Name) })
	return v, err
}

func sumOf(tx *store.Tx, site vent.Site, today vent.Date) (s SiteSum, err error) {
	s.Site = site
	for r, err := range store.RunsOfSite(tx, site.ID) {
		if err != nil {
			return s, err
		}
		if r.Ended == 0 || r.Ended > today {
			s.Runs++
		}
	}
	x := sifter{}
	x.board.Today = today
	for due, err := range store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindSite, ID: site.ID}, 0, 0) {
		if err != nil {
			return s, err
		}
		x.count(due)
		if s.Next.ID.IsZero() || due.Severity == vent.Stop && s.Next.Severity != vent.Stop {
			s.Next = due
		}
	}
	s.Counts = x.board.Counts
	return s, nil
}
