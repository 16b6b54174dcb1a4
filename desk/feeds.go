package desk

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"strings"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// tombstoneDays is how long a revoked address still answers, saying that it was replaced.
const tombstoneDays = 30

// NewFeed is a feed with its secret, which is shown this once.
type NewFeed struct {
	Feed  vent.Feed `json:"feed"`
	Token string    `json:"token"`
}

// newToken gives 160 random bits in letters and digits that survive being read aloud.
func newToken() (token string, hash []byte) {
	b := make([]byte, 20)
	rand.Read(b) // never fails
	token = strings.ToLower(base32.StdEncoding.EncodeToString(b))
	return token, HashToken(token)
}

// HashToken gives the form in which a token is kept.
func HashToken(token string) []byte {
	h := sha256.Sum256([]byte(token))
	return h[:]
}

// CreateFeed makes a secret calendar address for a scope.
func (d *Desk) CreateFeed(by By, f vent.Feed) (NewFeed, error) {
	token, hash := newToken()
	err := d.store.Update(by, func(tx *store.Tx) error {
		var err error
		f, err = putFeed(tx, f, hash)
		return err
	})
	return NewFeed{Feed: f, Token: token}, err
}

func putFeed(tx *store.Tx, f vent.Feed, hash []byte) (vent.Feed, error) {
	f.ID, f.TokenHash, f.Created, f.Revoked, f.Replaced = tx.NewID(), hash, tx.Now(), 0, vent.ID{}
	if err := f.Valid().Err(); err != nil {
		return f, fmt.Errorf("make a feed: %w", err)
	}
	if err := scopeExists(tx, f.Scope); err != nil {
		return f, fmt.Errorf("make a feed: %w", err)
	}
	return f, store.Feeds.Put(tx, f, "feed made: "+f.Name)
}

func scopeExists(tx *store.Tx, s vent.Scope) error {
	var err error
	switch s.Kind {
	case vent.KindCustomer:
		_, err = store.Customers.Get(tx, s.ID)
	case vent.KindSite:
		_, err = store.Sites.Get(tx, s.ID)
	case vent.KindPerson:
		_, err = store.Persons.Get(tx, s.ID)
	}
	return err
}

// RotateFeed gives a feed a new address; the old one says for 30 days that it was replaced.
func (d *Desk) RotateFeed(by By, id vent.ID) (NewFeed, error) {
	token, hash := newToken()
	var next vent.Feed
	err := d.store.Update(by, func(tx *store.Tx) error {
		old, err := liveFeed(tx, id)
		if err != nil {
			return err
		}
		next = old
		next.Fetched, next.FetchedBy = 0, ""
		if next, err = putFeed(tx, next, hash); err != nil {
			return err
		}
		old.Revoked, old.Replaced = tx.Now(), next.ID
		return store.Feeds.Put(tx, old, "feed address replaced: "+old.Name)
	})
	return NewFeed{Feed: next, Token: token}, err
}

// RevokeFeed ends a feed's address.
func (d *Desk) RevokeFeed(by By, id vent.ID) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		f, err := liveFeed(tx, id)
		if err != nil {
			return err
		}
		f.Revoked = tx.Now()
		return store.Feeds.Put(tx, f, "feed revoked: "+f.Name)
	})
}

func liveFeed(tx *store.Tx, id vent.ID) (vent.Feed, error) {
	f, err := store.Feeds.Get(tx, id)
	if err == nil && f.Revoked != 0 {
		err = fmt.Errorf("feed %s was revoked on %s: %w", f.Name, f.Revoked, vent.ErrConflict)
	}
	return f, err
}

// Feeds lists all feeds, revoked ones included.
func (d *Desk) Feeds() (all []vent.Feed, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all, err = store.Collect(store.Feeds.All(tx))
		return err
	})
	return all, err
}

// FeedHead is what decides whether a feed must be rendered again.
type FeedHead struct {
	Feed     vent.Feed
	Revision store.Revision
	Settings store.Revision // of the operator's record: name, language, units
	Horizon  vent.Date
	Gone     bool // revoked longer than 30 days ago
}

// FeedHead finds a feed by its token; ErrNotFound when there is none.
func (d *Desk) FeedHead(token string, now time.Time) (h FeedHead, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		if h.Feed, err = store.FeedByToken(tx, HashToken(token)); err != nil {
			return err
		}
		h.stand(tx)
		h.Gone = h.Feed.Revoked != 0 && vent.InstantOf(now) > h.Feed.Revoked.Add(tombstoneDays*24*time.Hour)
		return nil
	})
	return h, err
}

// stand notes the state of what the feed shows.
func (h *FeedHead) stand(tx *store.Tx) {
	h.Revision, h.Settings, h.Horizon = tx.Revision(h.Feed.Scope), tx.Revision(settingsScope), tx.Horizon()
}

// FeedContent is what a feed shows.
type FeedContent struct {
	Head     FeedHead
	Operator vent.Operator
	Title    string
	Zone     string // of the scope: its site's, its customer's first site's, or the office's
	Dues     []DueView
	Visits   []VisitView
}

// VisitView is a visit with where it is and whose parts it has. In a customer's feed Parts holds that customer's alone.
type VisitView struct {
	Visit vent.Visit
	Site  vent.Site
	Parts []vent.Appointment
}

// The days around the horizon that a feed covers. Open dues are shown however old they are: an overdue cleaning must
// not fall out of the calendar.
const (
	feedDaysBack    = 90
	feedMonthsAhead = 24
)

// FeedContent loads what a feed shows. The head inside it is of the same snapshot.
func (d *Desk) FeedContent(token string, now time.Time) (c FeedContent, err error) {
	if c.Head, err = d.FeedHead(token, now); err != nil {
		return c, err
	}
	err = d.store.View(func(tx *store.Tx) error {
		c.Head.stand(tx)
		c.Operator = operator(tx)
		if err := c.nameScope(tx); err != nil {
			return err
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
	var to vent.Date
	if c.Head.Horizon != 0 {
		to = c.Head.Horizon.AddMonths(feedMonthsAhead)
	}
	g := newGuide(tx)
	for due, err := range store.OpenDuesIn(tx, c.Head.Feed.Scope, 0, to) {
		if err != nil {
			return err
		}
		v, err := g.due(due)
		if err != nil {
			return err
		}
		c.Dues = append(c.Dues, v)
	}
	return nil
}

func (c *FeedContent) loadVisits(tx *store.Tx) error {
	visits, err := visitsIn(tx, c.Head.Feed.Scope)
	if err != nil {
		return err
	}
	for _, v := range visits {
		if h := c.Head.Horizon; h != 0 && (v.On < h.AddDays(-feedDaysBack) || v.On > h.AddMonths(feedMonthsAhead)) {
			continue
		}
		if v.State == vent.Proposed {
			continue // nobody has agreed to it yet
		}
		site, err := store.Sites.Get(tx, v.SiteID)
		if err != nil {
			return err
		}
		parts, err := store.Collect(store.AppointmentsOf(tx, v.ID))
		if err != nil {
			return err
		}
		if c.Head.Feed.Scope.Kind == vent.KindCustomer {
			parts = only(parts, c.Head.Feed.Scope.ID)
			site.Access = site.Access.Public()
		}
		c.Visits = append(c.Visits, VisitView{Visit: v, Site: site, Parts: parts})
	}
	return nil
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

func only(parts []vent.Appointment, customer vent.ID) (own []vent.Appointment) {
	for _, a := range parts {
		if a.CustomerID == customer {
			own = append(own, a)
		}
	}
	return own
}

// Fetch is when and by what program a feed was last read.
type Fetch struct {
	At time.Time
	By string
}

// FeedsFetched writes down, now and then, who read which feed.
func (d *Desk) FeedsFetched(by By, seen map[vent.ID]Fetch) error {
	if len(seen) == 0 {
		return nil
	}
	return d.store.Update(by, func(tx *store.Tx) error {
		for id, s := range seen {
			f, err := store.Feeds.Get(tx, id)
			if errors.Is(err, vent.ErrNotFound) {
				continue
			}
			if err != nil {
				return err
			}
			f.Fetched, f.FetchedBy = vent.InstantOf(s.At), s.By
			if err := store.Feeds.Put(tx, f, ""); err != nil {
				return err
			}
		}
		return nil
	})
}

// MoveHorizon moves the day around which feeds are cut to the first of the present month: by months, so that an
// unchanged feed keeps its bytes from day to day.
func (d *Desk) MoveHorizon(by By) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		y, m, _ := tx.Now().DateIn(zoneOf(operator(tx).Zone)).Split()
		return tx.SetHorizon(vent.NewDate(y, m, 1))
	})
}
