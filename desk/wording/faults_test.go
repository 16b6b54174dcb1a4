package wording

import (
	"testing"
	"unicode/utf8"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Every fault says in a few words what is to be done, in each language: a calendar's month shows little more than 40 letters.
func TestEveryFaultSaysWhatToDo(t *testing.T) {
	for _, lang := range Languages() {
		w := For(lang, vent.US)
		for _, r := range rules.Faults() {
			said := w.What(vent.Due{Wanted: vent.Wanted{Kind: vent.DueFault, Reason: vent.Reason{Rule: r.ID}}})
			if !w.Has("fault."+r.ID) || said == "" || utf8.RuneCountInString(said) > 60 {
				t.Errorf("%s, %s: %q", lang, r.ID, said)
			}
			if w.texts["fault."+r.ID] == "" {
				t.Errorf("%s has no text of its own in %s", r.ID, lang)
			}
		}
	}
}
