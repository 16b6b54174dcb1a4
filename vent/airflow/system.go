package airflow

import (
	"fmt"
	"math"
)

// maxSegments is how many different pairs of bore and roughness one route may have.
const maxSegments = 12

// lintRoughness is the height of a lint layer's roughness as a share of its
// thickness. No measurement is published; a fifth makes a 5 mm layer as rough as
// the "medium rough" class of duct (3e-3 ft) and a 15 mm layer as "rough" (1e-2 ft).
const lintRoughness = 0.2

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
	bore, roughness Meters
	a               float64 // pressure lost at free-air flow is a times f
	reynolds        float64 // at free-air flow
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
	s.addLosses(&d)
	return s, nil
}

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
	if float64(sec.Roughness/sec.Diameter) > maxRelativeRoughness {
		return fmt.Errorf("roughness %.3g mm in a %.4g mm bore: %w: Colebrook's formula holds to a twentieth of the bore, give a wider bore or a smaller roughness",
			sec.Roughness.Millimeters(), sec.Diameter.Millimeters(), ErrOutsideModel)
	}
	s.widestBore = max(s.widestBore, sec.Diameter)
	a := s.velocityPressure(sec.Diameter) * float64(sec.Length/sec.Diameter) * sec.FlexFactor
	for i := range s.n {
		if g := &s.segments[i]; g.bore == sec.Diameter && g.roughness == sec.Roughness {
			g.a += a
			return nil
		}
	}
	if s.n == maxSegments {
		return fmt.Errorf("%w: more than %d different pairs of bore and roughness, join the shortest ones", ErrOutsideModel, maxSegments)
	}
	s.segments[s.n] = segment{
		bore:      sec.Diameter,
		roughness: sec.Roughness,
		a:         a,
		reynolds:  s.air.Reynolds(s.freeAir.SpeedIn(sec.Diameter), sec.Diameter),
	}
	s.n++
	return nil
}

// addLosses sums the losses that do not depend on friction. Where the bore is
// smaller than the dryer's outlet, the air must be sped up: with r the ratio of
// the bores, 1 - r^4 of the narrow bore's velocity pressure turns from static
// pressure to motion and 0.5 (1 - r^2) is lost (memory: sudden contraction).
// What a widening would give back is not counted.
func (s *System) addLosses(d *Duct) {
	narrowest := d.outletWithDefaults().Diameter
	for i := range s.n {
		narrowest = min(narrowest, s.segments[i].bore)
	}
	for _, f := range d.Fittings {
		f = d.fittingWithDefaults(f)
		s.k += float64(f.Count) * f.K * s.velocityPressure(f.Diameter)
		narrowest = min(narrowest, f.Diameter)
	}
	outlet := d.outletWithDefaults()
	s.outletBore = outlet.Diameter
	s.k += outlet.K * s.velocityPressure(outlet.Diameter)

	dryer := d.DryerOutlet
	if dryer == 0 {
		dryer = DefaultDryerOutlet
	}
	if r := float64(narrowest / dryer); r < 1 {
		s.k += (1 - math.Pow(r, 4) + 0.5*(1-r*r)) * s.velocityPressure(narrowest)
	}
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
	return Pascals(share * share * l.loss(share)), nil
}

// linted is a system's loss at free-air flow as lint changes it.
type linted struct {
	segments [maxSegments]lintedSegment
	n        int
	k        float64
}

type lintedSegment struct {
	a, reynolds, relative float64
	roughening            float64 // slope of relative with lint
}

// withLint narrows every bore to the share g = 1 - b that is left. At one flow
// a loss coefficient then costs g^-4 and friction g^-5, the Reynolds number rises
// by 1/g, and a layer of b D/2 adds lintRoughness of its thickness to the wall's
// roughness. Relative roughness ends at the 0.05 that the friction formula holds for.
func (s *System) withLint(b float64) linted {
	g := 1 - b
	inverse4 := 1 / (g * g * g * g)
	l := linted{n: s.n, k: s.k * inverse4}
	for i := range s.n {
		seg := &s.segments[i]
		out := lintedSegment{a: seg.a * inverse4 / g, reynolds: seg.reynolds / g}
		out.relative = (float64(seg.roughness/seg.bore) + lintRoughness/2*b) / g
		out.roughening = (lintRoughness/2 + out.relative) / g
		if out.relative >= maxRelativeRoughness {
			out.relative, out.roughening = maxRelativeRoughness, 0
		}
		l.segments[i] = out
	}
	return l
}

// loss is the pressure lost at free-air flow if friction were that of the flow's share q.
func (l *linted) loss(q float64) float64 {
	sum := l.k
	for i := range l.n {
		seg := &l.segments[i]
		sum += seg.a * frictionAt(q*seg.reynolds, seg.relative).f
	}
	return sum
}
