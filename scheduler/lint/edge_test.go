package lint

import (
	"math"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// A run described so that the formulas do not hold for it is dated as one that nobody described, and says so.
func TestOutsideTheModel(t *testing.T) {
	outside := Case{Run: straight(airflow.SmoothMetal, 25, 2, 5.44), Dryer: electric}
	outside.Run.Versions[0].Route.Sections[0].Diameter = airflow.Inches(0.5)
	never := Case{Run: straight(airflow.SmoothMetal, 25, 2, 5.44), Dryer: electric}
	never.Run.Versions[0].Route = nil
	a, b := Learn(outside), Learn(never)
	if !a.NoGeometry() || !a.OutsideModel() || !b.NoGeometry() || b.OutsideModel() {
		t.Errorf("outside: %v %v, never described: %v %v", a.NoGeometry(), a.OutsideModel(), b.NoGeometry(), b.OutsideModel())
	}
	if x, y := a.Day(0.10), b.Day(0.10); x != y {
		t.Errorf("due %s, never described %s", x, y)
	}
	usual := Learn(Case{Run: straight(airflow.SmoothMetal, 25, 2, 5.44), Dryer: electric})
	if _, wide := a.Growth(); usual.OutsideModel() {
		t.Error("the reference run is outside the model")
	} else if _, narrow := usual.Growth(); wide <= narrow {
		t.Errorf("doubt of growth %.2f, of a run that is well described %.2f", wide, narrow)
	}
}

// A reading of nothing reads as nothing, though none at all is kept apart from it.
func TestNoAirReadsAsNothing(t *testing.T) {
	c := life(1)
	c.Findings = append(c.Findings, vent.Finding{
		ID: vent.ID{0: 3, 15: 9}, RunID: id, Date: c.Findings[0].Date.AddMonths(6), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly,
		Before: []vent.Reading{airSpeed(0)},
	})
	b := Learn(c)
	share, on, ok := b.LastFlow()
	if !ok || on != c.Findings[1].Date || !(share > 0) || math.Round(100*share) != 0 {
		t.Errorf("share %v on %s, read: %v; want nothing on %s", share, on, ok, c.Findings[1].Date)
	}
	for _, x := range b.Troubles() {
		if x.Rule == LeftChoked && math.Round(100*x.Value) != 0 {
			t.Errorf("%s: %v of the flow", x.Rule, x.Value)
		}
	}
	if past, _ := b.Past(); past != on {
		t.Errorf("past its limit on %q, want %s", past, on)
	}
}

// Long drying is put down to lint unless something that explains it was found: a fault whose rule says so, not any fault of
// the dryer.
func TestWhatExplainsLongDrying(t *testing.T) {
	at := day("2021-06-01")
	slow := Case{Run: straight(airflow.SmoothMetal, 25, 2, 5.44), Dryer: electric}
	slow.Findings = []vent.Finding{{
		ID: vent.ID{0: 3, 15: 1}, RunID: id, Date: at.AddMonths(-12), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly,
		Before: []vent.Reading{{Quantity: vent.DryMinutes, Value: 100}, airSpeed(7.5)},
	}}
	due := func(rule string, kind vent.Kind) vent.Date {
		c := slow
		if rule != "" {
			c.Faults = []vent.Fault{{Rule: rule, Found: at.AddMonths(-13), State: vent.FaultOpen, Subject: vent.Subject{Kind: kind}}}
		}
		return dueDay(c)
	}
	plain, explained := due("", ""), due(rules.HeaterGrounded, vent.KindAppliance)
	if explained <= plain {
		t.Fatalf("due %s, with a fault of the heater %s: long drying says nothing", plain, explained)
	}
	if got := due("gas_no_alarm", vent.KindAppliance); got != plain && got != explained {
		t.Errorf("due %s with a fault that nobody knows", got)
	}
	for _, f := range rules.Faults() {
		if f.ID == "screen_torn" || f.ID == "screen_missing" {
			continue // they move the prior as well
		}
		want := plain
		if f.Heat {
			want = explained
		}
		if got := due(f.ID, vent.KindAppliance); got != want {
			t.Errorf("%s (explains heat: %v): due %s, want %s", f.ID, f.Heat, got, want)
		}
	}
}
