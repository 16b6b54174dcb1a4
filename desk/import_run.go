package desk

import (
	"fmt"
	"reflect"
	"slices"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// run works out one run of the file with everything it hangs on.
func (m *matching) run(n *intake.Run) (*runState, error) {
	if r := m.runs[n.Index]; r != nil {
		return r, nil
	}
	problems := m.problems()
	r := &runState{known: known[vent.Run]{row: n.Row}, node: n}
	m.runs[n.Index] = r
	err := m.fillRun(n, r)
	if err != nil {
		return nil, err
	}
	r.bad = r.bad || m.problems() > problems ||
		r.unit != nil && r.unit.bad || r.site != nil && r.site.bad
	if r.bad {
		for _, row := range n.Rows {
			m.badRow(row)
		}
		return r, nil
	}
	r.settle()
	r.use()
	return r, nil
}

// use marks what a good run hangs on.
func (r *runState) use() {
	r.used = true
	if r.dryer != nil {
		r.dryer.used = true
	}
	if r.gone != nil {
		r.gone.used = true
	}
	for _, a := range r.inLine {
		a.used = true
	}
	if r.unit != nil {
		r.unit.used = true
		for _, a := range r.unit.alarms {
			a.used = true
		}
	}
	if r.site != nil {
		r.site.used = true
		r.site.customer.used = true
	}
}

func (m *matching) fillRun(n *intake.Run, r *runState) error {
	if !n.Speaks() {
		return m.placeOnly(n, r)
	}
	old, err := m.storedRunByRef(n.Ref)
	if err != nil {
		return err
	}
	if old != nil {
		err = m.placeOfStored(n, r, *old)
	} else {
		old, err = m.placeOfRun(n, r)
	}
	if err != nil || r.site == nil || r.bad {
		return err
	}
	if old != nil {
		r.known = found(*old, n.Row)
		m.claim(old.ID, &n.Said, "run_ref")
		if r.stored, err = store.Collect(store.FindingsOf(m.tx, old.ID)); err != nil {
			return err
		}
	}
	return m.describe(n, r)
}

// placeOnly is for rows that tell of a customer, a site or a unit, but of no run.
func (m *matching) placeOnly(n *intake.Run, r *runState) (err error) {
	r.noRun = true
	switch {
	case n.Unit != nil && !n.Unit.Nameless:
		r.unit, err = m.unit(n.Unit)
		if err == nil && r.unit != nil {
			r.site = r.unit.site
		}
	case !n.Site.Nameless:
		r.site, err = m.site(n.Site)
	default:
		var c *customerState
		c, err = m.customer(n.Site.Customer)
		if err == nil && c != nil {
			c.used, r.bad = !c.bad, c.bad
			return nil
		}
	}
	if err == nil && r.site == nil {
		m.missingPlace(n)
	}
	return err
}

func (m *matching) missingPlace(n *intake.Run) {
	what := "is missing: no run with this key is stored"
	switch {
	case n.Ref == "" && n.Unit != nil && n.Unit.Ref != "":
		what = "is missing: no unit with this key is stored"
	case n.Ref == "" && n.Site.Ref != "":
		what = "is missing: no site with this key is stored"
	case n.Ref == "":
		what = "is missing"
	}
	m.problem(n.Row, "customer_name", "", what,
		"give the customer, site and unit, or a *_ref that is stored; a landlord's or a household's own file needs no customer once `ventdue setup` says so")
}

func (m *matching) storedRunByRef(ref string) (*vent.Run, error) {
	if ref == "" {
		return nil, nil
	}
	return orNone(store.RunByRef(m.tx, ref))
}

// placeOfStored takes the place of a run that was found by its key; what the row says of the place must agree.
func (m *matching) placeOfStored(n *intake.Run, r *runState, old vent.Run) (err error) {
	if r.unit, err = m.unitOf(old.UnitID); err != nil {
		return err
	}
	if n.Unit != nil && !n.Unit.Nameless {
		u, err := m.unit(n.Unit)
		if err != nil {
			return err
		}
		if u != nil && u.v.ID != old.UnitID {
			m.cellProblem(&n.Said, "run_ref", "is a run of another unit", "give that unit, or another run_ref")
		}
		if u != nil {
			r.unit = u
		}
	}
	if r.site, err = m.siteOf(old.SiteID); err != nil {
		return err
	}
	if !n.Site.Nameless {
		s, err := m.site(n.Site)
		if err != nil {
			return err
		}
		if s != nil && s.v.ID != old.SiteID {
			m.cellProblem(&n.Said, "run_ref", "is a run of another site", "give that site, or another run_ref")
		}
		if s != nil {
			r.site = s
		}
	} else if !n.Site.Customer.Nameless {
		if c, err := m.customer(n.Site.Customer); err != nil {
			return err
		} else if c != nil && c.v.ID != r.site.v.CustomerID {
			m.cellProblem(&n.Said, "run_ref", "is a run of another customer", "give that customer, or another run_ref")
		}
	}
	return nil
}

// placeOfRun finds or makes the place of a run that was not found by its key, and looks for the run there.
func (m *matching) placeOfRun(n *intake.Run, r *runState) (old *vent.Run, err error) {
	if n.Unit == nil {
		if r.site, err = m.site(n.Site); err != nil || r.site == nil {
			m.missingPlace(n)
			return nil, err
		}
		return m.storedRiser(n, r.site)
	}
	if r.unit, err = m.unit(n.Unit); err != nil || r.unit == nil {
		if err == nil {
			m.missingPlace(n)
		}
		return nil, err
	}
	r.site = r.unit.site
	if r.unit.old == nil {
		return nil, nil
	}
	if err := m.look(r.unit); err != nil {
		return nil, err
	}
	for i := range r.unit.runs {
		x := &r.unit.runs[i]
		if n.Ref != "" && x.Ref != "" || x.Ended != 0 || m.taken(n.Ref, x.ID) {
			continue
		}
		if n.Name != "" && intake.Fold(x.Name) == n.Name || n.Name == "" && (len(r.unit.runs) == 1 || intake.Fold(x.Name) == intake.Fold(vent.UsualRunName)) {
			return x, nil
		}
	}
	if n.Name == "" && n.Ref == "" && len(r.unit.runs) > 1 {
		m.cellProblem(&n.Said, "run_name", fmt.Sprintf("is missing: the unit has %d runs", len(r.unit.runs)), "say which by run_name or run_ref")
		r.bad = true
	}
	return nil, nil
}

func (m *matching) storedRiser(n *intake.Run, s *siteState) (*vent.Run, error) {
	if s.old == nil {
		return nil, nil
	}
	for x, err := range store.RunsOfSite(m.tx, s.v.ID) {
		if err != nil {
			return nil, err
		}
		if x.Shape == vent.Riser && (n.Ref == "" || x.Ref == "") && (n.Name == "" || intake.Fold(x.Name) == n.Name) {
			return &x, nil
		}
	}
	return nil, nil
}

// look loads a stored unit's runs and appliances, once.
func (m *matching) look(u *unitState) (err error) {
	if u.looked || u.old == nil {
		return nil
	}
	u.looked = true
	if u.runs, err = store.Collect(store.RunsOfUnit(m.tx, u.v.ID)); err != nil {
		return err
	}
	u.dryers, err = store.Collect(store.AppliancesOf(m.tx, u.v.ID))
	return err
}

// describe writes what the file says onto the run: its own facts, its dryer, its duct, its cleanings.
func (m *matching) describe(n *intake.Run, r *runState) error {
	if r.old == nil {
		r.v = vent.Run{ID: m.tx.NewID(), SiteID: r.site.v.ID, Known: m.o.Today, Versions: []vent.Version{{}}}
		if r.unit != nil {
			r.v.UnitID = r.unit.v.ID
		}
	}
	d := &m.runDraft
	*d = intake.Draft{Run: r.v, Version: r.v.Current()}
	d.Fill(n.Cells)
	d.Run.Versions = slices.Clone(d.Run.Versions)
	r.v = d.Run
	if r.v.Name == "" {
		r.v.Name = vent.UsualRunName
		if n.Shape == vent.Riser {
			r.v.Name = "Riser"
		}
	}
	problems := m.problems()
	if err := m.shape(n, r); err != nil || m.problems() > problems {
		return err
	}
	swapped, err := m.dryer(n, r, d)
	if err != nil || r.noRun || r.bad {
		return err
	}
	refitted, err := m.inLine(n, r, d)
	if err != nil {
		return err
	}
	m.route(n, d)
	m.version(n, r, d, swapped, refitted)
	m.settleInLine(r)
	setUse(&r.v, d.Loads, m.o.Today)
	setCeiling(&r.v, d.Ceiling)
	m.invalid(&n.Said, intake.OfRun, r.v.Valid())
	for _, c := range n.Cleanings {
		m.cleaning(r, c)
	}
	return nil
}

// shape settles what kind of run it is and which riser it leads into.
func (m *matching) shape(n *intake.Run, r *runState) error {
	if n.RiserRef != "" && n.Shape == "" {
		r.v.Shape = vent.Branch
	}
	if r.v.Shape == "" {
		r.v.Shape = vent.Single
	}
	if r.old != nil && (r.old.Shape == vent.Riser) != (r.v.Shape == vent.Riser) {
		m.cellProblem(&n.Said, "run_shape", "turns a "+string(r.old.Shape)+" run into a "+string(r.v.Shape), "give the riser a row and a run_ref of its own")
	}
	if n.RiserRef == "" {
		return nil
	}
	riser := m.sheet.RunByRef(n.RiserRef)
	if riser != nil && riser != n {
		p, err := m.run(riser)
		if err != nil {
			return err
		}
		switch {
		case p.bad:
			m.cellProblem(&n.Said, "riser_ref", fmt.Sprintf("names the riser of row %d, which is refused", riser.Row), "put that row right")
		case p.v.Shape != vent.Riser:
			m.cellProblem(&n.Said, "riser_ref", "names a run that is no riser", "write riser in the run_shape of that run")
		case p.v.SiteID != r.v.SiteID:
			m.cellProblem(&n.Said, "riser_ref", "names a riser in another site", "give a riser of this site")
		}
		r.v.ParentID = p.v.ID
		return nil
	}
	p, err := m.storedRunByRef(n.RiserRef)
	if err != nil {
		return err
	}
	if m.sheet.Refused(n.RiserRef) {
		r.bad = true // because of the riser's row, where it is told
		return nil
	}
	if p == nil || p.Shape != vent.Riser || p.SiteID != r.v.SiteID {
		m.cellProblem(&n.Said, "riser_ref", "names no riser of this site", "give the riser a row with run_shape riser and this run_ref")
		return nil
	}
	r.v.ParentID = p.ID
	return nil
}

// route lays the row's duct over the stored one. New ducts that are described alike are one: nobody changes a duct in place.
func (m *matching) route(n *intake.Run, d *intake.Draft) {
	fresh := d.Version.Route == nil
	if known := m.ducts[d.Route]; fresh && known != nil {
		d.Version.Route = known
		return
	}
	duct, problems := d.Route.Onto(d.Version.Route)
	for _, x := range problems {
		m.cellProblem(&n.Said, x.Column, x.What, x.Remedy)
	}
	if len(problems) > 0 || duct == nil {
		return
	}
	if err := duct.Validate(); err != nil {
		m.ductProblems(n, err)
		return
	}
	d.Version.Route = duct
	if fresh {
		m.ducts[d.Route] = duct
	}
}

// version decides whether a change is a correction or a new state of the run.
//
// Who changes a figure the day after the first import has found a slip of the pen: while nothing but imported
// cleanings is known of the run, it is put right in place. Once somebody looked at the run, a changed dryer or duct
// starts a new version from today, so that old readings are not compared with a duct they were not taken in;
// so does another dryer or booster wherever a cleaning is known. A booster or trap that is only now told of was there before. changed_on says it outright.
func (m *matching) version(n *intake.Run, r *runState, d *intake.Draft, swapped, refitted bool) {
	last := len(r.v.Versions) - 1
	was, next := r.v.Versions[last], d.Version
	r.v.Versions[last] = next
	if d.Changed > m.o.Today {
		m.cellProblem(&n.Said, "changed_on", "is in the future: today is "+m.o.Today.String(), "give the day on which it was changed")
		return
	}
	if r.old == nil {
		r.v.Versions[last].From = d.Changed
		return
	}
	described := was.Route == nil && !swapped // it only becomes known now
	built := swapped || refitted || !described && (!reflect.DeepEqual(was.Route, next.Route) || was.RoofOutlet != next.RoofOutlet || was.Uninsulated != next.Uninsulated)
	if !built {
		return
	}
	from := vent.Date(0)
	switch {
	case d.Changed != 0 && d.Changed < was.From:
		m.cellProblem(&n.Said, "changed_on", "is before "+was.From.String()+", since when the run is known as it was", "give the day of the latest change")
		return
	case d.Changed != 0:
		from = d.Changed
	case (swapped || refitted) && len(r.stored) > 0, slices.ContainsFunc(r.stored, func(f vent.Finding) bool { return f.Source != importSource }):
		from = m.o.Today
	}
	if from <= was.From {
		return
	}
	r.v.Versions[last] = was
	next.From, next.Why = from, "changed by "+m.name
	r.v.Versions = append(r.v.Versions, next)
	if swapped && r.gone != nil && r.gone.v.Removed == 0 {
		r.gone.v.Removed = from
		r.gone.settle()
	}
}

// setUse notes how many loads somebody said. Another figure for a run that was known before counts from today.
func setUse(r *vent.Run, loads intake.Optional, today vent.Date) {
	if !loads.Given {
		return
	}
	said := vent.Use{LoadsPerWeek: loads.Value, Source: vent.UseTold}
	last := len(r.Use) - 1
	switch {
	case last < 0:
		r.Use = []vent.Use{said}
	case r.Use[last].LoadsPerWeek == said.LoadsPerWeek && r.Use[last].Source == said.Source:
	case r.Known == today && last == 0 || r.Use[last].From == today:
		r.Use = slices.Clone(r.Use)
		said.From = r.Use[last].From
		r.Use[last] = said
	default:
		said.From = today
		r.Use = append(slices.Clip(r.Use), said)
	}
}

// setCeiling notes an interval that somebody outside demands, one for each source.
func setCeiling(r *vent.Run, c vent.Ceiling) {
	if c.Months == 0 {
		return
	}
	i := slices.IndexFunc(r.Ceilings, func(x vent.Ceiling) bool { return intake.Fold(x.Source) == intake.Fold(c.Source) })
	if i < 0 {
		r.Ceilings = append(slices.Clip(r.Ceilings), c)
		return
	}
	r.Ceilings = slices.Clone(r.Ceilings)
	r.Ceilings[i] = c
}

// cleaning turns a last cleaning into a finding. One that is known already stays as it is: another story about the same
// day is a problem of the row.
func (m *matching) cleaning(r *runState, c *intake.Cleaning) {
	known, agreed := vent.Finding{}, false
	for _, f := range r.stored {
		if f.Date == c.Date && f.Source == importSource {
			// A row may still tell what was corrected since: the correction stands.
			agreed = agreed || m.differs(f, c) == nil
			if known.Date == 0 || f.Counts() {
				known = f
			}
		}
	}
	if agreed {
		return
	}
	if known.Date != 0 {
		cell := m.differs(known, c)
		m.problem(int(cell.Row), cell.Column().Name, cell.Value.Text,
			"differs from what is stored of the cleaning on "+c.Date.String()+", and findings are never overwritten",
			"empty the cell, or correct the finding with `ventdue record`")
		return
	}
	d := &m.draft
	d.Cleaning = vent.Finding{ID: m.tx.NewID(), RunID: r.v.ID, Source: importSource,
		By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Recorded: vent.InstantOf(m.by.Now), Recorder: m.by.Actor}
	d.Fill(c.Cells)
	m.invalid(&c.Said, intake.OfCleaning, d.Cleaning.Valid(m.o.Today))
	r.findings = append(r.findings, d.Cleaning)
}

// differs gives the first cell that says something else than the finding, nil when none does.
func (m *matching) differs(f vent.Finding, c *intake.Cleaning) *intake.Cell {
	for i := range c.Cells {
		d := &m.draft
		d.Cleaning = f
		d.Fill(c.Cells[i : i+1])
		if !reflect.DeepEqual(plainStory(d.Cleaning), plainStory(f)) {
			return &c.Cells[i]
		}
	}
	return nil
}

// plainStory leaves out how a figure was written down.
func plainStory(f vent.Finding) vent.Finding {
	f.Before, f.After = slices.Clone(f.Before), slices.Clone(f.After)
	for _, list := range [][]vent.Reading{f.Before, f.After} {
		for i := range list {
			list[i].Given = ""
		}
	}
	return f
}
