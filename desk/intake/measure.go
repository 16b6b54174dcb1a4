package intake

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// measure makes the kind of a figure with a unit. A plain number is in the file's unit system, any other text
// is read by airflow's own parser. Figures are kept to a billionth of their unit, so that 35 ft and 10.668 m are one. What
// lies outside the bounds, in SI, is refused in the unit in which it was given; the nouns have the same bounds.
func measure(name, us, si, base string, perUS, perSI float64, in bounds, parse func(string) (float64, error)) kind {
	return kind{name: name, us: us, si: si, base: base, isNum: true, parse: func(s string, units vent.UnitSystem) (Value, error) {
		per, unit := perUS, us
		if units == vent.SI {
			per, unit = perSI, si
		}
		if plainNumber(s) {
			if v, err := strconv.ParseFloat(s, 64); err == nil {
				if v < 0 && name != "pressure" {
					return Value{}, refuse("write it without the sign", "cannot be negative")
				}
				if !math.IsInf(v, 0) {
					return Value{s + " " + unit, billionth(v * per)}, in.check(v*per, per, unit)
				}
			}
		}
		text := s
		if bareFigure(s) {
			text = s + " " + unit
		}
		v, err := parse(text)
		if err != nil {
			what, remedy := Split(err.Error())
			return Value{}, &wrong{strings.TrimPrefix(what, strconv.Quote(shorten(text, 40))+" "), remedy}
		}
		if one, name := unitOf(text, parse); name != "" {
			per, unit = one, name
		}
		return Value{text, billionth(v)}, in.check(v, per, unit)
	}}
}

// bounds are the least and the greatest value that is believed, in SI.
type bounds struct{ lo, hi float64 }

// check refuses v outside the bounds, which are told in a unit of so many SI units. They are rounded inwards.
func (b bounds) check(v, per float64, unit string) error {
	const slip = 1e-9 // of the value: 100 m are 328.0839895 ft
	if v >= b.lo-slip*math.Abs(b.lo) && v <= b.hi*(1+slip) {
		return nil
	}
	return refuse("check the figure and its unit", "is not between %s and %s %s", figures(b.lo/per, math.Ceil), figures(b.hi/per, math.Floor), unit)
}

// figures writes a number with four significant figures.
func figures(v float64, round func(float64) float64) string {
	if v == 0 {
		return "0"
	}
	scale := math.Pow(10, 3-math.Floor(math.Log10(math.Abs(v))))
	if n := math.Round(v * scale); math.Abs(n-v*scale) > 1e-6 {
		v = round(v*scale) / scale
	} else {
		v = n / scale // it is that number but for the last bits
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// unitOf gives the unit of a figure as it was written, and how many SI units it is: of "17 ft 6 in" the foot.
func unitOf(text string, parse func(string) (float64, error)) (per float64, name string) {
	name = strings.TrimLeft(text, "0123456789.,/+- ")
	if i := strings.IndexFunc(name, func(r rune) bool { return r >= '0' && r <= '9' }); i > 0 && !strings.HasPrefix(name, "m3") && !strings.HasPrefix(name, "ft3") {
		name = strings.TrimSpace(name[:i])
	}
	per, err := parse("1 " + name)
	if err != nil || per <= 0 {
		return 0, ""
	}
	return per, name
}

func billionth(v float64) float64 { return math.Round(v*1e9) / 1e9 }

// bareFigure reports whether s is digits, points, commas, blanks and fractions alone, so that it takes the file's unit.
func bareFigure(s string) bool {
	return s != "" && strings.Trim(s, "0123456789.,/ -+") == ""
}

func lengthKind() kind {
	return measure("length", "ft", "m", "m", float64(airflow.Feet(1)), 1, bounds{0, 100},
		func(s string) (float64, error) { v, err := airflow.ParseLength(s); return float64(v), err })
}

func boreKind() kind {
	return measure("length", "in", "mm", "m", float64(airflow.Inches(1)), float64(airflow.Millimeters(1)), bounds{0.050, 0.600},
		func(s string) (float64, error) { v, err := airflow.ParseLength(s); return float64(v), err })
}

func speedKind() kind {
	return measure("air speed", "fpm", "m/s", "m/s", float64(airflow.FeetPerMinute(1)), 1, bounds{0, 40},
		func(s string) (float64, error) { v, err := airflow.ParseSpeed(s); return float64(v), err })
}

func flowKind() kind {
	return measure("flow", "cfm", "L/s", "m3/s", float64(airflow.CFM(1)), float64(airflow.LitersPerSecond(1)), bounds{0, 3},
		func(s string) (float64, error) { v, err := airflow.ParseFlow(s); return float64(v), err })
}

// pressureKind takes readings, which a booster makes negative.
func pressureKind() kind { return pressureWithin(bounds{-50, 2500}) }

func pressureWithin(in bounds) kind {
	return measure("pressure", "in w.c.", "Pa", "Pa", float64(airflow.InchesWater(1)), 1, in,
		func(s string) (float64, error) { v, err := airflow.ParsePressure(s); return float64(v), err })
}

// cubicFoot and gallon in m³, exact by definition (NIST SP 811, appendix B).
const (
	cubicFoot = 0.3048 * 0.3048 * 0.3048
	gallon    = 231 * 0.0254 * 0.0254 * 0.0254
)

func volumeKind() kind {
	return measure("volume", "cu ft", "L", "m3", cubicFoot, 0.001, bounds{0, 1}, readVolume)
}

func readVolume(s string) (float64, error) {
	number := strings.TrimRight(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ. ³3")
	unit := strings.ToLower(strings.NewReplacer(" ", "", ".", "").Replace(s[len(number):]))
	if strings.HasSuffix(s, "3") && strings.HasSuffix(number, "m") { // "0.1 m3": the digit belongs to the unit
		unit = "m3"
	}
	factors := map[string]float64{"cuft": cubicFoot, "ft3": cubicFoot, "ft³": cubicFoot, "l": 0.001, "liter": 0.001,
		"liters": 0.001, "litre": 0.001, "litres": 0.001, "m3": 1, "m³": 1, "gal": gallon}
	per, ok := factors[unit]
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if !ok || err != nil || !plainNumber(strings.TrimSpace(number)) || v < 0 || math.IsInf(v, 0) {
		return 0, fmt.Errorf(`%q is not a volume: give cu ft, L, gal or m3, such as "4.5 cu ft" or "127 L"`, shorten(s, 40))
	}
	return v * per, nil
}
