package rules

import "ventdue/vent"

// Step is one thing to look at, in the order in which it is looked at.
type Step struct {
	ID, Text string // a part's id, or one of the looks
	Part     bool
	By       Party
	Cautions []string
}

// The looks that are no part.
const (
	LookSupply    = "supply"
	LookGasSupply = "gas_supply"
	LookRun       = "run"
	LookScreen    = "screen"
	LookTerminals = "terminals"
)

var looks = map[string]Step{
	LookSupply:    {ID: LookSupply, Text: "supply: plug, socket and breaker; on 240 V both legs, since the motor runs on one", By: Competent, Cautions: []string{CautionLive}},
	LookGasSupply: {ID: LookGasSupply, Text: "gas valve open, supply on", By: Licensed, Cautions: []string{CautionGasWork, CautionGasSmell}},
	LookRun:       {ID: LookRun, Text: "the run: air at the outlet, lint, flap, transition", By: Competent, Cautions: []string{CautionPower}},
	LookScreen:    {ID: LookScreen, Text: "lint screen, its chute and the blower wheel", By: Competent, Cautions: []string{CautionPower}},
	LookTerminals: {ID: LookTerminals, Text: "loose or burned terminals: tighten or replace", By: Competent, Cautions: []string{CautionPower}},
}

// orders holds what to look at for each symptom: first what is quick, outside and most often the cause. Common
// practice. Parts that the dryer's fuel does not have, and a fuse that does not explain the symptom, are left out.
var orders = map[vent.Symptom][]string{
	vent.NoStart: {LookSupply, DoorSwitch, ThermalFuse, MotorSwitch, LookTerminals},
	vent.NoHeat: {LookSupply, LookGasSupply, ThermalFuse, ThermalCutoff, HighLimit, CyclingThermostat, Heater, Igniter, FlameSensor,
		ValveCoils, MotorSwitch, LookTerminals},
	vent.NoHeatSetting: {CyclingThermostat, Heater, ValveCoils, LookTerminals},
	vent.Overheats:     {LookRun, LookScreen, CyclingThermostat, HighLimit, Heater, MotorSwitch},
}

// Order gives what to look at for a symptom, in order, on a dryer of that fuel whose fuse stops what stops says. An
// unknown symptom gives nothing.
func Order(s vent.Symptom, fuel vent.Fuel, stops vent.FuseStops) []Step {
	var steps []Step
	for _, id := range orders[s] {
		if look, ok := looks[id]; ok {
			if id != LookGasSupply || fuel == vent.Gas {
				steps = append(steps, look)
			}
			continue
		}
		p, _ := PartByID(id)
		if !p.Fits(fuel) || p.ByModel && !fuseExplains(s, stops) {
			continue
		}
		steps = append(steps, Step{ID: p.ID, Text: p.Name + ": " + p.Healthy, Part: true, By: p.By, Cautions: p.Cautions})
	}
	return steps
}

// fuseExplains reports whether an open thermal fuse can explain the symptom on a model of which that is known.
func fuseExplains(s vent.Symptom, stops vent.FuseStops) bool {
	got := FuseSymptom(stops)
	return got == s || got == vent.NoSymptom && (s == vent.NoStart || s == vent.NoHeat)
}

// FuseSymptom is what an open thermal fuse does on a model; vent.NoSymptom while nobody knows.
func FuseSymptom(stops vent.FuseStops) vent.Symptom {
	switch stops {
	case vent.StopsMotor:
		return vent.NoStart
	case vent.StopsHeat:
		return vent.NoHeat
	}
	return vent.NoSymptom
}

// When says by when a step of the cause hunt must be done.
type When string

// The times.
const (
	BeforeFuse When = "before_new_fuse" // same visit, before the new part runs
	SameVisit  When = "same_visit"
	WithinWeek When = "within_a_week"
	AfterMonth When = "after_30_days"
)

// The steps of the cause hunt.
const (
	HuntReadBefore = "read_before"
	HuntLookAir    = "look_air_path"
	HuntClean      = "clean_run"
	HuntParts      = "check_heat_parts"
	HuntReplace    = "replace_device"
	HuntReadAfter  = "read_after"
	HuntHotCycle   = "hot_cycle"
	HuntCall       = "call"
	HuntFollowUp   = "reading_30_days"
)

// HuntStep is one step of the search for what opened a one-shot device.
type HuntStep struct {
	ID, Text string
	When     When
	By       Party
	Cautions []string
}

var hunt = []HuntStep{
	{HuntReadBefore, "read the air (speed, flow or pressure) with the dryer pushed back, before anything is moved", BeforeFuse, Competent, []string{CautionBypass}},
	{HuntLookAir, "look along the way of the air: lint screen and chute, blower wheel, transition, run, flap, screen over the outlet", BeforeFuse, Competent, []string{CautionPower, CautionHeight}},
	{HuntClean, "clean the whole run from end to end", BeforeFuse, Competent, []string{CautionPower, CautionDust}},
	{HuntParts, "check cut-off and high-limit (replaced as a pair), cycling thermostat, heater to its case", BeforeFuse, Competent, []string{CautionPower, CautionOneLead}},
	{HuntReplace, "fit a new device of the same rating; never reset or bypass it", SameVisit, Competent, []string{CautionPower, CautionBypass}},
	{HuntReadAfter, "push the dryer back, then read the air again as before", SameVisit, Competent, []string{CautionGasMove}},
	{HuntHotCycle, "run it hot the same day: it heats, and the thermostat is seen to cycle", SameVisit, Competent, []string{CautionSmell}},
	{HuntCall, "call them within a week: does it dry in one cycle, is the top cool?", WithinWeek, Anybody, nil},
	{HuntFollowUp, "a reading after 30 days; the customer's answer will do", AfterMonth, Anybody, nil},
}

// Hunt lists the steps of the cause hunt in order. Common practice.
func Hunt() []HuntStep { return append([]HuntStep(nil), hunt...) }
