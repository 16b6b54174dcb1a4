package lint

import (
	"math"

	"ventdue/vent"
)

// horizonDays is how far ahead a day is looked for: ten years.
const horizonDays = 3652

// Belief is what is believed of a run's lint, ready to be asked. Its methods are safe for concurrent use.
type Belief struct {
	build  build
	use    usage
	since  vent.Date // last full cleaning or installation; 0 not known
	opener vent.ID
	from   vent.Date // day from which loads count: the last cleaning of any kind, or change
	heads  heads     // lint on that day, in loads
	growth grid      // posterior of log growth in the open cycle, by head

	cycles, readings int
	afters, through  int
	lastFlow         float64
	lastFlowOn       vent.Date
	pastOn           vent.Date  // newest finding that left the run past its limit
	pastSeen         vent.Grade // lint that an eye saw in it; none where a reading said so
	pastLeft         bool       // it is the cleaning itself that left it so
	proven           bool
	clean            float64 // log of the clean value over the computed one
	oddLast          float64 // chance that the last closed cycle was odd
	oddBy            *vent.Finding
	south            bool
	season           float64 // amplitude of use that is reckoned with
	troubles         []Trouble
	summary          Summary
}

// seasonNodes and seasonWeights sum over the amplitude of the season by Gauss-Hermite quadrature of three points. The
// largest amplitude stays below one, so that use is never negative and the chance never falls.
var (
	seasonNodes   = [...]float64{-1.7320508, 0, 1.7320508}
	seasonWeights = [...]float64{1.0 / 6, 2.0 / 3, 1.0 / 6}
)

// Chance is the chance, 0 to 1, that the run is past its limit on a day, as far as growth goes; it never falls with time.
// Before the day from which loads count it is the chance on that day.
func (b *Belief) Chance(d vent.Date) float64 {
	use := b.driedBy(d)
	return b.chanceAbove(math.Log(b.build.limit.Lint), &use)
}

// dried is the number of loads since the start of the cycle, for each possibility of the season.
type dried [len(seasonNodes)]float64

// driedBy gives the loads up to a day.
func (b *Belief) driedBy(d vent.Date) dried {
	loads := b.use.between(b.from, d)
	var tilt float64
	if days := float64(b.from.DaysUntil(d)); days > 0 {
		tilt = seasonTilt(b.from, d, b.south) / days
	}
	var n dried
	for i, a := range seasonNodes {
		n[i] = loads * (1 + b.season*a*tilt)
	}
	return n
}

// chanceAbove is the chance that the logarithm of lint is above a figure after so many loads.
func (b *Belief) chanceAbove(lint float64, use *dried) float64 {
	var sum float64
	for i, n := range use {
		sum += seasonWeights[i] * b.above(lint, n)
	}
	return min(1, max(0, sum))
}

// above is the chance that the logarithm of lint is above a figure after so many loads.
func (b *Belief) above(lint, loads float64) float64 {
	var sum float64
	for s, mass := range b.growth.mass {
		if mass > 0 {
			dried := math.Log(b.heads.loads[s%nHeads] + loads)
			sum += b.growth.above(s, lint-b.build.pivot-shapes[s/nHeads]*(dried-b.build.pivot))
		}
	}
	return sum
}

// Day is the first day on which the chance of being past the limit reaches the one given; 0 where it does not within ten
// years. It is never before the day from which loads count.
func (b *Belief) Day(chance float64) vent.Date {
	if math.IsNaN(chance) {
		return 0
	}
	if b.Chance(b.from) >= chance {
		return b.from
	}
	lo, hi := 0, horizonDays // chance not reached at lo
	if b.Chance(b.from.AddDays(hi)) < chance {
		return 0
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; b.Chance(b.from.AddDays(mid)) >= chance {
			hi = mid
		} else {
			lo = mid
		}
	}
	return b.from.AddDays(hi)
}

// Growth is the median share of the bore's radius lost per hundred loads, and the factor within which it lies two times
// out of three.
func (b *Belief) Growth() (medianPer100Loads, doubtFactor float64) {
	low, mid, high := b.growth.quantile(0.1587), b.growth.quantile(0.5), b.growth.quantile(0.8413)
	return 100 * math.Exp(mid), math.Exp((high - low) / 2)
}

// Since is the day of the last full cleaning, else of the installation; 0 where neither is known.
func (b *Belief) Since() vent.Date { return b.since }

// From is the day from which loads count: the last cleaning of any kind or change of the run, else the start.
func (b *Belief) From() vent.Date { return b.from }

// Opener is the finding that opened the cycle, else the run.
func (b *Belief) Opener() vent.ID { return b.opener }

// Cycles is the number of measured cycles of this version: with a reading at the end that says how much had grown.
func (b *Belief) Cycles() int { return b.cycles }

// Readings is the number of readings that were used.
func (b *Belief) Readings() int { return b.readings }

// CleanKnown reports whether the clean value is well enough known to let a date move later: two readings after cleanings
// of this version, or one and a brush seen through from end to end.
func (b *Belief) CleanKnown() bool { return b.afters >= 2 || b.afters == 1 && b.through > 0 }

// Limit is the kind of the limit that the run is expected to pass first.
func (b *Belief) Limit() vent.LimitKind { return b.build.limit.Kind }

// LimitAt is that limit with its numbers.
func (b *Belief) LimitAt() Limit { return b.build.limit }

// FlowAtLimit is the share of the clean flow that is left at the limit.
func (b *Belief) FlowAtLimit() float64 { return b.flowShare(b.build.limit.Lint) }

// NoGeometry reports that the run was never described, or not so that the formulas hold for it.
func (b *Belief) NoGeometry() bool { return b.build.noGeometry }

// OutsideModel reports that the formulas of air flow do not hold for the run, as described or because of a booster: its date comes
// from the same wide guess as that of a run nobody described. A reading of air after a cleaning sharpens it all the same.
func (b *Belief) OutsideModel() bool { return b.build.outside }

// Loads is the number of loads a week that is reckoned with from now on, and who said so.
func (b *Belief) Loads() (perWeek float64, from vent.UseSource) {
	s := b.use.at(0)
	return s.perDay * 7, s.source
}

// LastFlow is the newest reading of air as a share of the clean value as it is believed to be, and its day.
func (b *Belief) LastFlow() (share float64, on vent.Date, ok bool) {
	return b.lastFlow, b.lastFlowOn, b.lastFlowOn != 0
}

// ProvenClean reports that the reading after the last cleaning showed the run clean, however far the brush got.
func (b *Belief) ProvenClean() bool { return b.proven }

// Troubles is what the computation found that must not be forgotten.
func (b *Belief) Troubles() []Trouble { return b.troubles }

// CleanSpeed is the air speed at the outlet of the clean run as it is believed to be, in m/s; 0 where that cannot be told.
func (b *Belief) CleanSpeed() float64 {
	speed, _ := b.ReadAt(1)
	return speed
}

// Past is the newest finding since the last cleaning, itself included, that saw the run past its limit, 0 where none did,
// and the lint that an eye saw there; none where a reading said so.
func (b *Belief) Past() (on vent.Date, seen vent.Grade) { return b.pastOn, b.pastSeen }

// Summary is what this run can teach its neighbours.
func (b *Belief) Summary() Summary { return b.summary }
