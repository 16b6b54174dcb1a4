package desk

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"time"

	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
)

// VisitChange is what changing a visit brought about.
type VisitChange struct {
	Visit vent.Visit         // as it is now
	Was   vent.Visit         // as it was; zero for a new one
	Parts []vent.Appointment // as they are now
	Known bool               // it was so already: nothing was changed
}

// trip loads a visit with its parts.
func trip(tx *store.Tx, id vent.ID) (t tripRow, err error) {
	if t.visit, err = store.Visits.Get(tx, id); err != nil {
		return t, err
	}
	t.parts, err = store.Collect(store.AppointmentsOf(tx, id))
	return t, err
}

// ahead refuses what is over or called off.
func (t tripRow) ahead() error {
	if !t.visit.State.Live() {
		return fmt.Errorf("the visit of %s is %s already: %w", t.visit.On, t.visit.State, vent.ErrConflict)
	}
	return nil
}

// liveDues gives the dues of the parts that are still to take place.
func (t tripRow) liveDues() (all []vent.ID) {
	for _, a := range t.parts {
		if a.State.Live() {
			all = append(all, a.Dues...)
		}
	}
	return all
}

// changeVisit runs f on one visit and its parts in a transaction, and wakes those concerned.
func (d *Desk) changeVisit(by By, id vent.ID, doing string, f func(tx *store.Tx, t tripRow, out *VisitChange) error) (out VisitChange, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = VisitChange{}
		t, err := trip(tx, id)
		if err != nil {
			return err
		}
		out.Was = t.visit
		if err := f(tx, t, &out); err != nil {
			return err
		}
		return d.settleVisit(tx, id, &out)
	})
	if err != nil {
		return out, fmt.Errorf("%s a visit: %w", doing, err)
	}
	if !out.Known {
		d.kick(JobTell)
	}
	return out, nil
}

// settleVisit brings what hangs on a changed visit up to date: the drives of its days, the people who must be told.
func (d *Desk) settleVisit(tx *store.Tx, id vent.ID, out *VisitChange) error {
	t, err := trip(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return nil // a proposal that was dropped
	}
	if err != nil || out.Known {
		out.Visit, out.Parts = t.visit, t.parts
		return err
	}
	for _, v := range []vent.Visit{out.Was, t.visit} {
		if err := d.redrive(tx, v.TechnicianID, v.On); err != nil {
			return err
		}
	}
	if t, err = trip(tx, id); err != nil {
		return err
	}
	out.Visit, out.Parts = t.visit, t.parts
	if t.visit.State == vent.Proposed {
		return nil // nobody outside knows of it
	}
	if out.Was.TechnicianID != t.visit.TechnicianID && !out.Was.TechnicianID.IsZero() {
		if err := tx.WakeBy(store.WakeTell, out.Was.TechnicianID, tx.Now()); err != nil {
			return err
		}
	}
	return wakeTrip(tx, t)
}

// wakeTrip has the clock look at everybody who is concerned by a visit: the customer's contacts, who lives behind its doors, who makes it.
func wakeTrip(tx *store.Tx, t tripRow) error {
	who := []vent.ID{t.visit.TechnicianID}
	for _, a := range t.parts {
		c, err := store.Customers.Get(tx, a.CustomerID)
		if err != nil {
			return err
		}
		who = append(who, c.Persons...)
		if a.UnitID.IsZero() {
			continue
		}
		u, err := store.Units.Get(tx, a.UnitID)
		if err != nil {
			return err
		}
		who = append(who, u.OccupantOn(t.visit.On))
	}
	slices.SortFunc(who, compareIDs)
	for _, id := range slices.Compact(who) {
		if id.IsZero() {
			continue
		}
		if err := tx.WakeBy(store.WakeTell, id, tx.Now()); err != nil {
			return err
		}
	}
	return nil
}

// redrive reckons the drives between the agreed visits of a technician's day anew.
func (d *Desk) redrive(tx *store.Tx, technician vent.ID, on vent.Date) error {
	if technician.IsZero() || on == 0 {
		return nil
	}
	p, err := store.Persons.Get(tx, technician)
	if err != nil {
		return err
	}
	all, err := store.Collect(store.VisitsByOn(tx, technician, on, on.AddDays(1)))
	if err != nil {
		return err
	}
	slices.SortStableFunc(all, func(a, b vent.Visit) int { return a.Start - b.Start })
	var home, at *visits.Place
	if p.Home != nil {
		home = &visits.Place{Lat: p.Home.Lat, Lon: p.Home.Lon}
	}
	at = home
	travel := d.Policy().Visits.Plan.Travel
	var last vent.ID
	for _, v := range all {
		if !v.Blocks(tx.Now()) {
			continue
		}
		to := home
		if !v.SiteID.IsZero() {
			s, err := store.Sites.Get(tx, v.SiteID)
			if err != nil {
				return err
			}
			to = siteOfVisit(s).Place
		}
		drive := 0
		if v.SiteID != last {
			drive = travel.Minutes(at, to)
		}
		at, last = to, v.SiteID
		if v.Drive == drive {
			continue
		}
		v.Drive = drive
		if _, err := store.SetVisit(tx, v, ""); err != nil {
			return err
		}
	}
	return nil
}

// dueSeq walks dues by their IDs; one that is closed or no longer there is passed over.
func dueSeq(tx *store.Tx, ids []vent.ID) iter.Seq2[vent.Due, error] {
	return func(yield func(vent.Due, error) bool) {
		for _, id := range ids {
			due, err := store.Dues.Get(tx, id)
			if errors.Is(err, vent.ErrNotFound) || err == nil && due.State != vent.DueOpen {
				continue
			}
			if !yield(due, err) {
				return
			}
		}
	}
}

// checkSpot refuses a place in a technician's day that does not do for a visit's dues: hours, access, skills, drive, other
// visits. It gives the minutes that the visit takes there. With wide the windows of the dues do not count.
func (d *Desk) checkSpot(tx *store.Tx, v vent.Visit, dues []vent.ID, wide bool) (minutes int, err error) {
	c := d.visitCase(tx, By{Now: tx.Now().Time()}, 0, v.On)
	c.p.Today, c.wide = min(c.firstDay(), v.On), wide
	if err := c.addDues(dueSeq(tx, dues)); err != nil {
		return 0, err
	}
	return c.check(v)
}

// check is checkSpot for the dues of the question, which ends on the visit's day.
func (c *visitCase) check(v vent.Visit) (minutes int, err error) {
	if len(c.p.Dues) == 0 {
		return 0, fmt.Errorf("nothing is left to do there: %w", vent.ErrConflict)
	}
	c.p.Last, c.p.Frozen = v.On, nil
	if err := c.addVisits(store.VisitsByOn(c.tx, v.TechnicianID, v.On, v.On.AddDays(1)), false, v.ID); err != nil {
		return 0, err
	}
	if err := c.addTechnicians(v.TechnicianID); err != nil {
		return 0, err
	}
	i := slices.IndexFunc(c.p.Technicians, func(t visits.Technician) bool { return t.ID == v.TechnicianID })
	if i < 0 {
		return 0, fmt.Errorf("no visits are planned for person %s: set working hours first: %w", v.TechnicianID, vent.ErrInvalid)
	}
	t := c.p.Technicians[i]
	minutes = t.TripMinutes
	for _, x := range c.p.Dues {
		if x.Minutes > 0 {
			minutes += x.Minutes
		} else {
			minutes += t.RunMinutes
		}
	}
	minutes = max(1, min(minutes, 24*60))
	err = visits.Check(c.p, visits.Slot{TechnicianID: v.TechnicianID, SiteID: v.SiteID, On: v.On, Start: v.Start, Minutes: minutes})
	return minutes, err
}

// Freeze has planning leave a proposed visit where it is, or lets it move again.
func (d *Desk) Freeze(by By, id vent.ID, on bool) (VisitChange, error) {
	return d.changeVisit(by, id, "freeze", func(tx *store.Tx, t tripRow, out *VisitChange) error {
		if err := t.ahead(); err != nil {
			return err
		}
		if out.Known = t.visit.Frozen == on; out.Known {
			return nil
		}
		what := "visit frozen: planning leaves it where it is"
		if !on {
			what = "visit no longer frozen"
		}
		t.visit.Frozen = on
		_, err := store.SetVisit(tx, t.visit, what)
		return err
	})
}

// MoveVisit puts a visit somewhere else: proposed, held or booked. It says where it was; those who were told are told of the move.
// A technician of none and a start below 0 keep what is. The place must do: hours, access, skills, drive; with force only a
// time that is taken is refused. A proposed one is frozen there.
func (d *Desk) MoveVisit(by By, id vent.ID, to vent.Spot, why string, force bool) (VisitChange, error) {
	return d.changeVisit(by, id, "move", func(tx *store.Tx, t tripRow, out *VisitChange) error {
		if err := t.ahead(); err != nil {
			return err
		}
		if to.TechnicianID.IsZero() {
			to.TechnicianID = t.visit.TechnicianID
		}
		if to.Start < 0 {
			to.Start = t.visit.Start
		}
		if to.On == 0 {
			to.On = t.visit.On
		}
		if out.Known = to == (vent.Spot{TechnicianID: t.visit.TechnicianID, On: t.visit.On, Start: t.visit.Start}); out.Known {
			return nil
		}
		return d.moveTrip(tx, t, to, why, force)
	})
}

func (d *Desk) moveTrip(tx *store.Tx, t tripRow, to vent.Spot, why string, force bool) error {
	v := t.visit
	from := vent.Spot{TechnicianID: v.TechnicianID, On: v.On, Start: v.Start}
	if _, err := store.Persons.Get(tx, to.TechnicianID); err != nil {
		return err
	}
	v.TechnicianID, v.On, v.Start = to.TechnicianID, to.On, to.Start
	if !v.SiteID.IsZero() && !force {
		minutes, err := d.checkSpot(tx, v, t.liveDues(), true)
		if err != nil {
			return err
		}
		v.Minutes = minutes
	}
	v.Was, v.Why, v.Told = from, why, 0
	if v.State == vent.Proposed {
		v.Frozen = true
	}
	if _, err := store.SetVisit(tx, v, fmt.Sprintf("visit moved from %s %s to %s %s: %s", from.On, clockTime(from.Start), v.On, clockTime(v.Start), why)); err != nil {
		return err
	}
	for _, a := range t.parts {
		if !a.State.Live() {
			continue
		}
		a.Start = min(24*60-1, max(0, a.Start+v.Start-from.Start))
		if len(t.parts) == 1 {
			a.Minutes = v.Minutes
		}
		if _, err := store.SetAppointment(tx, a, ""); err != nil {
			return err
		}
	}
	return nil
}

// clockTime writes minutes after midnight as 09:30.
func clockTime(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }

// BookVisit agrees on a proposed or held visit: from now on it takes its technician's time, stands in the calendars, and is moved by
// nobody but a person. Its place is checked again. A booked one stays as it is.
func (d *Desk) BookVisit(by By, id vent.ID) (VisitChange, error) {
	return d.changeVisit(by, id, "book", func(tx *store.Tx, t tripRow, out *VisitChange) error {
		if out.Known = t.visit.State == vent.Booked; out.Known {
			return nil
		}
		return d.agree(tx, t, vent.Booked, 0)
	})
}

// HoldVisit keeps a proposed visit's time for somebody until a moment: they see it as offered and can agree to it.
func (d *Desk) HoldVisit(by By, id vent.ID, until time.Time) (VisitChange, error) {
	return d.changeVisit(by, id, "hold", func(tx *store.Tx, t tripRow, out *VisitChange) error {
		at := vent.InstantOf(until)
		switch {
		case at <= tx.Now():
			return fmt.Errorf("it is to be held until %s, which is over: %w", at, vent.ErrInvalid)
		case t.visit.State == vent.Booked:
			return fmt.Errorf("it is booked: %w", vent.ErrConflict)
		}
		return d.agree(tx, t, vent.Held, at)
	})
}

func (d *Desk) agree(tx *store.Tx, t tripRow, state vent.VisitState, until vent.Instant) error {
	if err := t.ahead(); err != nil {
		return err
	}
	v := t.visit
	if today := tx.Now().DateIn(zoneOf(v.Zone)); v.On < today {
		return fmt.Errorf("its day, %s, is over: %w", v.On, vent.ErrConflict)
	}
	if _, err := d.checkSpot(tx, v, t.liveDues(), true); err != nil {
		return err
	}
	v.State, v.Until = state, until
	if _, err := store.SetVisit(tx, v, "visit "+string(state)+" for "+v.On.String()+" "+clockTime(v.Start)); err != nil {
		return err
	}
	for _, a := range t.parts {
		if a.State.Live() {
			a.State = state
			if _, err := store.SetAppointment(tx, a, ""); err != nil {
				return err
			}
		}
	}
	return nil
}

// CancelVisit calls a visit off, or those of its parts that are named: what was due there goes back to planning. A proposal goes without
// a trace. The last part that is called off calls the visit off.
func (d *Desk) CancelVisit(by By, id vent.ID, parts []vent.ID, why string) (VisitChange, error) {
	return d.changeVisit(by, id, "cancel", func(tx *store.Tx, t tripRow, out *VisitChange) error {
		if t.visit.State == vent.Cancelled {
			out.Known = true
			return nil
		}
		return cancelTrip(tx, t, parts, why, out)
	})
}

func cancelTrip(tx *store.Tx, t tripRow, parts []vent.ID, why string, out *VisitChange) error {
	if err := t.ahead(); err != nil {
		return err
	}
	if t.visit.State == vent.Proposed {
		if len(parts) > 0 {
			return fmt.Errorf("it is only proposed: nobody knows of its parts: %w", vent.ErrConflict)
		}
		return store.DropProposal(tx, t.visit.ID)
	}
	for _, id := range parts {
		if !slices.ContainsFunc(t.parts, func(a vent.Appointment) bool { return a.ID == id }) {
			return fmt.Errorf("appointment %s is no part of it: %w", id, vent.ErrNotFound)
		}
	}
	left, changed := 0, false
	for _, a := range t.parts {
		if !a.State.Live() {
			continue
		}
		if len(parts) > 0 && !slices.Contains(parts, a.ID) {
			left++
			continue
		}
		changed = true
		a.State, a.Why = vent.Cancelled, why
		if _, err := store.SetAppointment(tx, a, "appointment cancelled: "+why); err != nil {
			return err
		}
	}
	if left > 0 {
		out.Known = !changed
		return nil
	}
	v := t.visit
	v.State, v.Until, v.Why = vent.Cancelled, 0, why
	_, err := store.SetVisit(tx, v, "visit of "+v.On.String()+" cancelled: "+why)
	return err
}

// holdsAtOnce is how many holds one transaction ends.
const holdsAtOnce = 200

// EndHolds calls off the holds that ran out, so that calendars no longer show what is not offered.
func (d *Desk) EndHolds(by By) error {
	var over []vent.ID
	err := d.store.View(func(tx *store.Tx) error {
		over = over[:0]
		now := vent.InstantOf(by.Now)
		for v, err := range store.VisitsBetween(tx, now.DateIn(time.UTC).AddDays(-60), 0) {
			if err != nil {
				return err
			}
			if v.State == vent.Held && v.Until <= now && len(over) < holdsAtOnce {
				over = append(over, v.ID)
			}
		}
		return nil
	})
	for _, id := range over {
		if err == nil {
			_, err = d.CancelVisit(by, id, nil, "the offer was not taken in time")
		}
	}
	if err != nil {
		return fmt.Errorf("end holds: %w", err)
	}
	return nil
}
