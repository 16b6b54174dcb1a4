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
		r, err := store.Runs.Get(tx, run)
		if err == nil {
			yes, err = onDuty(tx, by, technician, r.SiteID)
		}
		return err
	})
	return yes, err
}

// OnDutyAt is OnDuty for a site.
func (d *Desk) OnDutyAt(by By, technician, site vent.ID) (yes bool, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		yes, err = onDuty(tx, by, technician, site)
		return err
	})
	return yes, err
}

func onDuty(tx *store.Tx, by By, technician, at vent.ID) (bool, error) {
	site, err := store.Sites.Get(tx, at)
	if err != nil || technician.IsZero() {
		return false, err
	}
	today := vent.InstantOf(by.Now).DateIn(zoneOf(site.Zone))
	for v, err := range store.VisitsAt(tx, at, today.AddDays(-dutyAfter), today.AddDays(dutyBefore+1)) {
		if err != nil {
			return false, err
		}
		if v.TechnicianID == technician && (v.State == vent.Booked || v.State == vent.VisitDone) {
			return true, nil
		}
	}
	return false, nil
}
