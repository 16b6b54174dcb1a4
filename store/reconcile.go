package store

import (
	"errors"
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
// and opener are; so a moved date keeps its UID, a new cycle gets a new one, and a due that was closed and is wanted
// again (a corrected finding) comes back under its old UID with a higher SEQUENCE.
//
// by is the event that brought it about. What is no longer wanted after a finding, or after a check that was
// carried out or a fault that was put right, closes as done; after anything else (settings, imports, signs, a check turned off: give the
// subject) it is withdrawn.
//
// Reopening does not raise Arm: nobody was told that the due was gone, and the later steps of its reminders are
// still ahead.
//
// Invariant: SEQUENCE and LAST-MODIFIED rise, and the revisions of the scopes with them, exactly when something
// that is published changed: here, and for what other records give to a due's entry (names, addresses) in republish.
func Reconcile(tx *Tx, at Place, wanted []vent.Wanted, by vent.Subject) (c Changes, err error) {
	open, err := Collect(OpenDuesOf(tx, at.Subject))
	if err != nil {
		return c, fmt.Errorf("reconcile %s: %w", at.Subject, err)
	}
	kept := make(map[vent.ID]bool, len(wanted))
	for _, w := range wanted {
		id, err := want(tx, &c, at, w)
		if err != nil {
			return c, fmt.Errorf("reconcile %s: %w", at.Subject, err)
		}
		if kept[id] {
			return c, fmt.Errorf("reconcile %s: %s opened by %s is wanted twice: %w", at.Subject, w.Kind, w.Opener, vent.ErrConflict)
		}
		kept[id] = true
	}
	for _, was := range open {
		if kept[was.ID] {
			continue
		}
		next := was
		next.State, next.ClosedBy, next.Closed = vent.DueWithdrawn, by.ID, tx.now
		if by.Kind == vent.KindFinding || by.Kind == vent.KindCheck || by.Kind == vent.KindFault {
			next.State = vent.DueDone
		}
		c.Closed++
		if err := change(tx, was, next); err != nil {
			return c, fmt.Errorf("reconcile %s: %w", at.Subject, err)
		}
	}
	return c, nil
}

// want makes one wanted due be there, open, as it is wanted; its ID is given.
func want(tx *Tx, c *Changes, at Place, w vent.Wanted) (vent.ID, error) {
	was, err := Dues.one(tx, dueKey, dueKeyOf(at.Subject, w.Kind, w.Opener))
	isNew := errors.Is(err, vent.ErrNotFound)
	if err != nil && !isNew {
		return vent.ID{}, err
	}
	next := was
	next.Subject, next.SiteID, next.CustomerID, next.Wanted = at.Subject, at.Site, at.Customer, w
	next.State, next.ClosedBy, next.Closed = vent.DueOpen, vent.ID{}, 0
	switch {
	case isNew:
		c.Opened++
		next.ID, next.UID, next.Created, next.Modified = tx.NewID(), tx.NewID().String(), tx.now, tx.now
		if err := Dues.Put(tx, next, ""); err != nil {
			return next.ID, err
		}
		return next.ID, tx.BumpPlace(next.SiteID, next.CustomerID)
	case next == was:
		c.Kept++
		return was.ID, nil
	case was.State != vent.DueOpen:
		c.Opened++
	default:
		c.Moved++
	}
	return was.ID, change(tx, was, next)
}

// rearm makes a due be told again when its day moved later by more than retellDays since it was told.
func rearm(d *vent.Due) (armed bool) {
	if d.ToldDay == 0 || d.ToldDay.DaysUntil(d.Day) <= retellDays {
		return false
	}
	d.Arm++
	d.ToldDay = 0
	return true
}

// NoteTold notes the day that a person was told of a due, for the arm in which it was told. A due that moved later
// by more than retellDays while the mail was on its way is to be told again: again says so. Calendars do not show
// any of this, so no SEQUENCE rises.
func NoteTold(tx *Tx, due vent.ID, arm int, day vent.Date) (again bool, err error) {
	d, err := Dues.Get(tx, due)
	if errors.Is(err, vent.ErrNotFound) {
		return false, nil
	}
	if err != nil || d.Arm != arm {
		return false, err
	}
	d.ToldDay = day
	again = rearm(&d)
	return again, Dues.Put(tx, d, "")
}

// change writes a due of which calendars show something else than before, raising what they compare. A due that left
// a place leaves that place's calendars too.
func change(tx *Tx, was, next vent.Due) error {
	next.Sequence++
	next.Modified = max(tx.now, was.Modified+1)
	rearm(&next)
	if err := Dues.Put(tx, next, ""); err != nil {
		return err
	}
	if err := tx.BumpPlace(was.SiteID, was.CustomerID); err != nil {
		return err
	}
	return tx.BumpPlace(next.SiteID, next.CustomerID)
}
