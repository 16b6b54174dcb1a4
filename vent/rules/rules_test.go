package rules

import (
	"flag"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
)

var update = flag.Bool("update", false, "rewrite RULES.md")

var snake = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)

func TestTablesAreUpToDate(t *testing.T) {
	const name = "RULES.md"
	want := Tables()
	if *update {
		if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Error("RULES.md is not what the data says: run go test ./vent/rules -update")
	}
	for _, f := range faults {
		if strings.Count(want, "| `"+f.ID+"` |") != 1 {
			t.Errorf("%s does not stand in the table once", f.ID)
		}
	}
	for _, row := range strings.Split(want, "\n") {
		if strings.HasPrefix(row, "|") && !strings.HasSuffix(row, "|") {
			t.Errorf("a row is broken: %s", row)
		}
	}
}

func TestEveryFaultRuleIsWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Faults() {
		if !snake.MatchString(f.ID) || seen[f.ID] {
			t.Errorf("id %q is no new id in snake_case", f.ID)
		}
		seen[f.ID] = true
		if f.Looks == "" || f.Do == "" || strings.Contains(f.Looks+f.Do, "|") {
			t.Errorf("%s: looks %q, do %q", f.ID, f.Looks, f.Do)
		}
		if f.On != vent.KindRun && f.On != vent.KindAppliance {
			t.Errorf("%s is a fault of a %s", f.ID, f.On)
		}
		if !slices.Contains([]Finder{ByPerson, ByTool, ByEither}, f.FoundBy) || !slices.Contains([]Party{Anybody, Competent, Licensed}, f.By) {
			t.Errorf("%s: found by %q, put right by %q", f.ID, f.FoundBy, f.By)
		}
		checkSources(t, f.ID, f.Sources)
		for _, c := range f.Cautions {
			if CautionText(c) == "" {
				t.Errorf("%s: no caution %q", f.ID, c)
			}
		}
		for _, gas := range []bool{false, true} {
			for _, shared := range []bool{false, true} {
				checkGrade(t, f, gas, shared)
			}
		}
	}
}

// Graver places are never judged milder, a stop is for the same day, everything else has a deadline.
func checkGrade(t *testing.T, f Fault, gas, shared bool) {
	t.Helper()
	g := f.At(gas, shared)
	switch {
	case Weight(g.Severity) < Weight(f.Severity) || g.Days > f.Days:
		t.Errorf("%s gas %v shared %v is milder: %+v", f.ID, gas, shared, g)
	case g.Severity == vent.Stop && g.Days != 0:
		t.Errorf("%s stops within %d days", f.ID, g.Days)
	case g.Severity != vent.Stop && (g.Days < 1 || g.Days > noteDays):
		t.Errorf("%s has no deadline: %+v", f.ID, g)
	}
	ids := f.CautionsAt(gas, shared)
	if f.FollowUp {
		return
	}
	if g.Severity == vent.Stop && !slices.Contains(ids, CautionNoUse) || gas && !slices.Contains(ids, CautionGasValve) || !slices.Contains(ids, CautionPower) {
		t.Errorf("%s gas %v: cautions %v", f.ID, gas, ids)
	}
}

// No rule that can hurt somebody rests on memory alone, and every rule says where it is from.
func checkSources(t *testing.T, id string, list []Source) {
	t.Helper()
	if len(list) == 0 {
		t.Errorf("%s names no source", id)
	}
	if !slices.ContainsFunc(list, func(s Source) bool { return s.Basis != Memory }) {
		t.Errorf("%s rests on memory alone", id)
	}
	for _, s := range list {
		said := s.String()
		switch s.Basis {
		case Read:
			if s.Text == "" {
				t.Errorf("%s: a document without a name", id)
			}
		case SecondHand, Memory, Practice, Ours:
			word := map[Basis]string{SecondHand: "second hand", Memory: "from memory", Practice: "common practice", Ours: "ours"}[s.Basis]
			if !strings.Contains(said, word) {
				t.Errorf("%s: %q does not say %s", id, said, word)
			}
		default:
			t.Errorf("%s: basis %q", id, s.Basis)
		}
	}
}

// The blueprint's rules, and those that the other lists name.
func TestTheRulesAreThere(t *testing.T) {
	for _, id := range strings.Fields(`plastic_transition foil_transition transition_concealed transition_too_long transition_two_pieces transition_crushed
		outlet_screen flap_missing flap_stuck flap_frozen flap_painted outlet_overgrown outlet_attic outlet_crawl_space outlet_wall_cavity outlet_indoors
		outlet_chimney outlet_flue outlet_bath_fan outlet_near_opening outlet_low fasteners_protrude duct_narrow code_length_over label_missing
		riser_no_cleanout riser_fan_off booster_unlisted booster_failed trap_full shared_not_engineered lint_outside_duct lint_in_cabinet screen_torn
		screen_missing nest_active scorch_marks plug_scorched extension_lead duct_fallen_off gas_no_co_alarm gas_old_connector gas_no_shutoff
		no_make_up_air oily_laundry clean_run_past_maker_limit after_cleaning_far_below`) {
		if _, ok := FaultByID(id); !ok {
			t.Errorf("no rule %s", id)
		}
	}
	if _, ok := FaultByID("no_such_rule"); ok {
		t.Error("a rule that is not there was found")
	}
	for _, id := range []string{"low_static_low_flow", "duct_fallen_off"} { // a leak of a gas dryer stops it
		f, _ := FaultByID(id)
		if f.At(true, false).Severity != vent.Stop || f.At(false, false).Severity != vent.Fix {
			t.Errorf("%s: %+v, gas %+v", id, f.At(false, false), f.At(true, false))
		}
	}
	for _, id := range []string{"riser_fan_off", "scorch_marks", "plug_scorched", "nest_active", "fuse_open_clean_run", "thermal_cutoff_open", "heater_grounded", "second_fuse_in_year"} {
		if f, _ := FaultByID(id); f.Severity != vent.Stop {
			t.Errorf("%s is %s", id, f.Severity)
		}
	}
	if nest, _ := FaultByID("nest_active"); !slices.Contains(nest.Cautions, CautionNest) {
		t.Error("an active nest without its caution")
	}
}

func TestEverySignPartAndCheckIsWhole(t *testing.T) {
	for _, k := range []vent.SignKind{vent.TwoCycles, vent.HotTop, vent.DampRoom, vent.WeakFlap, vent.BurningSmell, vent.COAlarmRang} {
		s, ok := SignByKind(k)
		if !ok || s.Say == "" || s.Looks == "" || (s.Fault != "") != s.Emergency || s.Emergency != (s.Severity == vent.Stop) {
			t.Errorf("sign %s: %+v", k, s)
		}
		if s.Emergency && !strings.Contains(s.Say, "emergency number") {
			t.Errorf("sign %s does not name the emergency number", k)
		}
		if f, ok := FaultByID(s.Fault); s.Emergency && (!ok || f.Severity != vent.Stop) {
			t.Errorf("sign %s raises %q", k, s.Fault)
		}
		checkSources(t, string(k), s.Sources)
	}
	for _, p := range Parts() {
		checkSources(t, p.ID, p.Sources)
		if !snake.MatchString(p.ID) || p.Healthy == "" || !slices.Contains(p.Results, Good) || !slices.Contains(p.Results, NotChecked) {
			t.Errorf("part %+v", p)
		}
		if p.Fuel == vent.Gas && (p.By != Licensed || !slices.Contains(p.Cautions, CautionGasValve)) {
			t.Errorf("gas part %s by %s", p.ID, p.By)
		}
		if !slices.Contains(p.Cautions, CautionPower) || !slices.Contains(p.Cautions, CautionOneLead) {
			t.Errorf("part %s: cautions %v", p.ID, p.Cautions)
		}
		if q, ok := PartByID(p.Pair); p.Pair != "" && (!ok || q.Pair != p.ID) {
			t.Errorf("%s is no pair with %s", p.ID, p.Pair)
		}
	}
	for _, c := range Checks() {
		checkSources(t, c.ID, c.Sources)
		if !snake.MatchString(c.ID) || c.Months < 1 || c.Months > c.Most || !slices.Contains(Lines(), c.Line) {
			t.Errorf("check %+v", c)
		}
		if _, ok := closeLine(c.CloseOut); c.CloseOut != "" && !ok {
			t.Errorf("check %s is settled by %q", c.ID, c.CloseOut)
		}
	}
	if n := len(Lines()); n > 5 {
		t.Errorf("a household sees %d lines", n)
	}
}

// The blueprint's intervals, in months.
func TestCheckIntervals(t *testing.T) {
	for id, months := range map[string]int{
		CheckScreen: 6, CheckFlap: 3, CheckTransition: 12, CheckCabinet: 24, CheckGas: 12, CheckCOTest: 1, CheckTrap: 1, CheckAlarmReplace: 120,
	} {
		if c, ok := CheckByID(id); !ok || c.Months != months {
			t.Errorf("%s every %d months, want %d", id, c.Months, months)
		}
	}
	if c, _ := CheckByID(CheckCabinet); c.Most != 24 || c.By == Anybody {
		t.Errorf("cabinet: %+v", c)
	}
	if c, _ := CheckByID(CheckGas); c.By != Licensed {
		t.Errorf("gas connection by %s", c.By)
	}
}

// V²/P by hand: 240²/5000 = 11.52, 240²/5400 = 10.667, 240²/4000 = 14.4, 208²/5000 = 8.6528 ohm.
func TestHeaterOhms(t *testing.T) {
	for _, c := range []struct{ volts, watts, ohms float64 }{{240, 5000, 11.52}, {240, 5400, 10.667}, {240, 4000, 14.4}, {208, 5000, 8.6528}} {
		if got := HeaterOhms(c.volts, c.watts); math.Abs(got-c.ohms) > 0.001*c.ohms {
			t.Errorf("%g V %g W: %g ohm, want %g", c.volts, c.watts, got, c.ohms)
		}
	}
	for _, x := range []float64{0, -240, math.NaN(), math.Inf(1), math.Inf(-1), 1e308} {
		if got := HeaterOhms(x, 5000); got != 0 {
			t.Errorf("%g V: %g ohm", x, got)
		}
		if got := HeaterOhms(240, x); got != 0 {
			t.Errorf("%g W: %g ohm", x, got)
		}
	}
}

func TestOrderFollowsFuelAndModel(t *testing.T) {
	ids := func(s vent.Symptom, fuel vent.Fuel, stops vent.FuseStops) string {
		var out []string
		for _, x := range Order(s, fuel, stops) {
			out = append(out, x.ID)
		}
		return strings.Join(out, " ")
	}
	for _, c := range []struct {
		symptom vent.Symptom
		fuel    vent.Fuel
		stops   vent.FuseStops
		want    string
	}{
		{vent.NoStart, vent.Electric, vent.StopsMotor, "supply door_switch thermal_fuse motor_switch terminals"},
		{vent.NoStart, vent.Electric, vent.StopsHeat, "supply door_switch motor_switch terminals"},
		{vent.NoStart, vent.Electric, vent.StopsUnknown, "supply door_switch thermal_fuse motor_switch terminals"},
		{vent.NoHeat, vent.Electric, vent.StopsHeat, "supply thermal_fuse thermal_cutoff high_limit cycling_thermostat heater motor_switch terminals"},
		{vent.NoHeat, vent.Electric, vent.StopsMotor, "supply thermal_cutoff high_limit cycling_thermostat heater motor_switch terminals"},
		{vent.NoHeat, vent.Gas, vent.StopsMotor, "supply gas_supply thermal_cutoff high_limit cycling_thermostat igniter flame_sensor valve_coils motor_switch terminals"},
		{vent.NoHeatSetting, vent.Electric, vent.StopsMotor, "cycling_thermostat heater terminals"},
		{vent.Overheats, vent.Gas, vent.StopsMotor, "run screen cycling_thermostat high_limit motor_switch"},
		{vent.NoSymptom, vent.Electric, vent.StopsMotor, ""},
	} {
		if got := ids(c.symptom, c.fuel, c.stops); got != c.want {
			t.Errorf("%s %s fuse stops %q:\n got %s\nwant %s", c.symptom, c.fuel, c.stops, got, c.want)
		}
	}
}

func TestCloseOutDependsOnFuel(t *testing.T) {
	has := func(fuel vent.Fuel, id string) bool {
		return slices.ContainsFunc(CloseOut(fuel), func(l CloseLine) bool { return l.ID == id && l.Wanted })
	}
	for _, id := range []string{ClosePushedBack, CloseTransition, CloseReadLast, CloseFlap, CloseHotRun} {
		if !has(vent.Electric, id) || !has(vent.Gas, id) {
			t.Errorf("%s is not asked for", id)
		}
	}
	for _, id := range []string{CloseGasTest, CloseGasOpen} {
		if has(vent.Electric, id) || !has(vent.Gas, id) {
			t.Errorf("%s: electric %v, gas %v", id, has(vent.Electric, id), has(vent.Gas, id))
		}
	}
}

func TestFindingsAreHeldToTheRules(t *testing.T) {
	ohms := func(v float64, place string) *vent.Reading {
		return &vent.Reading{Quantity: vent.Ohms, Value: v, Place: place}
	}
	electric := vent.Appliance{Kind: vent.Dryer, Fuel: vent.Electric}
	good := vent.Finding{
		By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Faults: []string{"foil_transition"}, Fixed: []string{"foil_transition"},
		Parts:    []vent.PartCheck{{Part: Heater, Result: Good, Reading: ohms(11.5, "")}, {Part: CyclingThermostat, Result: Good, Reading: &vent.Reading{Quantity: vent.ExhaustT, Value: 60}}},
		CloseOut: []string{ClosePushedBack, CloseHotRun},
	}
	if p := CheckFinding(good, electric); len(p) > 0 {
		t.Fatalf("a good finding: %v", p)
	}
	part := func(c vent.PartCheck) func(*vent.Finding) {
		return func(f *vent.Finding) { f.Parts = []vent.PartCheck{c} }
	}
	for _, c := range []struct {
		field string
		spoil func(*vent.Finding)
	}{
		{"faults", func(f *vent.Finding) { f.Faults = []string{"gremlins"} }},
		{"faults", func(f *vent.Finding) { f.Faults = []string{SecondFuse} }}, // the tool's own
		{"faults", func(f *vent.Finding) { f.Faults = []string{"gas_no_shutoff"} }},
		{"fixed", func(f *vent.Finding) { f.Fixed = []string{""} }},
		{"by_name", func(f *vent.Finding) { f.By.Name = "  " }},
		{"close_out", func(f *vent.Finding) { f.CloseOut = []string{"coffee"} }},
		{"close_out", func(f *vent.Finding) { f.CloseOut = []string{CloseGasTest} }},
		{"parts.part", part(vent.PartCheck{Part: "flux_capacitor", Result: Good})},
		{"parts.part", part(vent.PartCheck{Part: Igniter, Result: Good})},
		{"parts.result", part(vent.PartCheck{Part: Heater, Result: "fine"})},
		{"parts.result", part(vent.PartCheck{Part: Heater})},
		{"parts.result", part(vent.PartCheck{Part: ThermalFuse, Result: StuckClosed})},
		{"parts.replaced", part(vent.PartCheck{Part: ThermalFuse, Result: NotChecked, Replaced: true})},
		{"parts.reading.ohms", part(vent.PartCheck{Part: Heater, Result: Good, Reading: ohms(-1, "")})},
		{"parts.reading.ohms", part(vent.PartCheck{Part: Heater, Result: Good, Reading: ohms(math.NaN(), "")})},
		{"parts.reading.quantity", part(vent.PartCheck{Part: Heater, Result: Good, Reading: &vent.Reading{Quantity: vent.ExhaustT, Value: 60}})},
		{"parts.reading", part(vent.PartCheck{Part: Heater, Result: NotChecked, Reading: ohms(11, "")})},
		{"parts.result", part(vent.PartCheck{Part: Heater, Result: Good, Reading: ohms(1e6, ToCase)})},
		{"parts.note", part(vent.PartCheck{Part: Heater, Result: Good, Note: strings.Repeat("x", 5000)})},
	} {
		f := good
		c.spoil(&f)
		if p := CheckFinding(f, electric); len(p) != 1 || p[0].Field != c.field {
			t.Errorf("want one problem with %s, got %v", c.field, p)
		}
	}
	gas := vent.Appliance{Kind: vent.Dryer, Fuel: vent.Gas}
	f := vent.Finding{Parts: []vent.PartCheck{{Part: Igniter, Result: Open}}, CloseOut: []string{CloseGasTest}, Faults: []string{"gas_no_shutoff"}}
	if p := CheckFinding(f, gas); len(p) > 0 {
		t.Errorf("a gas dryer's finding: %v", p)
	}
	if p := CheckFinding(f, vent.Appliance{}); len(p) > 0 {
		t.Errorf("of a dryer nobody knows: %v", p)
	}
}

func TestChecksAreHeldToTheRules(t *testing.T) {
	if p := CheckCheck(vent.Check{Rule: CheckCabinet, Months: 24}); len(p) > 0 {
		t.Error(p)
	}
	if p := CheckCheck(vent.Check{Rule: CheckCabinet, Months: 25}); len(p) != 1 || p[0].Field != "months" {
		t.Error(p)
	}
	if p := CheckCheck(vent.Check{Rule: "horoscope", Months: 1}); len(p) != 1 || p[0].Field != "rule" {
		t.Error(p)
	}
}
