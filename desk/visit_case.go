package desk

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// widest is by how many days before its day a due can open at most: how far beyond the last day to look for dues.
const widest = 62

// visitCase is a question for the planner with what its answer is written by.
type visitCase struct {
	tx     *store.Tx
	now    vent.Instant
	policy VisitPolicy
	wide   bool // the windows of dues do not count: somebody decides beyond them
	days   int  // shortest days from a full cleaning
	zone   *time.Location
	p      visits.Problem
	dues   map[vent.ID]vent.Due // as they were read: their SEQUENCE is compared when the answer is written
	doors  map[vent.ID]door     // by due
	sites  map[vent.ID]vent.Site
	units  map[vent.ID]vent.Unit
	techs  map[vent.ID]vent.Person
}

// door is where a due's work is: a unit's door, or none for a riser or a building.
type door struct{ unit, customer vent.ID }

// visitCase starts a question about the days from `from` to `last`, both included.
func (d *Desk) visitCase(tx *store.Tx, by By, from, last vent.Date) *visitCase {
	policy := d.Policy()
	return &visitCase{
		tx: tx, now: vent.InstantOf(by.Now), policy: policy.Visits, days: policy.Dates.ShortestDays, zone: zoneOf(operator(tx).Zone),
		p:    visits.Problem{Today: from, Last: last, Policy: policy.Visits.Plan},
		dues: map[vent.ID]vent.Due{}, doors: map[vent.ID]door{}, sites: map[vent.ID]vent.Site{}, units: map[vent.ID]vent.Unit{},
		techs: map[vent.ID]vent.Person{},
	}
}

// firstDay is the first day that can still be planned: today before the working day begins, else tomorrow.
func (c *visitCase) firstDay() vent.Date {
	now := c.now.Time().In(c.zone)
	today := vent.DateOf(now)
	starts := 24 * 60
	for _, h := range c.policy.Hours {
		if !h.Empty() {
			starts = min(starts, h.From)
		}
	}
	if now.Hour()*60+now.Minute() < starts-60 {
		return today
	}
	return today.AddDays(1)
}

// addDues takes in the dues for which somebody has to come.
func (c *visitCase) addDues(dues iter.Seq2[vent.Due, error]) error {
	ended := map[vent.ID]bool{}
	for d, err := range dues {
		if err != nil {
			return err
		}
		if d.Earliest > c.p.Last && d.Day > c.p.Last && !c.wide {
			continue
		}
		site, err := remembered(c.tx, c.sites, store.Sites, d.SiteID)
		if err != nil {
			return err
		}
		gone, known := ended[site.CustomerID]
		if !known {
			customer, err := store.Customers.Get(c.tx, site.CustomerID)
			if err != nil {
				return err
			}
			gone = customer.Ended != 0 && customer.Ended <= c.p.Today
			ended[site.CustomerID] = gone
		}
		if gone {
			continue
		}
		if err := c.addDue(d, site); err != nil {
			return fmt.Errorf("due %s: %w", d.ID, err)
		}
	}
	return nil
}

func (c *visitCase) addDue(d vent.Due, site vent.Site) error {
	job, err := c.job(d, site)
	if err != nil {
		return err
	}
	work, comes := visits.Work(job)
	if !comes {
		return nil
	}
	if c.wide {
		work.Earliest, work.Day, work.Latest, work.Waived = c.p.Today, c.p.Last, c.p.Last, true
	}
	c.dues[d.ID], c.doors[d.ID] = d, door{job.UnitID, site.CustomerID}
	c.p.Dues = append(c.p.Dues, work)
	return nil
}

// job says what matters of the place of a due.
func (c *visitCase) job(d vent.Due, site vent.Site) (j visits.Job, err error) {
	j = visits.Job{Due: d, Roof: site.Access.Roof, Shortest: c.days, LookMinutes: c.policy.LookMinutes}
	var dryer vent.ID
	switch d.Subject.Kind {
	case vent.KindRun:
		run, err := store.Runs.Get(c.tx, d.Subject.ID)
		if err != nil {
			return j, err
		}
		j.UnitID, dryer = run.UnitID, run.Current().DryerID
		j.Roof = j.Roof || run.Current().RoofOutlet
	case vent.KindAppliance:
		dryer = d.Subject.ID
	case vent.KindSite: // a round of recurring checks, all of one line
		r, _ := rules.CheckByID(d.Reason.Rule)
		j.Gas = r.By == rules.Licensed
	}
	if !dryer.IsZero() {
		a, err := store.Appliances.Get(c.tx, dryer)
		if err != nil {
			return j, err
		}
		j.Gas = a.Fuel == vent.Gas
		if j.UnitID.IsZero() {
			j.UnitID = a.UnitID
		}
	}
	if !j.UnitID.IsZero() {
		if _, err := remembered(c.tx, c.units, store.Units, j.UnitID); err != nil {
			return j, err
		}
		j.Tried, err = triedFor(c.tx, j.UnitID, d.ID)
	}
	return j, err
}

// triedFor gives the last day on which somebody came to a door for a due and left it undone.
func triedFor(tx *store.Tx, unit, due vent.ID) (on vent.Date, err error) {
	for a, err := range store.AppointmentsBehind(tx, unit) {
		if err != nil {
			return 0, err
		}
		if !slices.Contains(a.Left, due) {
			continue
		}
		v, err := store.Visits.Get(tx, a.VisitID)
		if err != nil {
			return 0, err
		}
		on = max(on, v.On)
	}
	return on, nil
}

// addVisits takes in visits: those that are agreed on, and, with proposals, those that planning made before. The visit
// `without` is left out: it is the one to be moved.
func (c *visitCase) addVisits(all iter.Seq2[vent.Visit, error], proposals bool, without vent.ID) error {
	for v, err := range all {
		if err != nil {
			return err
		}
		agreed := v.Blocks(c.now)
		proposed := v.State == vent.Proposed && proposals
		if v.ID == without || v.TechnicianID.IsZero() || !agreed && !proposed {
			continue
		}
		x := visits.Visit{TechnicianID: v.TechnicianID, SiteID: v.SiteID, On: v.On, Start: v.Start, Minutes: v.Minutes}
		for a, err := range store.AppointmentsOf(c.tx, v.ID) {
			if err != nil {
				return err
			}
			if a.State.Live() {
				x.Dues = append(x.Dues, a.Dues...)
			}
		}
		if err := c.meet(v); err != nil {
			return err
		}
		if v.Fixed() {
			c.p.Frozen = append(c.p.Frozen, x)
		} else {
			c.p.Previous = append(c.p.Previous, x)
		}
	}
	return nil
}

// meet loads whom and where a visit names.
func (c *visitCase) meet(v vent.Visit) error {
	if !v.SiteID.IsZero() {
		if _, err := remembered(c.tx, c.sites, store.Sites, v.SiteID); err != nil {
			return err
		}
	}
	_, err := remembered(c.tx, c.techs, store.Persons, v.TechnicianID)
	return err
}

// addTechnicians takes in everybody for whom visits are planned, or the one that is named, and completes the question.
func (c *visitCase) addTechnicians(only vent.ID) error {
	able := map[vent.ID]bool{}
	for p, err := range store.Technicians(c.tx) {
		if err != nil {
			return err
		}
		if only.IsZero() || p.ID == only {
			c.techs[p.ID], able[p.ID] = p, true
		}
	}
	for id, p := range c.techs {
		t := c.technician(p)
		if !able[id] { // has visits, but no more are planned
			t.Hours = visits.Week{}
		}
		c.p.Technicians = append(c.p.Technicians, t)
	}
	slices.SortFunc(c.p.Technicians, func(a, b visits.Technician) int { return compareIDs(a.ID, b.ID) })
	for _, s := range c.sites {
		c.p.Sites = append(c.p.Sites, siteOfVisit(s))
	}
	slices.SortFunc(c.p.Sites, func(a, b visits.Site) int { return compareIDs(a.ID, b.ID) })
	for _, u := range c.units {
		if t, empty := turnover(u, c.p.Today, c.p.Last); empty {
			c.p.Turnovers = append(c.p.Turnovers, t)
		}
	}
	slices.SortFunc(c.p.Turnovers, func(a, b visits.Turnover) int { return compareIDs(a.UnitID, b.UnitID) })
	return nil
}

func compareIDs(a, b vent.ID) int { return slices.Compare(a[:], b[:]) }

// technician says when and how somebody works.
func (c *visitCase) technician(p vent.Person) visits.Technician {
	t := visits.Technician{
		ID: p.ID, Hours: visits.Week(p.Hours), Off: slices.Clone(c.policy.Holidays), MaxDues: p.MaxDues,
		RunMinutes: p.RunMinutes, TripMinutes: p.TripMinutes, Zone: c.zone,
	}
	if p.Hours.IsZero() {
		t.Hours = visits.Week(c.policy.Hours)
	}
	if t.RunMinutes == 0 {
		t.RunMinutes = c.policy.RunMinutes
	}
	if t.TripMinutes == 0 {
		t.TripMinutes = c.policy.TripMinutes
	}
	if p.Zone != "" {
		t.Zone = zoneOf(p.Zone)
	}
	if p.Home != nil {
		t.Home = &visits.Place{Lat: p.Home.Lat, Lon: p.Home.Lon}
	}
	for _, s := range p.Skills {
		t.Skills = append(t.Skills, strings.ToLower(strings.TrimSpace(s)))
	}
	for _, l := range p.Leave {
		for on := max(l.From, c.p.Today); on <= min(l.To, c.p.Last); on++ {
			t.Off = append(t.Off, on)
		}
	}
	return t
}

func siteOfVisit(s vent.Site) visits.Site {
	out := visits.Site{ID: s.ID, Access: visits.Week(s.Hours), NoticeDays: s.NoticeDays, Closed: s.Closed, Zone: zoneOf(s.Zone),
		Prefer: s.Prefer.List(), Whole: s.Whole}
	if s.Lat != nil && s.Lon != nil {
		out.Place = &visits.Place{Lat: *s.Lat, Lon: *s.Lon}
	}
	return out
}

// turnover finds the next days on which a unit stands empty; false where none is known within the days.
func turnover(u vent.Unit, today, last vent.Date) (t visits.Turnover, empty bool) {
	list := slices.Clone(u.Occupancies)
	slices.SortStableFunc(list, func(a, b vent.Occupancy) int { return int(a.From - b.From) })
	for i, o := range list {
		t := visits.Turnover{UnitID: u.ID, From: o.To} // after somebody moved out
		if o.PersonID.IsZero() {
			t.From, t.To = o.From, o.To
		}
		for _, next := range list[i+1:] { // until somebody moves in
			if !next.PersonID.IsZero() && (t.To == 0 || next.From < t.To) {
				t.To = next.From
			}
		}
		open := t.To == 0 && t.From.AddDays(visits.OpenTurnover) <= today // long empty: no turnover any more
		if t.From != 0 && t.From <= last && !open && (t.To == 0 || t.To > max(today, t.From)) {
			return t, true
		}
	}
	return t, false
}

// snapshot asks for everything that is due from the first day on, for `days` days.
func (d *Desk) snapshot(tx *store.Tx, by By, days int) (*visitCase, error) {
	c := d.visitCase(tx, by, 0, 0)
	c.p.Today = c.firstDay()
	c.p.Last = c.p.Today.AddDays(days - 1)
	if err := c.addDues(store.OpenDues(tx, 0, c.p.Last.AddDays(widest))); err != nil {
		return nil, err
	}
	if err := c.addVisits(store.VisitsBetween(tx, c.p.Today, c.p.Last.AddDays(1)), true, vent.ID{}); err != nil {
		return nil, err
	}
	if err := c.dropGiven(); err != nil {
		return nil, err
	}
	return c, c.addTechnicians(vent.ID{})
}

// dropGiven leaves out the dues of agreed visits that lie outside the days asked about: today's, or far ahead.
func (c *visitCase) dropGiven() error {
	inside := map[vent.ID]bool{}
	for _, v := range c.p.Frozen {
		for _, id := range v.Dues {
			inside[id] = true
		}
	}
	var failed error
	c.p.Dues = slices.DeleteFunc(c.p.Dues, func(x visits.Due) bool {
		if inside[x.ID] {
			return false
		}
		_, booked, err := store.BookedAt(c.tx, x.ID, c.now)
		failed = errors.Join(failed, err)
		return booked
	})
	return failed
}
