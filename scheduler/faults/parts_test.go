package faults

import (
	"math"
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

func diagnose(t *testing.T, b Bench) Diagnosis {
	t.Helper()
	if b.Dryer.ID.IsZero() {
		b.Dryer = electric
	}
	if b.Setting.Run.IsZero() {
		b.Setting = Setting{Run: theRun, Dryer: theDryer, Gas: b.Dryer.Fuel == vent.Gas}
	}
	d, err := Diagnose(b)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func rulesOf(sights []Sight, kind SightKind) []string {
	var out []string
	for _, s := range sights {
		if s.Kind == kind {
			out = append(out, s.Rule)
		}
	}
	slices.Sort(out)
	return out
}

func ids(steps []rules.Step) string {
	var out []string
	for _, s := range steps {
		out = append(out, s.ID)
	}
	return strings.Join(out, " ")
}

func ohms(v float64) *vent.Reading { return &vent.Reading{Quantity: vent.Ohms, Value: v} }
func hotAt(c float64) *vent.Reading {
	return &vent.Reading{Quantity: vent.ExhaustT, Value: c}
}

// Expected ohms are V²/P by hand: 240²/5000 = 11.52, 10 % of it 10.368 to 12.672; 240²/5400 = 10.667, 9.6 to 11.733. An
// element for 240 V on a plate of 208 V 3 756 W is the same 11.52.
func TestHeaterAgainstItsPlate(t *testing.T) {
	for _, c := range []struct {
		volts, watts, ohm float64
		want              Standing
	}{
		{240, 5000, 11.5, Sound}, {240, 5000, 10.37, Sound}, {240, 5000, 12.67, Sound}, {240, 5000, 10.36, Bad}, {240, 5000, 12.68, Bad},
		{240, 5400, 10.7, Sound}, {240, 5400, 11.52, Sound}, {240, 5400, 12.0, Bad}, {240, 5000, 23.04, Bad}, // one of two coils open
		{208, 3756, 11.52, Sound}, {240, 5000, 0, Bad}, {0, 0, 11.5, Unproven}, {0, 0, 0, Bad}, {240, 0, 11.5, Unproven},
	} {
		v := judge(vent.PartCheck{Part: rules.Heater, Result: rules.Good, Reading: ohms(c.ohm)}, vent.Appliance{Fuel: vent.Electric, Volts: c.volts, Watts: c.watts})
		if v.Standing != c.want || v.Why == "" {
			t.Errorf("%g V %g W, %g ohm: %s (%s), want %s", c.volts, c.watts, c.ohm, v.Standing, v.Why, c.want)
		}
	}
	v := judge(vent.PartCheck{Part: rules.Heater, Result: rules.Good, Reading: ohms(11)}, vent.Appliance{Volts: 240, Watts: 5400})
	if math.Abs(v.Ohms-10.6667) > 0.001 || math.Abs(v.Low-9.6) > 0.001 || math.Abs(v.High-11.7333) > 0.001 {
		t.Errorf("%g, %g to %g", v.Ohms, v.Low, v.High)
	}
}

// What each part explains. Source: common practice and the service pages named in the data.
func TestWhatPartsExplain(t *testing.T) {
	motor, heat, unknown := electric, electric, electric
	motor.FuseStops, heat.FuseStops, unknown.FuseStops = vent.StopsMotor, vent.StopsHeat, vent.StopsUnknown
	for _, c := range []struct {
		dryer    vent.Appliance
		check    vent.PartCheck
		explains []vent.Symptom
		oneShot  bool
		resets   bool
		replace  string
	}{
		{electric, part(rules.DoorSwitch, rules.Open, false), []vent.Symptom{vent.NoStart}, false, false, "door_switch"},
		{electric, part(rules.Heater, rules.Open, false), []vent.Symptom{vent.NoHeat}, false, false, "heater"},
		{motor, part(rules.ThermalFuse, rules.Open, false), []vent.Symptom{vent.NoStart}, true, false, "thermal_fuse"},
		{heat, part(rules.ThermalFuse, rules.Open, false), []vent.Symptom{vent.NoHeat}, true, false, "thermal_fuse"},
		{unknown, part(rules.ThermalFuse, rules.Open, false), []vent.Symptom{vent.NoStart, vent.NoHeat}, true, false, "thermal_fuse"},
		{electric, part(rules.ThermalCutoff, rules.Open, false), []vent.Symptom{vent.NoHeat}, true, false, "thermal_cutoff high_limit"},
		{electric, part(rules.HighLimit, rules.Open, false), []vent.Symptom{vent.NoHeat}, false, true, "high_limit thermal_cutoff"},
		{electric, part(rules.HighLimit, rules.StuckClosed, false), []vent.Symptom{vent.Overheats}, false, true, "high_limit thermal_cutoff"},
		{electric, part(rules.CyclingThermostat, rules.StuckClosed, false), []vent.Symptom{vent.Overheats}, false, true, "cycling_thermostat"},
		{electric, part(rules.CyclingThermostat, rules.Open, false), []vent.Symptom{vent.NoHeat, vent.NoHeatSetting}, false, true, "cycling_thermostat"},
		{electric, part(rules.MotorSwitch, rules.Open, false), []vent.Symptom{vent.NoHeat, vent.NoStart}, false, false, "motor_switch"},
		{electric, part(rules.Heater, rules.Grounded, false), []vent.Symptom{vent.Overheats}, false, false, "heater"},
		{gas, part(rules.Igniter, rules.Open, false), []vent.Symptom{vent.NoHeat}, false, false, "igniter"},
		{gas, part(rules.FlameSensor, rules.Open, false), []vent.Symptom{vent.NoHeat}, false, false, "flame_sensor"},
		{gas, part(rules.ValveCoils, rules.Open, false), []vent.Symptom{vent.NoHeat}, false, false, "valve_coils"},
	} {
		v := judge(c.check, c.dryer)
		if v.Standing != Bad || !slices.Equal(v.Explains, c.explains) || v.OneShot != c.oneShot || v.Resets != c.resets || strings.Join(v.Replace, " ") != c.replace {
			t.Errorf("%s %s: %+v", c.check.Part, c.check.Result, v)
		}
	}
	if v := judge(part(rules.ThermalFuse, rules.Open, false), unknown); !strings.Contains(v.Why, "not recorded for this model") {
		t.Errorf("what the fuse stops was believed: %s", v.Why)
	}
}

// An open element while the motor runs: it runs without heat, and nothing else is to be looked for.
func TestOpenElementRunsWithoutHeat(t *testing.T) {
	d := diagnose(t, Bench{Finding: finding(20, visitDay, checked(part(rules.Heater, rules.Open, false), part(rules.MotorSwitch, rules.Good, false)))})
	if d.Symptom != vent.NoHeat || !d.Explained || !slices.Equal(d.Replace, []string{rules.Heater}) || d.Hunt != nil || len(d.Next) != 0 {
		t.Errorf("%+v", d)
	}
	if got := rulesOf(d.Sights, Found); !slices.Equal(got, []string{rules.PartFailed}) {
		t.Errorf("%v", got)
	}
	for _, c := range []string{rules.CautionPower, rules.CautionOneLead, rules.CautionBypass} {
		if !slices.Contains(d.Cautions, c) {
			t.Errorf("no caution %s in %v", c, d.Cautions)
		}
	}
	if slices.Contains(d.Cautions, rules.CautionGasValve) {
		t.Error("a gas caution at an electric dryer")
	}
}

// A short to the case is a fault whatever was ticked, replaced or not.
func TestShortToCase(t *testing.T) {
	check := part(rules.Heater, rules.Grounded, true)
	check.Reading = &vent.Reading{Quantity: vent.Ohms, Value: 2e6, Place: rules.ToCase}
	d := diagnose(t, Bench{Finding: finding(20, visitDay, checked(check))})
	if d.Symptom != vent.Overheats || !d.Verdicts[0].Grounded || !slices.Equal(rulesOf(d.Sights, Found), []string{rules.HeaterGrounded}) {
		t.Errorf("%+v", d)
	}
	if out, err := Raise(nil, d.Sights, false, false); err != nil || out[0].Severity != vent.Stop || out[0].Deadline != visitDay {
		t.Errorf("%+v %v", out, err)
	}
	check.Result = rules.Good
	refused(t, "parts.result", func() error {
		_, err := Diagnose(Bench{Finding: finding(20, visitDay, checked(check)), Dryer: electric})
		return err
	})
}

// Opens at 120 to 170 °F, which is 48.9 to 76.7 °C. Source: the repair page named in the data.
func TestColdContinuityDoesNotPassAThermostat(t *testing.T) {
	for _, c := range []struct {
		reading *vent.Reading
		want    Standing
		symptom vent.Symptom
		rule    string
	}{
		{nil, Unproven, vent.NoSymptom, ""}, {ohms(0.1), Unproven, vent.NoSymptom, ""},
		{hotAt(49), Sound, vent.NoSymptom, ""}, {hotAt(68), Sound, vent.NoSymptom, ""}, {hotAt(76.6), Sound, vent.NoSymptom, ""},
		{hotAt(95), Bad, vent.Overheats, rules.PartStuck}, {hotAt(40), Bad, vent.NoHeat, rules.PartFailed},
	} {
		check := part(rules.CyclingThermostat, rules.Good, false)
		check.Reading = c.reading
		d := diagnose(t, Bench{Finding: finding(20, visitDay, checked(check))})
		v := d.Verdicts[0]
		if v.Standing != c.want || d.Symptom != c.symptom || v.Why == "" {
			t.Errorf("%+v: %+v, %s", c.reading, v, d.Symptom)
		}
		if got := strings.Join(rulesOf(d.Sights, Found), " "); got != c.rule {
			t.Errorf("%+v raises %q, want %q", c.reading, got, c.rule)
		}
		if next := ids(d.Next); (c.want == Unproven) != (next == rules.CyclingThermostat) {
			t.Errorf("%+v: next %q", c.reading, next)
		}
	}
}

func TestNextFollowsTheSymptom(t *testing.T) {
	told := func(s vent.Symptom, cs ...vent.PartCheck) Bench {
		return Bench{Finding: finding(20, visitDay, func(f *vent.Finding) { f.Symptom, f.Parts = s, cs })}
	}
	for _, c := range []struct {
		b    Bench
		want string
	}{
		{told(vent.NoStart), "supply door_switch thermal_fuse motor_switch terminals"},
		{told(vent.NoStart, part(rules.DoorSwitch, rules.Good, false)), "supply thermal_fuse motor_switch terminals"},
		{told(vent.NoStart, part(rules.DoorSwitch, rules.Open, false)), ""},
		// A bad part that does not explain what was told: the search goes on.
		{told(vent.NoStart, part(rules.Heater, rules.Open, false)), "supply door_switch thermal_fuse motor_switch terminals"},
		{told(vent.NoHeat, part(rules.Heater, rules.Good, false)), "supply thermal_cutoff high_limit cycling_thermostat motor_switch terminals"},
		{told(vent.Overheats), "run screen cycling_thermostat high_limit heater motor_switch"},
		// An open fuse explains that it does not start; what opened it is still to be found.
		{told(vent.NoStart, part(rules.ThermalFuse, rules.Open, false)), "run screen cycling_thermostat high_limit heater motor_switch thermal_cutoff"},
		// A fuse that stops the motor explains no missing heat.
		{told(vent.NoHeat, part(rules.ThermalFuse, rules.Open, false)), "run screen cycling_thermostat high_limit heater motor_switch thermal_cutoff supply terminals"},
	} {
		if d := diagnose(t, c.b); ids(d.Next) != c.want {
			t.Errorf("%s %v:\n got %s\nwant %s", c.b.Finding.Symptom, c.b.Finding.Parts, ids(d.Next), c.want)
		}
	}
	b := told(vent.NoHeat, part(rules.Igniter, rules.Good, false))
	b.Dryer = gas
	d := diagnose(t, b)
	if ids(d.Next) != "supply gas_supply thermal_fuse thermal_cutoff high_limit cycling_thermostat flame_sensor valve_coils motor_switch terminals" {
		t.Errorf("gas: %s", ids(d.Next))
	}
	for _, c := range []string{rules.CautionGasValve, rules.CautionGasWork, rules.CautionGasMove, rules.CautionCO} {
		if !slices.Contains(d.Cautions, c) {
			t.Errorf("gas: no caution %s", c)
		}
	}
}

// inPlace is a reading of air with the dryer pushed back, as the cause hunt wants it.
func inPlace(speed float64) []vent.Reading {
	return []vent.Reading{{Quantity: vent.AirSpeed, Value: speed, Conditions: []vent.Condition{vent.PushedBack}}}
}

func TestOpenFuseLeadsToItsCause(t *testing.T) {
	open := part(rules.ThermalFuse, rules.Open, true)
	for _, c := range []struct {
		name   string
		share  float64
		change func(*vent.Finding)
		raised string
		air    Air
	}{
		{"choked, cleaned, replaced", 0, choked(open), "follow_up_call follow_up_reading", AirChoked},
		{"choked by measurement", 0.5, func(f *vent.Finding) { f.Parts, f.Outcome = these(open), vent.Full }, "follow_up_call follow_up_reading", AirChoked},
		{"choked, only partly cleaned", 0, func(f *vent.Finding) { choked(open)(f); f.Outcome = vent.Partial }, "follow_up_call follow_up_reading fuse_replaced_before_cause", AirChoked},
		{"cleaned, but the screen stayed on", 0, func(f *vent.Finding) { choked(open)(f); f.Faults = []string{"outlet_screen"} }, "follow_up_call follow_up_reading fuse_replaced_before_cause", AirChoked},
		{"cleaned, screen taken off", 0, func(f *vent.Finding) {
			choked(open)(f)
			f.Faults, f.Fixed = []string{"outlet_screen"}, []string{"outlet_screen"}
		}, "follow_up_call follow_up_reading", AirChoked},
		{"crushed transition straightened, run bare", 0.95, func(f *vent.Finding) {
			f.Parts, f.LintBefore, f.Faults, f.Fixed = these(open), vent.Bare, []string{"transition_crushed"}, []string{"transition_crushed"}
		}, "follow_up_call follow_up_reading", AirChoked},
		{"nobody looked", 0, checked(open), "follow_up_call follow_up_reading fuse_replaced_before_cause", AirUnknown},
		{"a share that is no number", math.NaN(), checked(open), "follow_up_call follow_up_reading fuse_replaced_before_cause", AirUnknown},
		{"clean run", 0.97, checked(open), "follow_up_call follow_up_reading fuse_open_clean_run", AirClear},
		{"clean by sight, not replaced", 0, func(f *vent.Finding) {
			f.Parts, f.LintBefore = these(part(rules.ThermalFuse, rules.Open, false)), vent.Bare
		}, "fuse_open_clean_run", AirClear},
		{"choked, not replaced", 0, choked(part(rules.ThermalFuse, rules.Open, false)), "thermal_fuse_open", AirChoked},
		{"cut-off, even choked and replaced with its pair", 0, choked(part(rules.ThermalCutoff, rules.Open, true), part(rules.HighLimit, rules.Good, true)), "follow_up_call follow_up_reading thermal_cutoff_open", AirChoked},
		{"replacement noted on the second check", 0, choked(part(rules.ThermalFuse, rules.Open, false), part(rules.ThermalFuse, rules.Good, true)), "follow_up_call follow_up_reading", AirChoked},
	} {
		d := diagnose(t, Bench{Finding: finding(20, visitDay, c.change), FlowShare: c.share})
		if got := strings.Join(rulesOf(d.Sights, Found), " "); got != c.raised || d.Hunt == nil || d.Hunt.Air != c.air {
			t.Errorf("%s: raises %q, air %v, want %q", c.name, got, d.Hunt, c.raised)
		}
	}
}

func these(cs ...vent.PartCheck) []vent.PartCheck { return cs }

func TestHuntSaysWhatTheVisitStillNeeds(t *testing.T) {
	missing := func(change func(*vent.Finding)) string {
		d := diagnose(t, Bench{Finding: finding(20, visitDay, change)})
		var out []string
		for _, s := range d.Hunt.Missing() {
			out = append(out, s.ID)
		}
		return strings.Join(out, " ")
	}
	if got := missing(checked(part(rules.ThermalFuse, rules.Open, false))); got != "read_before look_air_path clean_run check_heat_parts replace_device read_after hot_cycle" {
		t.Errorf("nothing done yet: %s", got)
	}
	whole := func(f *vent.Finding) {
		hot := part(rules.CyclingThermostat, rules.Good, false)
		hot.Reading = hotAt(65)
		choked(part(rules.ThermalFuse, rules.Open, true), part(rules.ThermalCutoff, rules.Good, false), part(rules.HighLimit, rules.Good, false), part(rules.Heater, rules.Good, false), hot)(f)
		f.Before, f.After, f.CloseOut = inPlace(2), inPlace(7), []string{rules.CloseHotRun}
	}
	if got := missing(whole); got != "" {
		t.Errorf("all done: %s", got)
	}
	if got := missing(func(f *vent.Finding) { whole(f); f.After[0].Conditions = nil }); got != "read_after" {
		t.Errorf("read with the dryer pulled out: %s", got)
	}
	d := diagnose(t, Bench{Finding: finding(20, visitDay, whole)})
	last := d.Hunt.Steps[len(d.Hunt.Steps)-2:]
	if last[0].When != rules.WithinWeek || last[1].When != rules.AfterMonth || last[0].Done || last[1].Done {
		t.Errorf("%+v", last)
	}
}

func TestSecondOpeningCountsOncePerDevice(t *testing.T) {
	open, again := part(rules.ThermalFuse, rules.Open, true), part(rules.ThermalFuse, rules.Open, false)
	for _, c := range []struct {
		name     string
		findings []vent.Finding
		want     int
	}{
		{"found open, replaced on a second visit", []vent.Finding{finding(1, day("2026-01-05"), checked(again)), finding(2, day("2026-01-12"), checked(open))}, 1},
		{"two findings of one day", []vent.Finding{finding(1, day("2026-01-05"), checked(open)), finding(2, day("2026-01-05"), checked(open))}, 1},
		{"replaced, open again", []vent.Finding{finding(2, day("2026-08-05"), checked(open)), finding(1, day("2026-01-05"), checked(open))}, 2},
		{"good in between without a word of its replacement", []vent.Finding{finding(1, day("2026-01-05"), checked(again)), finding(2, day("2026-03-05"), checked(part(rules.ThermalFuse, rules.Good, false))), finding(3, day("2026-08-05"), checked(open))}, 2},
		{"a corrected finding does not count", []vent.Finding{finding(1, day("2026-01-05"), func(f *vent.Finding) { f.Parts, f.Replaced = these(open), id(9) }), finding(2, day("2026-08-05"), checked(open))}, 1},
	} {
		if got := len(openings(c.findings)); got != c.want {
			t.Errorf("%s: %d openings, want %d", c.name, got, c.want)
		}
	}
}

func TestPairReplacedOnTwoVisits(t *testing.T) {
	first := finding(1, day("2026-03-20"), choked(part(rules.ThermalCutoff, rules.Open, true)))
	second := finding(2, day("2026-03-31"), checked(part(rules.HighLimit, rules.Good, true)))
	s := &shelf{t: t}
	s.raise(false, raisesParts(first, electric, 0)...)
	if f := s.one(rules.PairHalf); f.State != vent.FaultOpen || f.Deadline != day("2026-03-27") { // 7 days
		t.Errorf("%+v", f)
	}
	s.raise(false, raisesParts(second, electric, 0, first)...)
	if f := s.one(rules.PairHalf); f.State != vent.FaultFixed {
		t.Errorf("%+v", f)
	}
}

func TestBadChecksAreRefused(t *testing.T) {
	for field, c := range map[string]vent.PartCheck{
		"parts.replaced":     part(rules.Heater, rules.NotChecked, true),
		"parts.part":         part(rules.Igniter, rules.Good, false), // of an electric dryer
		"parts.result":       part(rules.Heater, "probably", false),
		"parts.reading.ohms": {Part: rules.Heater, Result: rules.Good, Reading: ohms(math.Inf(1))},
	} {
		refused(t, field, func() error {
			_, err := Diagnose(Bench{Finding: finding(20, visitDay, checked(c)), Dryer: electric})
			return err
		})
	}
}

func TestCloseOutIsAskedForAndChecked(t *testing.T) {
	missing := func(f vent.Finding, fuel vent.Fuel) string {
		var out []string
		for _, l := range MissingCloseOut(f, fuel) {
			out = append(out, l.ID)
		}
		return strings.Join(out, " ")
	}
	all := []string{rules.ClosePushedBack, rules.CloseTransition, rules.CloseReadLast, rules.CloseFlap, rules.CloseGasTest, rules.CloseGasOpen, rules.CloseHotRun}
	f := finding(20, visitDay, func(f *vent.Finding) { f.Outcome, f.After = vent.Full, inPlace(7) })
	if got := missing(f, vent.Electric); got != "pushed_back transition_not_crushed read_after_push_back flap_opens_and_shuts test_run_with_heat" {
		t.Errorf("electric: %s", got)
	}
	if got := missing(f, vent.Gas); got != strings.Join(all, " ") {
		t.Errorf("gas: %s", got)
	}
	f.CloseOut = all
	if got := missing(f, vent.Gas); got != "" {
		t.Errorf("all confirmed: %s", got)
	}
	f.After[0].Conditions = nil
	if got := missing(f, vent.Gas); got != rules.CloseReadLast {
		t.Errorf("ticked, but read with the dryer pulled out: %q", got)
	}
	f.CloseOut, f.Outcome = nil, vent.LookedOnly
	if got := missing(f, vent.Gas); got != "" {
		t.Errorf("a look moves nothing: %s", got)
	}
	f.Outcome, f.By.Kind = vent.Full, vent.ByCustomer
	if got := missing(f, vent.Gas); got != "" {
		t.Errorf("a customer's own cleaning: %s", got)
	}
}
