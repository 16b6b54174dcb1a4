package airflow

import "math"

// Meters is a length or a diameter in metres.
type Meters float64

// SquareMeters is an area in square metres.
type SquareMeters float64

// Pascals is a pressure in pascals; a static pressure is relative to the room.
type Pascals float64

// MetersPerSecond is an air speed.
type MetersPerSecond float64

// CubicMetersPerSecond is a volume flow at the temperature of the exhaust.
type CubicMetersPerSecond float64

// Celsius is a temperature in degrees Celsius.
type Celsius float64

// Kelvin is an absolute temperature.
type Kelvin float64

// KilogramsPerCubicMeter is a density.
type KilogramsPerCubicMeter float64

// PascalSeconds is a dynamic viscosity.
type PascalSeconds float64

// Exact by definition, except the inch of water, which is the conventional
// value for water at 4 C (NIST SP 811, appendix B: 249.0889 Pa).
const (
	metersPerFoot             = 0.3048
	metersPerInch             = 0.0254
	pascalsPerInchWater       = 249.0889
	pascalsPerMillimeterWater = 9.80665
	secondsPerMinute          = 60
	secondsPerHour            = 3600
	zeroCelsius               = 273.15
)

const (
	cubicMetersPerCubicFoot    = metersPerFoot * metersPerFoot * metersPerFoot
	metersPerSecondPerFPM      = metersPerFoot / secondsPerMinute
	cubicMetersPerSecondPerCFM = cubicMetersPerCubicFoot / secondsPerMinute
)

// Feet gives the length of so many feet.
func Feet(ft float64) Meters { return Meters(ft * metersPerFoot) }

// Inches gives the length of so many inches.
func Inches(in float64) Meters { return Meters(in * metersPerInch) }

// Millimeters gives the length of so many millimetres.
func Millimeters(mm float64) Meters { return Meters(mm / 1000) }

// Feet gives the length in feet.
func (m Meters) Feet() float64 { return float64(m) / metersPerFoot }

// Inches gives the length in inches.
func (m Meters) Inches() float64 { return float64(m) / metersPerInch }

// Millimeters gives the length in millimetres.
func (m Meters) Millimeters() float64 { return float64(m) * 1000 }

// SquareInches gives the area of so many square inches.
func SquareInches(in2 float64) SquareMeters {
	return SquareMeters(in2 * metersPerInch * metersPerInch)
}

// SquareInches gives the area in square inches.
func (a SquareMeters) SquareInches() float64 {
	return float64(a) / (metersPerInch * metersPerInch)
}

// SquareFeet gives the area in square feet.
func (a SquareMeters) SquareFeet() float64 {
	return float64(a) / (metersPerFoot * metersPerFoot)
}

// BoreArea is the cross-section of a round duct.
func BoreArea(diameter Meters) SquareMeters {
	return SquareMeters(math.Pi / 4 * float64(diameter) * float64(diameter))
}

// Diameter is the diameter of the round duct that has this area.
func (a SquareMeters) Diameter() Meters { return Meters(math.Sqrt(4 / math.Pi * float64(a))) }

// InchesWater gives the pressure of so many inches of water column (in w.c.).
func InchesWater(in float64) Pascals { return Pascals(in * pascalsPerInchWater) }

// InchesWater gives the pressure in inches of water column (in w.c.).
func (p Pascals) InchesWater() float64 { return float64(p) / pascalsPerInchWater }

// FeetPerMinute gives the speed of so many feet per minute (fpm).
func FeetPerMinute(fpm float64) MetersPerSecond {
	return MetersPerSecond(fpm * metersPerSecondPerFPM)
}

// FeetPerMinute gives the speed in feet per minute (fpm).
func (v MetersPerSecond) FeetPerMinute() float64 { return float64(v) / metersPerSecondPerFPM }

// CFM gives the flow of so many cubic feet per minute.
func CFM(cfm float64) CubicMetersPerSecond {
	return CubicMetersPerSecond(cfm * cubicMetersPerSecondPerCFM)
}

// CFM gives the flow in cubic feet per minute.
func (q CubicMetersPerSecond) CFM() float64 { return float64(q) / cubicMetersPerSecondPerCFM }

// LitersPerSecond gives the flow of so many litres per second.
func LitersPerSecond(l float64) CubicMetersPerSecond { return CubicMetersPerSecond(l / 1000) }

// LitersPerSecond gives the flow in litres per second.
func (q CubicMetersPerSecond) LitersPerSecond() float64 { return float64(q) * 1000 }

// CubicMetersPerHour gives the flow in cubic metres per hour.
func (q CubicMetersPerSecond) CubicMetersPerHour() float64 { return float64(q) * secondsPerHour }

// SpeedIn is the mean speed of the flow in a round duct.
func (q CubicMetersPerSecond) SpeedIn(diameter Meters) MetersPerSecond {
	return MetersPerSecond(float64(q) / float64(BoreArea(diameter)))
}

// FlowIn is the flow that a mean speed makes in a round duct.
func (v MetersPerSecond) FlowIn(diameter Meters) CubicMetersPerSecond {
	return CubicMetersPerSecond(float64(v) * float64(BoreArea(diameter)))
}

// Fahrenheit gives the temperature of so many degrees Fahrenheit.
func Fahrenheit(f float64) Celsius { return Celsius((f - 32) / 1.8) }

// Fahrenheit gives the temperature in degrees Fahrenheit.
func (c Celsius) Fahrenheit() float64 { return float64(c)*1.8 + 32 }

// Kelvin gives the absolute temperature.
func (c Celsius) Kelvin() Kelvin { return Kelvin(c + zeroCelsius) }

// Celsius gives the temperature in degrees Celsius.
func (k Kelvin) Celsius() Celsius { return Celsius(k - zeroCelsius) }

// finite tells whether x is an ordinary number.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
