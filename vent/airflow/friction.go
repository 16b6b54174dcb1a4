package airflow

import (
	"fmt"
	"math"
)

// Flow regimes. Below laminarEnd friction is 64/Re; from turbulentStart on it is
// Colebrook. Between them, where real ducts are undecided, the factor is drawn
// as a straight line from 64/2300 up to Colebrook at 4000: it rises there, so
// pressure drop stays continuous and always grows with flow.
const (
	laminarEnd     = 2300.0
	turbulentStart = 4000.0
)

// maxRelativeRoughness is the corner of the Moody chart: the last e/D that
// Colebrook's formula was drawn for.
const maxRelativeRoughness = 0.05

// maxReynolds is the right edge of the Moody chart.
const maxReynolds = 1e8

// log10Squared turns a natural logarithm into 2 log10.
const log10Squared = 2 / math.Ln10

// FrictionFactor is the Darcy friction factor for a Reynolds number (above 0, to
// 1e8) and a relative roughness e/D (0 to 0.05): 64/Re to Re 2300, Colebrook from
// 4000 (Clamond 2009 for the form), a rising straight line between.
func FrictionFactor(re, relative float64) (float64, error) {
	if !(re > 0 && re <= maxReynolds) || !(relative >= 0 && relative <= maxRelativeRoughness) {
		return 0, fmt.Errorf("friction factor at Reynolds %.4g, relative roughness %.4g: %w: Colebrook's formula holds to Reynolds 1e8 and roughness 0.05",
			re, relative, ErrOutsideModel)
	}
	return frictionAt(re, relative, startX(relative)).f, nil
}

// startX is where iterations for x = 1/sqrt f begin: a parabola in the root of the
// relative roughness, drawn by eye within 4 % of Colebrook at Reynolds 6e4, where dryer
// ducts work. It spares steps and has no part in the answer.
func startX(relative float64) float64 {
	root := math.Sqrt(relative)
	return 7.15 + root*(38*root-24)
}

// friction is a friction factor with its slopes.
type friction struct {
	f, byReynolds, byRoughness float64
	x                          float64 // Colebrook's 1/sqrt f, a start for a duct much like this one
}

// frictionAt covers the three regimes; re > 0 and 0 <= relative <= 0.05 are the
// caller's duty. The start x, 3 to 10, changes the time it takes and not the answer.
func frictionAt(re, relative, x float64) friction {
	switch {
	case re <= laminarEnd:
		return friction{f: 64 / re, byReynolds: -64 / (re * re), x: x}
	case re >= turbulentStart:
		return colebrook(re, relative, x)
	}
	const laminar = 64 / laminarEnd
	t := colebrook(turbulentStart, relative, x)
	share := (re - laminarEnd) / (turbulentStart - laminarEnd)
	return friction{
		f:           laminar + (t.f-laminar)*share,
		byReynolds:  (t.f - laminar) / (turbulentStart - laminarEnd),
		byRoughness: t.byRoughness * share,
		x:           t.x,
	}
}

// colebrook solves 1/sqrt f = -2 log10(e/3.7D + 2.51/(Re sqrt f)) by Newton in
// x = 1/sqrt f. The left side minus the right is rising and concave in x, so
// after the first step the iterates climb to the root from below and cannot
// leave it: five steps reach the last digit for every turbulent duct.
func colebrook(re, relative, x float64) friction {
	rough, s := relative/3.7, 2.51/re
	var arg float64
	for range 20 {
		arg = rough + s*x
		step := (x + log10Squared*math.Log(arg)) * arg / (arg + log10Squared*s)
		x -= step
		if math.Abs(step) <= 1e-7*x { // the next step would be the square of this one
			break
		}
	}
	arg = rough + s*x
	slope := -2 * log10Squared / (x * x * x * (arg + log10Squared*s))
	return friction{
		f:           1 / (x * x),
		byReynolds:  slope * s * x / re,
		byRoughness: -slope / 3.7,
		x:           x,
	}
}

// FrictionLoss is the pressure lost to the wall of a straight round duct by
// Darcy-Weisbach, f (L/D) rho v^2/2. Roughness is a height in metres. A flow of
// zero loses nothing; anything the friction formulas do not hold for is an error.
func FrictionLoss(air Air, flow CubicMetersPerSecond, length, diameter, roughness Meters) (Pascals, error) {
	if !(length >= 0) || !(diameter > 0) || !(flow >= 0) || !finite(float64(length)+float64(diameter)) {
		return 0, fmt.Errorf("friction of %.4g m of %.4g m duct at %.4g m3/s: %w: flow and length must not be negative and the diameter must be above zero",
			float64(length), float64(diameter), float64(flow), ErrOutsideModel)
	}
	if flow == 0 || length == 0 {
		return 0, nil
	}
	v := flow.SpeedIn(diameter)
	f, err := FrictionFactor(air.Reynolds(v, diameter), float64(roughness/diameter))
	if err != nil {
		return 0, err
	}
	return Pascals(f*float64(length/diameter)) * air.VelocityPressure(v), nil
}
