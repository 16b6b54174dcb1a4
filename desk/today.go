package desk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// undeliveredDays is how long a message that did not arrive is shown; the latest visits are asked for this far ahead.
const (
	undeliveredDays = 30
	visitsAhead     = 14
)

// DayView is what somebody at the desk has to see today.
type DayView struct {
	Today       vent.Date // at the operator's office
	Stop        []DueView // "do not use", gravest part of the board
	Overdue     []DueView // the longest waiting first
	Unbooked    []DueView // of the next days, without a visit
	Soon        []DueView // what comes
	Visits      []BookedVisit
	Undelivered []ToldMessage
	// Counts are of the whole board; Unbooked and Undelivered are counted beyond what is listed.
	Counts           BoardCounts
	UnbookedTotal    int
	UndeliveredTotal int
}

// BookedVisit is a visit with where it is and whose.
type BookedVisit struct {
	Visit      vent.Visit
	Site       vent.Site
	Customer   vent.Customer
	Technician string
	Doors      int // appointments that stand
}

// Day gives what somebody at the desk has to see today, at most max of each.
func (d *Desk) Day(by By, max int) (v DayView, err error) {
	board, err := d.Board(by, BoardQuery{Apart: true, Max: max})
	if err != nil {
		return v, err
	}
	v = DayView{Today: board.Today, Stop: board.Stop, Counts: board.Counts}
	err = d.store.View(func(tx *store.Tx) error {
		v.Overdue, v.Soon, v.Unbooked, v.UnbookedTotal = nil, nil, nil, 0
		g := newGuide(tx)
		for due, err := range store.OpenDues(tx, 0, v.Today.AddDays(SoonDays+1)) {
			if err == nil {
				err = v.take(g, due, max)
			}
			if err != nil {
				return fmt.Errorf("due %s: %w", due.ID, err)
			}
		}
		if v.Visits, err = visitsBetween(g, v.Today, v.Today.AddDays(visitsAhead), vent.ID{}, max); err != nil {
			return err
		}
		v.Undelivered, v.UndeliveredTotal, err = undelivered(tx, vent.InstantOf(by.Now.AddDate(0, 0, -undeliveredDays)), max)
		return err
	})
	return v, err
}

// take puts a due where it belongs, while there is room.
func (v *DayView) take(g *guide, due vent.Due, max int) error {
	if due.Severity == vent.Stop {
		return nil
	}
	into := &v.Soon
	if due.Day < v.Today {
		into = &v.Overdue
	}
	booked, err := isBooked(g.tx, due.ID)
	if err != nil {
		return err
	}
	if !booked {
		v.UnbookedTotal++
		if len(v.Unbooked) < max {
			if err := g.list(&v.Unbooked, due); err != nil {
				return err
			}
		}
	}
	if len(*into) < max {
		return g.list(into, due)
	}
	return nil
}

// list adds a due with its place.
func (g *guide) list(into *[]DueView, due vent.Due) error {
	x, err := g.due(due)
	if err == nil {
		*into = append(*into, x)
	}
	return err
}

// isBooked reports whether a visit that stands has the due on its list.
func isBooked(tx *store.Tx, due vent.ID) (bool, error) {
	for a, err := range store.AppointmentsAbout(tx, due) {
		if err != nil {
			return false, err
		}
		if a.State == vent.Booked {
			return true, nil
		}
	}
	return false, nil
}

// visitsBetween gives the booked visits of some days, by day and hour, of everybody or of one technician.
func visitsBetween(g *guide, from, to vent.Date, technician vent.ID, max int) (all []BookedVisit, err error) {
	walk := store.VisitsBetween(g.tx, from, to)
	if !technician.IsZero() {
		walk = store.VisitsByOn(g.tx, technician, from, to)
	}
	visits, err := store.Collect(walk)
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(visits, func(a, b vent.Visit) int {
		if a.On != b.On {
			return int(a.On) - int(b.On)
		}
		return a.Start - b.Start
	})
	for _, x := range visits {
		if x.State != vent.Booked || len(all) == max {
			continue
		}
		v, err := g.visit(x)
		if err != nil {
			return nil, fmt.Errorf("visit %s: %w", x.ID, err)
		}
		all = append(all, v)
	}
	return all, nil
}

func (g *guide) visit(x vent.Visit) (v BookedVisit, err error) {
	v.Visit = x
	if !x.SiteID.IsZero() { // else it is a technician's own time, which is nowhere
		if v.Site, err = remembered(g.tx, g.sites, store.Sites, x.SiteID); err != nil {
			return v, err
		}
		if v.Customer, err = remembered(g.tx, g.customers, store.Customers, v.Site.CustomerID); err != nil {
			return v, err
		}
	}
	if p, err := store.Persons.Get(g.tx, x.TechnicianID); err == nil {
		v.Technician = p.Name
	} else if !errors.Is(err, vent.ErrNotFound) {
		return v, err
	}
	for a, err := range store.AppointmentsOf(g.tx, x.ID) {
		if err != nil {
			return v, err
		}
		if a.State == vent.Booked || a.State == vent.VisitDone {
			v.Doors++
		}
	}
	return v, nil
}

// undelivered gives the messages since a moment that did not arrive, newest first.
func undelivered(tx *store.Tx, since vent.Instant, max int) (all []ToldMessage, total int, err error) {
	return messagesSince(tx, since, 0, max, func(m vent.Message) bool { return NotArrived(m.State) })
}

// messagesSince gives messages made since a moment that are wanted, newest first, and how many there are.
func messagesSince(tx *store.Tx, since vent.Instant, skip, max int, wanted func(vent.Message) bool) (all []ToldMessage, total int, err error) {
	var from vent.ID // the records lie in the order of their birth, which their ids begin with
	binary.BigEndian.PutUint64(from[:8], uint64(since.Time().UnixMilli())<<16)
	var fits []vent.Message
	for m, err := range store.Messages.After(tx, from) {
		if err != nil {
			return nil, 0, err
		}
		if wanted(m) {
			m.Raw = nil
			fits = append(fits, m)
		}
	}
	newestFirst(fits)
	g := newGuide(tx)
	for _, m := range fits[min(skip, len(fits)):min(skip+max, len(fits))] {
		t, err := toldMessage(tx, g, m)
		if err != nil {
			return nil, 0, err
		}
		all = append(all, t)
	}
	return all, len(fits), nil
}

// NotArrived reports whether a message in the state is known, or feared, not to have arrived.
func NotArrived(s vent.MessageState) bool {
	switch s {
	case vent.MessageFailed, vent.MessageExpired, vent.MessageUnknown, vent.MessageSuppressed:
		return true
	}
	return false
}

// OwnDay gives a technician's booked visits from today on, at most max.
func (d *Desk) OwnDay(by By, technician vent.ID, max int) (today vent.Date, all []BookedVisit, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		today = vent.InstantOf(by.Now).DateIn(zoneOf(operator(tx).Zone))
		all, err = visitsBetween(newGuide(tx), today, today.AddDays(visitsAhead), technician, max)
		return err
	})
	return today, all, err
}
