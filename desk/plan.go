package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ventdue/scheduler"
	"ventdue/scheduler/faults"
	"ventdue/scheduler/lint"
	"ventdue/store"
	"ventdue/vent"
)

// replanAtOnce is how many queued runs and sites one transaction plans.
const replanAtOnce = 500

// planRun computes a run's dues from what is stored and reconciles them. It runs in the transaction that wrote the
// fact, so that what people see is never stale. by is the event that brought it about.
//
// Faults that follow from the record are raised and closed here, before the dues that they ask for. Planning again with
// the same facts on the same day changes nothing.
func (d *Desk) planRun(tx *store.Tx, run vent.Run, by vent.Subject) (store.Changes, error) {
	c, err := d.tryPlanRun(tx, run, by)
	if err != nil {
		return c, fmt.Errorf("plan run %s: %w", run.Name, err)
	}
	return c, nil
}

func (d *Desk) tryPlanRun(tx *store.Tx, run vent.Run, by vent.Subject) (c store.Changes, err error) {
	p, err := d.planInput(tx, run)
	if err != nil {
		return c, err
	}
	out, err := scheduler.Plan(p.in)
	if err != nil {
		return c, err
	}
	if p.in.Run.Ended == 0 {
		if out, err = p.settle(tx, out); err != nil {
			return c, err
		}
		out.Dues = append(out.Dues, faults.Dues(faults.Asks{Faults: p.docket.faults, Signs: p.in.Signs, Gas: p.docket.at.Gas})...)
	}
	at := store.Place{Subject: vent.Subject{Kind: vent.KindRun, ID: run.ID}, Site: run.SiteID, Customer: p.customer.ID}
	if c, err = store.Reconcile(tx, at, out.Dues, by); err != nil {
		return c, err
	}
	if c.Any() {
		if err := wakeContacts(tx, p.customer); err != nil {
			return c, err
		}
	}
	if slices.ContainsFunc(out.Dues, func(w vent.Wanted) bool { return w.Severity == vent.Stop }) {
		if err := wakeForStop(tx, p); err != nil {
			return c, err
		}
		d.kick(JobVisits) // somebody has to come soon
	}
	if run.Shape == vent.Branch && by.Kind != vent.KindOperator { // its loads and its lint pass through the riser
		err = tx.Replan(run.ParentID, "a branch changed")
	}
	return c, err
}

// settle settles the run's faults and plans once more where one of them changes what is computed.
func (p *planCase) settle(tx *store.Tx, out scheduler.Outlook) (scheduler.Outlook, error) {
	today := tx.Now().DateIn(zoneOf(p.in.Site.Zone))
	for range 3 { // a fault can change a trouble, which can close a fault
		changed, err := p.docket.settle(tx, p.in, out, today)
		p.in.Faults = p.docket.heat()
		if err != nil || !slices.ContainsFunc(changed, explainsHeat) {
			return out, err
		}
		if out, err = scheduler.Plan(p.in); err != nil {
			return out, err
		}
	}
	return out, nil
}

// planCase is everything from which one run is planned.
type planCase struct {
	in       scheduler.Input
	customer vent.Customer
	docket   docket
}

// planInput loads the facts from which one run is planned.
func (d *Desk) planInput(tx *store.Tx, run vent.Run) (p planCase, err error) {
	p.in = scheduler.Input{Run: run, Policy: d.Policy().Dates}
	in := &p.in
	if in.Site, err = store.Sites.Get(tx, run.SiteID); err != nil {
		return p, err
	}
	if p.customer, err = store.Customers.Get(tx, in.Site.CustomerID); err != nil {
		return p, err
	}
	if p.customer.Ended != 0 && in.Run.Ended == 0 {
		in.Run.Ended = p.customer.Ended // nobody is served there any more
	}
	if !run.UnitID.IsZero() {
		if in.Unit, err = store.Units.Get(tx, run.UnitID); err != nil {
			return p, err
		}
	}
	if id := run.Current().DryerID; !id.IsZero() {
		if in.Dryer, err = store.Appliances.Get(tx, id); err != nil {
			return p, err
		}
	}
	if in.InLine, err = inLineOf(tx, run.Versions); err != nil {
		return p, err
	}
	if in.Findings, err = countingFindings(tx, run.ID); err != nil {
		return p, err
	}
	for s, err := range store.SignsOf(tx, run.ID) {
		if err != nil {
			return p, err
		}
		if s.Open() {
			in.Signs = append(in.Signs, s)
		}
	}
	if operator(tx).Kind == vent.Household {
		in.Policy.SpreadDays = 0 // one home has no queue
	}
	if run.Shape == vent.Riser && len(run.Use) == 0 {
		branches, err := branchesOf(tx, run.ID)
		if err != nil {
			return p, err
		}
		in.Run.Use = lint.RiserUse(branches)
	}
	if p.docket, err = openDocket(tx, run, in.Dryer); err != nil {
		return p, err
	}
	in.Faults = p.docket.heat()
	if in.Pool, err = poolFor(tx, run); err != nil {
		return p, err
	}
	in.Open, err = store.Collect(store.OpenDuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: run.ID}))
	return p, err
}

// countingFindings gives a run's findings by day, without those that were corrected.
func countingFindings(tx *store.Tx, run vent.ID) (all []vent.Finding, err error) {
	for f, err := range store.FindingsOf(tx, run) {
		if err != nil {
			return nil, err
		}
		if f.Counts() {
			all = append(all, f)
		}
	}
	return all, nil
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

// Replan plans queued runs and the checks of queued sites, 500 a transaction, and gives when to come again.
func (d *Desk) Replan(ctx context.Context, by By) (time.Time, error) {
	for ctx.Err() == nil {
		n := 0
		err := d.store.Update(by, func(tx *store.Tx) error {
			if err := queueChecks(tx); err != nil {
				return err
			}
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
	if errors.Is(err, vent.ErrNotFound) { // a site, for its checks
		if err := d.replanSite(tx, id); err != nil {
			return err
		}
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

// waiversAtOnce is how many faults one transaction brings back.
const waiversAtOnce = 100

// EndWaivers brings back the faults whose waiver has ended, and gives when to come again.
func (d *Desk) EndWaivers(ctx context.Context, by By) (next time.Time, err error) {
	for n := waiversAtOnce; n == waiversAtOnce && ctx.Err() == nil; {
		err := d.store.Update(by, func(tx *store.Tx) error {
			ids, err := tx.Waking(store.WakeFault, tx.Now(), waiversAtOnce)
			n = len(ids)
			for _, id := range ids {
				if err == nil {
					err = d.endWaiver(tx, id)
				}
			}
			return err
		})
		if err != nil {
			return time.Time{}, err
		}
		if n > 0 {
			d.kick(JobTell)
		}
	}
	err = d.store.View(func(tx *store.Tx) error {
		at, err := tx.NextWake(store.WakeFault)
		next = at.Time()
		return err
	})
	return next, err
}

// endWaiver plans the runs of a fault, which brings it back. One whose runs are no longer kept is not looked at again.
func (d *Desk) endWaiver(tx *store.Tx, id vent.ID) error {
	if err := tx.SetWake(store.WakeFault, id, 0); err != nil {
		return err
	}
	f, err := store.Faults.Get(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	runs, err := runsAbout(tx, f.Subject)
	for _, run := range runs {
		if err == nil {
			_, err = d.planRun(tx, run, vent.OperatorSubject)
		}
	}
	if err != nil {
		return fmt.Errorf("bring back fault %s: %w", f.Rule, err)
	}
	return nil
}
