package lint

import (
	"math"

	"ventdue/vent"
)

// Touched gives the runs whose neighbours, at the site or by build, teach something else than before.
func Touched(before, after []Summary) (runs []vent.ID) {
	oldSite, oldBuild := tallies(before)
	newSite, newBuild := tallies(after)
	for _, s := range after {
		if differ(oldSite[s.SiteID], newSite[s.SiteID]) || differ(oldBuild[s.Build], newBuild[s.Build]) {
			runs = append(runs, s.RunID)
		}
	}
	return runs
}

func tallies(all []Summary) (site map[vent.ID]Tally, build map[string]Tally) {
	site, build = map[vent.ID]Tally{}, map[string]Tally{}
	for _, s := range all {
		t, b := site[s.SiteID], build[s.Build]
		t.Add(s)
		site[s.SiteID] = t
		if s.Build != "" { // runs that nobody described have no like
			b.Add(s)
			build[s.Build] = b
		}
	}
	return site, build
}

// differ says whether two tallies teach a growth that differs by over five in a hundred, or with another certainty. Less
// than that would only make dates tremble.
func differ(a, b Tally) bool {
	if a.Weight == 0 || b.Weight == 0 {
		return a.Weight != b.Weight
	}
	return math.Abs(a.Sum/a.Weight-b.Sum/b.Weight) > 0.05 || math.Abs(math.Log(a.Weight/b.Weight)) > 0.25
}
