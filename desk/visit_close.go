package desk

import (
	"errors"
	"fmt"
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// DoorResult is what became of one part of a visit.
type DoorResult struct {
	Part vent.ID // the appointment
	// State is VisitDone, NobodyHome or Refused. A door is done as far as its dues are: what is left makes it part done.
	State vent.VisitState
	// Outcome of the cleaning, where no finding of that day was recorded: "" is a full one.
	Outcome vent.Outcome
	Why     string // who refused and why, what was shut
}

// VisitClosed is what closing a visit brought about.
type VisitClosed struct {
	VisitChange
	Findings []Recorded // that were written for doors that were done and had none
	Left     []vent.Due // what is left goes back to planning, from the next day on
}

// sourceOfVisit is the source of findings that closing a visit writes, as of those written on a run's page.
const sourceOfVisit = "visit"

// CloseVisit writes down what became of a visit, door by door; doors that are not named are done. For a done door's runs a finding is recorded unless
// somebody recorded one of that day: with readings it is better written first, on the run's page. The next due follows from the
// findings; what is left is planned anew. Closing it again in the same way changes nothing.
func (d *Desk) CloseVisit(by By, id vent.ID, doors []DoorResult) (out VisitClosed, err error) {
	findings, err := d.findingsToClose(by, id, doors)
	if err != nil {
		return out, fmt.Errorf("close a visit: %w", err)
	}
	var recorded []Recorded
	for _, f := range findings {
		r, err := d.Record(by, f)
		if err != nil {
			return out, fmt.Errorf("close a visit: %w", err)
		}
		recorded = append(recorded, r)
	}
	out.VisitChange, err = d.changeVisit(by, id, "close", func(tx *store.Tx, t tripRow, c *VisitChange) error {
		out.Left = nil
		var states []vent.VisitState
		changed := false
		for _, a := range t.parts {
			if a.State == vent.Cancelled {
				continue
			}
			was := a
			if err := closePart(tx, &a, resultFor(doors, a.ID), &out.Left); err != nil {
				return err
			}
			states = append(states, a.State)
			if equalJSON(was, a) {
				continue
			}
			changed = true
			if _, err := store.SetAppointment(tx, a, "appointment closed: "+string(a.State)); err != nil {
				return err
			}
		}
		v := t.visit
		v.State, v.Until = stateOf(states), 0
		if c.Known = !changed && v.State == t.visit.State; c.Known {
			return nil
		}
		v.Closed, v.ClosedBy, v.Why = tx.Now(), tx.Actor(), whyOf(doors)
		_, err := store.SetVisit(tx, v, "visit of "+v.On.String()+" closed: "+string(v.State))
		return err
	})
	out.Findings = recorded
	if err == nil && len(out.Left) > 0 {
		d.kick(JobVisits)
	}
	return out, err
}

func resultFor(doors []DoorResult, part vent.ID) DoorResult {
	i := slices.IndexFunc(doors, func(r DoorResult) bool { return r.Part == part })
	if i < 0 {
		return DoorResult{Part: part, State: vent.VisitDone}
	}
	return doors[i]
}

// closePart sets what became of a part by what of its dues is still open.
func closePart(tx *store.Tx, a *vent.Appointment, r DoorResult, left *[]vent.Due) error {
	a.State, a.Why, a.Left = r.State, r.Why, nil
	for due, err := range dueSeq(tx, a.Dues) {
		if err != nil {
			return err
		}
		a.Left = append(a.Left, due.ID)
		*left = append(*left, due)
	}
	if a.State == vent.VisitDone && len(a.Left) > 0 {
		a.State = vent.PartDone
	}
	return nil
}

// stateOf sums up the parts of a visit that took place.
func stateOf(parts []vent.VisitState) vent.VisitState {
	if len(parts) == 0 {
		return vent.VisitDone // a block of the technician's own time
	}
	for _, s := range parts {
		if s != parts[0] {
			return vent.PartDone
		}
	}
	return parts[0]
}

func whyOf(doors []DoorResult) string {
	for _, r := range doors {
		if r.Why != "" {
			return r.Why
		}
	}
	return ""
}

// findingsToClose gives the findings that are to be written for the doors that were done.
func (d *Desk) findingsToClose(by By, id vent.ID, doors []DoorResult) (all []vent.Finding, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		all = nil
		t, err := trip(tx, id)
		if err != nil {
			return err
		}
		if err := t.canClose(by, doors); err != nil {
			return err
		}
		doer := vent.Doer{Kind: vent.ByUs, PersonID: t.visit.TechnicianID}
		if p, err := store.Persons.Get(tx, t.visit.TechnicianID); err == nil {
			doer.Name = p.Name
		}
		for _, a := range t.parts {
			r := resultFor(doors, a.ID)
			if r.State != vent.VisitDone || a.State == vent.Cancelled {
				continue
			}
			found, err := findingsFor(tx, t.visit, a, r, doer)
			if err != nil {
				return err
			}
			all = append(all, found...)
		}
		return nil
	})
	return all, err
}

// canClose refuses what cannot have taken place.
func (t tripRow) canClose(by By, doors []DoorResult) error {
	v := t.visit
	if v.State == vent.Proposed || v.State == vent.Cancelled {
		return fmt.Errorf("it is %s: book it first, or close another: %w", v.State, vent.ErrConflict)
	}
	if today := vent.InstantOf(by.Now).DateIn(zoneOf(v.Zone)); v.On > today {
		return fmt.Errorf("its day is %s, and today is %s: %w", v.On, today, vent.ErrConflict)
	}
	for _, r := range doors {
		if !slices.ContainsFunc(t.parts, func(a vent.Appointment) bool { return a.ID == r.Part }) {
			return fmt.Errorf("appointment %s is no part of it: %w", r.Part, vent.ErrNotFound)
		}
		if r.State != vent.VisitDone && r.State != vent.NobodyHome && r.State != vent.Refused {
			return fmt.Errorf("a door is done, nobody_home or refused, not %q: %w", r.State, vent.ErrInvalid)
		}
	}
	return nil
}

// findingsFor gives a finding for each run of a done part that has none of that day.
func findingsFor(tx *store.Tx, v vent.Visit, a vent.Appointment, r DoorResult, doer vent.Doer) (all []vent.Finding, err error) {
	clean := map[vent.ID]bool{}
	var runs []vent.ID
	for due, err := range dueSeq(tx, a.Dues) {
		if err != nil {
			return nil, err
		}
		if due.Subject.Kind != vent.KindRun || due.Kind != vent.DueClean && due.Kind != vent.DueLook && due.Kind != vent.DueSign {
			continue // faults are put right and checks confirmed by who says what was done
		}
		if !slices.Contains(runs, due.Subject.ID) {
			runs = append(runs, due.Subject.ID)
		}
		clean[due.Subject.ID] = clean[due.Subject.ID] || due.Kind == vent.DueClean
	}
	for _, run := range runs {
		recorded, err := recordedOn(tx, run, v.On)
		if err != nil {
			return nil, err
		}
		if recorded {
			continue
		}
		f := vent.Finding{RunID: run, Date: v.On, Source: sourceOfVisit, By: doer, Outcome: vent.LookedOnly}
		if clean[run] {
			f.Outcome = vent.Full
		}
		if r.Outcome != "" {
			f.Outcome = r.Outcome
		}
		all = append(all, f)
	}
	return all, nil
}

func recordedOn(tx *store.Tx, run vent.ID, on vent.Date) (bool, error) {
	_, err := store.FindingByKey(tx, run, on, sourceOfVisit)
	if err == nil {
		return true, nil
	}
	if !errors.Is(err, vent.ErrNotFound) {
		return false, err
	}
	for f, err := range store.FindingsOf(tx, run) {
		if err != nil {
			return false, err
		}
		if f.Counts() && f.Date == on && f.By.Kind == vent.ByUs {
			return true, nil
		}
	}
	return false, nil
}
