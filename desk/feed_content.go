package desk

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// FeedHead is a feed with the state of what it shows.
type FeedHead struct {
	Feed    vent.Feed
	Version FeedVersion
	Changed vent.Instant // when what it shows last changed
	Horizon vent.Date    // the day around which it is cut
	Months  int          // how far ahead it reaches
	Until   vent.Instant // of a revoked one: until when its address says so; never: no end
	Gone    bool         // that time is over
}

// FeedVersion compares equal exactly while a feed shows the same.
type FeedVersion struct {
	Feed      vent.ID
	Published uint64 // changes of what is shown
	Settings  uint64 // changes of the operator's record: name, language, units
	Horizon   vent.Date
	Months    int
	Revoked   vent.Instant
	Alarms    bool
	Tasks     bool
	Shows     string
}

// FeedHead finds a feed by its token; ErrNotFound when there is none.
func (d *Desk) FeedHead(token string, now time.Time) (h FeedHead, err error) {
	err = d.store.View(func(tx *store.Tx) (err error) {
		h, err = d.feedHead(tx, token, vent.InstantOf(now))
		return err
	})
	return h, err
}

func (d *Desk) feedHead(tx *store.Tx, token string, now vent.Instant) (h FeedHead, err error) {
	if h.Feed, err = store.FeedByToken(tx, HashToken(token)); err != nil {
		return h, err
	}
	if h.Horizon = tx.Horizon(); h.Horizon == 0 {
		h.Horizon = h.Feed.Created.DateIn(time.UTC) // before the clock's first daily work
	}
	h.Months = d.Policy().FeedMonths
	published, settings := tx.Revision(h.Feed.Scope), tx.Revision(settingsScope)
	h.Version = FeedVersion{Feed: h.Feed.ID, Published: published.N, Settings: settings.N, Horizon: h.Horizon, Months: h.Months,
		Revoked: h.Feed.Revoked, Alarms: h.Feed.Alarms, Tasks: h.Feed.Tasks, Shows: fmt.Sprint(h.Feed.Shows)}
	h.Changed = max(h.Feed.Created, h.Feed.Revoked, published.At, settings.At, tx.Mark(markHorizon))
	if h.Feed.Revoked != 0 {
		h.Until = h.Feed.Revoked.Add(tombstoneDays * 24 * time.Hour)
		h.Gone = now > h.Until
	}
	return h, nil
}

// FeedContent is what a feed shows.
type FeedContent struct {
	Head     FeedHead
	Operator vent.Operator
	Title    string
	Zone     string // of the scope: its site's, its customer's first site's, or the office's
	Dues     []DueView
	Visits   []VisitView
	LeftOut  int // dues that were not loaded since there are too many: those farthest from the horizon
}

// VisitView is a visit with where it is and whose parts it has. In a customer's feed Parts holds that customer's alone. Site
// is zero for a block of the technician's own time.
type VisitView struct {
	Visit vent.Visit
	Site  vent.Site
	Parts []PartView
}

// PartView is one door's part of a visit with the door; zero for what belongs to none.
type PartView struct {
	vent.Appointment
	Unit vent.Unit
}

// The days around the horizon that a feed covers. Open dues are shown however old they are: an overdue cleaning must
// not fall out of the calendar.
const (
	feedDaysBack = 90
	feedMostDues = 1000
)

// markHorizon is when the horizon last moved.
const markHorizon = "horizon"

// FeedContent loads what a feed shows, all from one snapshot. It holds no way to get in: calendars are copied to
// machines that nobody here knows.
func (d *Desk) FeedContent(token string, now time.Time) (c FeedContent, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		c = FeedContent{}
		if c.Head, err = d.feedHead(tx, token, vent.InstantOf(now)); err != nil {
			return err
		}
		c.Operator = operator(tx)
		if err := c.nameScope(tx); err != nil || c.Head.Feed.Revoked != 0 {
			return err // a revoked one shows nothing but that
		}
		if err := c.loadDues(tx); err != nil {
			return err
		}
		return c.loadVisits(tx)
	})
	return c, err
}

func (c *FeedContent) nameScope(tx *store.Tx) error {
	c.Title, c.Zone = c.Operator.Name, c.Operator.Zone
	s := c.Head.Feed.Scope
	switch s.Kind {
	case vent.KindSite:
		site, err := store.Sites.Get(tx, s.ID)
		if err != nil {
			return err
		}
		c.Title, c.Zone = site.Name, site.Zone
	case vent.KindCustomer:
		customer, err := store.Customers.Get(tx, s.ID)
		if err != nil {
			return err
		}
		c.Title = customer.Name
		for site, err := range store.SitesOf(tx, s.ID) {
			if err == nil {
				c.Zone = site.Zone
			}
			break
		}
	case vent.KindPerson:
		p, err := store.Persons.Get(tx, s.ID)
		if err != nil {
			return err
		}
		c.Title = p.Name
		if p.Zone != "" {
			c.Zone = p.Zone
		}
	}
	return nil
}

func (c *FeedContent) loadDues(tx *store.Tx) error {
	if c.Head.Feed.Scope.Kind == vent.KindPerson {
		return nil // a technician's feed shows visits
	}
	dues, err := store.Collect(store.OpenDuesIn(tx, c.Head.Feed.Scope, 0, c.Head.Horizon.AddMonths(c.Head.Months)))
	if err != nil {
		return err
	}
	dues = slices.DeleteFunc(dues, func(d vent.Due) bool { return !c.Head.Feed.Has(partOf(d)) })
	if len(dues) > feedMostDues {
		far := func(d vent.Due) int { return abs(c.Head.Horizon.DaysUntil(d.Day)) }
		slices.SortStableFunc(dues, func(a, b vent.Due) int { return cmp.Compare(far(a), far(b)) })
		c.LeftOut, dues = len(dues)-feedMostDues, dues[:feedMostDues]
	}
	g := newGuide(tx)
	for _, due := range dues {
		v, err := g.due(due)
		if err != nil {
			return err
		}
		v.Site.Access = vent.Access{}
		c.Dues = append(c.Dues, v)
	}
	return nil
}

// partOf gives the kind of entries to which a due belongs.
func partOf(d vent.Due) vent.FeedPart {
	if d.Kind == vent.DueCheck {
		return vent.FeedChecks
	}
	return vent.FeedDues
}

func abs(n int) int { return max(n, -n) }

func (c *FeedContent) loadVisits(tx *store.Tx) error {
	if !c.Head.Feed.Has(vent.FeedVisits) {
		return nil
	}
	visits, err := visitsIn(tx, c.Head.Feed.Scope)
	if err != nil {
		return err
	}
	first, last := c.Head.Horizon.AddDays(-feedDaysBack), c.Head.Horizon.AddMonths(c.Head.Months)
	for _, v := range visits {
		if v.On < first || v.On > last || v.State == vent.Proposed { // nobody has agreed to a proposed one yet
			continue
		}
		view := VisitView{Visit: v}
		if !v.SiteID.IsZero() {
			if view.Site, err = store.Sites.Get(tx, v.SiteID); err != nil {
				return err
			}
			view.Site.Access, view.Site.Wishes = vent.Access{}, nil
		}
		if view.Parts, err = partsOf(tx, v.ID); err != nil {
			return err
		}
		if c.Head.Feed.Scope.Kind == vent.KindCustomer {
			view.Parts = slices.DeleteFunc(view.Parts, func(p PartView) bool { return p.CustomerID != c.Head.Feed.Scope.ID })
		}
		c.Visits = append(c.Visits, view)
	}
	return nil
}

// partsOf gives a visit's parts with their doors, the earliest first.
func partsOf(tx *store.Tx, visit vent.ID) (parts []PartView, err error) {
	for a, err := range store.AppointmentsOf(tx, visit) {
		if err != nil {
			return nil, err
		}
		p := PartView{Appointment: a}
		if !a.UnitID.IsZero() {
			if p.Unit, err = store.Units.Get(tx, a.UnitID); err != nil {
				return nil, err
			}
		}
		parts = append(parts, p)
	}
	slices.SortStableFunc(parts, func(a, b PartView) int { return a.Start - b.Start })
	return parts, nil
}

func visitsIn(tx *store.Tx, s vent.Scope) ([]vent.Visit, error) {
	switch s.Kind {
	case vent.KindSite:
		return store.Collect(store.VisitsOf(tx, s.ID))
	case vent.KindPerson:
		return store.Collect(store.VisitsBy(tx, s.ID))
	case vent.KindCustomer:
		return visitsFor(tx, s.ID)
	}
	return store.Collect(store.Visits.All(tx))
}

// visitsFor gives the visits in which a customer has a part, each once.
func visitsFor(tx *store.Tx, customer vent.ID) (all []vent.Visit, err error) {
	seen := map[vent.ID]bool{}
	for a, err := range store.AppointmentsFor(tx, customer) {
		if err != nil {
			return nil, err
		}
		if seen[a.VisitID] {
			continue
		}
		seen[a.VisitID] = true
		v, err := store.Visits.Get(tx, a.VisitID)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, nil
}
