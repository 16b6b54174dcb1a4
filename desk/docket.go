package desk

import (
	"fmt"
	"slices"

	"ventdue/scheduler"
	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// docket is what stands written of the faults of one run: where it is, and every fault of it, of its dryers and of its
// unit's alarms, in any state.
type docket struct {
	at     faults.Setting
	inLine []vent.Appliance // boosters and traps
	alarms []vent.Appliance // only with the unit's first run, so that an alarm's fault is due once
	faults []vent.Fault
}

// openDocket gathers a run's faults. dryer is the present one; zero where it is not known.
func openDocket(tx *store.Tx, run vent.Run, dryer vent.Appliance) (k docket, err error) {
	k.at = faults.SettingOf(run, dryer)
	if k.inLine, err = inLineOf(tx, []vent.Version{run.Current()}); err != nil {
		return k, err
	}
	if k.alarms, err = alarmsOf(tx, run); err != nil {
		return k, err
	}
	return k, k.load(tx, k.subjects(run))
}

// subjects lists whom the run's faults can be about: dryers of earlier versions too, since a fault that was open when
// a dryer left is not forgotten.
func (k *docket) subjects(run vent.Run) []vent.Subject {
	out := []vent.Subject{{Kind: vent.KindRun, ID: run.ID}}
	add := func(id vent.ID) {
		s := vent.Subject{Kind: vent.KindAppliance, ID: id}
		if !id.IsZero() && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for _, v := range run.Versions {
		add(v.DryerID)
	}
	for _, a := range slices.Concat(k.inLine, k.alarms) {
		add(a.ID)
	}
	return out
}

func (k *docket) load(tx *store.Tx, subjects []vent.Subject) error {
	for _, s := range subjects {
		all, err := store.Collect(store.FaultsOf(tx, s))
		if err != nil {
			return err
		}
		k.faults = append(k.faults, all...)
	}
	return nil
}

// withBranches takes in the runs of the flats on a riser: some of its faults stop all of them.
func (k *docket) withBranches(tx *store.Tx, run vent.Run) error {
	if run.Shape != vent.Riser {
		return nil
	}
	for b, err := range store.BranchesOf(tx, run.ID) {
		if err != nil {
			return err
		}
		if b.Ended == 0 {
			k.at.Branches = append(k.at.Branches, b.ID)
		}
	}
	for _, b := range k.at.Branches {
		if err := k.load(tx, []vent.Subject{{Kind: vent.KindRun, ID: b}}); err != nil {
			return err
		}
	}
	return nil
}

// alarmsOf gives the smoke and CO alarms of a run's unit, where it is the unit's first run.
func alarmsOf(tx *store.Tx, run vent.Run) (alarms []vent.Appliance, err error) {
	if run.UnitID.IsZero() {
		return nil, nil
	}
	for a, err := range store.AppliancesOf(tx, run.UnitID) {
		if err != nil {
			return nil, err
		}
		if a.Kind == vent.SmokeAlarm || a.Kind == vent.COAlarm {
			alarms = append(alarms, a)
		}
	}
	if len(alarms) == 0 {
		return nil, nil
	}
	for r, err := range store.RunsOfUnit(tx, run.UnitID) {
		if err != nil {
			return nil, err
		}
		if r.Ended == 0 && r.ID != run.ID {
			return nil, nil // another run of the unit speaks for them
		}
		if r.ID == run.ID {
			break
		}
	}
	return alarms, nil
}

// raise takes in sights, writes the faults that are new or changed, and gives those.
func (k *docket) raise(tx *store.Tx, sights []faults.Sight) ([]vent.Fault, error) {
	changed, err := faults.Raise(k.faults, sights, k.at.Gas, k.at.Shared)
	if err != nil {
		return nil, err
	}
	for i := range changed {
		if changed[i].ID.IsZero() {
			changed[i].ID = tx.NewID()
		}
		if err := k.put(tx, changed[i]); err != nil {
			return nil, err
		}
	}
	return changed, nil
}

// put writes a fault and remembers it.
func (k *docket) put(tx *store.Tx, f vent.Fault) error {
	i := slices.IndexFunc(k.faults, func(x vent.Fault) bool { return x.ID == f.ID })
	if i < 0 {
		k.faults = append(k.faults, f)
	} else {
		k.faults[i] = f
	}
	return putFault(tx, f)
}

func putFault(tx *store.Tx, f vent.Fault) error {
	if err := f.Valid().Err(); err != nil {
		return fmt.Errorf("keep fault %s: %w", f.Rule, err)
	}
	what := "fault " + f.Rule + ": " + string(f.State)
	if f.State == vent.FaultOpen {
		what += ", " + string(f.Severity) + " by " + f.Deadline.String()
	} else {
		what += " on " + f.Closed.String() + " by " + f.ClosedBy
	}
	return store.Faults.Put(tx, f, what)
}

// settle brings a run's faults to where the record and the day have them: what the tool finds is raised, what it no longer
// finds is closed, a waiver that ended opens again, and a dryer that is gone takes its faults along, save those that
// must be released. It gives the faults that changed. The same facts on the same day change nothing.
func (k *docket) settle(tx *store.Tx, in scheduler.Input, out scheduler.Outlook, today vent.Date) (changed []vent.Fault, err error) {
	sights, _ := faults.ByTool(k.facts(in, out, today)) // doubts are told where somebody looks: see Doubts
	if changed, err = k.raise(tx, sights); err != nil {
		return nil, err
	}
	for _, f := range slices.Clone(k.faults) {
		next, moved := faults.Back(f, today)
		if gone := f.Subject.Kind == vent.KindAppliance && k.left(f.Subject.ID); gone && f.State != vent.FaultFixed && f.Severity != vent.Stop {
			if next, err = faults.Fix(f, max(in.Run.Current().From, f.Since()), faults.TheRecord, "the appliance is no longer here"); err != nil {
				return nil, err
			}
			moved = true
		}
		if !moved {
			continue
		}
		if err := k.put(tx, next); err != nil {
			return nil, err
		}
		changed = append(changed, next)
	}
	return changed, nil
}

// facts is what the tool looks through by itself.
func (k *docket) facts(in scheduler.Input, out scheduler.Outlook, today vent.Date) faults.Facts {
	troubles := make([]faults.Trouble, len(out.Troubles))
	for i, t := range out.Troubles {
		troubles[i] = faults.Trouble{Rule: t.Rule, On: t.On, Finding: t.Finding, Value: t.Value, Against: t.Against}
	}
	return faults.Facts{Run: in.Run, Dryer: in.Dryer, InLine: k.inLine, Alarms: k.alarms, Findings: in.Findings, Edition: airflow.Edition(in.Policy.Edition), Troubles: troubles, Today: today}
}

// Doubts lists what cannot be judged of a run as it is recorded, and what is missing for it. It is empty for a run that is no
// longer kept.
func (d *Desk) Doubts(by By, run vent.ID) (doubts []faults.Doubt, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		r, err := store.Runs.Get(tx, run)
		if err != nil {
			return err
		}
		p, err := d.planInput(tx, r)
		if err != nil || p.in.Run.Ended != 0 {
			return err
		}
		out, err := scheduler.Plan(p.in)
		if err != nil {
			return err
		}
		_, doubts = faults.ByTool(p.docket.facts(p.in, out, vent.InstantOf(by.Now).DateIn(zoneOf(p.in.Site.Zone))))
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("what cannot be judged of run %s: %w", run, err)
	}
	return doubts, nil
}

// left reports whether an appliance that faults are about no longer belongs to the run.
func (k *docket) left(id vent.ID) bool {
	is := func(a vent.Appliance) bool { return a.ID == id }
	return id != k.at.Dryer && !slices.ContainsFunc(k.inLine, is) && !slices.ContainsFunc(k.alarms, is)
}

// heat gives the faults that the computation of lint takes into account: those that explain long drying as well as
// lint does. An alarm past its date on the same shelf explains nothing.
func (k *docket) heat() []vent.Fault {
	return slices.DeleteFunc(slices.Clone(k.faults), func(f vent.Fault) bool { return !explainsHeat(f) })
}

func explainsHeat(f vent.Fault) bool {
	r, ok := rules.FaultByID(f.Rule)
	return ok && r.Heat
}
