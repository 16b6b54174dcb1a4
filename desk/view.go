package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// Place is where something is: a run with its unit, site and customer. Unit is zero for a common riser.
type Place struct {
	Run      vent.Run      `json:"run"`
	Unit     vent.Unit     `json:"unit,omitzero"`
	Site     vent.Site     `json:"site"`
	Customer vent.Customer `json:"customer"`
}

// DueView is a due with where it is.
type DueView struct {
	Due vent.Due `json:"due"`
	Place
	// Checks are what is to be looked at, by day, where the due asks for recurring checks; Run is zero there, and Unit where
	// they are not all behind one door.
	Checks []CheckView `json:"checks,omitempty"`
}

// guide resolves places and remembers them: one building's runs share site and customer.
type guide struct {
	tx        *store.Tx
	sites     map[vent.ID]vent.Site
	customers map[vent.ID]vent.Customer
}

func newGuide(tx *store.Tx) *guide {
	return &guide{tx: tx, sites: map[vent.ID]vent.Site{}, customers: map[vent.ID]vent.Customer{}}
}

func remembered[T any](tx *store.Tx, seen map[vent.ID]T, t *store.Table[T], id vent.ID) (T, error) {
	if v, ok := seen[id]; ok {
		return v, nil
	}
	v, err := t.Get(tx, id)
	if err == nil {
		seen[id] = v
	}
	return v, err
}

// place resolves where a run is.
func (g *guide) place(run vent.Run) (p Place, err error) {
	p.Run = run
	if p.Site, err = remembered(g.tx, g.sites, store.Sites, run.SiteID); err != nil {
		return p, err
	}
	if p.Customer, err = remembered(g.tx, g.customers, store.Customers, p.Site.CustomerID); err != nil {
		return p, err
	}
	if !run.UnitID.IsZero() {
		p.Unit, err = store.Units.Get(g.tx, run.UnitID)
	}
	return p, err
}

// due resolves where a due is.
func (g *guide) due(d vent.Due) (DueView, error) {
	if d.Subject.Kind == vent.KindSite {
		return g.checkDue(d)
	}
	run, err := store.Runs.Get(g.tx, d.Subject.ID)
	if err != nil {
		return DueView{Due: d}, err
	}
	p, err := g.place(run)
	return DueView{Due: d, Place: p}, err
}

// DueList is one page of open dues.
type DueList struct {
	Today vent.Date // at the operator's office
	Dues  []DueView
	Next  vent.Date // where the next page starts; none on the last one
	Skip  int       // how many dues of that day were shown already
	Total int       // open dues in the asked range
}

// DueQuery asks for open dues.
type DueQuery struct {
	Scope    vent.Scope // zero: everything
	From, To vent.Date  // To is the first day no longer; zero is no bound
	Skip     int        // dues of From to pass over: the page before showed them
	Max      int        // 0: all
}

// Dues gives open dues by day; a list that people read puts what must stop first: see Board.
func (d *Desk) Dues(by By, q DueQuery) (list DueList, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		list = DueList{Today: vent.InstantOf(by.Now).DateIn(zoneOf(operator(tx).Zone))}
		if q.Scope.Kind == "" {
			q.Scope = vent.OperatorScope
		}
		g := newGuide(tx)
		for due, err := range store.OpenDuesIn(tx, q.Scope, q.From, q.To) {
			if err != nil {
				return err
			}
			list.Total++
			if q.Max > 0 && len(list.Dues) == q.Max || list.Total <= q.Skip {
				if list.Next == 0 && list.Total > q.Skip {
					list.Next, list.Skip = nextPage(list.Dues, due.Day, q)
				}
				continue
			}
			v, err := g.due(due)
			if err != nil {
				return fmt.Errorf("list due %s: %w", due.ID, err)
			}
			list.Dues = append(list.Dues, v)
		}
		return nil
	})
	return list, err
}

// nextPage gives the day of the first due not shown and how many of that day were shown.
func nextPage(shown []DueView, day vent.Date, q DueQuery) (vent.Date, int) {
	n := 0
	for _, v := range shown {
		if v.Due.Day == day {
			n++
		}
	}
	if day == q.From {
		n += q.Skip
	}
	return day, n
}

// RunView is everything about one run.
type RunView struct {
	Place
	Dryer    vent.Appliance   `json:"dryer,omitzero"`
	InLine   []vent.Appliance `json:"in_line,omitempty"` // boosters and traps that are in it now
	Dues     []vent.Due       `json:"dues"`              // open ones
	Past     []vent.Due       `json:"past"`              // closed ones, newest first
	Findings []vent.Finding   `json:"findings"`          // newest first, corrected ones included
	Signs    []vent.Sign      `json:"signs,omitempty"`
	Faults   []vent.Fault     `json:"faults,omitempty"` // of the run and of what is connected to it, in any state
	Checks   []CheckView      `json:"checks,omitempty"` // recurring ones of the run, its unit's things and its building, by day
	Trail    []vent.Audit     `json:"-"`
	Today    vent.Date        `json:"today"` // at the site
}

// Run gives everything about one run.
func (d *Desk) Run(by By, id vent.ID) (v RunView, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		v, err = viewRun(tx, by, id)
		return err
	})
	return v, err
}

func viewRun(tx *store.Tx, by By, id vent.ID) (v RunView, err error) {
	run, err := store.Runs.Get(tx, id)
	if err != nil {
		return v, err
	}
	if v.Place, err = newGuide(tx).place(run); err != nil {
		return v, err
	}
	if v.InLine, err = inLineOf(tx, []vent.Version{run.Current()}); err != nil {
		return v, err
	}
	v.Today = vent.InstantOf(by.Now).DateIn(zoneOf(v.Site.Zone))
	return v, v.load(tx)
}

func (v *RunView) load(tx *store.Tx) (err error) {
	if id := v.Place.Run.Current().DryerID; !id.IsZero() {
		if v.Dryer, err = store.Appliances.Get(tx, id); err != nil {
			return err
		}
	}
	subject := vent.Subject{Kind: vent.KindRun, ID: v.Place.Run.ID}
	all, err := store.Collect(store.DuesOf(tx, subject))
	if err != nil {
		return err
	}
	for _, x := range all {
		if x.State == vent.DueOpen {
			v.Dues = append(v.Dues, x)
		} else {
			v.Past = append(v.Past, x)
		}
	}
	if v.Findings, err = store.Collect(store.FindingsOf(tx, v.Place.Run.ID)); err != nil {
		return err
	}
	newestFirst(v.Findings)
	newestFirst(v.Past)
	if v.Signs, err = store.Collect(store.SignsOf(tx, v.Place.Run.ID)); err != nil {
		return err
	}
	if v.Faults, err = faultsAt(tx, v.Place.Run); err != nil {
		return err
	}
	if v.Checks, err = checksAt(tx, v.Place.Run); err != nil {
		return err
	}
	v.Trail, err = tx.Trail(subject)
	return err
}

func newestFirst[T any](s []T) {
	for i, j := 0, len(s)-1; i < j; i, j = i+1, j-1 {
		s[i], s[j] = s[j], s[i]
	}
}

// FindRun resolves what a person typed for a run: its id or the id's beginning (8 digits at least), its own
// key, or "site / unit / run" words that fit exactly one run. Several fits are refused with ErrConflict and named.
func (d *Desk) FindRun(what string) (id vent.ID, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		id, err = findRun(tx, strings.TrimSpace(what))
		return err
	})
	return id, err
}

func findRun(tx *store.Tx, what string) (vent.ID, error) {
	if what == "" {
		return vent.ID{}, fmt.Errorf("which run? give its id, its run_ref, or words of its site, unit and name: %w", vent.ErrInvalid)
	}
	if id, err := vent.ParseID(what); err == nil {
		run, err := store.Runs.Get(tx, id)
		return run.ID, err
	}
	run, err := store.RunByRef(tx, what)
	if err == nil || !errors.Is(err, vent.ErrNotFound) {
		return run.ID, err
	}
	return findRunByWords(tx, what)
}

func findRunByWords(tx *store.Tx, what string) (vent.ID, error) {
	g := newGuide(tx)
	var fits []Place
	for run, err := range store.Runs.All(tx) {
		if err != nil {
			return vent.ID{}, err
		}
		if len(what) >= 8 && strings.HasPrefix(run.ID.String(), what) {
			return run.ID, nil
		}
		p, err := g.place(run)
		if err != nil {
			return vent.ID{}, err
		}
		if p.Fits(what) {
			fits = append(fits, p)
		}
	}
	switch len(fits) {
	case 0:
		return vent.ID{}, fmt.Errorf("no run fits %q: give words of its address, unit or customer, its own key or its id: %w", what, vent.ErrNotFound)
	case 1:
		return fits[0].Run.ID, nil
	}
	fits = bestFits(fits, func(p Place) fit {
		return fitOf(what, p.Customer.Name, p.Site.Name, p.Site.Address, p.Unit.Name, p.Run.Name, p.Label(), p.Site.Name+" "+p.Unit.Name)
	})
	if len(fits) == 1 {
		return fits[0].Run.ID, nil
	}
	var names []string
	for _, p := range fits[:min(len(fits), 5)] {
		names = append(names, fmt.Sprintf("%s (%s)", p.Label(), p.Run.ID))
	}
	return vent.ID{}, fmt.Errorf("%d runs fit %q: %s; give more words or the id: %w", len(fits), what, strings.Join(names, "; "), vent.ErrConflict)
}

// Fits reports whether all the words occur in the names of the place, whatever their case.
func (p Place) Fits(words string) bool { return p.fits(strings.Fields(strings.ToLower(words))) }

func (p Place) fits(words []string) bool {
	return hasAll(strings.Join([]string{p.Customer.Name, p.Site.Name, p.Site.Address, p.Unit.Name, p.Run.Name, p.Run.Ref}, " "), words)
}

// Label names the place in one line: site, unit, and the run where a unit has more than one name for it.
func (p Place) Label() string {
	parts := []string{p.Site.Name}
	if p.Unit.Name != "" && p.Unit.Name != p.Site.Name {
		parts = append(parts, p.Unit.Name)
	}
	if p.Run.Name != "" && p.Run.Name != vent.UsualRunName && p.Run.Name != p.Unit.Name {
		parts = append(parts, p.Run.Name)
	}
	return strings.Join(parts, ", ")
}

// equalJSON compares two records by what they export.
func equalJSON(a, b any) bool {
	x, err1 := json.Marshal(a)
	y, err2 := json.Marshal(b)
	return err1 == nil && err2 == nil && bytes.Equal(x, y)
}
