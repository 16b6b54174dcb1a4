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
	if b == 1 {
		return 0
	}
	l := s.withLint(b)
	if q, ok := l.newton(float64(s.shutoff)); ok {
		return q
	}
	return l.bracket(float64(s.shutoff))
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

// newton solves for the flow and for every segment's friction at once, in
// u = free air / flow and x = 1/sqrt f:
//
//	shutoff (u^2 - 1) = k + sum a / x^2
//	x = -2 log10(e/3.7D + 2.51 u x / Re)
//
// The second line has a slope in x and u that needs no further logarithm, so
// dx = (-residual - h x du) / (1 + h u) is put into the first, which gives du: one
// logarithm per segment and step. It reports false where it does not settle or
// a segment is not turbulent; bracket then decides.
func (l *linted) newton(shutoff float64) (q float64, ok bool) {
	var x [maxSegments]float64
	const startX = 6.5 // f = 0.0237
	start := l.k
	for i := range l.n {
		x[i] = startX
		start += l.segments[i].a / (startX * startX)
	}
	u := math.Sqrt(1 + start/shutoff)
	const maxSteps = 12
	for range maxSteps {
		residual, slope := shutoff*(u*u-1)-l.k, 2*shutoff*u
		var fixed, perU [maxSegments]float64 // dx = fixed + perU du
		for i := range l.n {
			seg := &l.segments[i]
			s := 2.51 / seg.reynolds
			arg := seg.relative/3.7 + s*u*x[i]
			h := log10Squared * s / arg
			fixed[i] = -(x[i] + log10Squared*math.Log(arg)) / (1 + h*u)
			perU[i] = -h * x[i] / (1 + h*u)
			f := seg.a / (x[i] * x[i])
			residual += -f + 2*f/x[i]*fixed[i]
			slope += 2 * f / x[i] * perU[i]
		}
		du := -residual / slope
		settled := math.Abs(du) <= 1e-7*u
		u += du
		for i := range l.n {
			dx := fixed[i] + perU[i]*du
			settled = settled && math.Abs(dx) <= 1e-7*x[i]
			x[i] += dx
		}
		if settled { // the next step would be the square of this one
			return 1 / u, u >= 1 && l.turbulent(1/u)
		}
	}
	return 0, false
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

// bracket solves shutoff (1 - q^2) = q^2 loss(q) in all regimes. The left side
// falls and the right side rises with q, so there is one root in 0..1.
func (l *linted) bracket(shutoff float64) float64 {
	excess := func(q float64) float64 { return shutoff*(1-q*q) - q*q*l.loss(q) }
	high := 1.0
	low := high / 2
	for excess(low) < 0 {
		high, low = low, low/2
		if low < math.SmallestNonzeroFloat64*4 {
			return 0
		}
	}
	for range 100 {
		mid := (low + high) / 2
		if mid <= low || mid >= high {
			break
		}
		if excess(mid) >= 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}
