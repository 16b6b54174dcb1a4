package wording

import (
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// What is to be done about a fault stands first, then what was seen; no rule's title is empty or begins small.
func TestFaultSaysWhatToDo(t *testing.T) {
	w := For("en", vent.US)
	due := func(rule string) vent.Due {
		return vent.Due{Wanted: vent.Wanted{Kind: vent.DueFault, Reason: vent.Reason{Rule: rule}}}
	}
	if got := w.What(due(rules.BurningReported)); got != "A qualified person finds the cause before anybody dries again (somebody smelled burning)" {
		t.Errorf("%q", got)
	}
	if got := w.What(due("outlet_screen")); got != "Take it off (a screen or mesh over the outlet, often matted with lint)" {
		t.Errorf("%q", got)
	}
	for _, r := range rules.Faults() {
		if got := w.What(due(r.ID)); !strings.HasSuffix(got, "("+r.Looks+")") || got[0] >= 'a' && got[0] <= 'z' || strings.HasPrefix(got, " ") {
			t.Errorf("%s: %q", r.ID, got)
		}
	}
	if got := w.What(due("a_rule_of_old")); got != "Put right: a_rule_of_old" {
		t.Errorf("%q", got)
	}
}
