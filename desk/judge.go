package desk

import (
	"fmt"

	"ventdue/scheduler"
	"ventdue/store"
	"ventdue/vent"
)

// Judge says how the readings of a finding of a run stand, whether it is recorded or still being written: what planning will
// make of them. Nothing is written.
func (d *Desk) Judge(f vent.Finding) (j scheduler.Judged, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		p, err := d.inputOf(tx, f.RunID)
		if err != nil {
			return err
		}
		j, err = scheduler.Judge(p.in, f)
		return err
	})
	if err != nil {
		return j, fmt.Errorf("judge readings: %w", err)
	}
	return j, nil
}

// Gauges gives what instruments show at a run when it is clean, and where it is past its limit: for a device without signal.
func (d *Desk) Gauges(run vent.ID) (g scheduler.Gauges, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		p, err := d.inputOf(tx, run)
		if err != nil {
			return err
		}
		g, err = scheduler.GaugesOf(p.in)
		return err
	})
	if err != nil {
		return g, fmt.Errorf("what instruments show at run %s: %w", run, err)
	}
	return g, nil
}

func (d *Desk) inputOf(tx *store.Tx, run vent.ID) (planCase, error) {
	r, err := store.Runs.Get(tx, run)
	if err != nil {
		return planCase{}, err
	}
	return d.planInput(tx, r)
}
