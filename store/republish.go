package store

import (
	"iter"
	"slices"
	"time"

	"ventdue/vent"
)

// What follows from a changed record, whoever changed it: the page, an import, an upgrade.
//
// A calendar's entry shows more than the due itself: the names of site, unit, run and customer, the address, the
// operator's language. When one of these changes, the entry changes, and its SEQUENCE and LAST-MODIFIED have to rise
// like those of a due that moved: readers that trust them would keep the old name for ever.

func operatorChanged(tx *Tx, was, is *vent.Operator) error {
	if was.Language == is.Language && was.Units == is.Units {
		return nil
	}
	if err := republish(tx, OpenDues(tx, 0, 0)); err != nil {
		return err
	}
	return republishVisits(tx, Visits.All(tx))
}

// customerBorn has those looked at who are told of the customer's runs.
func customerBorn(tx *Tx, is *vent.Customer) error { return wakeAll(tx, is.Persons) }

func wakeAll(tx *Tx, persons []vent.ID) error {
	for _, p := range persons {
		if err := tx.WakeBy(WakeTell, p, tx.now); err != nil {
			return err
		}
	}
	return nil
}

func customerChanged(tx *Tx, was, is *vent.Customer) error {
	if !slices.Equal(was.Persons, is.Persons) || was.Ended != is.Ended || !slices.Equal(was.Reminders, is.Reminders) {
		if err := wakeAll(tx, slices.Concat(was.Persons, is.Persons)); err != nil {
			return err
		}
	}
	if was.Name == is.Name {
		return nil
	}
	scope := vent.Scope{Kind: vent.KindCustomer, ID: is.ID}
	if err := tx.Bump(scope); err != nil { // its calendar's title, even if nothing is in it
		return err
	}
	return republish(tx, OpenDuesIn(tx, scope, 0, 0))
}

func siteChanged(tx *Tx, was, is *vent.Site) error {
	if was.Name == is.Name && was.Address == is.Address && was.Zone == is.Zone &&
		samePlace(was.Lat, is.Lat) && samePlace(was.Lon, is.Lon) {
		return nil
	}
	scope := vent.Scope{Kind: vent.KindSite, ID: is.ID}
	if err := tx.BumpPlace(is.ID, is.CustomerID); err != nil {
		return err
	}
	if err := republish(tx, OpenDuesIn(tx, scope, 0, 0)); err != nil {
		return err
	}
	return republishVisits(tx, VisitsOf(tx, is.ID))
}

func unitChanged(tx *Tx, was, is *vent.Unit) error {
	if was.Name == is.Name {
		return nil
	}
	runs, err := Collect(RunsOfUnit(tx, is.ID))
	if err != nil {
		return err
	}
	for _, r := range runs {
		if err := republish(tx, OpenDuesOf(tx, ofRun(r.ID))); err != nil {
			return err
		}
	}
	// The site's checks name the unit.
	if err := republish(tx, OpenDuesOf(tx, vent.Subject{Kind: vent.KindSite, ID: is.SiteID})); err != nil {
		return err
	}
	return republishParts(tx, is.ID)
}

// republishParts raises a unit's appointments that lie ahead: they show the unit's name.
func republishParts(tx *Tx, unit vent.ID) error {
	parts, err := Collect(AppointmentsBehind(tx, unit))
	if err != nil {
		return err
	}
	for _, a := range parts {
		if !a.State.Ahead() || !tx.raise(a.ID) {
			continue
		}
		a.Sequence++
		a.Modified = max(tx.now, a.Modified+1)
		if err := Appointments.Put(tx, a, ""); err != nil {
			return err
		}
		if err := tx.Bump(vent.Scope{Kind: vent.KindCustomer, ID: a.CustomerID}); err != nil {
			return err
		}
	}
	return nil
}

func runChanged(tx *Tx, was, is *vent.Run) error {
	if was.Name == is.Name {
		return nil
	}
	return republish(tx, OpenDuesOf(tx, ofRun(is.ID)))
}

func faultChanged(tx *Tx, _, is *vent.Fault) error { return faultBorn(tx, is) }

// faultBorn has a fault that was put off looked at when its last day has begun everywhere.
func faultBorn(tx *Tx, is *vent.Fault) error {
	var at vent.Instant
	if is.State == vent.FaultWaived {
		at = vent.InstantOf(is.Until.At(12*60, time.UTC))
	}
	return tx.SetWake(WakeFault, is.ID, at)
}

// personChanged wakes whoever may have become reachable, or lives by another clock now: what waited for that is told.
func personChanged(tx *Tx, was, is *vent.Person) error {
	if was.Name != is.Name || was.Zone != is.Zone {
		if err := tx.Bump(vent.Scope{Kind: vent.KindPerson, ID: is.ID}); err != nil {
			return err
		}
	}
	if was.Email == is.Email && was.Undeliverable == is.Undeliverable && was.Zone == is.Zone &&
		slices.Equal(was.Channels, is.Channels) && slices.Equal(was.Consents, is.Consents) &&
		was.FirstDays == is.FirstDays && was.PausedUntil == is.PausedUntil {
		return nil
	}
	return tx.WakeBy(WakeTell, is.ID, tx.now)
}

// republish raises what calendars compare for dues of which they show something else now.
func republish(tx *Tx, dues iter.Seq2[vent.Due, error]) error {
	all, err := Collect(dues)
	if err != nil {
		return err
	}
	for _, d := range all {
		if err := change(tx, d, d); err != nil {
			return err
		}
	}
	return nil
}

// republishVisits does the same for visits that lie ahead. Those that are over stay as they were shown.
func republishVisits(tx *Tx, visits iter.Seq2[vent.Visit, error]) error {
	all, err := Collect(visits)
	if err != nil {
		return err
	}
	yesterday := tx.now.DateIn(time.UTC).AddDays(-1)
	for _, v := range all {
		if v.On < yesterday {
			continue
		}
		if shownAs(v.State) == hidden {
			continue
		}
		if err := raiseVisit(tx, &v, ""); err != nil {
			return err
		}
		if err := raiseParts(tx, v); err != nil {
			return err
		}
	}
	return nil
}

// bumpVisit raises the scopes in which a visit is shown.
func bumpVisit(tx *Tx, v vent.Visit) error {
	if shownAs(v.State) == hidden {
		return nil
	}
	if err := tx.BumpPlace(v.SiteID, vent.ID{}); err != nil {
		return err
	}
	if !v.TechnicianID.IsZero() {
		if err := tx.Bump(vent.Scope{Kind: vent.KindPerson, ID: v.TechnicianID}); err != nil {
			return err
		}
	}
	for a, err := range AppointmentsOf(tx, v.ID) {
		if err != nil {
			return err
		}
		if err := tx.Bump(vent.Scope{Kind: vent.KindCustomer, ID: a.CustomerID}); err != nil {
			return err
		}
	}
	return nil
}

func samePlace(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }
