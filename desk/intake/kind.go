package intake

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ventdue/vent"
)

// maxText is the longest cell in bytes; vent bounds its texts by the same.
const maxText = 4000

// kind says how the cells of a column are read.
type kind struct {
	name    string // in the documentation: "text", "yes or no", "date"
	parse   func(text string, units vent.UnitSystem) (Value, error)
	us, si  string // unit of a plain number in either system
	base    string // unit of Value.Number
	choices []string
	isNum   bool
	isDate  bool
}

func (k *kind) numeric() bool { return k.isNum }

// wrong is a refusal with its remedy apart.
type wrong struct{ what, remedy string }

func (w *wrong) Error() string { return w.what + ": " + w.remedy }

func refuse(remedy, what string, args ...any) error {
	return &wrong{fmt.Sprintf(what, args...), remedy}
}

// textKind is any text on one line.
func textKind() kind {
	return kind{name: "text", parse: func(s string, _ vent.UnitSystem) (Value, error) {
		if err := checkText(s, false); err != nil {
			return Value{}, err
		}
		return Value{Text: s}, nil
	}}
}

// noteKind is text that may have several lines.
func noteKind() kind {
	return kind{name: "text", parse: func(s string, _ vent.UnitSystem) (Value, error) {
		if err := checkText(s, true); err != nil {
			return Value{}, err
		}
		return Value{Text: s}, nil
	}}
}

// checkText refuses what no name or note can hold. Text that looks like a formula stays text.
func checkText(s string, lines bool) error {
	if len(s) > maxText {
		return refuse("shorten it", "is %d bytes long, at most %d are kept", len(s), maxText)
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c >= ' ' && c != 0x7f:
		case lines && (c == '\n' || c == '\t' || c == '\r'):
		case c == '\n' || c == '\r':
			return refuse("write it on one line", "has several lines")
		default:
			return refuse("take it out; is this really a text file?", "holds the control character 0x%02x", c)
		}
	}
	return nil
}

func choiceKind(choices ...string) kind {
	k := kind{name: "one of " + strings.Join(choices, ", "), choices: choices}
	k.parse = func(s string, _ vent.UnitSystem) (Value, error) {
		if slices.Contains(choices, s) {
			return Value{Text: s}, nil
		}
		plain := normal(s)
		if i := slices.Index(choices, plain); i >= 0 {
			return Value{Text: choices[i]}, nil
		}
		remedy := "use one of " + strings.Join(choices, ", ")
		if n := nearest(plain, choices); n != "" {
			remedy = fmt.Sprintf("did you mean %s? It is one of %s", n, strings.Join(choices, ", "))
		}
		return Value{}, &wrong{"is not known", remedy}
	}
	return k
}

// choicesOf turns a list of text constants into words for choiceKind.
func choicesOf[T ~string](all []T) []string {
	words := make([]string, len(all))
	for i, x := range all {
		words[i] = string(x)
	}
	return words
}

func yesNoKind() kind {
	return kind{name: "yes or no", isNum: true, parse: func(s string, _ vent.UnitSystem) (Value, error) {
		switch strings.ToLower(s) {
		case "yes", "y", "true", "1", "x":
			return Value{s, 1}, nil
		case "no", "n", "false", "0":
			return Value{s, 0}, nil
		}
		return Value{}, refuse("write yes or no", "is neither yes nor no")
	}}
}

// countKind is a whole number.
func countKind(lo, hi int) kind {
	return kind{name: "whole number", isNum: true, parse: func(s string, _ vent.UnitSystem) (Value, error) {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || v != math.Trunc(v) || !plainNumber(s) {
			return Value{}, refuse(fmt.Sprintf("write a number from %d to %d", lo, hi), "is not a whole number")
		}
		if v < float64(lo) || v > float64(hi) {
			return Value{}, refuse(fmt.Sprintf("write a number from %d to %d", lo, hi), "is out of range")
		}
		return Value{s, v}, nil
	}}
}

// numberKind is a number without a unit.
func numberKind(lo, hi float64) kind {
	return kind{name: "number", isNum: true, parse: func(s string, _ vent.UnitSystem) (Value, error) {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !plainNumber(s) {
			return Value{}, refuse("write digits with a decimal point, such as 12.5, without a unit", "is not a number")
		}
		if v < lo || v > hi {
			return Value{}, refuse(fmt.Sprintf("write a number from %g to %g", lo, hi), "is out of range")
		}
		return Value{s, v}, nil
	}}
}

// plainNumber keeps out what ParseFloat would take, but nobody means: NaN, Inf, hexadecimal, underscores.
func plainNumber(s string) bool {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return false
		}
	}
	return s != ""
}

func dateKind() kind {
	return kind{name: "date", isNum: true, isDate: true, parse: func(s string, _ vent.UnitSystem) (Value, error) {
		d, err := readDate(s)
		return Value{s, float64(d)}, err
	}}
}

// cleanedKind is a date, or a word for "not known".
func cleanedKind() kind {
	k := dateKind()
	k.name = `date, or "unknown"`
	plain := k.parse
	k.parse = func(s string, u vent.UnitSystem) (Value, error) {
		if strings.EqualFold(s, "unknown") || strings.EqualFold(s, "never") {
			return Value{s, 0}, nil
		}
		return plain(s, u)
	}
	return k
}

// normal is how names of columns and choices are compared: lower case, words joined by one underscore.
func normal(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r != '_' && (r < 'a' || r > 'z') && (r < '0' || r > '9') }) {
		return s
	}
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return strings.ContainsRune(between, r) }), "_")
}

// between is what may stand between the words of a name.
const between = " -_./\u00a0"

// vacant reports whether an occupant's name says that there is none.
func vacant(s string) bool { return strings.EqualFold(strings.Trim(s, between), "vacant") }

// nearest gives the word that differs least from s, "" where none is close.
func nearest(s string, words []string) string {
	if len(s) > 40 {
		return ""
	}
	n := utf8.RuneCountInString(s)
	best, name := 1+min(max(2, n/3), n/2), "" // of a short word half must stay: else "a" would be taken for "lat"
	for _, w := range words {
		if d := distance(s, w); d < best {
			best, name = d, w
		}
	}
	if name == "" && len(s) >= 4 {
		for _, w := range words {
			if strings.HasSuffix(w, "_"+s) || strings.HasPrefix(w, s+"_") {
				return w
			}
		}
	}
	return name
}

// distance is the number of letters to change, add or leave out between two words (Levenshtein).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			diagonal, row[j+1] = row[j+1], min(diagonal+cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
