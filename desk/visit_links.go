package desk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// bookMonths is for how many months a booking link leads to the page: from the first mail to well after the visit.
const bookMonths = 6

// BookingLinks makes and reads the addresses at which somebody books, moves and calls off visits, without an account. The code is over
// the purpose, the scope, the person, the address that was mailed, the person's epoch and the day of expiry; each is for one customer,
// one site or one door alone. An address is the same for a month, so that the next mail can carry it again, and using it does not use it up:
// programs follow links by themselves, and looking changes nothing.
type BookingLinks struct{ linkKey }

// BookingLinks gives the addresses of booking pages.
func (d *Desk) BookingLinks(by By) (BookingLinks, error) {
	key, err := d.linkKey(by, "booking")
	return BookingLinks{key}, err
}

// bookScopes are the kinds of scopes in the order of their numbers in a link, for ever.
var bookScopes = []vent.Kind{vent.KindCustomer, vent.KindSite, vent.KindUnit}

// BookingPath is what a booking page's path begins with.
const BookingPath = "/v/"

// Path gives the path of a person's booking page for a scope (a customer, a site or a unit) below the pages' base address, in a mail
// that is written on a day; "" for another scope.
func (l BookingLinks) Path(p vent.Person, scope vent.Scope, on vent.Date) string {
	kind := slices.Index(bookScopes, scope.Kind)
	if kind < 0 || !l.Ready() {
		return ""
	}
	y, m, _ := on.Split()
	t := bookToken{kind: byte(kind), scope: scope.ID, person: p.ID, epoch: p.LinkEpoch, until: vent.NewDate(y, m, 1).AddMonths(bookMonths)}
	return BookingPath + l.seal(t.said(), p.Email)
}

// bookToken is what a link says.
type bookToken struct {
	kind          byte
	scope, person vent.ID
	epoch         int
	until         vent.Date
}

const bookSaid = 1 + 16 + 16 + 4 + 4 // bytes of said

func (t bookToken) said() []byte {
	b := slices.Concat([]byte{t.kind}, t.scope[:], t.person[:])
	b = binary.BigEndian.AppendUint32(b, uint32(t.epoch))
	return binary.BigEndian.AppendUint32(b, uint32(t.until))
}

// ErrLinkOver is returned for a booking link that was good and is too old.
var ErrLinkOver = fmt.Errorf("the link is too old: the next mail has a new one: %w", vent.ErrNotFound)

// Booker is the holder of a booking link and what it is for.
type Booker struct {
	Person vent.Person
	Scope  vent.Scope
	// Sites are those of a customer's link, each with a link of its own; empty for a link of one site or door.
	Sites []vent.Site
}

// Actor names the holder in the trail, without a name that an erasure would have to find there.
func (b Booker) Actor() string { return bookerActor(b.Person.ID) }

func bookerActor(person vent.ID) string { return "booking link of person " + person.String() }

// Booker reads what stands behind BookingPath; vent.ErrNotFound where the code does not fit, or where the person has no more to do
// with the scope.
func (d *Desk) Booker(by By, l BookingLinks, token string) (b Booker, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		b, err = l.find(tx, token, vent.InstantOf(by.Now))
		return err
	})
	return b, err
}

func (l BookingLinks) find(tx *store.Tx, token string, now vent.Instant) (b Booker, err error) {
	none := fmt.Errorf("booking page: %w", vent.ErrNotFound)
	x, ok := l.open(token, bookSaid)
	if !ok || int(x.said[0]) >= len(bookScopes) {
		return b, none
	}
	raw := x.said
	t := bookToken{kind: raw[0], scope: vent.ID(raw[1:17]), person: vent.ID(raw[17:33]),
		epoch: int(binary.BigEndian.Uint32(raw[33:])), until: vent.Date(int32(binary.BigEndian.Uint32(raw[37:])))}
	if b.Person, err = store.Persons.Get(tx, t.person); err != nil {
		if errors.Is(err, vent.ErrNotFound) {
			err = none
		}
		return Booker{}, err
	}
	if b.Person.Email == "" || b.Person.LinkEpoch != t.epoch || !x.holds(b.Person.Email) {
		return Booker{}, none
	}
	if now.DateIn(time.UTC) >= t.until {
		return Booker{}, ErrLinkOver
	}
	b.Scope = vent.Scope{Kind: bookScopes[t.kind], ID: t.scope}
	ok, err = concerned(tx, b.Person.ID, b.Scope, now)
	if err == nil && !ok || errors.Is(err, vent.ErrNotFound) {
		return Booker{}, none
	}
	if err == nil && b.Scope.Kind == vent.KindCustomer {
		b.Sites, err = store.Collect(store.SitesOf(tx, b.Scope.ID))
		for i := range b.Sites {
			b.Sites[i].Access, b.Sites[i].Wishes = vent.Access{}, nil
		}
	}
	return b, err
}

// concerned reports whether a scope is a person's business: a contact's of the customer, or an occupant's of the door.
func concerned(tx *store.Tx, person vent.ID, scope vent.Scope, now vent.Instant) (bool, error) {
	customer := scope.ID
	if scope.Kind != vent.KindCustomer {
		site, unit, err := scopeOf(tx, scope)
		if err != nil {
			return false, err
		}
		if !unit.ID.IsZero() && unit.OccupantOn(now.DateIn(zoneOf(site.Zone))) == person {
			return true, nil
		}
		customer = site.CustomerID
	}
	c, err := store.Customers.Get(tx, customer)
	return slices.Contains(c.Persons, person), err
}

// BookingLink gives the path of a person's booking page for a scope; see BookingLinks.Path.
func (d *Desk) BookingLink(by By, person vent.ID, scope vent.Scope) (path string, err error) {
	l, err := d.BookingLinks(by)
	if err != nil {
		return "", err
	}
	err = d.store.View(func(tx *store.Tx) error {
		p, err := store.Persons.Get(tx, person)
		path = l.Path(p, scope, vent.InstantOf(by.Now).DateIn(time.UTC))
		return err
	})
	return path, err
}
