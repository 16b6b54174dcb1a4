package faults

import (
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

func has(sights []Sight, kind SightKind, rule string) bool {
	return slices.ContainsFunc(sights, func(s Sight) bool { return s.Kind == kind && s.Rule == rule })
}

// 25 ft with two mitred 90s are 35 ft. IRC 2012 allows 35 ft, IRC 2006 and IRC 2009 (electric) 25 ft; UMC 14 ft with two 90s,
// and a transition of 6 ft.
func TestTheEditionDecides(t *testing.T) {
	for _, c := range []struct {
		policy  airflow.Edition
		version string
		over    bool
	}{
		{"", "", false}, {airflow.IRC2012, "", false}, {airflow.IRC2006, "", true}, {airflow.IRC2009Electric, "", true},
		{airflow.UMC1994, "", true}, {airflow.IRC2012, string(airflow.IRC2006), true}, {airflow.IRC2006, string(airflow.IRC2012), false},
	} {
		sights, doubts := ByTool(facts(func(f *Facts) { f.Edition, f.Run.Versions[0].Edition = c.policy, c.version }))
		if has(sights, Found, rules.CodeLengthOver) != c.over || has(sights, Gone, rules.CodeLengthOver) == c.over || len(doubts) > 0 {
			t.Errorf("%q, version %q: %+v %v", c.policy, c.version, sights, doubts)
		}
	}
	seven := func(e airflow.Edition) []Sight {
		return raisesTool(facts(func(f *Facts) { f.Edition, f.Run.Versions[0].Route.Transition.Length = e, airflow.Feet(7) }))
	}
	if has(seven(airflow.IRC2012), Found, rules.TransitionLong) || !has(seven(airflow.UMC1994), Found, rules.TransitionLong) {
		t.Error("7 ft of transition: 8 ft are allowed by the IRC, 6 by the UMC")
	}
}

// What cannot be judged is neither found nor over; it is said.
func TestDoubts(t *testing.T) {
	for name, change := range map[string]func(*Facts){
		"nobody described": func(f *Facts) { f.Run.Versions[0].Route = nil },
		"maker's own":      func(f *Facts) { f.Edition = airflow.MakerEdition },
		"irc_1066":         func(f *Facts) { f.Edition = "irc_1066" },
		"flex_bend_90":     func(f *Facts) { f.Run.Versions[0].Route.Fittings[0].Kind = airflow.FlexBend90 },
		"not between":      func(f *Facts) { f.Run.Versions[0].Route.Sections[0].Length = -3 },
	} {
		sights, doubts := ByTool(facts(change))
		if has(sights, Found, rules.CodeLengthOver) || has(sights, Gone, rules.CodeLengthOver) {
			t.Errorf("%s: the length was judged", name)
		}
		if len(doubts) != 1 || doubts[0].Rule != rules.CodeLengthOver || !strings.Contains(doubts[0].Why, name) {
			t.Errorf("%s: %v", name, doubts)
		}
	}
	sights, doubts := ByTool(facts(func(f *Facts) { f.Troubles = []Trouble{{Rule: "poltergeist", On: visitDay}} }))
	if len(doubts) != 1 || doubts[0].Rule != "poltergeist" || has(sights, Found, "poltergeist") {
		t.Errorf("%v", doubts)
	}
	if _, err := Raise(nil, sights, false, false); err != nil {
		t.Error(err)
	}
}

func TestAlarmsAreJudgedOnADayOnly(t *testing.T) {
	alarm := func(today vent.Date, a vent.Appliance) []Sight {
		return raisesTool(facts(func(f *Facts) { f.Today, f.Alarms = today, []vent.Appliance{a} }))
	}
	old := vent.Appliance{ID: theAlarm, Kind: vent.COAlarm, Made: day("2012-06-01")}
	if has(alarm(0, old), Found, rules.AlarmPastDate) {
		t.Error("judged without a day")
	}
	out, err := Raise(nil, alarm(visitDay, old), false, false)
	if err != nil || len(out) != 1 || out[0].Subject.ID != theAlarm || out[0].Found != day("2025-01-10") { // known here since then
		t.Errorf("%+v %v", out, err)
	}
	old.Removed = day("2026-01-01")
	if has(alarm(visitDay, old), Found, rules.AlarmPastDate) {
		t.Error("an alarm that is gone")
	}
}

func TestVentlessDryersHaveNoRun(t *testing.T) {
	sights, _ := ByTool(facts(func(f *Facts) {
		f.Dryer = vent.Appliance{ID: theDryer, Kind: vent.Dryer, Fuel: vent.Ventless}
		f.Run.Versions[0].Route.Transition.Material = airflow.PlasticFlex
	}))
	if len(sights) > 0 {
		t.Errorf("%+v", sights)
	}
}
