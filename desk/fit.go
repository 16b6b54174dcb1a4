package desk

import (
	"strings"
	"unicode"
)

// fit is how well typed words fit the names of something.
type fit int

const (
	fitsNot   fit = iota
	fitsParts     // every word occurs somewhere, be it inside a longer one
	fitsWords     // every word is a whole word of the names
	fitsName      // the words are one of the names
)

// fitOf says how well what was typed fits the names. "9 Quince Row" is a name, and no part of "19 Quince Row" then.
func fitOf(typed string, names ...string) fit {
	want := tokens(typed)
	phrase := strings.Join(want, " ")
	var all []string
	for _, n := range names {
		own := tokens(n)
		if phrase != "" && strings.Join(own, " ") == phrase {
			return fitsName
		}
		all = append(all, own...)
	}
	whole := make(map[string]bool, len(all))
	for _, t := range all {
		whole[t] = true
	}
	best := fitsWords
	text := strings.ToLower(strings.Join(names, " "))
	for _, w := range strings.Fields(strings.ToLower(typed)) {
		if !strings.Contains(text, w) {
			return fitsNot
		}
		for _, t := range tokens(w) {
			if !whole[t] {
				best = fitsParts
			}
		}
	}
	return best
}

// tokens gives the words of a text in lower case, without what is between them.
func tokens(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// bestFits keeps those of the best fit.
func bestFits[T any](all []T, of func(T) fit) (best []T) {
	top := fitsNot
	for _, v := range all {
		top = max(top, of(v))
	}
	for _, v := range all {
		if f := of(v); f == top && f != fitsNot {
			best = append(best, v)
		}
	}
	return best
}
