package desk

import (
	"errors"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// dryer finds or makes the run's dryer and writes what the file says of it. swapped reports that it is another one
// than before.
func (m *matching) dryer(n *intake.Run, r *runState, d *intake.Draft) (swapped bool, err error) {
	if r.v.Shape == vent.Riser {
		return false, nil
	}
	cur := r.v.Current().DryerID
	if len(n.Dryer.Cells) == 0 && !cur.IsZero() {
		return false, nil
	}
	if err := m.look(r.unit); err != nil {
		return false, err
	}
	problems := m.problems()
	m.draft.Dryer = vent.Appliance{}
	m.draft.Fill(n.Dryer.Cells)
	k, err := m.findDryer(r, m.draft.Dryer)
	if err != nil {
		return false, err
	}
	if k == nil {
		k = &known[vent.Appliance]{v: vent.Appliance{ID: m.tx.NewID(), Kind: vent.Dryer}}
		m.byID[k.v.ID] = k
	}
	if k.row != 0 && k.row != n.Row {
		m.problem(n.Row, "dryer_ref", k.v.Ref, "is the dryer of another row's run as well", "give each run its own dryer")
	}
	k.row = n.Row
	m.dryers = append(m.dryers, k)
	m.draft.Dryer = k.v
	m.draft.Fill(n.Dryer.Cells)
	k.v = m.draft.Dryer
	k.v.UnitID = r.unit.v.ID
	if k.v.Fuel == "" {
		m.cellProblem(&n.Dryer, "fuel", "is missing: a new dryer needs it", "write electric, gas or ventless")
		if n.Dryer.Row == 0 {
			m.badRow(n.Row)
		}
	} else {
		m.invalid(&n.Dryer, intake.OfDryer, k.v.Valid())
	}
	k.bad = m.problems() > problems
	r.bad = r.bad || k.bad
	k.settle()
	r.dryer = k
	if k.v.Fuel == vent.Ventless {
		return false, m.ventless(n, r)
	}
	swapped = !cur.IsZero() && cur != k.v.ID
	d.Version.DryerID = k.v.ID
	if swapped {
		if r.gone, err = m.applianceOf(cur); err == nil && r.gone.row == 0 {
			r.gone.row = n.Row
			m.dryers = append(m.dryers, r.gone)
		}
	}
	return swapped, err
}

// ventless settles that a ventless dryer has no run.
func (m *matching) ventless(n *intake.Run, r *runState) error {
	r.noRun = true
	if r.old != nil {
		m.cellProblem(&n.Dryer, "fuel", "a ventless dryer has no exhaust run, but one is stored here", "end that run first, or put the fuel right")
	}
	return nil
}

// findDryer finds the dryer of which the row speaks: by key, by serial number in the unit, or the one that is there.
// Another key or serial number than that of the present dryer is another dryer, unless nothing was ever found on the
// run: then it is a slip of the pen. nil: it is new.
func (m *matching) findDryer(r *runState, said vent.Appliance) (*known[vent.Appliance], error) {
	if said.Ref != "" {
		a, err := orNone(store.ApplianceByRef(m.tx, said.Ref))
		if err != nil {
			return nil, err
		}
		if a != nil {
			return m.applianceOf(a.ID)
		}
	}
	if id := r.v.Current().DryerID; !id.IsZero() {
		k, err := m.applianceOf(id)
		if err != nil {
			return nil, err
		}
		if !other(said.Ref, k.v.Ref) && !other(said.Serial, k.v.Serial) || len(r.stored) == 0 {
			return k, nil
		}
	}
	var free *vent.Appliance
	for i := range r.unit.dryers {
		a := &r.unit.dryers[i]
		if a.Kind != vent.Dryer || a.Removed != 0 || other(said.Ref, a.Ref) || m.serves(r, a.ID) {
			continue
		}
		if said.Serial != "" && said.Serial == a.Serial {
			return m.applianceOf(a.ID)
		}
		if free == nil && !other(said.Serial, a.Serial) {
			free = a
		}
	}
	if free != nil {
		return m.applianceOf(free.ID)
	}
	return nil, nil
}

// other reports whether two keys are both known and differ.
func other(a, b string) bool { return a != "" && b != "" && a != b }

// serves reports whether the appliance is the dryer of another stored run of the unit, or of this one now.
func (m *matching) serves(r *runState, id vent.ID) bool {
	if r.v.Current().DryerID == id {
		return true
	}
	for _, x := range r.unit.runs {
		if x.ID != r.v.ID && x.Current().DryerID == id {
			return true
		}
	}
	k, ok := m.byID[id].(*known[vent.Appliance])
	return ok && k.row != 0
}

// applianceOf gives the state of a stored appliance.
func (m *matching) applianceOf(id vent.ID) (*known[vent.Appliance], error) {
	if k, ok := m.byID[id].(*known[vent.Appliance]); ok {
		return k, nil
	}
	v, err := store.Appliances.Get(m.tx, id)
	k := found(v, 0)
	m.byID[id] = &k
	return &k, err
}

// ductProblems notes what is wrong with a duct under the columns' names.
func (m *matching) ductProblems(n *intake.Run, err error) {
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		m.cellProblem(&n.Said, "duct_length", err.Error(), "")
		return
	}
	for _, e := range joined.Unwrap() {
		var f *airflow.FieldError
		if !errors.As(e, &f) {
			m.cellProblem(&n.Said, "duct_length", e.Error(), "")
			continue
		}
		m.cellProblem(&n.Said, intake.DuctColumn(f.Field), f.Problem, f.Remedy)
	}
}
