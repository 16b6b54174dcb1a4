package lint

import (
	"math"
	"slices"
)

// manner is how evenly a run is used, cleaned and read. Which of them holds is not known either; all are carried through
// all findings, and how well each foretold them decides how much it counts. Instruments and brushes belong to an operator,
// so neighbours share what they teach of it.
type manner struct {
	cycle      float64 // spread of one cycle's log growth around the run's own
	year       float64 // drift of the run's own log growth in a year
	season     float64 // amplitude of use over the year that is reckoned with
	reading    float64 // factor on the standard error of readings
	oddCycle   float64 // chance that what ends a cycle is not growth
	shape      int     // of growth, see shapes
	oddReading float64 // chance that the reading after a cleaning is a slip
}

const (
	steady   = iota
	blurred  // good hands, poor instruments
	careless // good instruments, cleanings that leave much
	rough    // uneven use, poor instruments, cleanings that leave much, slips
	nManners
)

// manners holds their figures, ours; tuned on simulated fleets whose seeds are not scored.
var manners = [nManners]manner{
	steady:   {cycle: 0.123, year: 0.020, season: 0.05, reading: 1, oddCycle: 0.02, oddReading: 0.01},
	blurred:  {cycle: 0.125, year: 0.04, season: 0.10, reading: 1.8, oddCycle: 0.02, oddReading: 0.01},
	careless: {cycle: 0.125, year: 0.04, season: 0.10, reading: 1.1, oddCycle: 0.03, oddReading: 0.01},
	rough:    {shape: 1, cycle: 0.34, year: 0.10, season: 0.30, reading: 1.8, oddCycle: 0.02, oddReading: 0.01},
}

// shapes are the powers of loads with which lint grows: evenly, or faster as the narrowing bore slows the air (a mechanism
// that the trade tells of). All shapes meet where the prior's median is at the limit.
var shapes = [nShapes]float64{1, 1.3}

const nShapes = 2

// mannerPrior is how likely each is where nobody knows anything.
var mannerPrior = [nManners]float64{0.55, 0.12, 0.13, 0.20}

// Neighbours' logarithms count half, and never so much that a run's own findings could not overrule them.
const (
	mannerShare = 0.8
	mannerMost  = 6.0
)

// byManner holds one figure for each manner: for neighbours, logarithms of how well each foretold their findings.
type byManner [nManners]float64

// prior is the logarithm of each manner's weight before a run's own findings, up to a constant.
func (p Pool) prior() byManner {
	var w byManner
	for m := range w {
		x := mannerShare * (p.Site.Manner[m] + p.Build.Manner[m])
		if math.IsNaN(x) {
			x = 0
		}
		w[m] = math.Log(mannerPrior[m]) + min(mannerMost, max(-mannerMost, x))
	}
	return w
}

// centred takes the mean away: only differences count.
func (w byManner) centred() byManner {
	var mean float64
	for _, x := range w {
		mean += x / nManners
	}
	for m := range w {
		w[m] -= mean
	}
	return w
}

// shares turns logarithms into shares that add up to one.
func (w byManner) shares() byManner {
	top := slices.Max(w[:])
	var all float64
	for m := range w {
		w[m] = math.Exp(w[m] - top)
		all += w[m]
	}
	for m := range w {
		w[m] /= all
	}
	return w
}
