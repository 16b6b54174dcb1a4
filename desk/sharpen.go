package desk

import (
	"fmt"
	"slices"

	"ventdue/scheduler"
	"ventdue/store"
	"ventdue/vent"
)

// Sharpen lists what somebody could find out today to make the run's cleaning date surer, what moves it most first. It is
// empty where the date is not a matter of being surer: where nothing is due, the run was found past its limit, or nobody
// knows when it was last cleaned.
func (d *Desk) Sharpen(by By, run vent.ID) (list []scheduler.Sharper, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		r, err := store.Runs.Get(tx, run)
		if err != nil {
			return err
		}
		p, err := d.planInput(tx, r)
		if err != nil {
			return err
		}
		for _, x := range p.in.Open {
			if x.Kind == vent.DueClean && (x.Unknown || x.Reason.Bound == vent.BoundPastLimit) {
				return nil
			}
		}
		list, err = scheduler.Sharpen(p.in, vent.InstantOf(by.Now).DateIn(zoneOf(p.in.Site.Zone)))
		list = slices.DeleteFunc(list, func(s scheduler.Sharper) bool { return s.Measure == scheduler.ReadAfter }) // that moment has passed
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("what would sharpen the date of run %s: %w", run, err)
	}
	return list, nil
}
