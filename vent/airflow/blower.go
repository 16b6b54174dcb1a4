package airflow

import "fmt"

// Blower is a dryer's fan as two points of its curve, P = Shutoff (1 - (Q/FreeAir)^2).
//
// It is stored by others as JSON and CBOR: names and numbers are for ever.
type Blower struct {
	// FreeAir is the flow with nothing connected, 10 to 5000 L/s.
	FreeAir CubicMetersPerSecond `json:"free_air,omitempty" cbor:"1,keyasint,omitempty"`
	// Shutoff is the static pressure with the outlet closed, 20 to 2000 Pa.
	Shutoff Pascals `json:"shutoff,omitempty" cbor:"2,keyasint,omitempty"`
	// Density is that of the air for which Shutoff is stated; 0: standard air,
	// 1.2014 kg/m3. A fan's pressure is proportional to it (fan law).
	Density KilogramsPerCubicMeter `json:"density,omitempty" cbor:"3,keyasint,omitempty"`
}

// DryerClass is a class of dryer with a usual blower. It is stored as its text.
type DryerClass string

// The classes.
const (
	FullSize     DryerClass = "full_size"
	Compact      DryerClass = "compact"
	LargeTumbler DryerClass = "large_tumbler"
)

type classRow struct {
	class  DryerClass
	blower Blower
	basis  string
}

func (r classRow) key() DryerClass { return r.class }

var classData = []classRow{
	{FullSize, Blower{FreeAir: 225 * cubicMetersPerSecondPerCFM, Shutoff: 1.0 * pascalsPerInchWater},
		"memory: no maker publishes a curve; free air between the 200 cfm of the trade manual (CSIA C-DET 2013) and the 230 cfm quoted for vents, shut-off assumed from back-pressure limits of 0.6 to 0.75 in w.c."},
	{Compact, Blower{FreeAir: 130 * cubicMetersPerSecondPerCFM, Shutoff: 0.8 * pascalsPerInchWater},
		"memory: scaled down from the full-size class"},
	{LargeTumbler, Blower{FreeAir: 750 * cubicMetersPerSecondPerCFM, Shutoff: 0.8 * pascalsPerInchWater},
		"memory: a 30 to 50 lb tumbler; a 110 lb machine moves 2000 cfm (read, a maker's manual): enter the plate's figure"},
}

// DryerClasses lists all classes in the order of a form.
func DryerClasses() []DryerClass { return keys[DryerClass](classData) }

// Valid tells whether c is one of DryerClasses.
func (c DryerClass) Valid() bool { return c != "" && lookup(classData, c).class == c }

// Blower is the class's usual blower, a start to be replaced by figures of the model; zero for an unknown class.
func (c DryerClass) Blower() Blower { return lookup(classData, c).blower }

// Basis says where the class's blower comes from.
func (c DryerClass) Basis() string { return lookup(classData, c).basis }

// Validate reports everything that is wrong with the blower, each as a FieldError, joined.
func (b Blower) Validate() error {
	var p problems
	p.within("free_air", float64(b.FreeAir), 0.010, 5, 1000, "L/s")
	p.within("shutoff", float64(b.Shutoff), 20, 2000, 1, "Pa")
	if b.Density != 0 {
		p.within("density", float64(b.Density), 0.5, 1.5, 1, "kg/m3")
	}
	return p.join()
}

// shutoffIn is the shut-off pressure in air of another density.
func (b Blower) shutoffIn(air Air) Pascals {
	rated := b.Density
	if rated == 0 {
		rated = StandardAir().Density
	}
	return b.Shutoff * Pascals(air.Density/rated)
}

// Pressure is the static pressure the blower makes at a flow, in air of the
// density it is rated for. Flows outside 0..FreeAir are no point of its curve and give an error.
func (b Blower) Pressure(flow CubicMetersPerSecond) (Pascals, error) {
	if !(flow >= 0 && flow <= b.FreeAir) {
		return 0, fmt.Errorf("blower pressure at %.4g L/s: %w: its curve runs from 0 to %.4g L/s",
			flow.LitersPerSecond(), ErrOutsideModel, b.FreeAir.LitersPerSecond())
	}
	share := float64(flow / b.FreeAir)
	return b.Shutoff * Pascals(1-share*share), nil
}
