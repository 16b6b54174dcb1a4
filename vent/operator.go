package vent

import "unicode/utf8"

// OperatorKind says who runs this installation; it chooses words and defaults, never rules of safety.
type OperatorKind string

// The three kinds of operators.
const (
	Household OperatorKind = "household" // one home
	Buildings OperatorKind = "buildings" // a landlord's own buildings
	Customers OperatorKind = "customers" // a service business
)

// UnitSystem is how figures are shown and read where no unit is written. Stored figures are always SI.
type UnitSystem string

// The two unit systems.
const (
	US UnitSystem = "us" // feet, inches, ft/min, cfm, in w.c., °F
	SI UnitSystem = "si" // metres, millimetres, m/s, L/s, Pa, °C
)

// ClockKind is how times of day are written: 2:30 pm or 14:30.
type ClockKind string

// The two clocks.
const (
	Clock12 ClockKind = "12h"
	Clock24 ClockKind = "24h"
)

// MaxOperatorName is how many letters the operator's name may have.
const MaxOperatorName = 200

// Operator is whoever runs this installation ("you" on the pages). There is exactly one, with the zero ID.
type Operator struct {
	Kind     OperatorKind `json:"kind" cbor:"1,keyasint"`
	Name     string       `json:"name" cbor:"2,keyasint"`
	Zone     string       `json:"zone" cbor:"3,keyasint"` // IANA zone of the office; default for sites and persons
	Units    UnitSystem   `json:"units" cbor:"4,keyasint"`
	Language string       `json:"language,omitempty" cbor:"5,keyasint,omitempty,omitzero"` // BCP 47, default "en"
	Email    string       `json:"email,omitempty" cbor:"6,keyasint,omitempty,omitzero"`    // where the daily summary and failures go
	Phone    string       `json:"phone,omitempty" cbor:"7,keyasint,omitempty,omitzero"`    // shown in reminders: whom to call
	Clock    ClockKind    `json:"clock,omitempty" cbor:"8,keyasint,omitempty,omitzero"`    // "" is 12 h with US units, 24 h with SI
}

// Valid lists what is wrong with the operator.
func (o Operator) Valid() Problems {
	var p Problems
	oneOf(&p, "kind", o.Kind, Household, Buildings, Customers)
	oneOf(&p, "units", o.Units, US, SI)
	oneOf(&p, "clock", o.Clock, "", Clock12, Clock24)
	required(&p, "name", o.Name)
	if n := utf8.RuneCountInString(o.Name); n > MaxOperatorName && n <= maxText {
		p.Add("name", o.Name, "is %d letters long: at most %d, since it stands on every page and in every mail", n, MaxOperatorName)
	}
	text(&p, "language", o.Language)
	text(&p, "phone", o.Phone)
	zone(&p, "zone", o.Zone, true)
	email(&p, "email", o.Email)
	return p
}
