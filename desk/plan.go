package desk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ventdue/scheduler"
	"ventdue/store"
	"ventdue/vent"
)

// replanAtOnce is how many queued runs one transaction plans.
const replanAtOnce = 500

// planRun computes a run's dues from what is stored and reconciles them. It runs in the transaction that wrote the
// fact, so that what people see is never stale. by is the event that brought it about.
func (d *Desk) planRun(tx *store.Tx, run vent.Run, by vent.Subject) (store.Changes, error) {
	in, customer, err := d.planInput(tx, run)
	if err != nil {
		return store.Changes{}, fmt.Errorf("plan run %s: %w", run.Name, err)
	}
	out, err := scheduler.Plan(in)
	if err != nil {
		return store.Changes{}, fmt.Errorf("plan run %s: %w", run.Name, err)
	}
	at := store.Place{Subject: vent.Subject{Kind: vent.KindRun, ID: run.ID}, Site: run.SiteID, Customer: customer.ID}
	c, err := store.Reconcile(tx, at, out.Dues, by)
	if err != nil {
		return c, err
	}
	if c.Any() {
		err = wakeContacts(tx, customer)
	}
	return c, err
}

// planInput loads the facts from which one run is planned.
func (d *Desk) planInput(tx *store.Tx, run vent.Run) (in scheduler.Input, customer vent.Customer, err error) {
	in = scheduler.Input{Run: run, Policy: d.Policy().Dates}
	if in.Site, err = store.Sites.Get(tx, run.SiteID); err != nil {
		return in, customer, err
	}
	if customer, err = store.Customers.Get(tx, in.Site.CustomerID); err != nil {
		return in, customer, err
	}
	if customer.Ended != 0 && in.Run.Ended == 0 {
		in.Run.Ended = customer.Ended // nobody is served there any more
	}
	if !run.UnitID.IsZero() {
		if in.Unit, err = store.Units.Get(tx, run.UnitID); err != nil {
			return in, customer, err
		}
	}
	if id := run.Current().DryerID; !id.IsZero() {
		if in.Dryer, err = store.Appliances.Get(tx, id); err != nil {
			return in, customer, err
		}
	}
	for f, err := range store.FindingsOf(tx, run.ID) {
		if err != nil {
			return in, customer, err
		}
		if f.Counts() {
			in.Findings = append(in.Findings, f)
		}
	}
	for s, err := range store.SignsOf(tx, run.ID) {
		if err != nil {
			return in, customer, err
		}
		if s.Answered.IsZero() {
			in.Signs = append(in.Signs, s)
		}
	}
	subject := vent.Subject{Kind: vent.KindRun, ID: run.ID}
	if in.Faults, err = store.Collect(store.FaultsOf(tx, subject)); err != nil {
		return in, customer, err
	}
	in.Open, err = store.Collect(store.OpenDuesOf(tx, subject))
	return in, customer, err
}

// wakeContacts has the clock look again at what a customer's contacts are to be told.
func wakeContacts(tx *store.Tx, c vent.Customer) error {
	for _, p := range c.Persons {
		if err := tx.WakeBy(store.WakeTell, p, tx.Now()); err != nil {
			return err
		}
	}
	return nil
}

// Replan plans queued runs, 500 a transaction, and gives when to come again.
func (d *Desk) Replan(ctx context.Context, by By) (time.Time, error) {
	for ctx.Err() == nil {
		n := 0
		err := d.store.Update(by, func(tx *store.Tx) error {
			ids, err := tx.ToReplan(replanAtOnce)
			if err != nil {
				return err
			}
			n = len(ids)
			for _, id := range ids {
				if err := d.replanOne(tx, id); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil || n < replanAtOnce {
			return time.Time{}, err
		}
	}
	return time.Time{}, ctx.Err()
}

func (d *Desk) replanOne(tx *store.Tx, id vent.ID) error {
	run, err := store.Runs.Get(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return tx.Replanned(id)
	}
	if err != nil {
		return err
	}
	if _, err := d.planRun(tx, run, vent.OperatorSubject); err != nil {
		return err
	}
	return tx.Replanned(id)
}

// ReplanAll queues every run: the policy or the model changed.
func (d *Desk) ReplanAll(by By, why string) (n int, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		n = 0
		for run, err := range store.Runs.All(tx) {
			if err != nil {
				return err
			}
			if err := tx.Replan(run.ID, why); err != nil {
				return err
			}
			n++
		}
		return nil
	})
	d.kick(JobReplan)
	return n, err
}
