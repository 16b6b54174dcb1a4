package lint

import "ventdue/vent"

// nHeads is how many possibilities of leftover lint are weighed.
const nHeads = 4

// heads is what a cleaning may have left, as so many loads of the cycle that follows, with the weight of each possibility
// under each manner of keeping runs.
type heads struct {
	loads  [nHeads]float64
	weight [nManners][nHeads]float64
}

// mean is the leftover to be expected where nobody knows the manner.
func (h heads) mean() float64 {
	var m float64
	for i := range h.loads {
		m += h.loads[i] * (h.weight[steady][i] + h.weight[rough][i]) / 2
	}
	return m
}

// mix gives the possibilities as shares of what had grown.
func mix(grown float64, share [nHeads]float64, calm, wild [nHeads]float64) heads {
	h := heads{weight: [nManners][nHeads]float64{calm, calm, wild, wild}}
	for i := range share {
		h.loads[i] = share[i] * grown
	}
	return h
}

// cleanHeads is a new run: nothing in it.
func cleanHeads() heads {
	one := [nHeads]float64{1}
	return heads{weight: [nManners][nHeads]float64{one, one, one, one}}
}

// The weights below are ours. A brush seen through from end to end leaves little; a cleaning nobody measured, by somebody
// else, is unverified: leftover is likely.
func leftover(f vent.Finding, grown float64) heads {
	type w = [nHeads]float64
	left := w{0, 0.15, 0.40, 0.70}
	switch {
	case f.LintAfter.Choked():
		most := w{0.10, 0.20, 0.30, 0.40}
		return mix(grown, w{0.5, 0.8, 1, 1.5}, most, most)
	case f.Outcome != vent.Full:
		part := w{0.15, 0.30, 0.30, 0.25}
		return mix(grown, w{0.1, 0.3, 0.5, 0.75}, part, part)
	case f.By.Kind != vent.ByUs:
		return mix(grown, left, w{0.50, 0.22, 0.20, 0.08}, w{0.35, 0.25, 0.28, 0.12})
	case f.Reach == vent.ReachThrough:
		return mix(grown, left, w{0.99, 0.006, 0.004, 0}, w{0.86, 0.06, 0.06, 0.02})
	}
	return mix(grown, left, w{0.985, 0.009, 0.006, 0}, w{0.60, 0.10, 0.23, 0.07})
}

// unknownHeads is a run whose last cleaning is not known: from a few months' lint to all of many years'.
func unknownHeads(years float64) heads {
	if years <= 0 {
		years = unknownYears * DefaultLoadsPerYear
	}
	w := [nHeads]float64{0.25, 0.30, 0.30, 0.15}
	return mix(years, [nHeads]float64{0.1, 0.35, 0.8, 1.6}, w, w)
}

// rebuiltHeads is a run of which a part was replaced.
func rebuiltHeads(grown float64) heads {
	w := [nHeads]float64{0.35, 0.25, 0.20, 0.20}
	return mix(grown, [nHeads]float64{0, 0.3, 0.6, 1}, w, w)
}

// sameHeads is a run that changed without losing its lint.
func sameHeads(h heads, loads float64) heads {
	for i := range h.loads {
		h.loads[i] += loads
	}
	return h
}
