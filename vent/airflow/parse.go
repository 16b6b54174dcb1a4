package airflow

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// quantity says how the text of one kind of figure is read.
type quantity struct {
	name    string // with its article
	accepts string // units and examples for the error
	units   []unit
	signed  bool // below zero has a meaning
}

// unit turns value into SI as value*factor + offset.
type unit struct {
	names          string // separated by blanks, lower case, without inner blanks
	factor, offset float64
}

// The unit tables. Names are compared in lower case, without blanks and dots.
func lengths() quantity {
	return quantity{name: "a length", accepts: `ft, in, m, cm or mm, such as "35 ft", "17 ft 6 in" or "100 mm"`, units: []unit{
		{names: "ft foot feet ' ′", factor: metersPerFoot},
		{names: `in inch inches " ″ ''`, factor: metersPerInch},
		{names: "mm millimeter millimeters millimetre millimetres", factor: 0.001},
		{names: "cm centimeter centimeters centimetre centimetres", factor: 0.01},
		{names: "m meter meters metre metres", factor: 1},
	}}
}

func speeds() quantity {
	return quantity{name: "an air speed", accepts: `fpm or m/s, such as "1200 fpm" or "6.1 m/s"`, units: []unit{
		{names: "fpm ft/min feet/min feetperminute", factor: metersPerSecondPerFPM},
		{names: "m/s mps meterspersecond metrespersecond", factor: 1},
	}}
}

func flows() quantity {
	return quantity{name: "a flow", accepts: `cfm, L/s, m3/h or m3/s, such as "150 cfm" or "47 L/s"`, units: []unit{
		{names: "cfm ft3/min ft³/min cuft/min", factor: cubicMetersPerSecondPerCFM},
		{names: "l/s lps liters/s litres/s", factor: 0.001},
		{names: "m3/h m³/h cmh", factor: 1.0 / secondsPerHour},
		{names: "m3/s m³/s", factor: 1},
	}}
}

func pressures() quantity {
	return quantity{name: "a pressure", accepts: `in w.c. or Pa, such as "0.6 in w.c." or "150 Pa"`, signed: true, units: []unit{
		{names: `inwc inwg inh2o "wc "wg iwc inchwc incheswc inchwater incheswater inofwater inchesofwater`, factor: pascalsPerInchWater},
		{names: "pa pascal pascals", factor: 1},
		{names: "hpa mbar", factor: 100},
		{names: "kpa", factor: 1000},
		{names: "mmh2o mmwc", factor: pascalsPerMillimeterWater},
	}}
}

func temperatures() quantity {
	return quantity{name: "a temperature", accepts: `F or C, such as "140 F" or "60 C"`, signed: true, units: []unit{
		{names: "f °f degf fahrenheit", factor: 1 / 1.8, offset: -32 / 1.8},
		{names: "c °c degc celsius", factor: 1},
		{names: "k kelvin", factor: 1, offset: -zeroCelsius},
	}}
}

// ParseLength reads a length or diameter with its unit: "35 ft", "17 ft 6 in",
// "2 1/2 in", "100 mm", "10.7 m". A bare number, an unknown unit or a negative length is an error.
func ParseLength(text string) (Meters, error) {
	q := lengths()
	if feet, inches, ok := feetAndInches(text); ok {
		ft, err := q.parse(feet + " ft")
		if err != nil {
			return 0, q.problem(text, "cannot read the feet")
		}
		in, err := q.parse(inches)
		if err != nil {
			return 0, q.problem(text, "cannot read the inches")
		}
		if in >= metersPerFoot {
			return 0, q.problem(text, "the inches must be less than a foot")
		}
		return Meters(ft + in), nil
	}
	v, err := q.parse(text)
	return Meters(v), err
}

// ParseSpeed reads an air speed with its unit: "1200 fpm", "6.1 m/s".
func ParseSpeed(text string) (MetersPerSecond, error) {
	v, err := speeds().parse(text)
	return MetersPerSecond(v), err
}

// ParseFlow reads a volume flow with its unit: "150 cfm", "47 L/s", "170 m3/h".
func ParseFlow(text string) (CubicMetersPerSecond, error) {
	v, err := flows().parse(text)
	return CubicMetersPerSecond(v), err
}

// ParsePressure reads a pressure with its unit: "0.6 in w.c.", "150 Pa". A
// static pressure may be negative: suction of a booster.
func ParsePressure(text string) (Pascals, error) {
	v, err := pressures().parse(text)
	return Pascals(v), err
}

// ParseTemperature reads a temperature with its unit: "140 F", "60 C". Below
// absolute zero is an error.
func ParseTemperature(text string) (Celsius, error) {
	q := temperatures()
	v, err := q.parse(text)
	if err == nil && v < -zeroCelsius {
		return 0, q.problem(text, "that is below absolute zero")
	}
	return Celsius(v), err
}

// parse reads one number with one unit and gives it in SI.
func (q quantity) parse(text string) (float64, error) {
	number, name, err := splitNumber(text)
	if err != nil {
		return 0, q.problem(text, err.Error())
	}
	if name == "" {
		return 0, q.problem(text, "the unit is missing")
	}
	u, ok := q.unit(name)
	if !ok {
		return 0, q.problem(text, fmt.Sprintf("unknown unit %q", shorten(name)))
	}
	if number < 0 && !q.signed {
		return 0, q.problem(text, "it cannot be negative")
	}
	v := number*u.factor + u.offset
	if !finite(v) {
		return 0, q.problem(text, "the number is too large")
	}
	return v, nil
}

func (q quantity) problem(text, what string) error {
	return fmt.Errorf("%q is not %s: %s: give %s", shorten(text), q.name, what, q.accepts)
}

func (q quantity) unit(name string) (unit, bool) {
	plain := strings.Map(func(r rune) rune {
		if r == '.' || unicode.IsSpace(r) {
			return -1
		}
		return r
	}, strings.ToLower(name))
	for _, u := range q.units {
		for n := range strings.FieldsSeq(u.names) {
			if n == plain {
				return u, true
			}
		}
	}
	return unit{}, false
}

// shorten keeps an error line readable when a whole document was pasted into a field.
func shorten(text string) string {
	const most = 40
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most]) + "..."
}

// splitNumber parts "-2 1/2 in" into number and unit. Numbers are written with
// digits, one decimal point or comma, or as a fraction; nothing else, so that
// words such as NaN or Inf are no numbers.
func splitNumber(text string) (number float64, unit string, err error) {
	text = strings.TrimSpace(text)
	rest, negative := strings.CutPrefix(text, "-")
	if !negative {
		rest = strings.TrimPrefix(text, "+")
	}
	digits := leading(rest, "0123456789.,")
	rest = rest[len(digits):]
	if digits == "" {
		return 0, "", fmt.Errorf("it must begin with a number")
	}
	if number, rest, err = fraction(digits, rest); err != nil {
		return 0, "", err
	}
	if negative {
		number = -number
	}
	return number, strings.TrimSpace(rest), nil
}

// fraction reads what may follow the first digits: "1/2" or "2 1/2" or "2-1/2".
func fraction(digits, rest string) (float64, string, error) {
	if after, ok := strings.CutPrefix(rest, "/"); ok {
		bottom := leading(after, "0123456789")
		v, err := divide(digits, bottom)
		return v, after[len(bottom):], err
	}
	whole, err := decimal(digits)
	if err != nil {
		return 0, "", err
	}
	tail := strings.TrimLeftFunc(strings.TrimPrefix(rest, "-"), unicode.IsSpace)
	top := leading(tail, "0123456789")
	if top == "" {
		return whole, rest, nil
	}
	if after, ok := strings.CutPrefix(tail[len(top):], "/"); ok && whole == math.Trunc(whole) {
		bottom := leading(after, "0123456789")
		part, err := divide(top, bottom)
		return whole + part, after[len(bottom):], err
	}
	return 0, "", fmt.Errorf("there are two numbers")
}

func divide(top, bottom string) (float64, error) {
	a, err := decimal(top)
	if err != nil {
		return 0, err
	}
	b, err := decimal(bottom)
	if err != nil || b == 0 {
		return 0, fmt.Errorf("the fraction has no bottom number")
	}
	return a / b, nil
}

// decimal reads digits with one point or comma. A comma before exactly three
// digits may mean thousands or decimals and is refused rather than guessed.
func decimal(digits string) (float64, error) {
	whole, part, comma := strings.Cut(digits, ",")
	if comma {
		if len(part) == 3 && strings.Trim(whole, "0") != "" {
			return 0, fmt.Errorf("the comma may mean thousands or decimals, leave it out or write a point")
		}
		digits = whole + "." + part
	}
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		if math.IsInf(v, 0) {
			return 0, fmt.Errorf("the number is too large")
		}
		return 0, fmt.Errorf("%q is no number", shorten(digits))
	}
	return v, nil
}

// leading is the longest start of text made of the given characters.
func leading(text, characters string) string {
	return text[:len(text)-len(strings.TrimLeft(text, characters))]
}

// feetAndInches parts "17 ft 6 in" or 17'6" in two; ok is false for any other text.
func feetAndInches(text string) (feet, inches string, ok bool) {
	lower := strings.ToLower(strings.TrimSpace(text))
	for _, mark := range []string{"feet", "foot", "ft.", "ft", "'", "′"} {
		feet, inches, ok = strings.Cut(lower, mark)
		if !ok {
			continue
		}
		inches = strings.TrimSpace(inches)
		// 6'' is six inches, and 17 ft alone has no inches
		return feet, inches, inches != "" && inches[0] >= '0' && inches[0] <= '9'
	}
	return "", "", false
}
