package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
)

// Proposal is what planning visits brought about.
type Proposal struct {
	Today, Last vent.Date
	// New, Moved and Kept count proposed visits, Dropped those that are no longer proposed.
	New, Moved, Kept, Dropped int
	// Stale counts dues that changed while the plan was made: they are in no visit until the next plan.
	Stale int
	// Moves are the dues that stand elsewhere than in the proposals before, each with the reason.
	Moves []DueMove
	// Late are the dues that cannot be done within their window, each with the reason and what helps.
	Late []DueLate
	// Tiers are what the plan was judged by, each with a bound that no plan can beat.
	Tiers []visits.Tier
	// Left is how many dues may wait beyond the last day and do.
	Left int
}

// DueMove is a due that stands elsewhere than before, with where it is.
type DueMove struct {
	visits.Move
	Due   vent.Due
	Label string
}

// DueLate is a due that is not done in time, with where it is.
type DueLate struct {
	visits.Late
	Due   vent.Due
	Label string
}

// Propose plans visits for what is due in the days that the operator chose and writes them as proposals: nobody is told, and
// they take nobody's time. What is booked, held, told or frozen stays as it is. The plan is made from a snapshot, outside any
// transaction; what changed meanwhile is left out of what is written. The same facts give the same proposals, and those
// that stand as before are not written again.
func (d *Desk) Propose(ctx context.Context, by By) (out Proposal, err error) {
	if err := d.EndHolds(by); err != nil {
		return out, err
	}
	c, s, err := d.plan(ctx, by)
	if err != nil {
		return out, err
	}
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = c.proposal(s)
		c.tx = tx
		return c.writeProposals(s, &out)
	})
	if err != nil {
		return out, fmt.Errorf("propose visits: %w", err)
	}
	return out, d.store.View(func(tx *store.Tx) error { return out.name(tx, s, c.dues) })
}

// PlanVisits is Propose, but writes nothing: New counts all visits of the plan.
func (d *Desk) PlanVisits(ctx context.Context, by By) (out Proposal, err error) {
	c, s, err := d.plan(ctx, by)
	if err != nil {
		return out, err
	}
	out = c.proposal(s)
	out.New = len(s.Visits)
	return out, d.store.View(func(tx *store.Tx) error { return out.name(tx, s, c.dues) })
}

// plan asks the planner about the coming days.
func (d *Desk) plan(ctx context.Context, by By) (*visitCase, visits.Schedule, error) {
	c, err := d.takeSnapshot(by, d.Policy().Visits.AheadDays)
	if err != nil {
		return nil, visits.Schedule{}, err
	}
	s, err := visits.Plan(c.p)
	if err != nil {
		return nil, s, fmt.Errorf("propose visits: %w", err)
	}
	return c, s, ctx.Err()
}

func (c *visitCase) proposal(s visits.Schedule) Proposal {
	return Proposal{Today: c.p.Today, Last: c.p.Last, Tiers: s.Tiers, Left: len(s.Left)}
}

// takeSnapshot gives a question that outlives its transaction.
func (d *Desk) takeSnapshot(by By, days int) (c *visitCase, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		c, err = d.snapshot(tx, by, days)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("look at what is due: %w", err)
	}
	c.tx = nil
	return c, nil
}

// name says where the moved and late dues are.
func (out *Proposal) name(tx *store.Tx, s visits.Schedule, dues map[vent.ID]vent.Due) error {
	g := newGuide(tx)
	label := func(id vent.ID) (string, error) {
		v, err := g.due(dues[id])
		if errors.Is(err, vent.ErrNotFound) {
			return "", nil
		}
		return v.Label(), err
	}
	for _, m := range s.Moves {
		where, err := label(m.DueID)
		if err != nil {
			return err
		}
		out.Moves = append(out.Moves, DueMove{Move: m, Due: dues[m.DueID], Label: where})
	}
	for _, l := range s.Late {
		where, err := label(l.DueID)
		if err != nil {
			return err
		}
		out.Late = append(out.Late, DueLate{Late: l, Due: dues[l.DueID], Label: where})
	}
	return nil
}

// writeProposals makes the stored proposals be those of the schedule.
func (c *visitCase) writeProposals(s visits.Schedule, out *Proposal) error {
	old, err := proposalsAhead(c.tx)
	if err != nil {
		return err
	}
	kept := map[vent.ID]bool{}
	for _, v := range s.Visits {
		stands := len(v.Dues)
		if v.Dues, err = c.stillTrue(v.Dues); err != nil {
			return err
		}
		out.Stale += stands - len(v.Dues)
		if len(v.Dues) == 0 {
			continue
		}
		was := pickProposal(old, kept, v)
		kept[was.visit.ID] = true
		if err := c.propose(v, was, out); err != nil {
			return err
		}
	}
	for _, o := range old {
		if kept[o.visit.ID] {
			continue
		}
		if err := store.DropProposal(c.tx, o.visit.ID); err != nil {
			return err
		}
		out.Dropped++
	}
	return nil
}

// stillTrue leaves out the dues that changed since the snapshot was taken, or that somebody booked.
func (c *visitCase) stillTrue(ids []vent.ID) (kept []vent.ID, err error) {
	for _, id := range ids {
		now, err := store.Dues.Get(c.tx, id)
		if errors.Is(err, vent.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if now.State != vent.DueOpen || now.Sequence != c.dues[id].Sequence {
			continue
		}
		_, booked, err := store.BookedAt(c.tx, id, c.now)
		if err != nil {
			return nil, err
		}
		if !booked {
			kept = append(kept, id)
		}
	}
	return kept, nil
}

// tripRow is a stored visit with its parts.
type tripRow struct {
	visit vent.Visit
	parts []vent.Appointment
}

func (t tripRow) dues() (all []vent.ID) {
	for _, a := range t.parts {
		all = append(all, a.Dues...)
	}
	return all
}

// proposalsAhead gives the proposals that planning may move or drop, those of days gone by among them.
func proposalsAhead(tx *store.Tx) (all []tripRow, err error) {
	found, err := store.Collect(store.VisitsBetween(tx, tx.Now().DateIn(zoneOf(operator(tx).Zone)).AddDays(-60), 0))
	if err != nil {
		return nil, err
	}
	for _, v := range found {
		if v.State != vent.Proposed || v.Fixed() {
			continue
		}
		parts, err := store.Collect(store.AppointmentsOf(tx, v.ID))
		if err != nil {
			return nil, err
		}
		all = append(all, tripRow{v, parts})
	}
	return all, nil
}

// pickProposal finds the stored proposal that a planned visit is: the same technician, site and day, else the same site and
// most of its dues; zero for a new one.
func pickProposal(old []tripRow, kept map[vent.ID]bool, v visits.Visit) (best tripRow) {
	most := 0
	for _, o := range old {
		if kept[o.visit.ID] || o.visit.SiteID != v.SiteID {
			continue
		}
		if o.visit.TechnicianID == v.TechnicianID && o.visit.On == v.On {
			return o
		}
		n := 0
		for _, id := range o.dues() {
			if slices.Contains(v.Dues, id) {
				n++
			}
		}
		if n > most {
			most, best = n, o
		}
	}
	return best
}

// propose writes one proposed visit.
func (c *visitCase) propose(p visits.Visit, was tripRow, out *Proposal) error {
	site, err := store.Sites.Get(c.tx, p.SiteID)
	if err != nil {
		return err
	}
	v := was.visit
	moved := v.On != p.On || v.Start != p.Start || v.TechnicianID != p.TechnicianID
	switch {
	case v.ID.IsZero():
		out.New++
	case moved:
		out.Moved++
	default:
		out.Kept++
	}
	v.SiteID, v.TechnicianID, v.On, v.Start, v.Minutes, v.Drive, v.Zone = p.SiteID, p.TechnicianID, p.On, p.Start, p.Minutes, p.Drive, site.Zone
	v.State = vent.Proposed
	if v, err = store.SetVisit(c.tx, v, ""); err != nil {
		return err
	}
	return c.setParts(v, was.parts, p.Dues)
}

// setParts makes a visit's parts be one for each door of the dues, in the order of the doors' names, one after the other.
func (c *visitCase) setParts(v vent.Visit, was []vent.Appointment, dues []vent.ID) error {
	parts, err := c.partsFor(v, dues)
	if err != nil {
		return err
	}
	for _, a := range parts {
		if i := slices.IndexFunc(was, func(o vent.Appointment) bool { return o.UnitID == a.UnitID && o.CustomerID == a.CustomerID }); i >= 0 {
			a.ID = was[i].ID
			was = slices.Delete(slices.Clone(was), i, i+1)
		}
		if _, err := store.SetAppointment(c.tx, a, ""); err != nil {
			return err
		}
	}
	for _, o := range was { // doors for which nothing is left to do
		if err := c.clearPart(o); err != nil {
			return err
		}
	}
	return nil
}

// clearPart takes a part out of its visit: a proposed one goes without a trace, a published one stays as cancelled.
func (c *visitCase) clearPart(a vent.Appointment) error {
	if a.State == vent.Proposed {
		return store.Appointments.Delete(c.tx, a.ID, "")
	}
	if !a.State.Ahead() {
		return nil
	}
	a.State = vent.Cancelled
	_, err := store.SetAppointment(c.tx, a, "part of a visit cancelled: nothing is due there any more")
	return err
}

// partsFor shares a visit's time among its doors. The minutes that every trip takes lie at its end, or in the only part.
func (c *visitCase) partsFor(v vent.Visit, dues []vent.ID) (parts []vent.Appointment, err error) {
	t := c.technician(c.techs[v.TechnicianID])
	minutes := map[vent.ID]int{}
	for _, x := range c.p.Dues {
		if minutes[x.ID] = x.Minutes; x.Minutes == 0 {
			minutes[x.ID] = t.RunMinutes
		}
	}
	for _, id := range dues {
		at := c.doors[id]
		i := slices.IndexFunc(parts, func(a vent.Appointment) bool { return a.UnitID == at.unit })
		if i < 0 {
			i = len(parts)
			parts = append(parts, vent.Appointment{VisitID: v.ID, CustomerID: at.customer, UnitID: at.unit, State: v.State})
		}
		parts[i].Dues = append(parts[i].Dues, id)
		parts[i].Minutes += max(1, minutes[id])
	}
	slices.SortStableFunc(parts, func(a, b vent.Appointment) int { return naturally(c.units[a.UnitID].Name, c.units[b.UnitID].Name) })
	start := v.Start
	for i := range parts {
		parts[i].Start = min(start, 24*60-1)
		start += parts[i].Minutes
	}
	if len(parts) == 1 {
		parts[0].Minutes = v.Minutes
	}
	return parts, nil
}
