package desk

import (
	"slices"

	"ventdue/desk/intake"
	"ventdue/vent"
)

// inLine finds, makes or takes out the booster and the trap of which a row speaks, in the version at hand. refitted reports that
// the booster or trap was changed on a day, not only told of or corrected: that is a new version of the run.
func (m *matching) inLine(n *intake.Run, r *runState, d *intake.Draft) (refitted bool, err error) {
	said := d.InLine
	if said == (intake.InLine{}) || r.unit == nil && said.Nothing() {
		return false, nil
	}
	if r.unit == nil {
		m.cellProblem(&n.Said, saidColumn(said), "is told of a common riser", "give it in the row of the flat in whose duct it is; a fan on the riser's head belongs into the note")
		return false, nil
	}
	f := refit{m: m, n: n, r: r, d: d, changed: d.Changed != 0 && r.old != nil && d.Changed != r.v.Current().From}
	if said.Booster != "" || said.Serial != "" {
		if err := f.booster(said); err != nil {
			return false, err
		}
	}
	if said.Trap.Given {
		if err := f.trap(said.Trap.Value != 0); err != nil {
			return false, err
		}
	}
	return f.refitted, nil
}

func saidColumn(s intake.InLine) string {
	switch {
	case s.Booster != "":
		return "booster"
	case s.Serial != "":
		return "booster_serial"
	}
	return "lint_trap"
}

// refit is one row's change of what is in the duct.
type refit struct {
	m        *matching
	n        *intake.Run
	r        *runState
	d        *intake.Draft
	changed  bool // the row names a day on which something was changed
	refitted bool
}

// present gives the booster or trap that the version has; nil for none.
func (f *refit) present(kind vent.ApplianceKind) (*known[vent.Appliance], error) {
	for _, id := range f.d.Version.InLine {
		k, err := f.m.applianceOf(id)
		if err != nil {
			return nil, err
		}
		if k.v.Kind == kind {
			return k, nil
		}
	}
	return nil, nil
}

func (f *refit) booster(said intake.InLine) error {
	k, err := f.present(vent.Booster)
	if err != nil {
		return err
	}
	listed := said.Booster == intake.ListedBooster
	switch {
	case said.Booster == intake.NoBooster && said.Serial != "":
		f.m.cellProblem(&f.n.Said, "booster_serial", "is given where there is no booster", "empty it, or say whether the booster is listed")
	case said.Booster == intake.NoBooster:
		f.takeOut(k)
	case k == nil && said.Booster == "":
		f.m.cellProblem(&f.n.Said, "booster", "is missing: no booster is known here", "write listed or unlisted")
	case k == nil:
		f.put(vent.Appliance{Kind: vent.Booster, Serial: said.Serial, Listed: listed})
	case f.another(k.v, said):
		f.takeOut(k)
		f.refitted = true
		f.put(vent.Appliance{Kind: vent.Booster, Serial: said.Serial, Listed: listed})
	default: // what is known of it is put right
		if said.Booster != "" {
			k.v.Listed = listed
		}
		if said.Serial != "" {
			k.v.Serial = said.Serial
		}
		f.speaks(k)
	}
	return nil
}

// another reports whether the row tells of another booster than the one that is there. Without a day of change a listing that
// differs was looked up, and a serial number that differs is a slip of the pen while nothing was found on the run.
func (f *refit) another(have vent.Appliance, said intake.InLine) bool {
	if other(said.Serial, have.Serial) {
		return f.changed || len(f.r.stored) > 0
	}
	same := said.Serial != "" && said.Serial == have.Serial
	return f.changed && !same && said.Booster != "" && have.Listed != (said.Booster == intake.ListedBooster)
}

func (f *refit) trap(is bool) error {
	k, err := f.present(vent.LintTrap)
	switch {
	case err != nil:
		return err
	case !is:
		f.takeOut(k)
	case k == nil:
		f.put(vent.Appliance{Kind: vent.LintTrap})
	}
	return nil
}

// put puts a new booster or trap into the version.
func (f *refit) put(a vent.Appliance) {
	a.ID, a.UnitID = f.m.tx.NewID(), f.r.unit.v.ID
	a.Installed = f.d.Changed
	k := &known[vent.Appliance]{v: a}
	f.m.byID[a.ID] = k
	f.d.Version.InLine = append(slices.Clip(f.d.Version.InLine), a.ID)
	f.refitted = f.refitted || f.changed
	f.speaks(k)
}

// takeOut takes a booster or trap out of the version; nil is none.
func (f *refit) takeOut(k *known[vent.Appliance]) {
	if k == nil {
		return
	}
	f.d.Version.InLine = slices.DeleteFunc(slices.Clone(f.d.Version.InLine), func(id vent.ID) bool { return id == k.v.ID })
	if len(f.d.Version.InLine) == 0 {
		f.d.Version.InLine = nil // as it is read from the file
	}
	f.refitted = f.refitted || f.changed
	f.speaks(k)
}

func (f *refit) speaks(k *known[vent.Appliance]) {
	k.row = f.n.Row
	f.r.inLine = append(f.r.inLine, k)
}

// settleInLine ends what was taken out: on the day from which the run is without it.
func (m *matching) settleInLine(r *runState) {
	now := r.v.Current()
	for _, k := range r.inLine {
		if !slices.Contains(now.InLine, k.v.ID) && k.v.Removed == 0 {
			k.v.Removed = m.o.Today
			if r.old != nil && len(r.v.Versions) > len(r.old.Versions) {
				k.v.Removed = now.From
			}
		}
		k.settle()
		m.dryers = append(m.dryers, k)
	}
}
