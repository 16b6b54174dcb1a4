package rules

import (
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// The parts of a dryer that are checked.
const (
	DoorSwitch        = "door_switch"
	ThermalFuse       = "thermal_fuse"
	ThermalCutoff     = "thermal_cutoff"
	HighLimit         = "high_limit"
	CyclingThermostat = "cycling_thermostat"
	Heater            = "heater"
	MotorSwitch       = "motor_switch"
	Igniter           = "igniter"
	FlameSensor       = "flame_sensor"
	ValveCoils        = "valve_coils"
)

// The results of a part check.
const (
	Good        = "good"
	Open        = "open"            // no continuity where there should be
	StuckClosed = "stuck_closed"    // continuity where it should have opened
	Grounded    = "shorted_to_case" // a reading to the dryer's case
	OutOfRange  = "out_of_range"
	NotChecked  = "not_checked"
)

// ToCase is the place of a reading taken between a part and the dryer's case. Any such reading is a fault: a sound
// part gives none.
const ToCase = "case"

// Part is one part of a dryer that is checked.
type Part struct {
	ID, Name string
	Fuel     vent.Fuel // vent.Gas or vent.Electric where only such dryers have it; "" for all
	OneShot  bool      // opens once, for ever: replaced, never reset or bypassed
	Resets   bool      // opens hot and closes again cold
	// HotProof: continuity cold does not pass it; it passes when it was seen to open hot, at a temperature from
	// OpensFrom to OpensTo.
	HotProof           bool
	OpensFrom, OpensTo airflow.Celsius
	// Pair is the part that is replaced with it.
	Pair string
	// ByModel: what stops when it is open is a fact of the model (vent.FuseStops), not Open.
	ByModel bool
	// Open, Stuck and Off are the symptoms of a part that is open, does not open, or is out of range; the likeliest first.
	Open, Stuck, Off []vent.Symptom
	// Results are those that can be recorded for it.
	Results []string
	// Healthy says what a sound one shows.
	Healthy  string
	By       Party
	Sources  []Source
	Cautions []string
}

var (
	switchResults = []string{Good, Open, StuckClosed, Grounded, NotChecked}
	fuseResults   = []string{Good, Open, Grounded, NotChecked}
	coilResults   = []string{Good, Open, OutOfRange, Grounded, NotChecked}
	statResults   = []string{Good, Open, StuckClosed, OutOfRange, Grounded, NotChecked}

	electricCautions = []string{CautionPower, CautionOneLead, CautionBypass}
	gasCautions      = []string{CautionPower, CautionOneLead, CautionBypass, CautionGasValve, CautionGasWork}
)

var parts = []Part{
	{ID: DoorSwitch, Name: "door switch", Open: is(vent.NoStart), Results: switchResults, By: Competent, Cautions: electricCautions,
		Healthy: "continuity with the door shut, none with it open", Sources: []Source{practice()}},
	{ID: ThermalFuse, Name: "thermal fuse", OneShot: true, ByModel: true, Results: fuseResults, By: Competent, Cautions: electricCautions,
		Healthy: "continuity, about 0 ohm", Sources: []Source{read("repair guides: one-shot, healthy about 0 ohm, blown open"), practice(onlyOnce)}},
	{ID: ThermalCutoff, Name: "thermal cut-off", OneShot: true, Pair: HighLimit, Open: is(vent.NoHeat), Results: fuseResults, By: Competent, Cautions: electricCautions,
		Healthy: "continuity, about 0 ohm", Sources: []Source{second(pairTrade), practice(onlyOnce)}},
	{ID: HighLimit, Name: "high-limit thermostat", Resets: true, Pair: ThermalCutoff, Open: is(vent.NoHeat), Stuck: is(vent.Overheats), Results: statResults, By: Competent, Cautions: electricCautions,
		Healthy: "continuity cold; it opens when the run is blocked and closes again", Sources: []Source{second(pairTrade), read("repair page: the limit cycles when the vent is blocked")}},
	{ID: CyclingThermostat, Name: "cycling thermostat", Resets: true, HotProof: true, OpensFrom: airflow.Fahrenheit(120), OpensTo: airflow.Fahrenheit(170),
		Open: is(vent.NoHeat, vent.NoHeatSetting), Stuck: is(vent.Overheats), Off: is(vent.Overheats), Results: statResults, By: Competent, Cautions: electricCautions,
		Healthy: "continuity cold, and it was seen to cycle hot: opens at 120 to 170 °F (49 to 77 °C)", Sources: []Source{read("repair page: opens 120 to 170 °F (49 to 77 °C), closed at room temperature"), practice("cold continuity does not pass it")}},
	{ID: Heater, Name: "heater", Fuel: vent.Electric, Open: is(vent.NoHeat), Off: is(vent.NoHeatSetting), Results: coilResults, By: Competent, Cautions: electricCautions,
		Healthy: "volts² / watts of the plate, within about 10 %; nothing to the case", Sources: []Source{read("R = V²/P; 240 V: 5 000 W 11.5, 5 400 W 10.7 ohm"), second(caseTrade), practice("a small resistance, not zero and not open; ±10 %")}},
	{ID: MotorSwitch, Name: "motor switch", Open: is(vent.NoHeat, vent.NoStart), Stuck: is(vent.Overheats), Results: switchResults, By: Competent, Cautions: electricCautions,
		Healthy: "its heater contact closes while the motor runs and opens when it stands", Sources: []Source{practice("the motor's own switch keeps the heater off while the motor does not run")}},
	{ID: Igniter, Name: "igniter", Fuel: vent.Gas, Open: is(vent.NoHeat), Off: is(vent.NoHeat), Results: coilResults, By: Licensed, Cautions: gasCautions,
		Healthy: "continuity; it glows, then the flame lights", Sources: []Source{practice()}},
	{ID: FlameSensor, Name: "flame sensor", Fuel: vent.Gas, Open: is(vent.NoHeat), Stuck: is(vent.NoHeat), Results: switchResults, By: Licensed, Cautions: gasCautions,
		Healthy: "continuity cold; it opens when the igniter glows", Sources: []Source{practice()}},
	{ID: ValveCoils, Name: "gas valve coils", Fuel: vent.Gas, Open: is(vent.NoHeat), Off: is(vent.NoHeat), Results: coilResults, By: Licensed, Cautions: gasCautions,
		Healthy: "the resistance that the maker gives, cold and hot", Sources: []Source{practice()}},
}

func is(s ...vent.Symptom) []vent.Symptom { return s }

var partIndex = index(parts, func(p Part) string { return p.ID })

// Parts lists all parts in the order of a form.
func Parts() []Part { return slices.Clone(parts) }

// PartByID finds a part; false where there is none of that id.
func PartByID(id string) (Part, bool) { return byID(parts, partIndex, id) }

// Fits reports whether a dryer of that fuel has the part. Of a dryer whose fuel is not known anything is believed.
func (p Part) Fits(f vent.Fuel) bool { return p.Fuel == "" || f == "" || p.Fuel == f }

// OhmsTolerance is how far, as a share, a heater's resistance may lie from volts² / watts of its plate. Common
// practice, about 10 %.
const OhmsTolerance = 0.10

// HeaterOhms is the resistance of a heater by its plate, volts² / watts; 0 where the plate is not known or cannot be.
func HeaterOhms(volts, watts float64) float64 {
	if !(volts >= 1 && volts <= mostVolts) || !(watts >= 1 && watts <= mostWatts) {
		return 0
	}
	return volts * volts / watts
}

// mostVolts and mostWatts bound what a plate can say, as vent.Appliance.Valid does.
const mostVolts, mostWatts = 600, 100e3
