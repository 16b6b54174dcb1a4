package airflow

import (
	"errors"
	"fmt"
	"math"
)

// Readings that no amount of lint explains. They come with the nearest end of
// the range (0 or 1), so that nobody takes them for an ordinary answer.
var (
	// ErrFasterThanClean is returned when flow or speed is above the clean value:
	// the clean value was taken with lint in the duct, or the instrument stood elsewhere.
	ErrFasterThanClean = errors.New("faster than the clean duct")
	// ErrStaticBelowClean is returned when the static pressure is below the clean
	// value. With low flow that is not a clean duct but a leak, a duct fallen off, a choked lint screen or a weak blower.
	ErrStaticBelowClean = errors.New("static pressure below that of the clean duct")
	// ErrStaticAboveShutoff is returned when the static pressure reaches what the
	// blower makes against a closed duct: closed, or not this blower.
	ErrStaticAboveShutoff = errors.New("static pressure at or above the blower's shut-off pressure")
)

// readingTolerance is how far past clean a reading may be and still count as
// clean: the rounding of a conversion, not of an instrument.
const readingTolerance = 1e-9

// LintFromFlow is the lint that turns the clean flow into the measured one. A
// clean flow of 0 means the computed one; a measured clean flow is better, since
// then only the ratio matters. No flow at all is b = 1.
func (s *System) LintFromFlow(measured, clean CubicMetersPerSecond) (float64, error) {
	return s.lintFromRatio("flow", "L/s", measured.LitersPerSecond(), clean.LitersPerSecond(), s.freeAir.LitersPerSecond())
}

// LintFromSpeed is LintFromFlow for the air speed at the outlet.
func (s *System) LintFromSpeed(measured, clean MetersPerSecond) (float64, error) {
	return s.lintFromRatio("outlet speed", "m/s", float64(measured), float64(clean), float64(s.freeAir.SpeedIn(s.outletBore)))
}

// lintFromRatio works on any reading that is proportional to flow; full is its value at free-air flow.
func (s *System) lintFromRatio(what, unit string, measured, clean, full float64) (float64, error) {
	cleanShare := s.share(0)
	if clean == 0 {
		clean = full * cleanShare
	}
	if !(measured >= 0 && clean > 0) || !finite(measured+clean) {
		return 0, fmt.Errorf("lint from %s %.4g %s, clean %.4g: %w: neither may be negative or endless", what, measured, unit, clean, ErrOutsideModel)
	}
	if measured > clean*(1+readingTolerance) {
		return 0, fmt.Errorf("lint from %s %.4g %s, clean %.4g: %w: check the clean value and the place of measuring", what, measured, unit, clean, ErrFasterThanClean)
	}
	return s.lintAt(cleanShare * min(1, measured/clean)), nil
}

// LintFromStatic is the lint that raises the static pressure at the dryer's
// outlet from clean to measured; flow falls meanwhile. A clean pressure of 0 means
// the computed one. Both pressures are turned to flow on the blower's curve and
// only the ratio of the flows is used, so a clean value off the computed one does not shift the answer.
func (s *System) LintFromStatic(measured, clean Pascals) (float64, error) {
	cleanShare := s.share(0)
	if clean == 0 {
		clean = s.shutoff * Pascals(1-cleanShare*cleanShare)
	}
	problem := func(err error, remedy string) error {
		return fmt.Errorf("lint from static pressure %.4g Pa, clean %.4g: %w: %s", float64(measured), float64(clean), err, remedy)
	}
	switch {
	case !finite(float64(measured)) || !(clean >= 0 && clean < s.shutoff):
		return 0, problem(ErrOutsideModel, fmt.Sprintf("the clean pressure must be below the blower's shut-off pressure, %.4g Pa", float64(s.shutoff)))
	case measured < clean-s.shutoff*readingTolerance:
		return 0, problem(ErrStaticBelowClean, "with low flow look for a leak, a duct fallen off, a choked screen or the blower")
	case measured >= s.shutoff:
		return 1, problem(ErrStaticAboveShutoff, fmt.Sprintf("it is %.4g Pa: the duct is closed or the blower is not this one", float64(s.shutoff)))
	}
	ratio := math.Sqrt(float64((s.shutoff - measured) / (s.shutoff - clean)))
	return s.lintAt(cleanShare * min(1, ratio)), nil
}

// lintAt is the lint with which the flow is the share q of free air, 0 <= q <= the clean share.
//
// At a given flow the blower's pressure is known and only the loss has to match
// it. The logarithm of the loss is nearly a straight line in the logarithm of the
// bore left, so Newton in those needs three or four steps; a bracket keeps it honest.
func (s *System) lintAt(q float64) float64 {
	if q <= 0 {
		return 1
	}
	target := math.Log(float64(s.shutoff) * (1/(q*q) - 1))
	const closed = -36.0 // e^-36 of the bore is the last that 1 - b can hold
	low, high, y := closed, 0.0, 0.0
	l := s.withLint(0)
	for range maxGuardedSteps {
		loss, slope, _ := l.lossAndSlopes(q)
		miss := math.Log(loss) - target // falls as the bore y grows
		if miss > 0 {
			low = y
		} else {
			high = y
		}
		if y == 0 && miss >= 0 { // clean already
			return 0
		}
		next := y + miss*loss/(slope*math.Exp(y)) // slope is by b = 1 - e^y
		if !(next >= low && next <= high) {
			next = (low + high) / 2
		}
		step := math.Abs(next - y)
		y = next
		if step <= settledLogStep {
			break
		}
		x := l.x
		l = s.withLint(-math.Expm1(y))
		l.x = x
	}
	return min(1, max(0, -math.Expm1(y)))
}
