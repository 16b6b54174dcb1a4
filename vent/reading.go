package vent

// Quantity is what a reading measures. Its unit is fixed: values are stored in SI.
type Quantity string

// The quantities and their stored units.
const (
	AirSpeed   Quantity = "air_speed"       // m/s, at the outlet
	Static     Quantity = "static_pressure" // Pa, at the dryer's outlet
	Flow       Quantity = "flow"            // m³/s
	ExhaustT   Quantity = "exhaust_temp"    // °C
	Flap       Quantity = "flap"            // share open: 1 full, 0.5 half, 0 not
	DryMinutes Quantity = "drying_minutes"  // minutes for a usual load
	LintMass   Quantity = "lint_mass"       // kg taken out
	Ohms       Quantity = "ohms"            // Ω, part checks
)

// Condition is something about a reading that decides how far it can be compared with another.
type Condition string

// The conditions. A reading of air is comparable when all of these hold.
const (
	SamePoint   Condition = "same_point"   // where the version's other readings were taken
	FlapOpen    Condition = "flap_open"    // flap held or blown fully open
	EmptyDrum   Condition = "empty_drum"   // no load
	CleanScreen Condition = "clean_screen" // lint screen just cleaned
	WarmDryer   Condition = "warm"         // running hot for minutes
	PushedBack  Condition = "pushed_back"  // dryer back in its place, transition as it stays
)

// Reading is one figure with its instrument, place and conditions.
type Reading struct {
	Quantity   Quantity    `json:"quantity" cbor:"1,keyasint"`
	Value      float64     `json:"value" cbor:"2,keyasint"`                              // SI, see Quantity
	Given      string      `json:"given,omitempty" cbor:"3,keyasint,omitempty,omitzero"` // as entered, "1250 fpm"
	Instrument string      `json:"instrument,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	Place      string      `json:"place,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Conditions []Condition `json:"conditions,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	// Doubt is the instrument's relative standard error; 0 takes the usual one for the quantity.
	Doubt float64 `json:"doubt,omitempty" cbor:"7,keyasint,omitempty,omitzero"`
}

// span is the range of values of a quantity that a working dryer and instrument can show.
type span struct{ lo, hi float64 }

// spans bounds what is believed; beyond is a slip of the pen or a wrong unit. Air speed: a household
// dryer gives up to about 15 m/s in a 4 in duct, a small outlet opening more.
var spans = map[Quantity]span{
	AirSpeed: {0, 40}, Static: {-50, 2500}, Flow: {0, 3}, ExhaustT: {-40, 250},
	Flap: {0, 1}, DryMinutes: {1, 600}, LintMass: {0, 50}, Ohms: {0, 1e7},
}

// Valid lists what is wrong with the reading.
func (r Reading) Valid() Problems {
	var p Problems
	s, ok := spans[r.Quantity]
	if !ok {
		p.Add("quantity", string(r.Quantity), "is not known: use air_speed, static_pressure, flow, exhaust_temp, flap, drying_minutes, lint_mass or ohms")
		return p
	}
	between(&p, string(r.Quantity), r.Value, s.lo, s.hi)
	between(&p, "doubt", r.Doubt, 0, 1)
	for _, c := range r.Conditions {
		oneOf(&p, "conditions", c, SamePoint, FlapOpen, EmptyDrum, CleanScreen, WarmDryer, PushedBack)
	}
	text(&p, "instrument", r.Instrument)
	text(&p, "place", r.Place)
	return p
}

// Has reports whether the reading was taken under the condition.
func (r Reading) Has(c Condition) bool {
	for _, x := range r.Conditions {
		if x == c {
			return true
		}
	}
	return false
}
