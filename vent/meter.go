package vent

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ventdue/vent/airflow"
)

// ohmUnits are how people write a resistance's unit, with what it is worth in ohms; the longer ones first.
var ohmUnits = []struct {
	name  string
	worth float64
}{
	{"kilohms", 1e3}, {"kilohm", 1e3}, {"kohms", 1e3}, {"kohm", 1e3}, {"kω", 1e3},
	{"megohms", 1e6}, {"megohm", 1e6}, {"mohms", 1e6}, {"mohm", 1e6}, {"mω", 1e6}, {"ohms", 1}, {"ohm", 1}, {"ω", 1},
}

// ParseMeter reads what a meter showed at a part of a dryer: a resistance ("11.4 ohm", "1.2 kohm"; a bare figure is ohms), or
// the temperature at which it opened ("151 F", "66 C"). "MΩ" is a million ohms: nobody reads thousandths at a dryer.
func ParseMeter(text string) (Reading, error) {
	text = strings.TrimSpace(text)
	r := Reading{Quantity: Ohms, Given: text}
	figure, worth := strings.ToLower(strings.ReplaceAll(text, "\u2126", "Ω")), 1.0 // U+2126 is the unit's own sign
	for _, u := range ohmUnits {
		if n, ok := strings.CutSuffix(figure, u.name); ok {
			figure, worth = strings.TrimSpace(n), u.worth
			break
		}
	}
	v, err := strconv.ParseFloat(strings.Replace(figure, ",", ".", 1), 64)
	if err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
		r.Value = v * worth
		return r, nil
	}
	t, err := airflow.ParseTemperature(text)
	if err != nil {
		return Reading{}, fmt.Errorf("%q is neither a resistance (11.4 ohm) nor a temperature (151 F, 66 C)", text)
	}
	r.Quantity, r.Value = ExhaustT, float64(t)
	return r, nil
}
