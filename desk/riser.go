package desk

import (
	"ventdue/scheduler/lint"
	"ventdue/store"
	"ventdue/vent"
)

// branchesOf loads what says how much passes through a common riser.
func branchesOf(tx *store.Tx, riser vent.ID) (all []lint.Branch, err error) {
	runs, err := store.Collect(store.BranchesOf(tx, riser))
	if err != nil {
		return nil, err
	}
	for _, run := range runs {
		b := lint.Branch{Run: run}
		if !run.UnitID.IsZero() {
			if b.Unit, err = store.Units.Get(tx, run.UnitID); err != nil {
				return nil, err
			}
		}
		if b.Findings, err = countingFindings(tx, run.ID); err != nil {
			return nil, err
		}
		all = append(all, b)
	}
	return all, nil
}
