package airflow

import (
	"fmt"
	"math"
)

// Air is what the formulas need to know of the exhaust air.
type Air struct {
	Density   KilogramsPerCubicMeter
	Viscosity PascalSeconds // dynamic
}

// Ranges in which the dry-air formulas are used.
const (
	minTemperature Celsius = 0
	maxTemperature Celsius = 150
	minAltitude    Meters  = -450 // the lowest shores on land
	maxAltitude    Meters  = 5500 // above the highest towns
)

// seaLevel is the standard atmosphere at sea level.
const seaLevel Pascals = 101325

// StandardAir is the air that ventilation figures are stated for: 0.075 lb/ft3
// (1.2014 kg/m3), and the viscosity that makes Re = 8.56 D[in] V[fpm] (read:
// ASHRAE fitting table notes; 1.507e-5 m2/s computed from it).
func StandardAir() Air { return Air{Density: 1.2014, Viscosity: 1.2014 * 1.507e-5} }

// AirAt gives dry air at a temperature (0 to 150 C) and an absolute pressure:
// density by the ideal gas law, R = 287.05 J/(kg K), viscosity by Sutherland's
// law with 1.716e-5 Pa s at 273.15 K and S = 110.4 K (memory: standard
// constants). Moisture is left out: saturated exhaust at 60 C is about 7 % less dense,
// which changes blower and duct alike.
func AirAt(t Celsius, pressure Pascals) (Air, error) {
	if !(t >= minTemperature && t <= maxTemperature) {
		return Air{}, fmt.Errorf("air at %.4g C: %w: give a temperature between %g and %g C",
			float64(t), ErrOutsideModel, float64(minTemperature), float64(maxTemperature))
	}
	if !(pressure > 0) || math.IsInf(float64(pressure), 0) {
		return Air{}, fmt.Errorf("air at %.4g Pa: %w: give the absolute pressure, such as 101325 Pa",
			float64(pressure), ErrOutsideModel)
	}
	const gasConstant, reference, sutherland = 287.05, 1.716e-5, 110.4
	k := float64(t.Kelvin())
	ratio := k / zeroCelsius
	return Air{
		Density:   KilogramsPerCubicMeter(float64(pressure) / (gasConstant * k)),
		Viscosity: PascalSeconds(reference * ratio * math.Sqrt(ratio) * (zeroCelsius + sutherland) / (k + sutherland)),
	}, nil
}

// PressureAtAltitude is the standard atmosphere's pressure, -450 to 5500 m
// (memory: barometric formula of the ISO 2533 troposphere).
func PressureAtAltitude(h Meters) (Pascals, error) {
	if !(h >= minAltitude && h <= maxAltitude) {
		return 0, fmt.Errorf("altitude %.4g m: %w: give a height between %g and %g m",
			float64(h), ErrOutsideModel, float64(minAltitude), float64(maxAltitude))
	}
	return seaLevel * Pascals(math.Pow(1-2.25577e-5*float64(h), 5.25588)), nil
}

// VelocityPressure is the pressure of motion, rho v^2 / 2.
func (a Air) VelocityPressure(v MetersPerSecond) Pascals {
	return Pascals(float64(a.Density) * float64(v) * float64(v) / 2)
}

// PitotSpeed is the speed that a velocity pressure stands for; the inverse of
// VelocityPressure. A negative pressure has no speed and gives an error.
func (a Air) PitotSpeed(vp Pascals) (MetersPerSecond, error) {
	if !(vp >= 0) || math.IsInf(float64(vp), 0) || !(a.Density > 0) {
		return 0, fmt.Errorf("speed from velocity pressure %.4g Pa: %w: swap the two hoses of the gauge or read again",
			float64(vp), ErrOutsideModel)
	}
	return MetersPerSecond(math.Sqrt(2 * float64(vp) / float64(a.Density))), nil
}

// Reynolds is the Reynolds number rho v D / mu.
func (a Air) Reynolds(v MetersPerSecond, diameter Meters) float64 {
	return float64(a.Density) * float64(v) * float64(diameter) / float64(a.Viscosity)
}
