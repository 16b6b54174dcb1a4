package desk

import (
	"errors"
	"fmt"
	"slices"

	"ventdue/scheduler"
	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// Recorded is what recording a finding brought about.
type Recorded struct {
	Finding vent.Finding
	Dues    []vent.Due   // the run's open dues afterwards
	Faults  []vent.Fault // that the finding raised, changed or closed, the gravest first
	// Diagnosis is what follows from the part checks; nil for a finding without any and without a symptom.
	Diagnosis *faults.Diagnosis
	Missing   []rules.CloseLine // still to be confirmed before the visit is done
	Changes   store.Changes
	Known     bool // the very same finding was recorded before: nothing was changed
}

// Record writes down what one look found and did, raises and closes faults, and plans the run anew: the due that it
// settles closes, the next one opens. Recording the same finding again changes nothing; another finding of the same
// run, day and source is refused with ErrConflict, since findings are never overwritten: see Correct. What the rules do
// not know is refused with ErrInvalid, field by field.
func (d *Desk) Record(by By, f vent.Finding) (Recorded, error) { return d.record(by, f, vent.ID{}) }

// Correct replaces a finding by a better one. The old one stays in the history; a fault that it alone showed closes. The
// same correction again changes nothing.
func (d *Desk) Correct(by By, old vent.ID, f vent.Finding) (Recorded, error) {
	return d.record(by, f, old)
}

func (d *Desk) record(by By, f vent.Finding, old vent.ID) (out Recorded, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = Recorded{}
		run, err := store.Runs.Get(tx, f.RunID)
		if err != nil {
			return fmt.Errorf("record a finding: %w", err)
		}
		dryer, err := checkFinding(tx, run, f)
		if err != nil {
			return fmt.Errorf("record a finding on %s: %w", run.Name, err)
		}
		out.Missing = faults.MissingCloseOut(f, dryer.Fuel)
		out.Finding, out.Known, err = putFinding(tx, f, old)
		if err != nil || out.Known {
			return err
		}
		if err := answerSigns(tx, out.Finding); err != nil {
			return err
		}
		others, err := d.follow(tx, run, dryer, old, &out)
		if err != nil {
			return fmt.Errorf("record a finding on %s: %w", run.Name, err)
		}
		if err := d.settleChecks(tx, run, out.Finding, old); err != nil {
			return fmt.Errorf("record a finding on %s: %w", run.Name, err)
		}
		cause := vent.Subject{Kind: vent.KindFinding, ID: out.Finding.ID}
		if out.Changes, err = d.planRun(tx, run, cause); err != nil {
			return err
		}
		for _, r := range others {
			if _, err := d.planRun(tx, r, cause); err != nil {
				return err
			}
		}
		if err := d.tellRecord(tx, run, out.Finding); err != nil {
			return err
		}
		out.Dues, err = store.Collect(store.OpenDuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: run.ID}))
		return err
	})
	if err == nil && !out.Known {
		d.kick(JobTell)
		d.kick(JobDeliver) // it knows anew when to come again
	}
	return out, err
}

// checkFinding refuses what cannot be, and gives the dryer of the finding's day; zero where it is not known.
func checkFinding(tx *store.Tx, run vent.Run, f vent.Finding) (dryer vent.Appliance, err error) {
	site, err := store.Sites.Get(tx, run.SiteID)
	if err != nil {
		return dryer, err
	}
	if dryer, err = dryerOn(tx, run, f.Date); err != nil {
		return dryer, err
	}
	p := f.Valid(tx.Now().DateIn(zoneOf(site.Zone)))
	return dryer, append(p, rules.CheckFinding(f, dryer)...).Err()
}

// follow raises and closes the faults that follow from what a person wrote down, and settles the checks that the visit
// did anyway. It gives the other runs whose faults changed: the flats on a riser.
func (d *Desk) follow(tx *store.Tx, run vent.Run, dryer vent.Appliance, old vent.ID, out *Recorded) (others []vent.Run, err error) {
	f := out.Finding
	k, err := openDocket(tx, run, dryer)
	if err != nil {
		return nil, err
	}
	if err := k.withBranches(tx, run); err != nil {
		return nil, err
	}
	sights := faults.FromFinding(f, k.at)
	if out.Diagnosis, err = d.diagnose(tx, run, dryer, k.at, f); err != nil {
		return nil, err
	}
	if out.Diagnosis != nil {
		sights = append(sights, out.Diagnosis.Sights...)
	}
	if !old.IsZero() {
		sights = append(sights, faults.Unsaid(k.faults, old, f.Date, sights)...)
	}
	if out.Faults, err = k.raise(tx, sights); err != nil {
		return nil, err
	}
	for _, x := range out.Faults {
		if x.Subject.Kind == vent.KindRun && x.Subject.ID != run.ID {
			r, err := store.Runs.Get(tx, x.Subject.ID)
			if err != nil {
				return nil, err
			}
			others = append(others, r)
		}
	}
	return others, nil
}

// diagnose says what follows from a finding's part checks; nil for one without any and without a symptom.
func (d *Desk) diagnose(tx *store.Tx, run vent.Run, dryer vent.Appliance, at faults.Setting, f vent.Finding) (*faults.Diagnosis, error) {
	if len(f.Parts) == 0 && f.Symptom == vent.NoSymptom {
		return nil, nil
	}
	bench := faults.Bench{Finding: f, Dryer: dryer, Setting: at}
	var err error
	if bench.Earlier, bench.FlowShare, err = d.before(tx, run, f); err != nil {
		return nil, err
	}
	diagnosis, err := faults.Diagnose(bench)
	return &diagnosis, err
}

// Diagnosis says once more what follows from the part checks of a recorded finding, by what is known today; nil for one
// without any and without a symptom.
func (d *Desk) Diagnosis(finding vent.ID) (out *faults.Diagnosis, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		f, err := store.Findings.Get(tx, finding)
		if err != nil {
			return err
		}
		run, err := store.Runs.Get(tx, f.RunID)
		if err != nil {
			return err
		}
		dryer, err := dryerOn(tx, run, f.Date)
		if err != nil {
			return err
		}
		out, err = d.diagnose(tx, run, dryer, faults.SettingOf(run, dryer), f)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("what follows from finding %s: %w", finding, err)
	}
	return out, nil
}

// dryerOn gives the dryer that stood on a run on a day; zero where it is not known.
func dryerOn(tx *store.Tx, run vent.Run, on vent.Date) (vent.Appliance, error) {
	if id := run.VersionOn(on).DryerID; !id.IsZero() {
		return store.Appliances.Get(tx, id)
	}
	return vent.Appliance{}, nil
}

// before gives a run's other findings, and the first reading of air of this one as a share of the clean flow, before
// anything was done; 0 where it has none.
func (d *Desk) before(tx *store.Tx, run vent.Run, f vent.Finding) (others []vent.Finding, share float64, err error) {
	p, err := d.planInput(tx, run)
	if err != nil {
		return nil, 0, err
	}
	others = slices.DeleteFunc(slices.Clone(p.in.Findings), func(x vent.Finding) bool { return x.ID == f.ID })
	if len(f.Before) == 0 || p.in.Run.Ended != 0 {
		return others, 0, nil
	}
	p.in.Findings = others
	judged, err := scheduler.Judge(p.in, f)
	return others, judged.Share, err
}

// putFinding writes the finding under the rule that findings are never overwritten.
func putFinding(tx *store.Tx, f vent.Finding, old vent.ID) (vent.Finding, bool, error) {
	if old.IsZero() {
		same, err := store.FindingByKey(tx, f.RunID, f.Date, f.Source)
		if err == nil {
			if sameFinding(same, f) {
				return same, true, nil
			}
			return f, false, fmt.Errorf("a finding of %s from source %q is recorded already and says something else: "+
				"correct that one, or give this one another source: %w", f.Date, f.Source, vent.ErrConflict)
		}
		if !errors.Is(err, vent.ErrNotFound) {
			return f, false, err
		}
	}
	f.ID, f.Recorded, f.Recorder, f.Replaced = tx.NewID(), tx.Now(), tx.Actor(), vent.ID{}
	what := fmt.Sprintf("finding of %s recorded: %s", f.Date, f.Outcome)
	if !old.IsZero() {
		was, err := store.Findings.Get(tx, old)
		if err != nil {
			return f, false, fmt.Errorf("correct a finding: %w", err)
		}
		if now, err := store.Findings.Get(tx, was.Replaced); err == nil && sameFinding(now, f) {
			return now, true, nil // the same correction, sent twice
		}
		if was.RunID != f.RunID || !was.Counts() {
			return f, false, fmt.Errorf("correct the finding of %s: it is of another run or was corrected before: %w", was.Date, vent.ErrConflict)
		}
		was.Replaced, f.Corrects = f.ID, was.ID
		if err := store.Findings.Put(tx, was, "finding of "+was.Date.String()+" corrected"); err != nil {
			return f, false, err
		}
		what = fmt.Sprintf("finding of %s corrected: %s", f.Date, f.Outcome)
	}
	return f, false, store.Findings.Put(tx, f, what)
}

// sameFinding compares what was found, not who wrote it down when.
func sameFinding(a, b vent.Finding) bool {
	b.ID, b.Recorded, b.Recorder = a.ID, a.Recorded, a.Recorder
	b.Corrects, b.Replaced = a.Corrects, a.Replaced
	return equalJSON(a, b)
}

// answerSigns closes the signs that a look on or after their day has answered.
func answerSigns(tx *store.Tx, f vent.Finding) error {
	if !f.Looked() {
		return nil
	}
	signs, err := store.Collect(store.SignsOf(tx, f.RunID))
	if err != nil {
		return err
	}
	for _, s := range signs {
		if s.Open() && s.On <= f.Date {
			s.Answered = f.ID
			if err := store.Signs.Put(tx, s, "sign answered by the finding of "+f.Date.String()); err != nil {
				return err
			}
		}
	}
	return nil
}
