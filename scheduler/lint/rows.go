package lint

import "math"

// bell is a normal curve over evenly spaced points, of any height.
type bell struct {
	height    float64
	misfit    float64 // of the best point, minus logarithm
	at        float64 // of the peak, in points
	precision float64 // per squared point
}

// negligible ends a bell: so much below its height nothing is added any more.
const negligible = 1e-11

// hopeless is a misfit that no other evidence makes up for: e^-20 beside an odd cycle's hundredth.
const hopeless = 20

// add adds a bell to the points from lo to before hi of a row and reports whether there was anything to add. From the
// point nearest to the peak outwards each is the one before times a factor that itself shrinks by a constant one: three
// exponentials for the whole row.
func (b *bell) add(row []float64, lo, hi int) bool {
	top := min(max(int(b.at+0.5), lo), hi-1)
	d := float64(top) - b.at
	exponent := b.misfit + d*d*b.precision/2
	if !(exponent < hopeless) {
		return false
	}
	g0 := b.height * exp(-exponent)
	step, skew := exp(-b.precision/2), exp(-d*b.precision)
	shrink := step * step
	row[top] += g0
	least := g0 * negligible
	g, r := g0, step*skew
	for k := top + 1; k < hi; k++ {
		g *= r
		r *= shrink
		if g < least {
			break
		}
		row[k] += g
	}
	g, r = g0, step/skew
	for k := top - 1; k >= lo; k-- {
		g *= r
		r *= shrink
		if g < least {
			break
		}
		row[k] += g
	}
	return true
}

// exp is e to the x with an error of less than 1e-10 of the value; 0 below e^-700.
func exp(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	const perLn2 = expSteps / math.Ln2
	k := math.Floor(x*perLn2 + 0.5)
	r := x - k/perLn2
	i := int64(k)
	t := expTable[i&(expSteps-1)] * (1 + r*(1+r*(0.5+r*(1.0/6))))
	return t * math.Float64frombits(uint64(1023+(i>>expBits))<<52)
}

const (
	expBits  = 6
	expSteps = 1 << expBits
)

// expTable holds the powers of two between one and two.
var expTable = func() (t [expSteps]float64) {
	for i := range t {
		t[i] = math.Exp2(float64(i) / expSteps)
	}
	return t
}()

// shares tabulates the logarithm of the share of the clean flow against the logarithm of lint, with its slopes.
type shares struct {
	value, slope [shareSteps + 1]float64
}

// The table begins at the lint of e^-6, a tenth of a millimetre in a usual duct, below which the loss is in proportion to
// lint, and ends where the run is closed.
const (
	shareLow   = -6.0
	shareSteps = 48
	shareStep  = -shareLow / shareSteps
	leastShare = 0.02
)

func (s *shares) tabulate(b *build) {
	for i := range s.value {
		lint := min(1, math.Exp(shareLow+shareStep*float64(i)))
		p, err := b.sys.At(lint)
		if err != nil { // a system that was made has a point for every lint
			return
		}
		s.value[i] = min(0, math.Log(max(float64(p.Flow/b.clean.Flow), leastShare)))
	}
	s.slope[0] = s.value[0] * shareStep
	s.slope[shareSteps] = s.value[shareSteps] - s.value[shareSteps-1]
	for i := 1; i < shareSteps; i++ {
		s.slope[i] = (s.value[i+1] - s.value[i-1]) / 2
		if i > 1 && i < shareSteps-1 {
			s.slope[i] = (8*(s.value[i+1]-s.value[i-1]) - (s.value[i+2] - s.value[i-2])) / 12
		}
	}
}

// at gives the logarithm of the share for the logarithm of lint, its slope and its bend.
func (s *shares) at(lint float64) (value, slope, bend float64) {
	x := (lint - shareLow) / shareStep
	switch {
	case !(x > 0):
		value = s.value[0] * exp(lint-shareLow)
		return value, value, value
	case x >= shareSteps:
		return s.value[shareSteps], 0, 0
	}
	i := int(x)
	t := x - float64(i)
	y0, m0, m1 := s.value[i], s.slope[i], s.slope[i+1]
	rise := s.value[i+1] - y0
	a, b := 3*rise-2*m0-m1, m0+m1-2*rise // y0 + m0 t + a t² + b t³
	value = y0 + t*(m0+t*(a+t*b))
	slope = (m0 + t*(2*a+3*b*t)) / shareStep
	bend = (2*a + 6*b*t) / (shareStep * shareStep)
	return value, slope, bend
}
