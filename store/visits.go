package store

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"time"

	"ventdue/vent"
)

// What a calendar shows of visits and appointments, and when its SEQUENCE and LAST-MODIFIED rise (RFC 5546 section 2.1.4: with
// every change of the time, the day or the status that others were shown). This is the one place that raises them:
// whoever books, moves or closes says what is to be, and nothing of calendars.
//
// A proposed visit is the office's own and in no calendar; what happens to it raises nothing, and its first appearance has
// SEQUENCE 0. One record rises once in a transaction, however many of its fields change in it.

// shown is a visit's or an appointment's status in calendars.
type shown uint8

const (
	hidden shown = iota
	tentative
	confirmed
	calledOff
)

func shownAs(s vent.VisitState) shown {
	switch s {
	case vent.Proposed:
		return hidden
	case vent.Held:
		return tentative
	case vent.Cancelled:
		return calledOff
	}
	return confirmed
}

// visitShown is what calendars show of a visit.
type visitShown struct {
	status         shown
	site           vent.ID
	technician     vent.ID
	on             vent.Date
	start, minutes int
	zone           string
}

func showVisit(v vent.Visit) visitShown {
	return visitShown{shownAs(v.State), v.SiteID, v.TechnicianID, v.On, v.Start, v.Minutes, v.Zone}
}

// partShown is what calendars show of an appointment beside its visit.
type partShown struct {
	status         shown
	unit           vent.ID
	start, minutes int
}

func showPart(a vent.Appointment) partShown {
	return partShown{shownAs(a.State), a.UnitID, a.Start, a.Minutes}
}

// SetVisit writes a visit as it is to be. ID and UID of a new one are minted here, and everything that calendars compare is
// kept here: what v says of UID, Sequence, Created and Modified is not read. A booked or held one that overlaps
// another of the same technician is refused with ErrConflict. An appointment shows its visit's day as well, so that it rises with it.
func SetVisit(tx *Tx, v vent.Visit, what string) (vent.Visit, error) {
	was, err := Visits.Get(tx, v.ID)
	isNew := errors.Is(err, vent.ErrNotFound)
	if err != nil && !isNew {
		return v, err
	}
	if isNew {
		if v.ID.IsZero() {
			v.ID = tx.NewID()
		}
		v.UID, v.Sequence, v.Created, v.Modified = tx.NewID().String(), 0, tx.now, tx.now
	} else {
		v.UID, v.Sequence, v.Created, v.Modified = was.UID, was.Sequence, was.Created, was.Modified
	}
	if err := v.Valid().Err(); err != nil {
		return v, fmt.Errorf("keep a visit: %w", err)
	}
	if v.Blocks(tx.now) {
		if err := freeFor(tx, v); err != nil { // before the first write, so that the caller can go on with something else
			return v, err
		}
	}
	before, after := showVisit(was), showVisit(v)
	if !isNew && before.status != hidden && after.status == hidden {
		return v, fmt.Errorf("keep a visit: it was published and cannot become a proposal again: cancel it: %w", vent.ErrConflict)
	}
	if isNew || before.status == hidden || before == after {
		if before != after && after.status != hidden {
			v.Modified = max(tx.now, v.Modified)
		}
		if err := Visits.Put(tx, v, what); err != nil {
			return v, err
		}
		if before == after || after.status == hidden {
			return v, nil
		}
		return v, bumpVisit(tx, v)
	}
	if err := raiseVisit(tx, &v, what); err != nil {
		return v, err
	}
	if was.TechnicianID != v.TechnicianID || was.SiteID != v.SiteID {
		if err := bumpVisit(tx, was); err != nil {
			return v, err
		}
	}
	if before.on == after.on && before.zone == after.zone && before.site == after.site && before.status == after.status {
		return v, nil
	}
	if err := raiseParts(tx, v); err != nil {
		return v, err
	}
	return v, wakeForParts(tx, v)
}

// raiseVisit writes a visit of which calendars show something else than before.
func raiseVisit(tx *Tx, v *vent.Visit, what string) error {
	if tx.raise(v.ID) {
		v.Sequence++
		v.Modified = max(tx.now, v.Modified+1)
	}
	if err := Visits.Put(tx, *v, what); err != nil {
		return err
	}
	return bumpVisit(tx, *v)
}

// raiseParts raises the appointments of a visit that changed what they show: those that are in calendars and not called off already.
func raiseParts(tx *Tx, v vent.Visit) error {
	parts, err := Collect(AppointmentsOf(tx, v.ID))
	if err != nil {
		return err
	}
	for _, a := range parts {
		if s := shownAs(a.State); s == hidden || s == calledOff {
			continue
		}
		if tx.raise(a.ID) {
			a.Sequence++
			a.Modified = max(tx.now, a.Modified+1)
		}
		if err := Appointments.Put(tx, a, ""); err != nil {
			return err
		}
	}
	return nil
}

// wakeForParts has the clock look now at everybody who is told of a visit.
func wakeForParts(tx *Tx, v vent.Visit) error {
	for a, err := range AppointmentsOf(tx, v.ID) {
		if err == nil {
			err = wakeForVisit(tx, a)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// wakeForVisit has the clock look now at everybody who is told of an appointment: the customer's contacts and those who live
// behind the door, now or later. A table cannot do it by itself: units, whose names appointments show, lead back to it.
func wakeForVisit(tx *Tx, a vent.Appointment) error {
	customer, err := Customers.Get(tx, a.CustomerID)
	if err != nil && !errors.Is(err, vent.ErrNotFound) {
		return err
	}
	who := slices.Clone(customer.Persons)
	unit, err := Units.Get(tx, a.UnitID)
	if err != nil && !errors.Is(err, vent.ErrNotFound) {
		return err
	}
	for _, o := range unit.Occupancies {
		if !o.PersonID.IsZero() {
			who = append(who, o.PersonID)
		}
	}
	return wakeAll(tx, who)
}

// SetAppointment writes an appointment as it is to be, in the way of SetVisit. It keeps its UID when it goes to another visit.
func SetAppointment(tx *Tx, a vent.Appointment, what string) (vent.Appointment, error) {
	was, err := Appointments.Get(tx, a.ID)
	isNew := errors.Is(err, vent.ErrNotFound)
	if err != nil && !isNew {
		return a, err
	}
	if isNew {
		if a.ID.IsZero() {
			a.ID = tx.NewID()
		}
		a.UID, a.Sequence, a.Created, a.Modified = tx.NewID().String(), 0, tx.now, tx.now
	} else {
		a.UID, a.Sequence, a.Created, a.Modified = was.UID, was.Sequence, was.Created, was.Modified
	}
	if err := a.Valid().Err(); err != nil {
		return a, fmt.Errorf("keep an appointment: %w", err)
	}
	before, after := showPart(was), showPart(a)
	switch {
	case !isNew && before.status != hidden && after.status == hidden:
		return a, fmt.Errorf("keep an appointment: it was published and cannot become a proposal again: cancel it: %w", vent.ErrConflict)
	case !isNew && before.status != hidden && (before != after || was.VisitID != a.VisitID):
		if tx.raise(a.ID) {
			a.Sequence++
			a.Modified = max(tx.now, a.Modified+1)
		}
	case before.status == hidden && after.status != hidden:
		a.Modified = max(tx.now, a.Modified)
		tx.raise(a.ID) // its first appearance: whatever else changes now belongs to it
	}
	if err := Appointments.Put(tx, a, what); err != nil {
		return a, err
	}
	if err := wakeForVisit(tx, a); err != nil {
		return a, err
	}
	if before == after && was.VisitID == a.VisitID || after.status == hidden {
		return a, nil
	}
	if err := tx.Bump(vent.Scope{Kind: vent.KindCustomer, ID: a.CustomerID}); err != nil {
		return a, err
	}
	v, err := Visits.Get(tx, a.VisitID)
	if err != nil {
		return a, err
	}
	return a, bumpVisit(tx, v)
}

// raise reports whether a record's SEQUENCE has not risen in this transaction, and takes down that it does.
func (tx *Tx) raise(id vent.ID) bool {
	if tx.raised[id] {
		return false
	}
	if tx.raised == nil {
		tx.raised = map[vent.ID]bool{}
	}
	tx.raised[id] = true
	return true
}

// DropProposal removes a proposed visit with its parts, of which nobody outside knows. Any other is refused with ErrConflict.
func DropProposal(tx *Tx, id vent.ID) error {
	v, err := Visits.Get(tx, id)
	if err != nil {
		return err
	}
	parts, err := Collect(AppointmentsOf(tx, id))
	if err != nil {
		return err
	}
	for _, a := range parts {
		if a.State != vent.Proposed {
			return fmt.Errorf("drop a proposed visit of %s: a part of it is %s: %w", v.On, a.State, vent.ErrConflict)
		}
	}
	if v.State != vent.Proposed {
		return fmt.Errorf("drop a proposed visit of %s: it is %s: %w", v.On, v.State, vent.ErrConflict)
	}
	for _, a := range parts {
		if err := Appointments.Delete(tx, a.ID, ""); err != nil {
			return err
		}
	}
	return Visits.Delete(tx, id, "")
}

// VisitsBetween walks the visits of the days in [from, to), by day; a zero bound is no bound.
func VisitsBetween(tx *Tx, from, to vent.Date) iter.Seq2[vent.Visit, error] {
	return Visits.between(tx, visitDay, key{}.date(from), dayEnd(key{}, to))
}

// VisitsAt walks a site's visits of the days in [from, to), by day; a zero bound is no bound.
func VisitsAt(tx *Tx, site vent.ID, from, to vent.Date) iter.Seq2[vent.Visit, error] {
	return Visits.between(tx, visitSite, key{}.id(site).date(from), dayEnd(key{}.id(site), to))
}

// VisitsByOn walks a technician's visits of the days in [from, to), by day; a zero bound is no bound.
func VisitsByOn(tx *Tx, technician vent.ID, from, to vent.Date) iter.Seq2[vent.Visit, error] {
	return Visits.between(tx, visitTechnician, key{}.id(technician).date(from), dayEnd(key{}.id(technician), to))
}

// AppointmentsAbout walks the live appointments, proposed ones included, that a due stands in: at most one that is not proposed.
func AppointmentsAbout(tx *Tx, due vent.ID) iter.Seq2[vent.Appointment, error] {
	return Appointments.find(tx, appointmentDue, key{}.id(due))
}

// AppointmentsBehind walks the appointments of a unit's door.
func AppointmentsBehind(tx *Tx, unit vent.ID) iter.Seq2[vent.Appointment, error] {
	return Appointments.find(tx, appointmentUnit, key{}.id(unit))
}

// BookedFor gives the appointment that a due is booked or held for: its reminders rest until that is over. ok is false for none.
// A hold that ran out counts for nothing.
func BookedFor(tx *Tx, due vent.ID) (a vent.Appointment, ok bool, err error) {
	return BookedAt(tx, due, tx.now)
}

// BookedAt is BookedFor at another moment: a transaction that only reads has none of its own.
func BookedAt(tx *Tx, due vent.ID, now vent.Instant) (a vent.Appointment, ok bool, err error) {
	for a, err := range AppointmentsAbout(tx, due) {
		if err != nil {
			return a, false, err
		}
		if !a.State.Ahead() {
			continue
		}
		v, err := Visits.Get(tx, a.VisitID)
		if err != nil {
			return a, false, err
		}
		if v.Blocks(now) {
			return a, true, nil
		}
	}
	return vent.Appointment{}, false, nil
}

// Technicians walks the people for whom visits are planned, in the order of their birth.
func Technicians(tx *Tx) iter.Seq2[vent.Person, error] {
	return Persons.find(tx, personVisits, key{})
}

// span gives when a visit begins and ends.
func span(v vent.Visit) (from, to vent.Instant) {
	zone, err := time.LoadLocation(v.Zone)
	if err != nil {
		zone = time.UTC // Valid lets no such zone through
	}
	at := v.On.At(v.Start, zone)
	return vent.InstantOf(at), vent.InstantOf(at.Add(time.Duration(v.Minutes) * time.Minute))
}
