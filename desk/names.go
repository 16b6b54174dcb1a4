package desk

import (
	"errors"
	"fmt"
	"iter"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// Named is a customer, a site, a person who works here or everything, by the name that people know.
type Named struct {
	Scope  vent.Scope `json:"scope"`
	Name   string     `json:"name"`
	Detail string     `json:"detail,omitempty"` // a site's address
}

func namedCustomer(c vent.Customer) Named {
	return Named{Scope: vent.Scope{Kind: vent.KindCustomer, ID: c.ID}, Name: c.Name}
}

func namedSite(s vent.Site) Named {
	return Named{Scope: vent.Scope{Kind: vent.KindSite, ID: s.ID}, Name: s.Name, Detail: s.Address}
}

func namedPerson(p vent.Person) Named {
	return Named{Scope: vent.Scope{Kind: vent.KindPerson, ID: p.ID}, Name: p.Name, Detail: p.Email}
}

// staff walks those who work here.
func staff(tx *store.Tx) iter.Seq2[vent.Person, error] {
	return func(yield func(vent.Person, error) bool) {
		for p, err := range store.Persons.All(tx) {
			if (err != nil || p.Role != vent.NoRole) && !yield(p, err) {
				return
			}
		}
	}
}

// FindNamed gives at most max customers, sites or people who work here in whose name, address or own key all the words occur, or the one
// whose id was given. Another kind is refused with ErrInvalid.
func (d *Desk) FindNamed(kind vent.Kind, what string, max int) (fits []Named, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		if id, err := vent.ParseID(strings.TrimSpace(what)); err == nil {
			n, err := scopeName(tx, vent.Scope{Kind: kind, ID: id})
			fits = []Named{n}
			return err
		}
		switch kind {
		case vent.KindCustomer:
			fits, err = fitting(store.Customers.All(tx), what, max, func(c vent.Customer) (Named, string) { return namedCustomer(c), c.Ref })
		case vent.KindSite:
			fits, err = fitting(store.Sites.All(tx), what, max, func(s vent.Site) (Named, string) { return namedSite(s), s.Ref })
		case vent.KindPerson:
			fits, err = fitting(staff(tx), what, max, func(p vent.Person) (Named, string) { return namedPerson(p), p.Ref })
		default:
			err = fmt.Errorf("find a %s by name: only customers, sites and those who work here have one: %w", kind, vent.ErrInvalid)
		}
		return err
	})
	return fits, err
}

// fitting gives at most max of those that fit best: one whose name was typed in full leaves the others out.
func fitting[T any](all iter.Seq2[T, error], what string, max int, of func(T) (Named, string)) (fits []Named, err error) {
	refs := map[vent.Scope]string{}
	for v, err := range all {
		if err != nil {
			return nil, err
		}
		n, ref := of(v)
		if fitOf(what, n.Name, n.Detail, ref) != fitsNot {
			fits, refs[n.Scope] = append(fits, n), ref
		}
	}
	fits = bestFits(fits, func(n Named) fit { return fitOf(what, n.Name, n.Detail, refs[n.Scope]) })
	return fits[:min(len(fits), max)], nil
}

// Names gives the names of scopes; one that no longer exists is left out.
func (d *Desk) Names(scopes ...vent.Scope) (names map[vent.Scope]Named, err error) {
	names = make(map[vent.Scope]Named, len(scopes))
	err = d.store.View(func(tx *store.Tx) error {
		for _, s := range scopes {
			n, err := scopeName(tx, s)
			if errors.Is(err, vent.ErrNotFound) {
				continue
			}
			if err != nil {
				return err
			}
			names[s] = n
		}
		return nil
	})
	return names, err
}

func scopeName(tx *store.Tx, s vent.Scope) (Named, error) {
	switch s.Kind {
	case vent.KindCustomer:
		c, err := store.Customers.Get(tx, s.ID)
		return namedCustomer(c), err
	case vent.KindSite:
		x, err := store.Sites.Get(tx, s.ID)
		return namedSite(x), err
	case vent.KindPerson:
		p, err := store.Persons.Get(tx, s.ID)
		return namedPerson(p), err
	}
	return Named{Scope: s, Name: operator(tx).Name}, nil
}

// Untold is a customer with open dues whom no reminder can reach, and why.
type Untold struct {
	Customer vent.Customer
	Why      string // of the first contact; "" where no contact is known
}

// Untold gives the customers with open dues of whom nobody can be told, at most max of them, and how many there are.
func (d *Desk) Untold(by By, max int) (list []Untold, total int, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		list, total, err = untold(tx, vent.InstantOf(by.Now).DateIn(zoneOf(operator(tx).Zone)), max)
		return err
	})
	return list, total, err
}

func untold(tx *store.Tx, today vent.Date, max int) (list []Untold, total int, err error) {
	for c, err := range store.Customers.All(tx) {
		if err != nil {
			return nil, 0, err
		}
		if ended(c, today) {
			continue
		}
		why, told, err := contactable(tx, c)
		if err != nil {
			return nil, 0, err
		}
		if told || !anyDue(tx, c.ID) {
			continue
		}
		if total++; len(list) < max {
			list = append(list, Untold{Customer: c, Why: why})
		}
	}
	return list, total, nil
}

// contactable reports whether any contact of a customer can be reminded, and why the first one cannot.
func contactable(tx *store.Tx, c vent.Customer) (why string, ok bool, err error) {
	for _, id := range c.Persons {
		p, err := store.Persons.Get(tx, id)
		if errors.Is(err, vent.ErrNotFound) {
			continue
		}
		if err != nil {
			return "", false, err
		}
		reason := reachableFor(p, classReminder)
		if reason == "" && !p.Wants(string(vent.NoticeRunDue)) {
			reason = "asked not to be reminded"
		}
		if reason == "" {
			return "", true, nil
		}
		if why == "" {
			why = reason
		}
	}
	return why, false, nil
}

func anyDue(tx *store.Tx, customer vent.ID) bool {
	for _, err := range store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindCustomer, ID: customer}, 0, 0) {
		return err == nil
	}
	return false
}

// hasAll reports whether every word, in lower case, occurs in the text.
func hasAll(text string, words []string) bool {
	text = strings.ToLower(text)
	for _, w := range words {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

// People gives persons by their ids; those that no longer exist are left out.
func (d *Desk) People(ids ...vent.ID) (all []vent.Person, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all = nil
		for _, id := range ids {
			p, err := store.Persons.Get(tx, id)
			if errors.Is(err, vent.ErrNotFound) {
				continue
			}
			if err != nil {
				return err
			}
			all = append(all, p)
		}
		return nil
	})
	return all, err
}
