package lint

import (
	"math"
	"slices"

	"ventdue/vent"
)

// A booster is a second fan, of which neither curve nor switching is known. The formulas have one fan alone: what they compute
// of a boosted run is no clean value. Of its readings those of air speed and flow are compared with the run's own after
// cleanings; until there is one, a reading says nothing. Its static pressure at the dryer may be suction, and says nothing of lint.

// boosted reports whether a booster is in the run as a version has it.
func (c *Case) boosted(v vent.Version) bool {
	return slices.ContainsFunc(c.InLine, func(a vent.Appliance) bool {
		return a.Kind == vent.Booster && slices.Contains(v.InLine, a.ID)
	})
}

// ownClean gives the logarithm of the middle of what was read after the cleanings of a version that left the run open, over
// what the formulas give for one fan, so that the latter cancels out; not ok where nothing was read.
func (h *history) ownClean(version int, b *build) (anchor float64, ok bool) {
	var logs []float64
	for i := range h.cycles {
		c := &h.cycles[i]
		if c.version != version || c.opener == nil || c.opener.LintAfter.Choked() {
			continue
		}
		for _, r := range c.opener.After {
			full := float64(b.clean.OutletSpeed)
			if r.Quantity == vent.Flow {
				full = float64(b.clean.Flow)
			}
			if (r.Quantity == vent.AirSpeed || r.Quantity == vent.Flow) && r.Value > 0 {
				logs = append(logs, math.Log(r.Value/full))
			}
		}
	}
	if len(logs) == 0 {
		return 0, false
	}
	slices.Sort(logs)
	return logs[len(logs)/2], true
}

// mute reports whether a reading of air has nothing to be compared with.
func (b *build) mute(q vent.Quantity) bool { return b.boosted && (!b.ownClean || q == vent.Static) }

// Boosted reports that a booster is in the run: it is outside of the formulas, see OutsideModel.
func (b *Belief) Boosted() bool { return b.build.boosted }
