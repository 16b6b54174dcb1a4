package desk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// CheckView is a recurring check with what it is about.
type CheckView struct {
	// Ref names the check for whoever does something to it: its id, or of one that nobody turned on yet rule and subject.
	Ref       string         `json:"ref"`
	Check     vent.Check     `json:"check"`
	Day       vent.Date      `json:"day,omitzero"`       // when it is next; none while it is off
	Asked     bool           `json:"asked"`              // it is on: it has a due, and somebody is told
	Unit      vent.Unit      `json:"unit,omitzero"`      // zero where it is about the building
	Run       vent.Run       `json:"run,omitzero"`       // zero where it is about no run
	Appliance vent.Appliance `json:"appliance,omitzero"` // zero where it is about no appliance
}

// CheckLine is one line of a site's checks: what is one errand to whoever does it.
type CheckLine struct {
	Line  rules.Line  `json:"line"`
	Day   vent.Date   `json:"day"`
	Items []CheckView `json:"items"` // by day
	Due   int         `json:"due"`   // so many of the first are done together on that day
}

// CheckSheet is all recurring checks of one site, in at most five lines.
type CheckSheet struct {
	Site     vent.Site     `json:"site"`
	Customer vent.Customer `json:"customer"`
	Units    []vent.Unit   `json:"units"` // in which an alarm can be
	Today    vent.Date     `json:"today"` // at the site
	Lines    []CheckLine   `json:"lines"` // the soonest first
	Off      []CheckView   `json:"off"`   // turned off, or over because what they are about is gone
	Left     []CheckView   `json:"left"`  // left to whoever lives there: nobody is told unless they are turned on
}

// CheckQuery asks for recurring checks.
type CheckQuery struct {
	Site  vent.ID // of one; none: of all
	Words string  // each must occur in the customer's or site's name or the address
	All   bool    // sites as well that have nothing but what is left to whoever lives there
	Max   int     // sites; 0: all
}

// CheckSheets gives the checks of sites, those first on which something is due soonest. total counts the sites that fit.
func (d *Desk) CheckSheets(by By, q CheckQuery) (sheets []CheckSheet, total int, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		sheets = nil
		for site, err := range store.Sites.All(tx) {
			if err != nil {
				return err
			}
			if !q.Site.IsZero() && site.ID != q.Site {
				continue
			}
			s, err := checkSheet(tx, by, site.ID)
			if err != nil {
				return err
			}
			if !q.All && len(s.Lines)+len(s.Off) == 0 || !(Place{Site: s.Site, Customer: s.Customer}).Fits(q.Words) {
				continue
			}
			sheets = append(sheets, s)
		}
		return nil
	})
	first := func(s CheckSheet) vent.Date {
		if len(s.Lines) == 0 {
			return vent.NewDate(9999, 12, 31)
		}
		return s.Lines[0].Day
	}
	slices.SortStableFunc(sheets, func(a, b CheckSheet) int {
		return cmp.Or(cmp.Compare(first(a), first(b)), naturally(a.Site.Name, b.Site.Name))
	})
	if total = len(sheets); q.Max > 0 && total > q.Max {
		sheets = sheets[:q.Max]
	}
	return sheets, total, err
}

// CheckSheet gives the checks of one site.
func (d *Desk) CheckSheet(by By, site vent.ID) (s CheckSheet, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		s, err = checkSheet(tx, by, site)
		return err
	})
	return s, err
}

func checkSheet(tx *store.Tx, by By, site vent.ID) (s CheckSheet, err error) {
	h, err := homeOf(tx, site)
	if err != nil {
		return s, fmt.Errorf("list the checks of site %s: %w", site, err)
	}
	h.today = vent.InstantOf(by.Now).DateIn(zoneOf(h.site.Zone))
	h.Known = h.today
	s = CheckSheet{Site: h.site, Customer: h.customer, Units: h.Units, Today: h.today, Lines: []CheckLine{}, Off: []CheckView{}, Left: []CheckView{}}
	for _, g := range faults.Lines(h.Stored) {
		l := CheckLine{Line: g.Line, Day: g.Day, Due: len(g.Due)}
		for _, x := range slices.Concat(g.Due, g.Later) {
			l.Items = append(l.Items, h.view(x.Check))
		}
		slices.SortStableFunc(l.Items, inHouse)
		s.Lines = append(s.Lines, l)
	}
	for _, c := range h.Stored {
		if c.Off {
			s.Off = append(s.Off, h.view(c))
		}
	}
	s.Site.Access = vent.Access{}
	missing, _ := faults.Recurring(h.Home)
	for _, c := range missing {
		s.Left = append(s.Left, h.view(c))
	}
	slices.SortStableFunc(s.Left, inHouse)
	return s, nil
}

// inHouse orders checks by day, then as people walk through a house.
func inHouse(a, b CheckView) int {
	return cmp.Or(cmp.Compare(a.Day, b.Day), strings.Compare(a.Check.Rule, b.Check.Rule), naturally(a.Unit.Name, b.Unit.Name))
}

// view puts a check beside what it is about.
func (h *checkHome) view(c vent.Check) CheckView {
	v := CheckView{Ref: c.ID.String(), Check: c, Asked: !c.ID.IsZero() && !c.Off, Day: faults.Next(c)}
	if c.ID.IsZero() {
		v.Ref = checkRef(c)
	}
	unit := vent.ID{}
	switch c.Subject.Kind {
	case vent.KindRun:
		for _, r := range h.Runs {
			if r.ID == c.Subject.ID {
				v.Run, unit = r, r.UnitID
			}
		}
	case vent.KindAppliance:
		for _, a := range h.Appliances {
			if a.ID == c.Subject.ID {
				v.Appliance, unit = a, a.UnitID
			}
		}
	}
	for _, u := range h.Units {
		if u.ID == unit {
			v.Unit = u
		}
	}
	return v
}

// checkRef names a check that is not stored.
func checkRef(c vent.Check) string { return c.Rule + "@" + c.Subject.ID.String() }

// checkDue resolves the due of a round of checks: what is to be looked at, and the door where it is one.
func (g *guide) checkDue(d vent.Due) (v DueView, err error) {
	v.Due = d
	if v.Site, err = remembered(g.tx, g.sites, store.Sites, d.SiteID); err != nil {
		return v, err
	}
	if v.Customer, err = remembered(g.tx, g.customers, store.Customers, v.Site.CustomerID); err != nil {
		return v, err
	}
	checks, err := store.Collect(store.ChecksOfRound(g.tx, d.Opener))
	if err != nil || d.State != vent.DueOpen {
		return v, err
	}
	for _, c := range checks {
		x, err := g.checkView(c)
		if err != nil {
			return v, err
		}
		v.Checks = append(v.Checks, x)
	}
	slices.SortStableFunc(v.Checks, inHouse)
	for i, x := range v.Checks {
		if i > 0 && x.Unit.ID != v.Unit.ID {
			v.Unit = vent.Unit{}
			break
		}
		v.Unit = x.Unit
	}
	return v, nil
}

// checkView puts one check beside what it is about.
func (g *guide) checkView(c vent.Check) (v CheckView, err error) {
	v = CheckView{Ref: c.ID.String(), Check: c, Asked: !c.Off, Day: faults.Next(c)}
	unit := vent.ID{}
	switch c.Subject.Kind {
	case vent.KindRun:
		v.Run, err = store.Runs.Get(g.tx, c.Subject.ID)
		unit = v.Run.UnitID
	case vent.KindAppliance:
		v.Appliance, err = store.Appliances.Get(g.tx, c.Subject.ID)
		unit = v.Appliance.UnitID
	}
	if err == nil && !unit.IsZero() {
		v.Unit, err = store.Units.Get(g.tx, unit)
	}
	return v, err
}

// checksAt gives the checks that are asked for at a run: its own, those of its unit's things and of its building.
func checksAt(tx *store.Tx, run vent.Run) (all []CheckView, err error) {
	about := []vent.Subject{{Kind: vent.KindRun, ID: run.ID}, {Kind: vent.KindSite, ID: run.SiteID}}
	if !run.UnitID.IsZero() {
		for a, err := range store.AppliancesOf(tx, run.UnitID) {
			if err != nil {
				return nil, err
			}
			about = append(about, vent.Subject{Kind: vent.KindAppliance, ID: a.ID})
		}
	}
	g := newGuide(tx)
	for _, s := range about {
		for c, err := range store.ChecksOf(tx, s) {
			if err != nil {
				return nil, err
			}
			if c.Off {
				continue
			}
			v, err := g.checkView(c)
			if err != nil {
				return nil, err
			}
			all = append(all, v)
		}
	}
	slices.SortStableFunc(all, inHouse)
	return all, nil
}
