package airflow_test

import (
	"math"
	"strings"
	"testing"

	"ventdue/vent/airflow"
)

func TestParse(t *testing.T) {
	length := func(s string) (float64, error) { v, err := airflow.ParseLength(s); return float64(v), err }
	speed := func(s string) (float64, error) { v, err := airflow.ParseSpeed(s); return float64(v), err }
	flow := func(s string) (float64, error) { v, err := airflow.ParseFlow(s); return float64(v), err }
	pressure := func(s string) (float64, error) { v, err := airflow.ParsePressure(s); return float64(v), err }
	temperature := func(s string) (float64, error) { v, err := airflow.ParseTemperature(s); return float64(v), err }

	for _, c := range []struct {
		parse func(string) (float64, error)
		text  string
		want  float64 // computed by hand from the definitions of the units
	}{
		{speed, "1200 fpm", 6.096}, {speed, "6.1 m/s", 6.1}, {speed, "6,1 m/s", 6.1}, {speed, "1200ft/min", 6.096}, {speed, " 1200 FPM ", 6.096},
		{pressure, "0.6 in w.c.", 149.45334}, {pressure, "0.6 in wc", 149.45334}, {pressure, `0.6"wc`, 149.45334}, {pressure, "0.6 inH2O", 149.45334},
		{pressure, "150 Pa", 150}, {pressure, "-5 Pa", -5}, {pressure, "1.5 hPa", 150}, {pressure, "0,150 kPa", 150}, {pressure, "10 mm H2O", 98.0665},
		{length, "35 ft", 10.668}, {length, "35 ft.", 10.668}, {length, "35'", 10.668}, {length, "4 in", 0.1016}, {length, `4"`, 0.1016}, {length, "4''", 0.1016},
		{length, "100 mm", 0.1}, {length, "10 cm", 0.1}, {length, "10.7 m", 10.7}, {length, "17 ft 6 in", 5.334}, {length, `17'6"`, 5.334}, {length, "17 feet 6 1/2 inches", 5.3467},
		{length, "2-1/2 in", 0.0635}, {length, "2 1/2 in", 0.0635}, {length, "1/8 in", 0.003175}, {length, "3\u00a0m", 3}, {length, ".5 m", 0.5}, {length, "0 ft", 0},
		{flow, "150 cfm", 0.07079211648}, {flow, "47 L/s", 0.047}, {flow, "170 m3/h", 170.0 / 3600}, {flow, "170 m³/h", 170.0 / 3600}, {flow, "0.05 m3/s", 0.05},
		{temperature, "140 F", 60}, {temperature, "140 °F", 60}, {temperature, "60 C", 60}, {temperature, "-40 F", -40}, {temperature, "333.15 K", 60},
	} {
		got, err := c.parse(c.text)
		if err != nil || math.Abs(got-c.want) > 1e-12*max(1, math.Abs(c.want)) {
			t.Errorf("%q = %.12g, %v, want %.12g", c.text, got, err, c.want)
		}
	}

	for _, c := range []struct {
		parse func(string) (float64, error)
		text  string
		says  string
	}{
		{speed, "1200", "unit is missing"}, {speed, "1200 cfm", `unknown unit "cfm"`}, {speed, "-3 m/s", "cannot be negative"}, {speed, "1,200 fpm", "thousands or decimals"},
		{speed, "NaN m/s", "begin with a number"}, {speed, "Inf fpm", "begin with a number"}, {speed, "", "begin with a number"}, {speed, "1e3 fpm", "unknown unit"},
		{speed, "0x10 fpm", "unknown unit"}, {speed, "1.2.3 m/s", "no number"}, {speed, ". m/s", "no number"}, {speed, "1_000 fpm", "unknown unit"},
		{length, strings.Repeat("9", 400) + " ft", "too large"}, {length, "35", "unit is missing"}, {length, "-1 ft", "cannot be negative"}, {length, "17 ft 13 in", "less than a foot"},
		{length, "17 ft 6", "the inches"}, {length, "17 6 in", "two numbers"}, {length, "1/0 in", "bottom number"}, {length, "1/ in", "bottom number"}, {length, "1.5 1/2 in", "two numbers"},
		{length, "12 parsecs", `unknown unit "parsecs"`}, {length, "ft", "begin with a number"}, {length, "-1 ft 6 in", "feet"},
		{flow, "100 fpm", "unknown unit"}, {pressure, "0.6 in", "unknown unit"}, {pressure, "0.6 psi", "unknown unit"},
		{temperature, "-300 C", "absolute zero"}, {temperature, "140", "unit is missing"}, {temperature, "140 F F", "unknown unit"},
	} {
		got, err := c.parse(c.text)
		if err == nil {
			t.Errorf("%q = %g, want an error with %q", c.text, got, c.says)
			continue
		}
		if !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "give ") || len(err.Error()) > 300 {
			t.Errorf("%q: %v, want %q, the accepted units and a readable length", c.text, err, c.says)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"1200 fpm", "6,1 m/s", "0.6 in w.c.", "-5 Pa", "17 ft 6 1/2 in", `17'6"`, "150 cfm", "140 °F", "NaN m", "1/0 in", "", "\xff 3", "٣ m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		check := func(v float64, low float64, err error) {
			t.Helper()
			if err == nil && !(v >= low && v <= math.MaxFloat64) {
				t.Errorf("%q gave %g", text, v)
			}
			if err != nil && (v != 0 || !strings.Contains(err.Error(), "give ")) {
				t.Errorf("%q gave %g with error %q", text, v, err)
			}
		}
		l, err := airflow.ParseLength(text)
		check(float64(l), 0, err)
		v, err := airflow.ParseSpeed(text)
		check(float64(v), 0, err)
		q, err := airflow.ParseFlow(text)
		check(float64(q), 0, err)
		p, err := airflow.ParsePressure(text)
		check(float64(p), -math.MaxFloat64, err)
		c, err := airflow.ParseTemperature(text)
		check(float64(c), -273.15, err)
	})
}
