// Package wording says in plain words what a due is, when and why: one text for the pages, the mails, the calendar
// and the commands. Machine words stay in the code; a person reads what a person would say.
package wording

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"ventdue/vent"
)

// Words is one language's texts in one unit system.
type Words struct {
	Lang  string // BCP 47
	Units vent.UnitSystem
	Hours vent.ClockKind // by which clock times are told; "": 12 h with US units, 24 h with SI
	texts map[string]string
	rules ruleTexts // what the rules say, where the rules' own words are not this language's
}

// Languages lists the languages that have a catalogue.
func Languages() []string { return []string{"en", "es"} }

// For gives the words of a language; English where it has none. Regional forms take their language's words.
func For(lang string, units vent.UnitSystem) Words {
	base, _, _ := strings.Cut(strings.ToLower(lang), "-")
	if units == "" {
		units = vent.US
	}
	switch base {
	case "es":
		return Words{Lang: "es", Units: units, texts: spanish, rules: spanishTexts}
	default:
		return Words{Lang: "en", Units: units, texts: english}
	}
}

// By gives the words with times of day told by a clock; "" is the units' usual one.
func (w Words) By(clock vent.ClockKind) Words {
	w.Hours = clock
	return w
}

// Say gives the text of a key with {name} replaced by the value that follows the name in pairs. A key without a
// text in the language is said in English; one without any gives the key itself: a test refuses that.
func (w Words) Say(key string, pairs ...string) string {
	text, ok := w.texts[key]
	if !ok {
		text, ok = english[key]
	}
	if !ok {
		return key
	}
	if len(pairs) == 0 {
		return text
	}
	old := make([]string, len(pairs))
	for i, p := range pairs {
		if old[i] = p; i%2 == 0 {
			old[i] = "{" + p + "}"
		}
	}
	return strings.NewReplacer(old...).Replace(text)
}

// Has reports whether the key has a text.
func (w Words) Has(key string) bool { return w.texts[key] != "" || english[key] != "" }

// Keys lists the keys of all texts, in order.
func Keys() []string { return slices.Sorted(maps.Keys(english)) }

// Date gives a day as people write it, with the year: "Wed 25 November 2026".
func (w Words) Date(d vent.Date) string {
	if d == 0 {
		return w.Say("no_date")
	}
	y, m, day := d.Split()
	return w.Say("date", "weekday", w.Say("weekday."+strconv.Itoa(int(d.Weekday()))), "day", strconv.Itoa(day),
		"month", w.Say("month."+strconv.Itoa(int(m))), "year", strconv.Itoa(y))
}

// Month gives a month with its year: "November 2026".
func (w Words) Month(d vent.Date) string {
	y, m, _ := d.Split()
	return w.Say("month_year", "month", w.Say("month."+strconv.Itoa(int(m))), "year", strconv.Itoa(y))
}

// months counts months in words: "1 month", "12 months".
func (w Words) months(n int) string {
	if n == 1 {
		return w.Say("months.one")
	}
	return w.Say("months", "n", strconv.Itoa(n))
}

// Away says how far a day lies from today: "in 9 days", "today", "3 days overdue".
func (w Words) Away(d, today vent.Date) string {
	n := today.DaysUntil(d)
	switch {
	case n == 0:
		return w.Say("away.today")
	case n == 1:
		return w.Say("away.tomorrow")
	case n == -1:
		return w.Say("away.late_one")
	case n < -60:
		return w.Say("away.late_months", "n", strconv.Itoa(-n/30))
	case n < 0:
		return w.Say("away.late", "n", strconv.Itoa(-n))
	case n > 60:
		return w.Say("away.months", "n", strconv.Itoa(n/30))
	}
	return w.Say("away.days", "n", strconv.Itoa(n))
}

// Percent writes a share as whole percent; what rounds to nothing or to all says so.
func (w Words) Percent(share float64) string {
	switch {
	case share > 0 && share < 0.005:
		return w.Say("under_one_percent")
	case share < 1 && share >= 0.995:
		return w.Say("over_99_percent")
	}
	return w.Say("percent", "n", strconv.Itoa(int(share*100+0.5)))
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// loads writes a count of loads a week with one decimal at most.
func loads(v float64) string { return number(float64(int(v*10+0.5)) / 10) }
