package desk

import (
	"ventdue/store"
	"ventdue/vent"
)

// How long before and after the day of a visit its technician may open the runs of its site: to read up the evening before,
// and to write down what was forgotten. Ours.
const (
	dutyBefore = 1
	dutyAfter  = 7
)

// OnDuty reports whether a technician has, or lately had, a visit at the site of a run.
func (d *Desk) OnDuty(by By, technician, run vent.ID) (yes bool, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		yes = false
		r, err := store.Runs.Get(tx, run)
		if err != nil || technician.IsZero() {
			return err
		}
		site, err := store.Sites.Get(tx, r.SiteID)
		if err != nil {
			return err
		}
		today := vent.InstantOf(by.Now).DateIn(zoneOf(site.Zone))
		for v, err := range store.VisitsOf(tx, site.ID) {
			if err != nil {
				return err
			}
			if v.TechnicianID == technician && (v.State == vent.Booked || v.State.Over()) &&
				v.On.AddDays(-dutyBefore) <= today && today <= v.On.AddDays(dutyAfter) {
				yes = true
				return nil
			}
		}
		return nil
	})
	return yes, err
}
