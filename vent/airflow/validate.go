package airflow

import "fmt"

// Ranges of sane geometry. They are wide enough for a large tumbler on a roof
// and narrow enough to catch a figure typed in the wrong unit.
const (
	maxLength     Meters = 100
	minDiameter   Meters = 0.050
	maxDiameter   Meters = 0.600
	maxRoughness  Meters = 0.010
	maxCount             = 50
	maxFlexFactor        = 20
	maxFittingK          = 20
	maxOutletK           = 50
	maxPieces            = 50 // sections, and separate lines of fittings
)

// Validate reports everything that is wrong with the duct, each as a FieldError,
// joined. A valid duct has a way for the air: a transition or at least one section
// with a length, and an outlet.
func (d Duct) Validate() error {
	var p problems
	if d.Transition != (Section{}) {
		d.Transition.validate(&p, "transition")
	}
	if len(d.Sections) > maxPieces {
		p.add("sections", fmt.Sprintf("%d pieces", len(d.Sections)), fmt.Sprintf("join pieces of one material and bore, at most %d", maxPieces))
	}
	if d.Transition.Length+d.StraightLength() == 0 {
		p.add("sections", "no duct at all", "give at least one section with material, length and diameter")
	}
	for i, s := range d.Sections {
		s.validate(&p, fmt.Sprintf("sections[%d]", i))
	}
	if len(d.Fittings) > maxPieces {
		p.add("fittings", fmt.Sprintf("%d lines", len(d.Fittings)), fmt.Sprintf("give each kind once with its count, at most %d lines", maxPieces))
	}
	for i, f := range d.Fittings {
		f.validate(&p, fmt.Sprintf("fittings[%d]", i))
	}
	d.Outlet.validate(&p)
	if d.ExhaustTemperature != 0 {
		p.within("exhaust_temperature", float64(d.ExhaustTemperature), 1, float64(maxTemperature), 1, "C")
	}
	p.within("altitude", float64(d.Altitude), float64(minAltitude), float64(maxAltitude), 1, "m")
	p.bore("dryer_outlet", d.DryerOutlet)
	return p.join()
}

func (s Section) validate(p *problems, field string) {
	if !s.Material.Valid() {
		p.add(field+".material", fmt.Sprintf("%q is not a known material", s.Material), oneOf(Materials()))
	}
	p.within(field+".length", float64(s.Length), 0, float64(maxLength), 1, "m")
	p.within(field+".diameter", float64(s.Diameter), float64(minDiameter), float64(maxDiameter), 1000, "mm")
	p.within(field+".roughness", float64(s.Roughness), 0, float64(maxRoughness), 1000, "mm")
	switch {
	case s.FlexFactor == 0:
	case s.Material.Valid() && !s.Material.Flexible() && s.FlexFactor != 1:
		p.add(field+".flex_factor", fmt.Sprintf("%.4g on rigid duct", s.FlexFactor), "leave it out, only flexible duct can be compressed")
	default:
		p.within(field+".flex_factor", s.FlexFactor, 1, maxFlexFactor, 1, "")
	}
}

func (f Fitting) validate(p *problems, field string) {
	if !f.Kind.Valid() {
		p.add(field+".kind", fmt.Sprintf("%q is not a known fitting", f.Kind), oneOf(FittingKinds()))
	}
	if f.Count < 1 || f.Count > maxCount {
		p.add(field+".count", fmt.Sprintf("%d is not between 1 and %d", f.Count, maxCount), "give how many there are, or leave the fitting out")
	}
	p.bore(field+".diameter", f.Diameter)
	p.within(field+".k", f.K, 0, maxFittingK, 1, "")
}

func (o Outlet) validate(p *problems) {
	if !o.Kind.Valid() {
		p.add("outlet.kind", fmt.Sprintf("%q is not a known outlet", o.Kind), oneOf(OutletKinds()))
	}
	p.bore("outlet.diameter", o.Diameter)
	p.within("outlet.k", o.K, 0, maxOutletK, 1, "")
}

// bore checks an optional diameter.
func (p *problems) bore(field string, d Meters) {
	if d != 0 {
		p.within(field, float64(d), float64(minDiameter), float64(maxDiameter), 1000, "mm")
	}
}
