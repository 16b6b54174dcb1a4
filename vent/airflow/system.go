package airflow

import (
	"fmt"
	"math"
)

// maxSegments is how many different pairs of bore and roughness one route may have.
const maxSegments = 8

// System is a route and a blower made ready for computing. It is a plain value,
// safe for concurrent use, and its methods do not allocate. The zero System is not usable.
type System struct {
	air     Air
	freeAir CubicMetersPerSecond
	shutoff Pascals // in the air of this exhaust

	// Pressure lost at free-air flow in the clean duct, split in what depends on
	// friction (per segment, times f) and what does not (k).
	segments [maxSegments]segment
	n        int
	k        float64

	outletBore, widestBore Meters
}

// segment is all the duct of one bore and one roughness.
type segment struct {
	bore     Meters
	relative float64 // roughness over bore
	a        float64 // pressure lost at free-air flow is a times f
	reynolds float64 // at free-air flow
}

// NewSystem makes a route and a blower ready. It validates both and refuses
// what the formulas do not hold for.
func NewSystem(d Duct, b Blower) (System, error) {
	if err := d.Validate(); err != nil {
		return System{}, fmt.Errorf("airflow of a duct: %w", err)
	}
	if err := b.Validate(); err != nil {
		return System{}, fmt.Errorf("airflow with a blower: %w", err)
	}
	air, err := d.exhaust()
	if err != nil {
		return System{}, err
	}
	s := System{air: air, freeAir: b.FreeAir, shutoff: b.shutoffIn(air)}
	if err := s.addSections(&d); err != nil {
		return System{}, err
	}
	narrowest := s.addLosses(&d)
	flow := s.freeAir * CubicMetersPerSecond(s.share(0))
	if v := flow.SpeedIn(narrowest); v > maxSpeed {
		return System{}, fmt.Errorf("%.3g m/s of air in a bore of %.4g mm: %w: above %g m/s air is compressed, check free-air flow and bore",
			float64(v), narrowest.Millimeters(), ErrOutsideModel, float64(maxSpeed))
	}
	return s, nil
}

// maxSpeed is about 0.3 of the speed of sound, up to which air may be taken as incompressible.
const maxSpeed MetersPerSecond = 100

// exhaust is the air in the duct.
func (d *Duct) exhaust() (Air, error) {
	pressure, err := PressureAtAltitude(d.Altitude)
	if err != nil {
		return Air{}, err
	}
	t := d.ExhaustTemperature
	if t == 0 {
		t = DefaultExhaustTemperature
	}
	return AirAt(t, pressure)
}

func (s *System) addSections(d *Duct) error {
	if err := s.addSection(d.Transition); err != nil {
		return fmt.Errorf("transition: %w", err)
	}
	for i := range d.Sections {
		if err := s.addSection(d.Sections[i]); err != nil {
			return fmt.Errorf("sections[%d]: %w", i, err)
		}
	}
	return nil
}

func (s *System) addSection(sec Section) error {
	if sec.Length == 0 {
		return nil
	}
	sec = sec.withDefaults()
	relative := float64(sec.Roughness / sec.Diameter)
	if relative > maxRelativeRoughness {
		return fmt.Errorf("roughness %.3g mm in a %.4g mm bore: %w: Colebrook's formula holds to a twentieth of the bore, give a wider bore or a smaller roughness",
			sec.Roughness.Millimeters(), sec.Diameter.Millimeters(), ErrOutsideModel)
	}
	s.widestBore = max(s.widestBore, sec.Diameter)
	a := s.velocityPressure(sec.Diameter) * float64(sec.Length/sec.Diameter) * sec.FlexFactor
	for i := range s.n {
		if g := &s.segments[i]; g.bore == sec.Diameter && g.relative == relative {
			g.a += a
			return nil
		}
	}
	if s.n == maxSegments {
		return fmt.Errorf("%w: more than %d different pairs of bore and roughness, join the shortest ones", ErrOutsideModel, maxSegments)
	}
	s.segments[s.n] = segment{
		bore:     sec.Diameter,
		relative: relative,
		a:        a,
		reynolds: s.air.Reynolds(s.freeAir.SpeedIn(sec.Diameter), sec.Diameter),
	}
	s.n++
	return nil
}

// addLosses sums the losses that do not depend on friction. Where the bore is
// smaller than the dryer's outlet, the air must be sped up: with r the ratio of
// the bores, 1 - r^4 of the narrow bore's velocity pressure turns from static
// pressure to motion and 0.5 (1 - r^2) is lost (memory: sudden contraction).
// What a widening would give back is not counted. It returns the narrowest bore.
func (s *System) addLosses(d *Duct) Meters {
	outlet := d.outletWithDefaults()
	s.outletBore = outlet.Diameter
	s.k += outlet.K * s.velocityPressure(outlet.Diameter)
	narrowest := outlet.Diameter
	for i := range s.n {
		narrowest = min(narrowest, s.segments[i].bore)
	}
	for _, f := range d.Fittings {
		f = d.fittingWithDefaults(f)
		s.k += float64(f.Count) * f.K * s.velocityPressure(f.Diameter)
		narrowest = min(narrowest, f.Diameter)
	}
	dryer := d.DryerOutlet
	if dryer == 0 {
		dryer = DefaultDryerOutlet
	}
	if r := float64(narrowest / dryer); r < 1 {
		s.k += (1 - math.Pow(r, 4) + 0.5*(1-r*r)) * s.velocityPressure(narrowest)
	}
	return narrowest
}

// velocityPressure is that of the free-air flow in a bore.
func (s *System) velocityPressure(bore Meters) float64 {
	return float64(s.air.VelocityPressure(s.freeAir.SpeedIn(bore)))
}

// Air is the exhaust air the system was made for.
func (s *System) Air() Air { return s.air }

// Shutoff is the blower's shut-off pressure in this exhaust air.
func (s *System) Shutoff() Pascals { return s.shutoff }

// FreeAir is the blower's flow with nothing connected.
func (s *System) FreeAir() CubicMetersPerSecond { return s.freeAir }

// Resistance is the static pressure it takes to drive a flow through the whole
// route, transition included, with lint (0 clean, below 1). The blower has no part
// in it. It is an error where the flow is not above zero or friction leaves the formula's range.
func (s *System) Resistance(flow CubicMetersPerSecond, lint float64) (Pascals, error) {
	share := float64(flow / s.freeAir)
	if !(share > 0) || math.IsInf(share, 0) || !(lint >= 0 && lint < 1) {
		return 0, fmt.Errorf("resistance at %.4g L/s with lint %.4g: %w: the flow must be above 0 and lint at least 0 and below 1",
			flow.LitersPerSecond(), lint, ErrOutsideModel)
	}
	l := s.withLint(lint)
	for i := range s.n {
		if re := share * l.segments[i].reynolds; re > maxReynolds {
			return 0, fmt.Errorf("resistance at %.4g L/s: %w: Reynolds number %.3g is past %g", flow.LitersPerSecond(), ErrOutsideModel, re, maxReynolds)
		}
	}
	loss, _, _ := l.lossAndSlopes(share)
	return Pascals(share * share * loss), nil
}

// linted is a system's loss at free-air flow as lint changes it.
type linted struct {
	segments [maxSegments]lintedSegment
	x        [maxSegments]float64 // 1/sqrt f of each segment, the latest found
	n        int
	k        float64
	left     float64 // share of every bore that is left
}

type lintedSegment struct {
	a, reynolds   float64
	relative      float64 // roughness over bore
	roughening    float64 // slope of relative with lint
	rough, smooth float64 // Colebrook's two terms, relative/3.7 and 2.51/reynolds
}

// withLint narrows every bore to the share g = 1 - b that is left. At one flow
// a loss coefficient then costs g^-4 and friction g^-5, and the Reynolds number
// rises by 1/g.
//
// How lint roughens a duct is not published. Here relative roughness goes from
// the clean wall's to 0.05, the end of the Moody chart, with the share 1 - g^2 of the
// section that is filled: a 5 mm layer in 4 in duct is then about as rough as the
// "medium rough" class of duct (3e-3 ft), which is what flexible duct measures.
func (s *System) withLint(b float64) (l linted) {
	g := 1 - b
	inverse := 1 / g
	inverse4 := inverse * inverse * inverse * inverse
	l.n, l.k, l.left = s.n, s.k*inverse4, g
	for i := range s.n {
		seg, out := &s.segments[i], &l.segments[i]
		out.a, out.reynolds = seg.a*inverse4*inverse, seg.reynolds*inverse
		missing := maxRelativeRoughness - seg.relative
		out.relative = maxRelativeRoughness - missing*g*g
		out.roughening = 2 * missing * g
		out.rough, out.smooth = out.relative/3.7, 2.51/out.reynolds
		l.x[i] = startX(out.relative)
	}
	return l
}

// lossAndSlopes is the loss at free-air flow with the friction that a flow of
// the share q of it has, and that loss's slopes with lint and with q.
func (l *linted) lossAndSlopes(q float64) (loss, byLint, byShare float64) {
	inverse := 1 / l.left
	loss, byLint = l.k, 4*l.k*inverse
	for i := range l.n {
		seg := &l.segments[i]
		re := q * seg.reynolds
		fr := frictionAt(re, seg.relative, l.x[i])
		l.x[i] = fr.x
		loss += seg.a * fr.f
		byLint += seg.a * ((5*fr.f+fr.byReynolds*re)*inverse + fr.byRoughness*seg.roughening)
		byShare += seg.a * fr.byReynolds * seg.reynolds
	}
	return loss, byLint, byShare
}
