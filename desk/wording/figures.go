package wording

import (
	"math"
	"strconv"
	"strings"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

func (w Words) us() bool { return w.Units != vent.SI }

// in writes a number with the unit of a key, rounded to so many decimals.
func (w Words) in(unit string, v float64, decimals int) string {
	n := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(n, ".") {
		n = strings.TrimRight(strings.TrimRight(n, "0"), ".")
	}
	if n == "-0" {
		n = "0"
	}
	if math.Abs(v) >= 10000 && decimals == 0 {
		n = Grouped(int(math.Round(v)))
	}
	return w.Say("page.unit."+unit, "n", n)
}

// Length writes a length in feet or metres.
func (w Words) Length(m airflow.Meters) string {
	if w.us() {
		return w.in("ft", m.Feet(), 1)
	}
	return w.in("m", float64(m), 2)
}

// Bore writes a diameter in inches or millimetres.
func (w Words) Bore(m airflow.Meters) string {
	if w.us() {
		return w.in("in", m.Inches(), 2)
	}
	return w.in("mm", m.Millimeters(), 0)
}

// Speed writes an air speed in ft/min or m/s.
func (w Words) Speed(v airflow.MetersPerSecond) string {
	if w.us() {
		return w.in("fpm", v.FeetPerMinute(), 0)
	}
	return w.in("mps", float64(v), 1)
}

// Pressure writes a pressure in inches of water or pascals.
func (w Words) Pressure(p airflow.Pascals) string {
	if w.us() {
		return w.in("inwc", p.InchesWater(), 2)
	}
	return w.in("pa", float64(p), 0)
}

// Flow writes a flow of air in cfm or L/s.
func (w Words) Flow(q airflow.CubicMetersPerSecond) string {
	if w.us() {
		return w.in("cfm", q.CFM(), 0)
	}
	return w.in("lps", q.LitersPerSecond(), 0)
}

// Temperature writes a temperature in °F or °C.
func (w Words) Temperature(t airflow.Celsius) string {
	if w.us() {
		return w.in("f", t.Fahrenheit(), 0)
	}
	return w.in("c", float64(t), 0)
}

// Figure writes a reading's figure.
func (w Words) Figure(r vent.Reading) string {
	switch r.Quantity {
	case vent.AirSpeed:
		return w.Speed(airflow.MetersPerSecond(r.Value))
	case vent.Static:
		return w.Pressure(airflow.Pascals(r.Value))
	case vent.Flow:
		return w.Flow(airflow.CubicMetersPerSecond(r.Value))
	case vent.ExhaustT:
		return w.Temperature(airflow.Celsius(r.Value))
	case vent.Flap:
		return w.in("share", r.Value*100, 0)
	case vent.DryMinutes:
		return w.in("minutes", r.Value, 0)
	case vent.LintMass:
		return w.in("grams", r.Value*1000, 0)
	case vent.Ohms:
		return w.in("ohms", r.Value, 1)
	}
	return strconv.FormatFloat(r.Value, 'g', 4, 64)
}

// Reading writes a reading with its name: "air speed at the outlet 1,250 ft/min".
func (w Words) Reading(r vent.Reading) string {
	return w.Say("page.reading."+string(r.Quantity)) + " " + w.Figure(r)
}

// Grouped writes a count with thin spaces between the thousands, as in 20 000.
func Grouped(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u202f" + s[i:]
	}
	return s
}
