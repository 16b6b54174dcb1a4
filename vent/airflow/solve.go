package airflow

import (
	"fmt"
	"math"
)

// Point is where blower and duct agree.
type Point struct {
	// Flow of exhaust at its own temperature.
	Flow CubicMetersPerSecond
	// OutletSpeed is the mean speed in the outlet's collar, taken as clean: what an
	// anemometer there shows.
	OutletSpeed MetersPerSecond
	// DuctSpeed is the mean speed in the widest section, as narrowed by lint: the
	// lowest speed, where lint settles first.
	DuctSpeed MetersPerSecond
	// Static is the static pressure at the dryer's outlet.
	Static Pascals
}

// At is the operating point with lint: b is the share of the bore's radius that
// is lost, 0 clean to 1 closed (no flow, shut-off pressure). A b outside 0..1 is an error.
func (s *System) At(b float64) (Point, error) {
	if !(b >= 0 && b <= 1) {
		return Point{}, fmt.Errorf("operating point with lint %.4g: %w: lint is a share of the radius, 0 clean to 1 closed", b, ErrOutsideModel)
	}
	if !(s.freeAir > 0) {
		return Point{}, fmt.Errorf("operating point of an empty system: %w: make it with NewSystem", ErrOutsideModel)
	}
	return s.point(s.share(b), b), nil
}

// share is the operating flow as a share of free air.
func (s *System) share(b float64) float64 {
	l := s.withLint(b)
	return l.solve(float64(s.shutoff))
}

// solve finds the operating flow; a closed duct has none.
func (l *linted) solve(shutoff float64) float64 {
	if l.left == 0 {
		return 0
	}
	q, ok := l.newton(shutoff)
	if !ok {
		for i := range l.n { // newton may have left anything there
			l.x[i] = startX(l.segments[i].relative)
		}
		q = l.guarded(shutoff, q)
	}
	return q
}

func (s *System) point(q, b float64) Point {
	p := Point{Flow: CubicMetersPerSecond(q) * s.freeAir}
	p.OutletSpeed = p.Flow.SpeedIn(s.outletBore)
	if q > 0 {
		p.DuctSpeed = p.Flow.SpeedIn(s.widestBore * Meters(1-b))
	}
	p.Static = s.shutoff * Pascals(1-q*q)
	return p
}

// settledStep is the relative step after which Newton stops: the error left is its square.
const settledStep = 1e-6

// A guarded Newton in logarithms stops after a step of settledLogStep. It ends
// after maxGuardedSteps at the latest, when halving alone has used up a double.
const (
	settledLogStep  = 1e-8
	maxGuardedSteps = 100
)

// newton solves for the flow and for every segment's friction at once, in
// u = free air / flow and x = 1/sqrt f:
//
//	shutoff (u^2 - 1) = k + sum a / x^2
//	x = -2 log10(e/3.7D + 2.51 u x / Re)
//
// The second line has a slope in x and u that needs no further logarithm, so
// dx = (-residual - h x du) / (1 + h u) is put into the first, which gives du: one
// logarithm per segment and step. It reports false where it does not settle or
// a segment is not turbulent; its q is then only a start for guarded.
func (l *linted) newton(shutoff float64) (q float64, ok bool) {
	x, start := &l.x, l.k
	for i := range l.n {
		start += l.segments[i].a / (x[i] * x[i])
	}
	u := math.Sqrt(1 + start/shutoff)
	var fixed, perU [maxSegments]float64 // dx = fixed + perU du
	const maxSteps = 12
	for range maxSteps {
		residual, slope := shutoff*(u*u-1)-l.k, 2*shutoff*u
		for i := range l.n {
			seg := &l.segments[i]
			arg := seg.rough + seg.smooth*u*x[i]
			h := log10Squared * seg.smooth
			inverse := 1 / (arg + h*u)
			fixed[i] = -(x[i] + log10Squared*math.Log(arg)) * arg * inverse
			perU[i] = -h * x[i] * inverse
			inverse = 1 / x[i]
			f := seg.a * inverse * inverse
			residual += f * (2*fixed[i]*inverse - 1)
			slope += 2 * f * inverse * perU[i]
		}
		du := -residual / slope
		settled := math.Abs(du) <= settledStep*u
		u += du
		for i := range l.n {
			dx := fixed[i] + perU[i]*du
			settled = settled && math.Abs(dx) <= settledStep*x[i]
			x[i] += dx
		}
		if settled {
			return 1 / u, u >= 1 && l.turbulent(1/u)
		}
	}
	return 1 / u, false
}

// turbulent tells whether Colebrook holds in every segment at a share q of free air.
func (l *linted) turbulent(q float64) bool {
	for i := range l.n {
		if l.segments[i].reynolds*q < turbulentStart {
			return false
		}
	}
	return true
}

// guarded solves q^2 (shutoff + loss(q)) = shutoff in all regimes by Newton in
// logarithms, where the left side is nearly a straight line, kept in a bracket: it
// rises with q, so there is one root in 0..1.
func (l *linted) guarded(shutoff, start float64) float64 {
	const closed = -400.0 // e^-400 of free air is no flow
	low, high := closed, 0.0
	y := math.Log(start)
	if !(y > low && y < high) {
		y = -1
	}
	for range maxGuardedSteps {
		q := math.Exp(y)
		loss, _, byShare := l.lossAndSlopes(q)
		miss := math.Log1p(loss/shutoff) + 2*y
		if miss > 0 {
			high = y
		} else {
			low = y
		}
		next := y - miss/(2+q*byShare/(shutoff+loss))
		if !(next >= low && next <= high) {
			next = (low + high) / 2
		}
		step := math.Abs(next - y)
		y = next
		if step <= settledLogStep {
			break
		}
	}
	return math.Exp(y)
}
