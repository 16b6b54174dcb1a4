package desk

import (
	"crypto/rand"
	"fmt"
	"slices"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// Links are all the links that a mail can carry.
type Links struct {
	Choices  ChoiceLinks
	Signs    SignLinks
	Acks     AckLinks
	Bookings BookingLinks
	Records  RecordLinks
}

// DeadLinks gives links that look like those of mails and lead nowhere: made with a key that is kept by nobody. They are for
// mails that are only looked at, where a real link could be followed in another person's name.
func DeadLinks() Links {
	key := make([]byte, 32)
	rand.Read(key) // never fails
	dead := linkKey{key}
	return Links{ChoiceLinks{dead}, SignLinks{dead}, AckLinks{dead}, BookingLinks{dead}, RecordLinks{dead}}
}

// Example is what a customer's mails can be shown with: what stands of them now.
type Example struct {
	Customer vent.Customer
	Person   vent.Person // the contact who is told first; zero: there is none
	Place    Place       // of the first run that is kept; zero: there is none
	Dryer    vent.Appliance
	// Items are things of theirs to tell, by the kind of the mail; a kind of which they have none is missing.
	Items map[vent.NoticeKind]ReminderItem
}

// Example gathers a customer's own data for looking at mails. It reads only.
func (d *Desk) Example(by By, customer vent.ID) (x Example, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		x = Example{Items: map[vent.NoticeKind]ReminderItem{}}
		if x.Customer, err = store.Customers.Get(tx, customer); err != nil {
			return err
		}
		if len(x.Customer.Persons) > 0 {
			if x.Person, err = store.Persons.Get(tx, x.Customer.Persons[0]); err != nil {
				return err
			}
		}
		g := newGuide(tx)
		for _, gather := range []func(*guide, vent.Instant) error{x.dues, x.places, x.visits} {
			if err := gather(g, vent.InstantOf(by.Now)); err != nil {
				return fmt.Errorf("look at customer %s: %w", customer, err)
			}
		}
		return nil
	})
	return x, err
}

// dues takes the first due of each kind.
func (x *Example) dues(g *guide, _ vent.Instant) error {
	for due, err := range store.OpenDuesIn(g.tx, vent.Scope{Kind: vent.KindCustomer, ID: x.Customer.ID}, 0, 0) {
		if err != nil {
			return err
		}
		kind := vent.NoticeKindOf(due)
		if _, had := x.Items[kind]; had {
			continue
		}
		it, _, err := itemOf(g.tx, g, due)
		if err != nil {
			return err
		}
		it.Site.Access = vent.Access{}
		it.Kind = kind
		x.Items[kind] = it
	}
	return nil
}

// places takes the first run that is kept, and the newest visit that was written down.
func (x *Example) places(g *guide, now vent.Instant) error {
	for site, err := range store.SitesOf(g.tx, x.Customer.ID) {
		if err != nil {
			return err
		}
		for run, err := range store.RunsOfSite(g.tx, site.ID) {
			if err != nil {
				return err
			}
			if run.Ended != 0 && run.Ended <= now.DateIn(zoneOf(site.Zone)) {
				continue
			}
			if err := x.take(g, run); err != nil {
				return err
			}
		}
	}
	return nil
}

func (x *Example) take(g *guide, run vent.Run) error {
	s, err := g.standing(run)
	if err != nil {
		return err
	}
	if x.Place.Run.ID.IsZero() {
		x.Place, x.Dryer = s.Place, s.Dryer
		x.Place.Site.Access = vent.Access{}
	}
	if old := x.Items[vent.NoticeRecord].Record; s.Last.ID.IsZero() || old != nil && old.Finding.Date >= s.Last.Date {
		return nil
	}
	r, err := recordOf(g, s.Last)
	x.Items[vent.NoticeRecord] = ReminderItem{Kind: vent.NoticeRecord, Step: stepRecord, Record: &r.RecordItem, Dryer: r.dryer}
	return err
}

// visits takes the first visit that is agreed and lies ahead.
func (x *Example) visits(g *guide, now vent.Instant) error {
	l := &listener{tx: g.tx, person: x.Person, customers: []vent.Customer{x.Customer}, operator: operator(g.tx)}
	var first cadence.VisitMatter
	var begins vent.Instant
	for a, err := range store.AppointmentsFor(g.tx, x.Customer.ID) {
		if err != nil {
			return err
		}
		v, err := store.Visits.Get(g.tx, a.VisitID)
		if err != nil {
			return err
		}
		at := vent.InstantOf(v.On.At(a.Start, zoneOf(v.Zone)))
		if a.State == vent.Booked && at > now && (begins == 0 || at < begins) {
			first, begins = cadence.VisitMatter{Part: a, Visit: v}, at
		}
	}
	if begins == 0 {
		return nil
	}
	v, err := l.visitItem(g, first)
	if err != nil {
		return err
	}
	v.InCalendar = false
	for _, kind := range visitKinds {
		own := *v
		own.Work = slices.Clone(v.Work)
		own.Said = vent.Notice{Day: v.Visit.On.AddDays(1), Start: v.Part.Start}
		own.Occupant = kind == vent.NoticeEntry
		x.Items[kind] = ReminderItem{Kind: kind, Step: vent.Step(kind), Visit: &own}
	}
	return nil
}

// visitKinds are the kinds that tell of a visit.
var visitKinds = []vent.NoticeKind{vent.NoticeVisitBooked, vent.NoticeVisitMoved, vent.NoticeVisitCancelled, vent.NoticeVisitSoon, vent.NoticeEntry}
