package vent

import "ventdue/vent/airflow"

// ApplianceKind is what an appliance is.
type ApplianceKind string

// The kinds of appliances.
const (
	Dryer      ApplianceKind = "dryer"
	Booster    ApplianceKind = "booster"   // powered ventilator in the run
	LintTrap   ApplianceKind = "lint_trap" // secondary trap in the run
	SmokeAlarm ApplianceKind = "smoke_alarm"
	COAlarm    ApplianceKind = "co_alarm"
)

// Fuel is how a dryer makes heat.
type Fuel string

// The fuels. A ventless dryer has no exhaust run.
const (
	Electric Fuel = "electric"
	Gas      Fuel = "gas"
	Ventless Fuel = "ventless"
)

// FuseStops says what an open thermal fuse stops on this model. It is a fact of the model, not a belief:
// unknown until somebody looked.
type FuseStops string

// What a thermal fuse can stop.
const (
	StopsUnknown FuseStops = ""
	StopsMotor   FuseStops = "motor"
	StopsHeat    FuseStops = "heat"
)

// Appliance is a dryer, a booster or lint trap in the run, or a smoke or CO alarm.
type Appliance struct {
	ID        ID                 `json:"id" cbor:"1,keyasint"`
	Ref       string             `json:"ref,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	UnitID    ID                 `json:"unit_id" cbor:"3,keyasint"`
	Kind      ApplianceKind      `json:"kind" cbor:"4,keyasint"`
	Fuel      Fuel               `json:"fuel,omitempty" cbor:"5,keyasint,omitempty,omitzero"`  // dryers only
	Class     airflow.DryerClass `json:"class,omitempty" cbor:"6,keyasint,omitempty,omitzero"` // dryers only; "" is full size
	Maker     string             `json:"maker,omitempty" cbor:"7,keyasint,omitempty,omitzero"`
	Model     string             `json:"model,omitempty" cbor:"8,keyasint,omitempty,omitzero"`
	Serial    string             `json:"serial,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	Made      Date               `json:"made,omitzero" cbor:"10,keyasint,omitempty,omitzero"`      // from the plate
	Installed Date               `json:"installed,omitzero" cbor:"11,keyasint,omitempty,omitzero"` // first day in use here
	// MaxStatic is the maker's limit for static pressure at the dryer's outlet while running; 0 takes the class default.
	MaxStatic airflow.Pascals `json:"max_static_pa,omitempty" cbor:"12,keyasint,omitempty,omitzero"`
	// Blower is the blower's curve; nil takes the class default.
	Blower    *airflow.Blower `json:"blower,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	FuseStops FuseStops       `json:"fuse_stops,omitempty" cbor:"14,keyasint,omitempty,omitzero"`
	Volts     float64         `json:"volts,omitempty" cbor:"15,keyasint,omitempty,omitzero"`        // heater, from the plate
	Watts     float64         `json:"watts,omitempty" cbor:"16,keyasint,omitempty,omitzero"`        // heater, from the plate
	Listed    bool            `json:"listed,omitempty" cbor:"17,keyasint,omitempty,omitzero"`       // booster or trap: listed for dryers
	Replace   Date            `json:"replace_by,omitzero" cbor:"18,keyasint,omitempty,omitzero"`    // alarm: the maker's own date
	Removed   Date            `json:"removed,omitzero" cbor:"19,keyasint,omitempty,omitzero"`       // first day no longer here
	HasCO     bool            `json:"has_co_alarm,omitempty" cbor:"20,keyasint,omitempty,omitzero"` // a CO alarm is near this dryer
	// LintCarry says that the maker demands 1 200 ft/min in the duct so that lint stays airborne.
	LintCarry bool `json:"lint_carry,omitempty" cbor:"21,keyasint,omitempty,omitzero"`
}

// The makers' usual limits for static pressure at the outlet, where the appliance's own is not known.
// Sources: one maker's residential installation sheet prints 0.6 in w.c., another 0.75; commercial tumbler manuals
// print 0 to 0.3 in w.c. The stricter of the two household figures is the default.
const (
	MaxStaticHome    airflow.Pascals = 0.6 * 249.1
	MaxStaticTumbler airflow.Pascals = 0.3 * 249.1
)

// StaticLimit gives the pressure that the dryer's outlet must not exceed.
func (a Appliance) StaticLimit() airflow.Pascals {
	switch {
	case a.MaxStatic > 0:
		return a.MaxStatic
	case a.Class == airflow.LargeTumbler:
		return MaxStaticTumbler
	}
	return MaxStaticHome
}

// BlowerCurve gives the dryer's own blower curve or its class's default.
func (a Appliance) BlowerCurve() airflow.Blower {
	if a.Blower != nil {
		return *a.Blower
	}
	if a.Class == "" {
		return airflow.FullSize.Blower()
	}
	return a.Class.Blower()
}

// Vented reports whether the appliance is a dryer that needs an exhaust run.
func (a Appliance) Vented() bool { return a.Kind == Dryer && a.Fuel != Ventless }

// Valid lists what is wrong with the appliance.
func (a Appliance) Valid() Problems {
	var p Problems
	oneOf(&p, "kind", a.Kind, Dryer, Booster, LintTrap, SmokeAlarm, COAlarm)
	if a.Kind == Dryer {
		oneOf(&p, "fuel", a.Fuel, Electric, Gas, Ventless)
		oneOf(&p, "class", a.Class, append(airflow.DryerClasses(), "")...)
	}
	oneOf(&p, "fuse_stops", a.FuseStops, StopsUnknown, StopsMotor, StopsHeat)
	for _, f := range []struct {
		name string
		text string
	}{{"ref", a.Ref}, {"maker", a.Maker}, {"model", a.Model}, {"serial", a.Serial}} {
		text(&p, f.name, f.text)
	}
	day(&p, "made", a.Made, false)
	day(&p, "installed", a.Installed, false)
	day(&p, "replace_by", a.Replace, false)
	day(&p, "removed", a.Removed, false)
	if a.Made != 0 && a.Installed != 0 && a.Installed < a.Made {
		p.Add("installed", a.Installed.String(), "is before the dryer was made on %s", a.Made)
	}
	between(&p, "max_static_pa", float64(a.MaxStatic), 0, 2500)
	between(&p, "volts", a.Volts, 0, 600)
	between(&p, "watts", a.Watts, 0, 100e3)
	if a.Blower != nil {
		if err := a.Blower.Validate(); err != nil {
			p.Add("blower", "", "%v", err)
		}
	}
	return p
}
