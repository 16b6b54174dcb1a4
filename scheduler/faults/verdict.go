package faults

import (
	"fmt"
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// Standing is what a check proved of a part.
type Standing string

// The standings.
const (
	Sound     Standing = "sound"
	Bad       Standing = "bad"
	Unproven  Standing = "unproven" // what was recorded does not decide it
	Unchecked Standing = "not_checked"
)

// Verdict is what one part check says.
type Verdict struct {
	Part     string
	Standing Standing
	// Result is what holds: what was recorded, or what the reading says against it.
	Result   string
	Grounded bool // a reading to the case
	Replaced bool
	// OneShot parts are replaced, never reset or bypassed; Resets ones close again when cold.
	OneShot, Resets bool
	// Explains lists the symptoms that a bad part explains, the likeliest first.
	Explains []vent.Symptom
	// Replace lists what is replaced: the part, and the one that goes with it.
	Replace []string
	// Ohms is what the plate lets expect, Low to High what passes; 0 where there is no plate or it is no heater.
	Ohms, Low, High float64
	Why             string
}

// judge says what a part check proves on a dryer.
func judge(c vent.PartCheck, dryer vent.Appliance) Verdict {
	p, ok := rules.PartByID(c.Part)
	v := Verdict{Part: c.Part, Result: c.Result, Replaced: c.Replaced, OneShot: p.OneShot, Resets: p.Resets, Standing: Sound}
	if c.Part == rules.Heater {
		if r := rules.HeaterOhms(dryer.Volts, dryer.Watts); r > 0 {
			v.Ohms, v.Low, v.High = r, r*(1-rules.OhmsTolerance), r*(1+rules.OhmsTolerance)
		}
	}
	switch {
	case !ok:
		v.Standing, v.Why = Unproven, "no such part is known"
	case c.Result == rules.Grounded || toCase(c.Reading):
		v.grounded()
	case c.Result == rules.NotChecked || c.Result == "":
		v.Standing, v.Result = Unchecked, rules.NotChecked
	case c.Result == rules.Open:
		v.bad(p.Open, "no continuity")
		if p.ByModel {
			v.byModel(dryer.FuseStops)
		}
	case c.Result == rules.StuckClosed:
		v.bad(p.Stuck, "it does not open when it should")
	case c.Result == rules.OutOfRange:
		v.bad(p.Off, "out of range")
	case c.Result == rules.Good:
		v.good(p, c.Reading)
	default:
		v.Standing, v.Why = Unproven, "no such result is known"
	}
	if v.Standing == Bad {
		v.Replace = []string{c.Part}
		if p.Pair != "" {
			v.Replace = append(v.Replace, p.Pair)
		}
	}
	return v
}

func toCase(r *vent.Reading) bool {
	return r != nil && r.Quantity == vent.Ohms && r.Place == rules.ToCase
}

func (v *Verdict) bad(explains []vent.Symptom, why string) {
	v.Standing, v.Explains, v.Why = Bad, slices.Clone(explains), why
}

// grounded: any reading to the case is a fault; a heater that touches it can heat with the dryer off.
func (v *Verdict) grounded() {
	v.Grounded, v.Result = true, rules.Grounded
	v.bad(nil, "a reading to the case: a sound part gives none")
	if v.Part == rules.Heater {
		v.Explains = []vent.Symptom{vent.Overheats}
	}
}

// byModel says what an open fuse stops on this model. While nobody knows, both are possible.
func (v *Verdict) byModel(stops vent.FuseStops) {
	if s := rules.FuseSymptom(stops); s != vent.NoSymptom {
		v.Explains = []vent.Symptom{s}
		return
	}
	v.Explains = []vent.Symptom{vent.NoStart, vent.NoHeat}
	v.Why += "; whether it stops the motor or only the heat is not recorded for this model: look at its wiring diagram and record it"
}

// good believes what was said unless the reading says otherwise, or continuity alone proves nothing.
func (v *Verdict) good(p rules.Part, r *vent.Reading) {
	switch {
	case p.HotProof:
		v.hot(p, r)
	case v.Part != rules.Heater || r == nil || r.Quantity != vent.Ohms:
	case !(r.Value > 0):
		v.Result = rules.OutOfRange
		v.bad(p.Off, "0 ohm is a short: a heater has a small resistance, not none")
	case v.Ohms == 0:
		v.Standing = Unproven
		v.Why = fmt.Sprintf("%.4g ohm, and volts and watts of the plate are not recorded: it should be volts² / watts", r.Value)
	case r.Value < v.Low || r.Value > v.High:
		v.Result = rules.OutOfRange
		v.bad(p.Off, fmt.Sprintf("%.4g ohm, by the plate %.2f (%.2f to %.2f)", r.Value, v.Ohms, v.Low, v.High))
	default:
		v.Why = fmt.Sprintf("%.4g ohm, by the plate %.2f", r.Value, v.Ohms)
	}
}

// hot judges a thermostat by the temperature at which it was seen to open.
func (v *Verdict) hot(p rules.Part, r *vent.Reading) {
	if r == nil || r.Quantity != vent.ExhaustT {
		v.Standing, v.Why = Unproven, "continuity cold does not pass it: run it hot and record the temperature at which it cycled"
		return
	}
	at, said := airflow.Celsius(r.Value), fmt.Sprintf("cycled hot at %.0f °C (%.0f °F)", r.Value, airflow.Celsius(r.Value).Fahrenheit())
	switch {
	case at > p.OpensTo:
		v.Result = rules.OutOfRange
		v.bad(p.Off, said+": too hot")
	case at >= p.OpensFrom:
		v.Why = said
	default:
		v.Result = rules.OutOfRange
		v.bad([]vent.Symptom{vent.NoHeat}, said+": it opens too soon and the heat is cut short")
	}
}
