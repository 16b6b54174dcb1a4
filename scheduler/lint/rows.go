package lint

import "math"

// normalRow adds normal curves of one precision to rows of evenly spaced points.
type normalRow struct {
	precision    float64 // per squared point
	step, shrink float64
}

func newNormalRow(precision float64) normalRow {
	return normalRow{precision, math.Exp(-precision / 2), math.Exp(-precision)}
}

// negligible ends a row: so much below its height nothing is added any more.
const negligible = 1e-12

// hopeless is a misfit that no other evidence makes up for: e^-45 beside an odd cycle's hundredth.
const hopeless = 45

// add adds height·exp(-misfit - (k - at)² precision/2) to every element k. From the element nearest to the peak outwards
// each is the one before times a factor that itself shrinks by a constant one: two exponentials for the whole row. It reports
// false where even the peak is nothing beside the chance of an odd cycle, and then adds nothing.
func (n *normalRow) add(row []float64, height, misfit, at float64) bool {
	top := min(max(int(at+0.5), 0), len(row)-1)
	d := float64(top) - at
	exponent := misfit + d*d*n.precision/2
	if exponent > hopeless {
		return false
	}
	g0 := height * math.Exp(-exponent)
	skew := math.Exp(-d * n.precision)
	row[top] += g0
	least := g0 * negligible
	g, r := g0, n.step*skew
	for k := top + 1; k < len(row); k++ {
		g *= r
		r *= n.shrink
		if g < least {
			break
		}
		row[k] += g
	}
	g, r = g0, n.step/skew
	for k := top - 1; k >= 0; k-- {
		g *= r
		r *= n.shrink
		if g < least {
			break
		}
		row[k] += g
	}
	return true
}

// shares tabulates the logarithm of the share of the clean flow against the logarithm of lint.
type shares struct {
	value [shareSteps + 1]float64
}

// The table begins at the lint of e^-10, a two-thousandth of a millimetre, and ends where the run is closed.
const (
	shareLow   = -10.0
	shareSteps = 320
	shareStep  = -shareLow / shareSteps
	leastShare = 0.02
)

func (s *shares) tabulate(b *build) {
	curve, err := b.sys.Curve()
	if err != nil { // a system that was made has a curve
		return
	}
	for i := range s.value {
		lint := math.Exp(shareLow + shareStep*float64(i))
		s.value[i] = math.Log(max(curve.Flow(lint), leastShare))
	}
}

// at gives the logarithm of the share for the logarithm of lint.
func (s *shares) at(lint float64) float64 {
	x := (lint - shareLow) / shareStep
	switch {
	case !(x > 0):
		return 0
	case x >= shareSteps:
		return s.value[shareSteps]
	}
	i := int(x)
	return s.value[i] + (x-float64(i))*(s.value[i+1]-s.value[i])
}
