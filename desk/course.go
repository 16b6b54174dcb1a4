package desk

import (
	"fmt"

	"ventdue/scheduler"
	"ventdue/store"
	"ventdue/vent"
)

// Course gives the flow of a run over time: what was read and done, and what is likely to come, at least to today at the
// site.
func (d *Desk) Course(by By, run vent.ID) (c scheduler.Course, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		r, err := store.Runs.Get(tx, run)
		if err != nil {
			return err
		}
		p, err := d.planInput(tx, r)
		if err != nil {
			return err
		}
		c, err = scheduler.CourseOf(p.in, vent.InstantOf(by.Now).DateIn(zoneOf(p.in.Site.Zone)))
		return err
	})
	if err != nil {
		return c, fmt.Errorf("flow of run %s over time: %w", run, err)
	}
	return c, nil
}
