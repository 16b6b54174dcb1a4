package desk

import (
	"fmt"
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// ServiceRecord is what a customer, an insurer, an inspector or the next technician is handed about one run.
type ServiceRecord struct {
	RunView
	Operator vent.Operator
}

// RunService gives the service record of one run, with every finding that counts, newest first.
func (d *Desk) RunService(by By, run vent.ID) (s ServiceRecord, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		s.Operator = operator(tx)
		if s.RunView, err = viewRun(tx, by, run); err != nil {
			return err
		}
		s.Findings = slices.DeleteFunc(s.Findings, func(f vent.Finding) bool { return !f.Counts() })
		return nil
	})
	return s, err
}

// FindingService gives the service record of one visit to a run: that finding alone, with how the run stands today. A
// finding that was corrected later is given as it was written.
func (d *Desk) FindingService(by By, finding vent.ID) (s ServiceRecord, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		s.Operator = operator(tx)
		f, err := store.Findings.Get(tx, finding)
		if err != nil {
			return err
		}
		if s.RunView, err = viewRun(tx, by, f.RunID); err != nil {
			return err
		}
		s.Findings = []vent.Finding{f}
		return nil
	})
	return s, err
}

// faultsAt gives the faults of a run and of the dryer, boosters and traps that are connected to it now.
func faultsAt(tx *store.Tx, run vent.Run) ([]vent.Fault, error) {
	now := run.Current()
	subjects := []vent.Subject{{Kind: vent.KindRun, ID: run.ID}}
	for _, id := range append([]vent.ID{now.DryerID}, now.InLine...) {
		if !id.IsZero() {
			subjects = append(subjects, vent.Subject{Kind: vent.KindAppliance, ID: id})
		}
	}
	var all []vent.Fault
	for _, s := range subjects {
		faults, err := store.Collect(store.FaultsOf(tx, s))
		if err != nil {
			return nil, fmt.Errorf("faults of %s: %w", s, err)
		}
		all = append(all, faults...)
	}
	return all, nil
}

// SiteService is the service record of a building: how each of its runs stands.
type SiteService struct {
	Operator vent.Operator
	Site     vent.Site
	Customer vent.Customer
	Today    vent.Date // at the site
	Runs     []RunStanding
	Ended    int // runs that are no longer kept, left out
}

// RunStanding is how one run stands.
type RunStanding struct {
	Place
	Dryer  vent.Appliance
	Last   vent.Finding // newest that counts; zero: nothing was recorded
	Clean  vent.Finding // newest full cleaning; zero: none is known
	Faults []vent.Fault // of the run and of what is connected to it, in any state
	Dues   []vent.Due   // open ones
}

// SiteService gives the service record of a building: each run that is kept, in the order of its units.
func (d *Desk) SiteService(by By, site vent.ID) (s SiteService, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		s = SiteService{Operator: operator(tx)}
		if s.Site, err = store.Sites.Get(tx, site); err != nil {
			return err
		}
		if s.Customer, err = store.Customers.Get(tx, s.Site.CustomerID); err != nil {
			return err
		}
		s.Today = vent.InstantOf(by.Now).DateIn(zoneOf(s.Site.Zone))
		g := newGuide(tx)
		for run, err := range store.RunsOfSite(tx, site) {
			if err != nil {
				return err
			}
			if run.Ended != 0 && run.Ended <= s.Today {
				s.Ended++
				continue
			}
			r, err := g.standing(run)
			if err != nil {
				return fmt.Errorf("run %s: %w", run.ID, err)
			}
			s.Runs = append(s.Runs, r)
		}
		return nil
	})
	slices.SortStableFunc(s.Runs, func(a, b RunStanding) int { return naturally(a.Label(), b.Label()) })
	return s, err
}

func (g *guide) standing(run vent.Run) (s RunStanding, err error) {
	if s.Place, err = g.place(run); err != nil {
		return s, err
	}
	if id := run.Current().DryerID; !id.IsZero() {
		if s.Dryer, err = store.Appliances.Get(g.tx, id); err != nil {
			return s, err
		}
	}
	for f, err := range store.FindingsOf(g.tx, run.ID) { // oldest first
		if err != nil {
			return s, err
		}
		if !f.Counts() {
			continue
		}
		s.Last = f
		if f.CleanedFully() {
			s.Clean = f
		}
	}
	if s.Faults, err = faultsAt(g.tx, run); err != nil {
		return s, err
	}
	s.Dues, err = store.Collect(store.OpenDuesOf(g.tx, vent.Subject{Kind: vent.KindRun, ID: run.ID}))
	return s, err
}

// naturally compares names as people order doors: 2B before 10A.
func naturally(a, b string) int {
	for a != "" && b != "" {
		m, n := digits(a), digits(b)
		if m == 0 || n == 0 {
			if a[0] != b[0] {
				return int(a[0]) - int(b[0])
			}
			a, b = a[1:], b[1:]
			continue
		}
		x, y := a[leadingZeros(a[:m]):m], b[leadingZeros(b[:n]):n]
		if len(x) != len(y) {
			return len(x) - len(y)
		}
		if x != y {
			if x < y {
				return -1
			}
			return 1
		}
		a, b = a[m:], b[n:]
	}
	return len(a) - len(b)
}

// digits counts the decimal digits at the beginning.
func digits(s string) (n int) {
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}

func leadingZeros(s string) (n int) {
	for n < len(s)-1 && s[n] == '0' {
		n++
	}
	return n
}
