package desk

import (
	"slices"

	"ventdue/scheduler/lint"
	"ventdue/store"
	"ventdue/vent"
)

// riserUse gives the loads that pass through a common riser: the sum of its branches', from each day on which one of
// them changes. nil for a riser without branches.
func riserUse(tx *store.Tx, riser vent.ID) ([]vent.Use, error) {
	branches, err := store.Collect(store.BranchesOf(tx, riser))
	if err != nil {
		return nil, err
	}
	var all [][]vent.Use
	days := []vent.Date{0}
	for _, b := range branches {
		if b.Ended != 0 {
			continue
		}
		use := b.Use
		if len(use) == 0 || use[0].From > 1 {
			unit, err := store.Units.Get(tx, b.UnitID)
			if err != nil {
				return nil, err
			}
			use = append([]vent.Use{householdUse(unit)}, use...)
		}
		for _, u := range use {
			days = append(days, u.From)
		}
		all = append(all, use)
	}
	if len(all) == 0 {
		return nil, nil
	}
	slices.Sort(days)
	var sum []vent.Use
	for _, d := range slices.Compact(days) {
		u := vent.Use{From: d, Source: vent.UseCounter}
		for _, branch := range all {
			at := useOn(branch, d)
			u.LoadsPerWeek += at.LoadsPerWeek
			u.Source = lessTrusted(u.Source, at.Source)
		}
		sum = append(sum, u)
	}
	return sum, nil
}

// useOn gives the entry of a history, oldest first, that holds on the day.
func useOn(use []vent.Use, d vent.Date) vent.Use {
	now := use[0]
	for _, u := range use[1:] {
		if u.From <= d {
			now = u
		}
	}
	return now
}

// householdUse is what a household is reckoned with where nobody told its loads.
func householdUse(unit vent.Unit) vent.Use {
	const weeksPerYear = 365.25 / 7
	if unit.Bedrooms > 0 {
		return vent.Use{LoadsPerWeek: lint.HouseholdLoads(unit.Bedrooms, unit.WasherVolume) / weeksPerYear, Source: vent.UseHousehold}
	}
	return vent.Use{LoadsPerWeek: lint.DefaultLoadsPerYear / weeksPerYear, Source: vent.UseDefault}
}

// lessTrusted gives the source that says less; an empty flat's silence is as good as a count.
func lessTrusted(a, b vent.UseSource) vent.UseSource {
	trust := []vent.UseSource{vent.UseCounter, vent.UseTold, vent.UseHousehold, vent.UseDefault}
	if slices.Index(trust, b) > slices.Index(trust, a) {
		return b
	}
	return a
}
