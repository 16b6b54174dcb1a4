package intake

import (
	"fmt"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// The bounds are the nouns' own (100 m, 50 to 600 mm, 2500 Pa, 40 m/s, 3 m³/s, 1 m³), here turned into the unit given by
// hand: 100/0.3048 = 328.08, 0.05/0.0254 = 1.9685, 0.6/0.0254 = 23.622, 2500/249.08891 = 10.036 (inch of water at 4 °C,
// NIST SP 811: 249.082 Pa, 10.036), 40/0.00508 = 7874.0, 3/0.000471947 = 6356.6, 1/0.0283168 = 35.314.
func TestAFigureIsRefusedInTheUnitItWasGivenIn(t *testing.T) {
	for _, x := range []struct {
		column, text string
		units        vent.UnitSystem
		want         string // "": taken
	}{
		{"duct_length", "10000 ft", vent.US, "between 0 and 328 ft"},
		{"duct_length", "10000", vent.US, "between 0 and 328 ft"},
		{"duct_length", "10000", vent.SI, "between 0 and 100 m"},
		{"duct_length", "400 ft 6 in", vent.SI, "between 0 and 328 ft"},
		{"duct_length", "100001 mm", vent.US, "between 0 and 100000 mm"},
		{"duct_length", "328 ft", vent.US, ""},
		{"duct_length", "100 m", vent.US, ""},
		{"duct_diameter", "100 in", vent.US, "between 1.969 and 23.62 in"},
		{"duct_diameter", "1 in", vent.US, "between 1.969 and 23.62 in"},
		{"duct_diameter", "700", vent.SI, "between 50 and 600 mm"},
		{"duct_diameter", "600 mm", vent.US, ""},
		{"max_static", "77 in w.c.", vent.US, "between 0 and 10.03 in w.c."},
		{"max_static", "-1 Pa", vent.US, "between 0 and 2500 Pa"},
		{"static_before", "-1 Pa", vent.US, ""},
		{"speed_before", "100000 fpm", vent.SI, "between 0 and 7874 fpm"},
		{"flow_before", "99999 cfm", vent.SI, "between 0 and 6356 cfm"},
		{"washer_volume", "9000 cu ft", vent.SI, "between 0 and 35.31 cu ft"},
		{"washer_volume", "2 m3", vent.US, "between 0 and 1 m3"},
	} {
		_, err := ReadCell(x.column, x.text, x.units)
		if (err == nil) != (x.want == "") || err != nil && !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s %q: %v, want %q", x.column, x.text, err, x.want)
		}
	}
}

// The nouns refuse the same figures, so that no cell is taken that its record refuses, or the other way round.
func TestTheNounsHaveTheBoundsOfTheirCells(t *testing.T) {
	duct := func(length, bore float64) error {
		d := airflow.Duct{Sections: []airflow.Section{{Length: airflow.Meters(length), Diameter: airflow.Meters(bore), Material: airflow.SmoothMetal}}}
		d.Outlet.Kind = airflow.OutletFlapper
		return d.Validate()
	}
	reading := func(q vent.Quantity) func(v float64) error {
		return func(v float64) error { return vent.Reading{Quantity: q, Value: v}.Valid().Err() }
	}
	for _, x := range []struct {
		column, unit string
		si           float64
		lo, hi       float64
		noun         func(v float64) error
	}{
		{"duct_length", "m", 1, 0.5, 100, func(v float64) error { return duct(v, 0.1) }},
		{"duct_diameter", "mm", 0.001, 50, 600, func(v float64) error { return duct(5, v) }},
		{"speed_after", "m/s", 1, 0, 40, reading(vent.AirSpeed)},
		{"static_after", "Pa", 1, -50, 2500, reading(vent.Static)},
		{"flow_after", "m3/s", 1, 0, 3, reading(vent.Flow)},
	} {
		for _, v := range []float64{x.lo, x.hi, x.hi * 1.001, x.lo*0.999 - 0.001} {
			_, err := ReadCell(x.column, fmt.Sprintf("%g %s", v, x.unit), vent.SI)
			if noun := x.noun(v * x.si); (err == nil) != (noun == nil) && v >= 0 {
				t.Errorf("%s %g %s: the cell says %v, the noun %v", x.column, v, x.unit, err, noun)
			}
		}
	}
}
