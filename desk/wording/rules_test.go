package wording

import (
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Whatever the rules say has its Spanish text under the rule's id, and none is left over.
func TestRulesAreWholeInSpanish(t *testing.T) {
	ids := map[string]map[string]bool{}
	want := func(kind, id, own string) {
		if ids[kind] == nil {
			ids[kind] = map[string]bool{}
		}
		if own != "" {
			ids[kind][id] = true
		}
	}
	for _, r := range rules.Faults() {
		want("faults", r.ID, r.Looks)
		want("work", r.ID, r.Do)
	}
	for _, c := range rules.Cautions() {
		want("warnings", c.ID, c.Text)
	}
	for _, s := range rules.Signs() {
		want("noticed", string(s.Kind), s.Looks)
		want("advice", string(s.Kind), s.Say)
	}
	for _, p := range rules.Parts() {
		want("parts", p.ID, p.Name)
		want("healthy", p.ID, p.Healthy)
	}
	for _, l := range rules.CloseOut(vent.Gas) {
		want("closeOut", l.ID, l.Text)
	}
	for _, symptom := range []vent.Symptom{vent.NoStart, vent.NoHeat, vent.NoHeatSetting, vent.Overheats} {
		for _, s := range rules.Order(symptom, vent.Gas, "") {
			if !s.Part {
				want("looks", s.ID, s.Text)
			}
		}
	}
	for _, s := range rules.Hunt() {
		want("hunt", s.ID, s.Text)
	}
	for kind, texts := range map[string]map[string]string{"faults": spanishRules, "work": spanishWork, "warnings": spanishWarnings, "noticed": spanishNoticed,
		"advice": spanishAdvice, "parts": spanishParts, "healthy": spanishHealthy, "closeOut": spanishCloseOut, "looks": spanishLooks, "hunt": spanishHunt} {
		if len(ids[kind]) == 0 {
			t.Fatalf("%s: the rules have none", kind)
		}
		for id := range ids[kind] {
			if texts[id] == "" {
				t.Errorf("%s: %s has no Spanish text", kind, id)
			}
		}
		for id := range texts {
			if !ids[kind][id] {
				t.Errorf("%s: there is no %s", kind, id)
			}
		}
	}
}

// What is said by id is said in the language asked for; English is the rules' own.
func TestRulesAreSaidInTheLanguage(t *testing.T) {
	en, es := For("en", vent.US), For("es", vent.US)
	for _, c := range rules.Cautions() {
		if en.Warning(c.ID) != c.Text || es.Warning(c.ID) != spanishWarnings[c.ID] {
			t.Errorf("caution %s: %q, %q", c.ID, en.Warning(c.ID), es.Warning(c.ID))
		}
	}
	for _, s := range rules.Order(vent.NoHeat, vent.Gas, "") {
		if en.LookAt(s) != s.Text || es.LookAt(s) == s.Text {
			t.Errorf("step %s: %q, %q", s.ID, en.LookAt(s), es.LookAt(s))
		}
	}
	if got := es.PartName("some_part"); got != "some part" {
		t.Errorf("an unknown part: %q", got)
	}
	if got := es.CloseLine("some_line"); got != "some line" {
		t.Errorf("an unknown line: %q", got)
	}
}
