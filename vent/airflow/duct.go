package airflow

// Duct is one exhaust route from the dryer's outlet to the open air.
//
// It is stored by others as JSON and CBOR: a field's name and number are for
// ever. New fields take new numbers, a number is never used again.
//
// Zero means "not stated" for every optional figure; WithDefaults writes down
// what is then assumed, so that a stored duct keeps its numbers when a default
// of this package changes.
type Duct struct {
	// Transition is the piece between dryer and duct; length 0: there is none.
	// It counts as resistance, never as code length.
	Transition Section `json:"transition,omitzero" cbor:"1,keyasint,omitzero"`
	// Sections is the straight duct in the order of the air.
	Sections []Section `json:"sections,omitempty" cbor:"2,keyasint,omitempty"`
	// Fittings are the elbows and bends, in any order.
	Fittings []Fitting `json:"fittings,omitempty" cbor:"3,keyasint,omitempty"`
	// Outlet is the terminal outdoors.
	Outlet Outlet `json:"outlet,omitzero" cbor:"4,keyasint,omitzero"`
	// ExhaustTemperature is that of the air in the duct, 1 to 150 C; 0: 60 C.
	ExhaustTemperature Celsius `json:"exhaust_temperature,omitempty" cbor:"5,keyasint,omitempty"`
	// Altitude is the site's height above the sea, -450 to 5500 m.
	Altitude Meters `json:"altitude,omitempty" cbor:"6,keyasint,omitempty"`
	// DryerOutlet is the bore of the dryer's own exhaust outlet; 0: the nominal 4 in
	// or 100 mm. A duct narrower than this costs the pressure to speed the air up.
	DryerOutlet Meters `json:"dryer_outlet,omitempty" cbor:"7,keyasint,omitempty"`
	// Concealed: a part of the duct runs inside a wall, floor or ceiling (some editions then ask for a label).
	Concealed bool `json:"concealed,omitempty" cbor:"8,keyasint,omitempty"`
}

// Section is a length of straight duct of one material and bore.
type Section struct {
	// Material is what it is made of.
	Material Material `json:"material,omitempty" cbor:"1,keyasint,omitempty"`
	// Length is 0 to 100 m.
	Length Meters `json:"length,omitempty" cbor:"2,keyasint,omitempty"`
	// Diameter is the bore, 50 to 600 mm.
	Diameter Meters `json:"diameter,omitempty" cbor:"3,keyasint,omitempty"`
	// Roughness is the height of the wall's roughness, to 10 mm; 0: Material.Roughness.
	Roughness Meters `json:"roughness,omitempty" cbor:"4,keyasint,omitempty"`
	// FlexFactor tells how many times the friction of the same flexible duct fully
	// extended this one has: 1 fully extended, about 4 moderately compressed, 10
	// and more badly (read, LBNL tests of 6 to 10 in flexible duct); 1 to 20; 0: 1.
	FlexFactor float64 `json:"flex_factor,omitempty" cbor:"5,keyasint,omitempty"`
}

// Fitting is a number of equal elbows or bends.
type Fitting struct {
	// Kind is what it is.
	Kind FittingKind `json:"kind,omitempty" cbor:"1,keyasint,omitempty"`
	// Count is 1 to 50.
	Count int `json:"count,omitempty" cbor:"2,keyasint,omitempty"`
	// Diameter is the bore; 0: that of the first of Sections.
	Diameter Meters `json:"diameter,omitempty" cbor:"3,keyasint,omitempty"`
	// K is the loss coefficient of one, to 20; 0: Kind.LossCoefficient.
	K float64 `json:"k,omitempty" cbor:"4,keyasint,omitempty"`
}

// Outlet is the terminal at the end of the duct.
type Outlet struct {
	// Kind is what it is.
	Kind OutletKind `json:"kind,omitempty" cbor:"1,keyasint,omitempty"`
	// Diameter is the bore of its collar, where air speed is measured; 0: that of the last of Sections.
	Diameter Meters `json:"diameter,omitempty" cbor:"2,keyasint,omitempty"`
	// K is the loss coefficient on static pressure, to 50; 0: Kind.LossCoefficient.
	K float64 `json:"k,omitempty" cbor:"3,keyasint,omitempty"`
}

// Defaults of a Duct.
const (
	// DefaultExhaustTemperature is 60 C (140 F), an ordinary mean over a cycle (common practice).
	DefaultExhaustTemperature Celsius = 60
	// DefaultDryerOutlet is the smaller reading of "4 in or 100 mm nominal".
	DefaultDryerOutlet Meters = 0.100
)

// WithDefaults returns a copy in which every figure that was not stated holds the
// number that is assumed for it. It does not check anything: see Validate.
func (d Duct) WithDefaults() Duct {
	if d.ExhaustTemperature == 0 {
		d.ExhaustTemperature = DefaultExhaustTemperature
	}
	if d.DryerOutlet == 0 {
		d.DryerOutlet = DefaultDryerOutlet
	}
	if d.Transition != (Section{}) {
		d.Transition = d.Transition.withDefaults()
	}
	d.Sections = append([]Section(nil), d.Sections...)
	for i := range d.Sections {
		d.Sections[i] = d.Sections[i].withDefaults()
	}
	d.Fittings = append([]Fitting(nil), d.Fittings...)
	for i := range d.Fittings {
		d.Fittings[i] = d.fittingWithDefaults(d.Fittings[i])
	}
	d.Outlet = d.outletWithDefaults()
	return d
}

func (s Section) withDefaults() Section {
	if s.Roughness == 0 {
		s.Roughness = s.Material.Roughness()
	}
	if s.FlexFactor == 0 {
		s.FlexFactor = 1
	}
	return s
}

func (d *Duct) fittingWithDefaults(f Fitting) Fitting {
	if f.Diameter == 0 {
		f.Diameter = d.firstBore()
	}
	if f.K == 0 {
		f.K = f.Kind.LossCoefficient()
	}
	return f
}

func (d *Duct) outletWithDefaults() Outlet {
	o := d.Outlet
	if o.Diameter == 0 {
		o.Diameter = d.lastBore()
	}
	if o.K == 0 {
		o.K = o.Kind.LossCoefficient()
	}
	return o
}

// firstBore is the bore of the duct proper, or of the transition where there is nothing else.
func (d *Duct) firstBore() Meters {
	if len(d.Sections) > 0 {
		return d.Sections[0].Diameter
	}
	return d.Transition.Diameter
}

func (d *Duct) lastBore() Meters {
	if n := len(d.Sections); n > 0 {
		return d.Sections[n-1].Diameter
	}
	return d.Transition.Diameter
}

// StraightLength is the developed length of the straight duct without transition and fittings.
func (d Duct) StraightLength() Meters {
	var sum Meters
	for _, s := range d.Sections {
		sum += s.Length
	}
	return sum
}
