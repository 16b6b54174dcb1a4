package store

import (
	"fmt"

	"ventdue/vent"
)

// retellDays is by how much a told day must move later for the person to be told again.
const retellDays = 14

// Place is where a set of dues belongs: its subject, the site and the customer.
type Place struct {
	Subject  vent.Subject
	Site     vent.ID
	Customer vent.ID
}

// Changes counts what a reconciliation did.
type Changes struct{ Opened, Moved, Closed, Kept int }

// Any reports whether anything people see was changed.
func (c Changes) Any() bool { return c.Opened+c.Moved+c.Closed > 0 }

// Add sums two counts.
func (c Changes) Add(d Changes) Changes {
	return Changes{c.Opened + d.Opened, c.Moved + d.Moved, c.Closed + d.Closed, c.Kept + d.Kept}
}

// Reconcile makes a subject's open dues be those that the rules want. A due is the same due while its subject, kind
// and opener are; so a moved date keeps its UID and a new cycle gets a new one.
//
// by is the event that brought it about: a finding closes a due that is no longer wanted as done, anything else
// withdraws it.
//
// Invariant: SEQUENCE and LAST-MODIFIED rise, and the scopes' revisions with them, exactly when something that
// is published changed; here and nowhere else.
func Reconcile(tx *Tx, at Place, wanted []vent.Wanted, by vent.Subject) (Changes, error) {
	stored, err := Collect(DuesOf(tx, at.Subject))
	if err != nil {
		return Changes{}, fmt.Errorf("reconcile %s: %w", at.Subject, err)
	}
	var c Changes
	left := make(map[dueName]vent.Due, len(stored))
	for _, d := range stored {
		left[dueName{d.Kind, d.Opener}] = d
	}
	for _, w := range wanted {
		name := dueName{w.Kind, w.Opener}
		d, known := left[name]
		delete(left, name)
		if !known {
			d = vent.Due{ID: tx.NewID(), Subject: at.Subject, UID: tx.NewID().String(), Created: tx.now, Modified: tx.now}
		}
		next := d
		next.Wanted, next.State, next.SiteID, next.CustomerID = w, vent.DueOpen, at.Site, at.Customer
		next.ClosedBy, next.Closed = vent.ID{}, 0
		if err := settle(tx, &c, d, next, known); err != nil {
			return c, fmt.Errorf("reconcile %s: %w", at.Subject, err)
		}
	}
	for _, d := range stored { // in stored order, so that a run is repeatable
		if _, unwanted := left[dueName{d.Kind, d.Opener}]; !unwanted || d.State != vent.DueOpen {
			continue
		}
		next := d
		next.State, next.ClosedBy, next.Closed = vent.DueWithdrawn, by.ID, tx.now
		if by.Kind == vent.KindFinding {
			next.State = vent.DueDone
		}
		if err := settle(tx, &c, d, next, true); err != nil {
			return c, fmt.Errorf("reconcile %s: %w", at.Subject, err)
		}
	}
	return c, nil
}

type dueName struct {
	kind   vent.DueKind
	opener vent.ID
}

// settle writes next where it differs from was, raising what calendars compare.
func settle(tx *Tx, c *Changes, was, next vent.Due, known bool) error {
	switch {
	case !known:
		c.Opened++
	case next.Published() == was.Published() && next.SiteID == was.SiteID && next.CustomerID == was.CustomerID:
		c.Kept++
		return nil
	case next.State != vent.DueOpen:
		c.Closed++
	default:
		c.Moved++
	}
	if known {
		next.Sequence++
		next.Modified = max(tx.now, was.Modified+1)
		if next.ToldDay != 0 && next.ToldDay.DaysUntil(next.Day) > retellDays {
			next.Arm++
			next.ToldDay = 0
		}
		if was.CustomerID != next.CustomerID || was.SiteID != next.SiteID {
			if err := tx.BumpPlace(was.SiteID, was.CustomerID); err != nil {
				return err
			}
		}
	}
	if err := Dues.Put(tx, next, ""); err != nil {
		return err
	}
	return tx.BumpPlace(next.SiteID, next.CustomerID)
}
