package desk

import (
	"errors"
	"fmt"

	"ventdue/store"
	"ventdue/vent"
)

// Recorded is what recording a finding brought about.
type Recorded struct {
	Finding vent.Finding
	Dues    []vent.Due // the run's open dues afterwards
	Changes store.Changes
	Known   bool // the very same finding was recorded before: nothing was changed
}

// Record writes down what one look found and did, and plans the run anew: the due that it settles closes, the next
// one opens. Recording the same finding again changes nothing; another finding of the same run, day and source is
// refused with ErrConflict, since findings are never overwritten: see Correct.
func (d *Desk) Record(by By, f vent.Finding) (Recorded, error) { return d.record(by, f, vent.ID{}) }

// Correct replaces a finding by a better one. The old one stays in the history. The same correction again changes nothing.
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
		site, err := store.Sites.Get(tx, run.SiteID)
		if err != nil {
			return fmt.Errorf("record a finding: %w", err)
		}
		if err := f.Valid(tx.Now().DateIn(zoneOf(site.Zone))).Err(); err != nil {
			return fmt.Errorf("record a finding on %s: %w", run.Name, err)
		}
		out.Finding, out.Known, err = putFinding(tx, f, old)
		if err != nil || out.Known {
			return err
		}
		if err := answerSigns(tx, out.Finding); err != nil {
			return err
		}
		out.Changes, err = d.planRun(tx, run, vent.Subject{Kind: vent.KindFinding, ID: out.Finding.ID})
		if err != nil {
			return err
		}
		out.Dues, err = store.Collect(store.OpenDuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: run.ID}))
		return err
	})
	if err == nil && !out.Known {
		d.kick(JobTell)
	}
	return out, err
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
		if s.Answered.IsZero() && s.On <= f.Date {
			s.Answered = f.ID
			if err := store.Signs.Put(tx, s, "sign answered by the finding of "+f.Date.String()); err != nil {
				return err
			}
		}
	}
	return nil
}
