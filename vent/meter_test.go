package vent

import "testing"

// Worked by hand: 1 kΩ is 1 000 Ω, 151 °F is (151-32)/1.8 = 66.11 °C.
func TestParseMeter(t *testing.T) {
	for _, c := range []struct {
		text string
		q    Quantity
		want float64
	}{
		{"11.4 ohm", Ohms, 11.4}, {" 11,4 ", Ohms, 11.4}, {"0", Ohms, 0}, {"1.2 kohm", Ohms, 1200}, {"1.2 kΩ", Ohms, 1200}, {"10 Ω", Ohms, 10}, {"10 Ω", Ohms, 10},
		{"2 MΩ", Ohms, 2e6}, {"200 Ohms", Ohms, 200}, {"151 F", ExhaustT, 66.111}, {"66 °C", ExhaustT, 66},
	} {
		r, err := ParseMeter(c.text)
		if err != nil || r.Quantity != c.q || r.Value < c.want-0.001 || r.Value > c.want+0.001 {
			t.Errorf("%q: %+v, %v; want %v %v", c.text, r, err, c.want, c.q)
		}
	}
	for _, bad := range []string{"", "ohm", "good", "NaN", "inf ohm", "12 V", "1e999", "--3 ohm"} {
		if r, err := ParseMeter(bad); err == nil {
			t.Errorf("%q is taken for %+v", bad, r)
		}
	}
}
