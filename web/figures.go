package web

import (
	"cmp"
	"strings"

	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// figures writes and reads measures in one unit system.
type figures struct{ wording.Words }

func (f figures) us() bool { return f.Units != vent.SI }

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

// parse reads what was typed for a quantity: a figure with a unit, or a bare one in the unit given, else in the operator's.
// Given keeps it as typed, with the unit.
func (f figures) parse(q vent.Quantity, typed, unit string) (vent.Reading, error) {
	typed = strings.Join(strings.Fields(typed), " ")
	if strings.Trim(typed, "+-0123456789.,/ ") == "" {
		typed += " " + cmp.Or(unit, f.unit(q))
	}
	r := vent.Reading{Quantity: q, Given: typed}
	var err error
	r.Value, err = inSI(q, typed)
	return r, err
}

// inSI reads a figure with its unit.
func inSI(q vent.Quantity, typed string) (float64, error) {
	if q == vent.AirSpeed {
		v, err := airflow.ParseSpeed(typed)
		return float64(v), err
	}
	v, err := airflow.ParsePressure(typed)
	return float64(v), err
}
