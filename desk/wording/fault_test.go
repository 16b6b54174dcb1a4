package wording

import (
	"strings"
	"testing"

	"ventdue/scheduler"
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

// How far a date would move, by hand: 150 days are five months (150·12/365 = 4.9), 35 days one, 12 days are days.
func TestWhatWouldSharpen(t *testing.T) {
	w := For("en", vent.US)
	for days, want := range map[int]string{150: "by up to 5 months.", 35: "by up to a month.", 12: "by up to 12 days."} {
		for _, m := range []scheduler.Measure{scheduler.DescribeRoute, scheduler.ReadAfter, scheduler.ReadNow, scheduler.CountLoads} {
			if got := w.Sharper([]scheduler.Sharper{{Measure: m, Earlier: days, Later: 3}}); !strings.HasSuffix(got, want) {
				t.Errorf("%s, %d days: %q", m, days, got)
			}
		}
	}
	if got := w.Sharper(nil); got != "" {
		t.Errorf("nothing to find out: %q", got)
	}
}
