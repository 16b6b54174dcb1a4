package desk

import (
	"errors"
	"fmt"
	"slices"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// checkHome is a site with all that its recurring checks are about.
type checkHome struct {
	faults.Home
	site     vent.Site
	customer vent.Customer
	today    vent.Date // at the site
}

// homeOf loads a site for its checks.
func homeOf(tx *store.Tx, id vent.ID) (h checkHome, err error) {
	if h.site, err = store.Sites.Get(tx, id); err != nil {
		return h, err
	}
	if h.customer, err = store.Customers.Get(tx, h.site.CustomerID); err != nil {
		return h, err
	}
	h.today = tx.Now().DateIn(zoneOf(h.site.Zone))
	// What was there before checks were kept is not overdue for it.
	h.Home = faults.Home{Site: id, Known: h.today, Kind: operator(tx).Kind}
	if h.Units, err = store.Collect(store.UnitsOf(tx, id)); err != nil {
		return h, err
	}
	if h.Runs, err = store.Collect(store.RunsOfSite(tx, id)); err != nil {
		return h, err
	}
	for _, u := range h.Units {
		own, err := store.Collect(store.AppliancesOf(tx, u.ID))
		if err != nil {
			return h, err
		}
		h.Appliances = append(h.Appliances, own...)
	}
	for _, s := range h.subjects() {
		checks, err := store.Collect(store.ChecksOf(tx, s))
		if err != nil {
			return h, err
		}
		h.Stored = append(h.Stored, checks...)
	}
	return h, nil
}

// subjects lists what the site's checks can be about.
func (h *checkHome) subjects() []vent.Subject {
	out := []vent.Subject{{Kind: vent.KindSite, ID: h.Site}}
	for _, r := range h.Runs {
		out = append(out, vent.Subject{Kind: vent.KindRun, ID: r.ID})
	}
	for _, a := range h.Appliances {
		out = append(out, vent.Subject{Kind: vent.KindAppliance, ID: a.ID})
	}
	return out
}

// planChecks has a site's checks be those that follow from what is there, puts them into rounds and reconciles the dues
// that these ask for. by is the event that brought it about. The same facts on the same day change nothing.
func (d *Desk) planChecks(tx *store.Tx, site vent.ID, by vent.Subject) (c store.Changes, err error) {
	h, err := homeOf(tx, site)
	if err == nil {
		c, err = h.plan(tx, by)
	}
	if err != nil {
		return c, fmt.Errorf("plan the checks of site %s: %w", site, err)
	}
	return c, nil
}

func (h *checkHome) plan(tx *store.Tx, by vent.Subject) (store.Changes, error) {
	missing, changed := faults.Recurring(h.Home)
	for _, c := range missing {
		if r, _ := rules.CheckByID(c.Rule); !faults.Asked(h.Kind, r) {
			continue
		}
		c.ID = tx.NewID()
		if err := h.put(tx, c, ""); err != nil {
			return store.Changes{}, err
		}
	}
	for _, c := range changed {
		what := "check " + c.Rule + " is done again"
		if c.Off {
			what = "check " + c.Rule + " is over: " + c.Why
		} else if c.Rule == rules.CheckAlarmReplace {
			what = "alarm to be replaced by " + c.Anchor.String()
		}
		if err := h.put(tx, c, what); err != nil {
			return store.Changes{}, err
		}
	}
	return h.planRounds(tx, by)
}

// put writes a check and remembers it.
func (h *checkHome) put(tx *store.Tx, c vent.Check, what string) error {
	if err := append(c.Valid(), rules.CheckCheck(c)...).Err(); err != nil {
		return fmt.Errorf("keep check %s: %w", c.Rule, err)
	}
	if i := slices.IndexFunc(h.Stored, func(x vent.Check) bool { return x.ID == c.ID }); i >= 0 {
		h.Stored[i] = c
	} else {
		h.Stored = append(h.Stored, c)
	}
	return store.Checks.Put(tx, c, what)
}

// planRounds puts the checks into rounds and makes the dues of these be the site's. A site that is no longer served has none.
func (h *checkHome) planRounds(tx *store.Tx, by vent.Subject) (c store.Changes, err error) {
	carried := map[vent.ID]bool{}
	for _, x := range h.Stored {
		carried[x.Round] = true
	}
	var wanted []vent.Wanted
	if !ended(h.customer, h.today) {
		for _, r := range faults.Rounds(h.Stored) {
			if r.ID.IsZero() {
				r.ID = tx.NewID()
			}
			for _, x := range r.Items {
				if x.Check.Round != r.ID {
					x.Check.Round = r.ID
					if err := h.put(tx, x.Check, ""); err != nil {
						return c, err
					}
				}
			}
			wanted = append(wanted, r.Due())
		}
	}
	if c, err = h.reconcile(tx, wanted, carried, by); err != nil || !c.Any() {
		return c, err
	}
	return c, wakeContacts(tx, h.customer)
}

// reconcile closes the dues of rounds that are over. One whose checks went into another round was not done, whatever was
// done beside it.
func (h *checkHome) reconcile(tx *store.Tx, wanted []vent.Wanted, carried map[vent.ID]bool, by vent.Subject) (c store.Changes, err error) {
	at := store.Place{Subject: vent.Subject{Kind: vent.KindSite, ID: h.Site}, Site: h.Site, Customer: h.customer.ID}
	open, err := store.Collect(store.OpenDuesOf(tx, at.Subject))
	if err != nil {
		return c, err
	}
	joined := slices.Clone(wanted)
	for _, due := range open {
		if carried[due.Opener] && !slices.ContainsFunc(wanted, func(w vent.Wanted) bool { return w.Opener == due.Opener }) {
			joined = append(joined, due.Wanted)
		}
	}
	if c, err = store.Reconcile(tx, at, joined, by); err != nil || len(joined) == len(wanted) {
		return c, err
	}
	then, err := store.Reconcile(tx, at, wanted, at.Subject)
	then.Kept = 0 // they were counted
	return c.Add(then), err
}

// settleChecks takes back what the finding whose place this one takes had carried out, and has this one carry out the checks
// that its close-out list names. The two are planned one after the other: what the old one had opened was not done.
func (d *Desk) settleChecks(tx *store.Tx, run vent.Run, f vent.Finding, old vent.ID) error {
	if !old.IsZero() {
		counting, err := countingFindings(tx, run.ID)
		if err != nil {
			return err
		}
		counting = slices.DeleteFunc(counting, func(x vent.Finding) bool { return x.ID == f.ID })
		if err := changeChecks(tx, run, "stands as before: the visit was corrected", func(s vent.Subject, checks []vent.Check) []vent.Check {
			own := slices.DeleteFunc(slices.Clone(counting), func(x vent.Finding) bool { return !didOn(run, x, s) })
			return faults.Unsettled(checks, old, own)
		}); err != nil {
			return err
		}
		if _, err := d.planChecks(tx, run.SiteID, vent.Subject{Kind: vent.KindSite, ID: run.SiteID}); err != nil {
			return err
		}
	}
	if err := changeChecks(tx, run, "done with the visit of "+f.Date.String(), func(s vent.Subject, checks []vent.Check) []vent.Check {
		if !didOn(run, f, s) {
			return nil
		}
		return faults.Settled(checks, f)
	}); err != nil {
		return err
	}
	_, err := d.planChecks(tx, run.SiteID, vent.Subject{Kind: vent.KindFinding, ID: f.ID})
	return err
}

// didOn reports whether what a finding did is done on a subject: the run itself, or the dryer of that day.
func didOn(run vent.Run, f vent.Finding, s vent.Subject) bool {
	return s.Kind != vent.KindAppliance || run.VersionOn(f.Date).DryerID == s.ID
}

// changeChecks writes what changes of the checks of a run and of its dryers, earlier ones too.
func changeChecks(tx *store.Tx, run vent.Run, what string, change func(vent.Subject, []vent.Check) []vent.Check) error {
	about := []vent.Subject{{Kind: vent.KindRun, ID: run.ID}}
	for _, v := range run.Versions {
		if s := (vent.Subject{Kind: vent.KindAppliance, ID: v.DryerID}); !v.DryerID.IsZero() && !slices.Contains(about, s) {
			about = append(about, s)
		}
	}
	for _, s := range about {
		checks, err := store.Collect(store.ChecksOf(tx, s))
		if err != nil {
			return err
		}
		for _, c := range change(s, checks) {
			if err := store.Checks.Put(tx, c, "check "+c.Rule+" "+what); err != nil {
				return err
			}
		}
	}
	return nil
}

// markChecks is when every site of the file was first queued for its recurring checks.
const markChecks = "checks"

// queueChecks queues every site once: a data file from before there were checks gets them.
func queueChecks(tx *store.Tx) error {
	if !tx.Mark(markChecks).IsZero() {
		return nil
	}
	if err := replanSites(tx, "recurring checks"); err != nil {
		return err
	}
	return tx.SetMark(markChecks, tx.Now())
}

// replanSites queues every site.
func replanSites(tx *store.Tx, why string) error {
	for s, err := range store.Sites.All(tx) {
		if err != nil {
			return err
		}
		if err := tx.Replan(s.ID, why); err != nil {
			return err
		}
	}
	return nil
}

// replanSite plans the checks of a queued site; one that is gone has none.
func (d *Desk) replanSite(tx *store.Tx, id vent.ID) error {
	_, err := d.planChecks(tx, id, vent.OperatorSubject)
	if errors.Is(err, vent.ErrNotFound) && !store.Sites.Has(tx, id) {
		return nil
	}
	return err
}
