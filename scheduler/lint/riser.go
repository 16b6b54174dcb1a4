package lint

import (
	"slices"

	"ventdue/vent"
)

// Branch is one dryer's way into a common riser.
type Branch struct {
	Run      vent.Run
	Unit     vent.Unit      // the door behind which the dryer stands
	Findings []vent.Finding // of the branch, by date
}

// RiserUse gives the loads that pass through a common riser: the sum of what its branches are reckoned with, from each
// day on which one of them changes. It is as sure as its least sure part. nil for a riser without branches.
func RiserUse(branches []Branch) []vent.Use {
	if len(branches) == 0 {
		return nil
	}
	days := []vent.Date{}
	all := make([]usage, 0, len(branches))
	for _, b := range branches {
		u := usageOf(b.Run, b.Unit, b.Findings)
		if b.Run.Ended != 0 {
			u = u.set(b.Run.Ended, 0, stretch{source: vent.UseEmpty})
		}
		u[0].from = 0 // it reaches back for ever
		for _, s := range u {
			days = append(days, s.from)
		}
		all = append(all, u)
	}
	slices.Sort(days)
	var sum []vent.Use
	for _, d := range slices.Compact(days) {
		now := vent.Use{From: d, Source: vent.UseEmpty}
		for _, u := range all {
			s := u[0]
			if d != 0 {
				s = u.at(d)
			}
			now.LoadsPerWeek += s.perDay * 7
			if slices.Index(bySureness, s.source) > slices.Index(bySureness, now.Source) {
				now.Source = s.source
			}
		}
		sum = append(sum, now)
	}
	return sum
}

// bySureness lists where a count can come from, the surest first: of an empty door nothing comes, for certain.
var bySureness = []vent.UseSource{vent.UseEmpty, vent.UseCounter, vent.UseTold, vent.UseHousehold, vent.UseDefault}
