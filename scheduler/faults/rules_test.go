package faults

import (
	"slices"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

func day(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func id(n int) vent.ID { return vent.ID{0: byte(n >> 8), 15: byte(n)} }

var (
	theRun   = id(1)
	theDryer = id(2)
	theAlarm = id(3)
	visitDay = day("2026-03-31")
	electric = vent.Appliance{ID: theDryer, Kind: vent.Dryer, Fuel: vent.Electric, FuseStops: vent.StopsMotor, Volts: 240, Watts: 5000}
	gas      = vent.Appliance{ID: theDryer, Kind: vent.Dryer, Fuel: vent.Gas, FuseStops: vent.StopsHeat, HasCO: true}
	ourFuel  = map[bool]vent.Appliance{false: electric, true: gas}
)

// route is 25 ft of smooth 4 in duct with two mitred elbows behind 4 ft of semi-rigid transition.
func route() *airflow.Duct {
	return &airflow.Duct{
		Transition: airflow.Section{Material: airflow.SemiRigid, Length: airflow.Feet(4), Diameter: airflow.Inches(4)},
		Sections:   []airflow.Section{{Material: airflow.SmoothMetal, Length: airflow.Feet(25), Diameter: airflow.Inches(4)}},
		Fittings:   []airflow.Fitting{{Kind: airflow.Mitered90, Count: 2}},
		Outlet:     airflow.Outlet{Kind: airflow.OutletFlapper},
	}
}

func facts(change func(*Facts)) Facts {
	f := Facts{
		Run: vent.Run{ID: theRun, Name: "laundry", Shape: vent.Single, Known: day("2025-01-10"),
			Versions: []vent.Version{{From: day("2024-05-01"), Measured: true, Route: route(), Labelled: true}}},
		Dryer: electric, Edition: airflow.IRC2012, Today: visitDay,
	}
	if change != nil {
		change(&f)
	}
	return f
}

// finding is a visit of ours in which everything was as it should be.
func finding(n int, on vent.Date, change func(*vent.Finding)) vent.Finding {
	f := vent.Finding{ID: id(n), RunID: theRun, Date: on, Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly}
	if change != nil {
		change(&f)
	}
	return f
}

func part(id, result string, replaced bool) vent.PartCheck {
	return vent.PartCheck{Part: id, Result: result, Replaced: replaced}
}

func raisesTool(f Facts) []Sight {
	s, _ := ByTool(f)
	return s
}

func raisesParts(f vent.Finding, dryer vent.Appliance, share float64, earlier ...vent.Finding) []Sight {
	d, err := Diagnose(Bench{Finding: f, Dryer: dryer, Setting: Setting{Run: theRun, Dryer: theDryer, Gas: dryer.Fuel == vent.Gas}, FlowShare: share, Earlier: earlier})
	if err != nil {
		panic(err)
	}
	return d.Sights
}

func raisesSign(k vent.SignKind) []Sight {
	s, ok := FromSign(vent.Sign{ID: id(9), RunID: theRun, Kind: k, On: visitDay}, Setting{Run: theRun})
	if !ok {
		return nil
	}
	return []Sight{s}
}

// toolCase shows a rule raised, and the nearest case in which it is not.
type toolCase struct{ raised, not func() []Sight }

func byRecord(yes, no func(*Facts)) toolCase {
	return toolCase{func() []Sight { return raisesTool(facts(yes)) }, func() []Sight { return raisesTool(facts(no)) }}
}

func trouble(rule string) toolCase {
	return byRecord(
		func(f *Facts) { f.Troubles = []Trouble{{Rule: rule, On: visitDay, Value: 0.5, Against: 0.75}} },
		func(f *Facts) {},
	)
}

func parts(yes, no func(*vent.Finding)) toolCase {
	return toolCase{
		func() []Sight { return raisesParts(finding(20, visitDay, yes), electric, 0) },
		func() []Sight { return raisesParts(finding(20, visitDay, no), electric, 0) },
	}
}

func checked(cs ...vent.PartCheck) func(*vent.Finding) {
	return func(f *vent.Finding) { f.Parts = cs }
}

// choked is a run plugged with lint that was cleaned in the same visit.
func choked(cs ...vent.PartCheck) func(*vent.Finding) {
	return func(f *vent.Finding) {
		f.Parts, f.LintBefore, f.Outcome, f.Reach = cs, vent.Plugged, vent.Full, vent.ReachThrough
	}
}

func fuses(second string) func() []Sight {
	return func() []Sight {
		return raisesTool(facts(func(f *Facts) {
			f.Findings = []vent.Finding{
				finding(30, day("2025-08-31"), checked(part(rules.ThermalFuse, rules.Open, true))),
				finding(31, day(second), checked(part(rules.ThermalFuse, rules.Open, true))),
			}
		}))
	}
}

// Sources: 31 ft and a mitred 90 are 36 ft by IRC Table M1502.4.5.1, 30 ft and one are 35; a transition of 8 ft passes, 8.1
// fails (M1502.4.3); UMC 1994 allows 14 ft with two 90s. The rest follows from the rule's own words.
var toolCases = map[string]toolCase{
	rules.PlasticTransition: byRecord(func(f *Facts) { f.Run.Versions[0].Route.Transition.Material = airflow.PlasticFlex }, nil),
	rules.FoilTransition: byRecord(func(f *Facts) { f.Run.Versions[0].Route.Transition.Material = airflow.FoilFlex },
		func(f *Facts) { f.Run.Versions[0].Route.Transition = airflow.Section{} }),
	rules.TransitionLong: byRecord(func(f *Facts) { f.Run.Versions[0].Route.Transition.Length = airflow.Feet(8.1) },
		func(f *Facts) { f.Run.Versions[0].Route.Transition.Length = airflow.Feet(8) }),
	rules.DuctNarrow: byRecord(func(f *Facts) { f.Run.Versions[0].Route.Sections[0].Diameter = airflow.Inches(3) },
		func(f *Facts) { f.Run.Versions[0].Route.Sections[0].Diameter = airflow.Millimeters(100) }),
	rules.DuctFlexible: byRecord(func(f *Facts) { f.Run.Versions[0].Route.Sections[0].Material = airflow.FoilFlex },
		func(f *Facts) { f.Run.Versions[0].Route.Sections[0].Material = airflow.Galvanized }),
	rules.CodeLengthOver: byRecord(
		func(f *Facts) {
			f.Run.Versions[0].Route.Sections[0].Length, f.Run.Versions[0].Route.Fittings[0].Count = airflow.Feet(31), 1
		},
		func(f *Facts) {
			f.Run.Versions[0].Route.Sections[0].Length, f.Run.Versions[0].Route.Fittings[0].Count = airflow.Feet(30), 1
		}),
	rules.LabelMissing: byRecord(func(f *Facts) { f.Run.Versions[0].Route.Concealed, f.Run.Versions[0].Labelled = true, false },
		func(f *Facts) { f.Run.Versions[0].Labelled = false }),
	rules.BoosterUnlisted: byRecord(func(f *Facts) { f.InLine = []vent.Appliance{{ID: id(7), Kind: vent.Booster}} },
		func(f *Facts) { f.InLine = []vent.Appliance{{ID: id(7), Kind: vent.Booster, Listed: true}} }),
	rules.GasNoCOAlarm: byRecord(func(f *Facts) { f.Dryer = gas; f.Dryer.HasCO = false },
		func(f *Facts) {
			f.Dryer = gas
			f.Dryer.HasCO, f.Alarms = false, []vent.Appliance{{ID: theAlarm, Kind: vent.COAlarm}}
		}),
	rules.AlarmPastDate: byRecord(
		func(f *Facts) {
			f.Alarms = []vent.Appliance{{ID: theAlarm, Kind: vent.SmokeAlarm, Made: day("2016-03-31")}}
		},
		func(f *Facts) {
			f.Alarms = []vent.Appliance{{ID: theAlarm, Kind: vent.SmokeAlarm, Made: day("2016-04-01")}}
		}),

	rules.CleanPastMaker: trouble(rules.CleanPastMaker),
	rules.LowStaticFlow:  trouble(rules.LowStaticFlow),
	rules.AfterFarBelow:  trouble(rules.AfterFarBelow),
	rules.AfterPastLimit: trouble(rules.AfterPastLimit),
	rules.OddCycle:       trouble(rules.OddCycle),
	rules.LeftChoked:     trouble(rules.LeftChoked),
	rules.SecondFuse:     {fuses("2026-08-31"), fuses("2026-09-01")},

	rules.FuseOpen:        parts(checked(part(rules.ThermalFuse, rules.Open, false)), choked(part(rules.ThermalFuse, rules.Open, true))),
	rules.FuseBeforeCause: parts(checked(part(rules.ThermalFuse, rules.Open, true)), choked(part(rules.ThermalFuse, rules.Open, true))),
	rules.FuseOpenClean: parts(
		func(f *vent.Finding) {
			f.Parts, f.LintBefore = []vent.PartCheck{part(rules.ThermalFuse, rules.Open, false)}, vent.Film
		},
		func(f *vent.Finding) {
			f.Parts, f.LintBefore = []vent.PartCheck{part(rules.ThermalFuse, rules.Open, false)}, vent.Mat
		}),
	rules.CutoffOpen: parts(choked(part(rules.ThermalCutoff, rules.Open, true), part(rules.HighLimit, rules.Good, true)), checked(part(rules.ThermalCutoff, rules.Good, false))),
	rules.PairHalf: parts(choked(part(rules.ThermalCutoff, rules.Open, true), part(rules.HighLimit, rules.Good, false)),
		choked(part(rules.ThermalCutoff, rules.Open, true), part(rules.HighLimit, rules.Good, true))),
	rules.HeaterGrounded:  parts(checked(part(rules.Heater, rules.Grounded, true)), checked(part(rules.Heater, rules.Open, true))),
	rules.PartGrounded:    parts(checked(part(rules.DoorSwitch, rules.Grounded, false)), checked(part(rules.DoorSwitch, rules.Open, false))),
	rules.PartStuck:       parts(checked(part(rules.HighLimit, rules.StuckClosed, false)), checked(part(rules.HighLimit, rules.StuckClosed, true))),
	rules.PartFailed:      parts(checked(part(rules.Heater, rules.Open, false)), checked(part(rules.Heater, rules.Open, true))),
	rules.FollowUpCall:    parts(choked(part(rules.ThermalFuse, rules.Open, true)), choked(part(rules.ThermalFuse, rules.Open, false))),
	rules.FollowUpReading: parts(choked(part(rules.ThermalFuse, rules.Open, true)), choked(part(rules.ThermalFuse, rules.Good, false))),

	rules.BurningReported: {func() []Sight { return raisesSign(vent.BurningSmell) }, func() []Sight { return raisesSign(vent.HotTop) }},
	rules.COReported:      {func() []Sight { return raisesSign(vent.COAlarmRang) }, func() []Sight { return raisesSign(vent.DampRoom) }},
}

func raised(t *testing.T, rule string, sights []Sight, gas bool) (vent.Fault, bool) {
	t.Helper()
	out, err := Raise(nil, sights, gas, false)
	if err != nil {
		t.Fatalf("%s: %v", rule, err)
	}
	i := slices.IndexFunc(out, func(f vent.Fault) bool { return f.Rule == rule && f.State == vent.FaultOpen })
	if i < 0 {
		return vent.Fault{}, false
	}
	return out[i], true
}

// Every rule is raised by one case and not by another. A rule that the tool finds and has no case fails.
func TestEveryRuleIsRaisedAndNot(t *testing.T) {
	for _, r := range rules.Faults() {
		if r.FoundBy != rules.ByTool {
			byPerson(t, r)
		}
		c, ok := toolCases[r.ID]
		if r.FoundBy == rules.ByPerson {
			if ok {
				t.Errorf("%s is found by people, but the tool has a case", r.ID)
			}
			continue
		}
		if !ok {
			t.Errorf("%s has no case that raises it", r.ID)
			continue
		}
		f, is := raised(t, r.ID, c.raised(), false)
		if !is {
			t.Errorf("%s is not raised", r.ID)
		}
		if f.Found == 0 || f.Deadline < f.Found || f.Severity != r.Severity {
			t.Errorf("%s: %+v", r.ID, f)
		}
		if g, is := raised(t, r.ID, c.not(), false); is {
			t.Errorf("%s is raised where it should not: %+v", r.ID, g)
		}
	}
	for rule := range toolCases {
		if _, ok := rules.FaultByID(rule); !ok {
			t.Errorf("a case for %s, which is no rule", rule)
		}
	}
}

// What a person saw is raised with the rule's severity and deadline on the right subject; what they did not see is not.
func byPerson(t *testing.T, r rules.Fault) {
	t.Helper()
	for _, burnsGas := range []bool{false, true} {
		if r.GasOnly && !burnsGas {
			continue
		}
		at := SettingOf(vent.Run{ID: theRun, Shape: vent.Single}, ourFuel[burnsGas])
		seen := finding(40, visitDay, func(f *vent.Finding) { f.Faults = []string{r.ID} })
		if p := rules.CheckFinding(seen, ourFuel[burnsGas]); len(p) > 0 {
			t.Errorf("%s cannot be recorded: %v", r.ID, p)
		}
		f, is := raised(t, r.ID, FromFinding(seen, at), burnsGas)
		want := r.At(burnsGas, false)
		if !is || f.Severity != want.Severity || f.Found.DaysUntil(f.Deadline) != want.Days || f.FindingID != seen.ID || f.ByTool {
			t.Errorf("%s gas %v: %+v", r.ID, burnsGas, f)
		}
		if subject := map[vent.Kind]vent.ID{vent.KindRun: theRun, vent.KindAppliance: theDryer}[r.On]; f.Subject.ID != subject || f.Subject.Kind != r.On {
			t.Errorf("%s is a fault of %s", r.ID, f.Subject)
		}
		if _, is := raised(t, r.ID, FromFinding(finding(41, visitDay, nil), at), burnsGas); is {
			t.Errorf("%s is raised by a finding that did not see it", r.ID)
		}
	}
}
