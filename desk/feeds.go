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

// FindFeed gives the feed whose id was given, or else at most max of the live feeds whose name fits best, or the name, address
// or own key of the customer or site that they show; "everything" is the operator's.
func (d *Desk) FindFeed(what string, max int) (fits []vent.Feed, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		if id, err := vent.ParseID(strings.TrimSpace(what)); err == nil {
			f, err := store.Feeds.Get(tx, id)
			fits = []vent.Feed{f}
			return err
		}
		how := map[vent.ID]fit{}
		for f, err := range store.Feeds.All(tx) {
			if err != nil {
				return err
			}
			if f.Revoked != 0 {
				continue
			}
			names, err := feedNames(tx, f)
			if err != nil && !errors.Is(err, vent.ErrNotFound) {
				return err
			}
			fits, how[f.ID] = append(fits, f), fitOf(what, names...)
		}
		fits = bestFits(fits, func(f vent.Feed) fit { return how[f.ID] })
		fits = fits[:min(len(fits), max)]
		return nil
	})
	return fits, err
}

// feedNames gives what a feed and what it shows are called.
func feedNames(tx *store.Tx, f vent.Feed) ([]string, error) {
	switch f.Scope.Kind {
	case vent.KindCustomer:
		c, err := store.Customers.Get(tx, f.Scope.ID)
		return []string{f.Name, c.Name, c.Ref}, err
	case vent.KindSite:
		s, err := store.Sites.Get(tx, f.Scope.ID)
		return []string{f.Name, s.Name, s.Address, s.Ref}, err
	case vent.KindPerson:
		p, err := store.Persons.Get(tx, f.Scope.ID)
		return []string{f.Name, p.Name, p.Email, p.Ref}, err
	}
	return []string{f.Name, "everything"}, nil
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
		to := vent.NewDate(y, m, 1)
		if tx.Horizon() == to {
			return nil
		}
		if err := tx.SetHorizon(to); err != nil {
			return err
		}
		return tx.SetMark(markHorizon, tx.Now())
	})
}
