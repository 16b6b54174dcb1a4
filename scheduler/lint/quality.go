package lint

import "ventdue/vent"

// nHeads is how many possibilities of leftover lint are weighed.
const nHeads = 4

// heads is what a cleaning may have left, as so many loads of the cycle that follows, with the weight of each possibility.
type heads struct {
	loads, weight [nHeads]float64
}

func (h heads) mean() float64 {
	var m float64
	for i := range h.loads {
		m += h.loads[i] * h.weight[i]
	}
	return m
}

// mix gives the possibilities as shares of what had grown.
func mix(grown float64, share, weight [nHeads]float64) heads {
	h := heads{weight: weight}
	for i := range share {
		h.loads[i] = share[i] * grown
	}
	return h
}

// cleanHeads is a new run: nothing in it.
func cleanHeads() heads { return heads{weight: [nHeads]float64{1}} }

// The weights below are ours. A brush seen through from end to end leaves little; a cleaning nobody measured, by somebody
// else, is unverified: leftover is likely.
func leftover(f vent.Finding, grown float64) heads {
	left := [nHeads]float64{0, 0.15, 0.40, 0.70}
	switch {
	case f.Outcome != vent.Full:
		return mix(grown, [nHeads]float64{0.1, 0.3, 0.5, 0.75}, [nHeads]float64{0.15, 0.30, 0.30, 0.25})
	case f.By.Kind != vent.ByUs:
		return mix(grown, left, [nHeads]float64{0.40, 0.25, 0.25, 0.10})
	case f.Reach == vent.ReachThrough:
		return mix(grown, left, [nHeads]float64{0.88, 0.08, 0.03, 0.01})
	}
	return mix(grown, left, [nHeads]float64{0.75, 0.12, 0.10, 0.03})
}

// unknownHeads is a run whose last cleaning is not known: from a few months' lint to all of many years'.
func unknownHeads(years float64) heads {
	if years <= 0 {
		years = unknownYears * DefaultLoadsPerYear
	}
	return mix(years, [nHeads]float64{0.1, 0.35, 0.8, 1.6}, [nHeads]float64{0.25, 0.30, 0.30, 0.15})
}

// rebuiltHeads is a run of which a part was replaced.
func rebuiltHeads(grown float64) heads {
	return mix(grown, [nHeads]float64{0, 0.3, 0.6, 1}, [nHeads]float64{0.35, 0.25, 0.20, 0.20})
}

// sameHeads is a run that changed without losing its lint.
func sameHeads(h heads, loads float64) heads {
	for i := range h.loads {
		h.loads[i] += loads
	}
	return h
}
