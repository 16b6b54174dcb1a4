package web

import (
	"math"
	"strconv"
	"strings"

	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// figures writes and reads measures in one unit system.
type figures struct{ wording.Words }

func (f figures) us() bool { return f.Units != vent.SI }

// in writes a number with the unit of a key, rounded to so many decimals.
func (f figures) in(unit string, v float64, decimals int) string {
	n := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(n, ".") {
		n = strings.TrimRight(strings.TrimRight(n, "0"), ".")
	}
	if n == "-0" {
		n = "0"
	}
	if math.Abs(v) >= 10000 && decimals == 0 {
		n = grouped(int(math.Round(v)))
	}
	return f.Say("page.unit."+unit, "n", n)
}

func (f figures) length(m airflow.Meters) string {
	if f.us() {
		return f.in("ft", m.Feet(), 1)
	}
	return f.in("m", float64(m), 2)
}

func (f figures) bore(m airflow.Meters) string {
	if f.us() {
		return f.in("in", m.Inches(), 2)
	}
	return f.in("mm", m.Millimeters(), 0)
}

func (f figures) speed(v airflow.MetersPerSecond) string {
	if f.us() {
		return f.in("fpm", v.FeetPerMinute(), 0)
	}
	return f.in("mps", float64(v), 1)
}

func (f figures) pressure(p airflow.Pascals) string {
	if f.us() {
		return f.in("inwc", p.InchesWater(), 2)
	}
	return f.in("pa", float64(p), 0)
}

func (f figures) flow(q airflow.CubicMetersPerSecond) string {
	if f.us() {
		return f.in("cfm", q.CFM(), 0)
	}
	return f.in("lps", q.LitersPerSecond(), 0)
}

func (f figures) temperature(t airflow.Celsius) string {
	if f.us() {
		return f.in("f", t.Fahrenheit(), 0)
	}
	return f.in("c", float64(t), 0)
}

// value writes a reading's figure.
func (f figures) value(r vent.Reading) string {
	switch r.Quantity {
	case vent.AirSpeed:
		return f.speed(airflow.MetersPerSecond(r.Value))
	case vent.Static:
		return f.pressure(airflow.Pascals(r.Value))
	case vent.Flow:
		return f.flow(airflow.CubicMetersPerSecond(r.Value))
	case vent.ExhaustT:
		return f.temperature(airflow.Celsius(r.Value))
	case vent.Flap:
		return f.in("share", r.Value*100, 0)
	case vent.DryMinutes:
		return f.in("minutes", r.Value, 0)
	case vent.LintMass:
		return f.in("grams", r.Value*1000, 0)
	case vent.Ohms:
		return f.in("ohms", r.Value, 1)
	}
	return strconv.FormatFloat(r.Value, 'g', 4, 64)
}

// reading writes a reading with its name: "air speed at the outlet 1,250 ft/min".
func (f figures) reading(r vent.Reading) string {
	return f.Say("page.reading."+string(r.Quantity)) + " " + f.value(r)
}

// unit gives the unit in which a bare figure of the quantity is read, as the parsers of airflow know it.
func (f figures) unit(q vent.Quantity) string {
	switch {
	case q == vent.AirSpeed && f.us():
		return "fpm"
	case q == vent.AirSpeed:
		return "m/s"
	case f.us():
		return "in w.c."
	}
	return "Pa"
}

// parse reads what was typed for a quantity: a figure with a unit, or a bare one in the operator's units. Given keeps
// it as typed, with the unit.
func (f figures) parse(q vent.Quantity, typed string) (vent.Reading, error) {
	typed = strings.Join(strings.Fields(typed), " ")
	if strings.Trim(typed, "+-0123456789.,/ ") == "" {
		typed += " " + f.unit(q)
	}
	r := vent.Reading{Quantity: q, Given: typed}
	if q == vent.AirSpeed {
		v, err := airflow.ParseSpeed(typed)
		r.Value = float64(v)
		return r, err
	}
	v, err := airflow.ParsePressure(typed)
	r.Value = float64(v)
	return r, err
}
