package faults

import (
	"fmt"
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Bench is one finding's part checks with what they are judged by.
type Bench struct {
	Finding vent.Finding
	Dryer   vent.Appliance // of that day
	Setting Setting
	// FlowShare is the first reading of air as a share of the clean flow, before anything was done; 0 not known.
	FlowShare float64
	// Earlier are the run's other findings, in any order; they tell whether a fuse opened before.
	Earlier []vent.Finding
}

// Diagnosis is what follows from the part checks of one finding.
type Diagnosis struct {
	Verdicts []Verdict // one for each check, as given
	// Symptom is what was told, else the first that a bad part explains. Explained: a bad part accounts for it.
	Symptom   vent.Symptom
	Explained bool
	// Replace lists what is still to be replaced, pairs included; Next what to look at next, in order.
	Replace []string
	Next    []rules.Step
	// Hunt is the search for what opened a one-shot device; nil where none was open.
	Hunt *Hunt
	// Sights are the faults that follow; for Raise.
	Sights   []Sight
	Cautions []string // ids
}

// Diagnose says what follows from the part checks of a finding. It refuses checks that the rules do not know or that
// contradict themselves, with the field named; a finding without checks gives the order in which to look.
func Diagnose(b Bench) (Diagnosis, error) {
	if err := rules.CheckFinding(b.Finding, b.Dryer).Err(); err != nil {
		return Diagnosis{}, fmt.Errorf("judge the part checks of %s: %w", b.Finding.Date, err)
	}
	d := Diagnosis{Symptom: b.Finding.Symptom}
	for _, c := range b.Finding.Parts {
		d.Verdicts = append(d.Verdicts, judge(c, b.Dryer))
	}
	d.explain()
	d.Hunt = hunt(b, d.Verdicts)
	d.Replace = toReplace(d.Verdicts)
	d.Next = next(b, d)
	d.Cautions = cautionsOf(b, d)
	d.Sights = partSights(b, d)
	return d, nil
}

// explain finds the symptom and whether a bad part accounts for it.
func (d *Diagnosis) explain() {
	for _, v := range d.Verdicts {
		if v.Standing != Bad || len(v.Explains) == 0 {
			continue
		}
		if d.Symptom == vent.NoSymptom {
			d.Symptom = v.Explains[0]
		}
		d.Explained = d.Explained || slices.Contains(v.Explains, d.Symptom)
	}
}

// toReplace lists bad parts, with their pairs, that were not replaced.
func toReplace(vs []Verdict) []string {
	replaced := map[string]bool{}
	for _, v := range vs {
		replaced[v.Part] = replaced[v.Part] || v.Replaced
	}
	var out []string
	for _, v := range vs {
		for _, id := range v.Replace {
			if !replaced[id] && !slices.Contains(out, id) {
				out = append(out, id)
			}
		}
	}
	return out
}

// next gives what is still to be looked at: after an open one-shot device the search for what opened it; else, until
// the symptom is explained, what its order holds; and always what a check left undecided.
func next(b Bench, d Diagnosis) []rules.Step {
	decided, open := map[string]bool{}, map[string]bool{}
	for _, v := range d.Verdicts {
		switch v.Standing {
		case Sound, Bad:
			decided[v.Part] = true
		case Unproven:
			open[v.Part] = true
		}
	}
	var order []rules.Step
	if d.Hunt != nil || !d.Explained {
		order = rules.Order(d.Symptom, b.Dryer.Fuel, b.Dryer.FuseStops)
	}
	if d.Hunt != nil {
		order = slices.Concat(rules.Order(vent.Overheats, b.Dryer.Fuel, b.Dryer.FuseStops), heatParts(b))
		if !d.Explained {
			order = append(order, rules.Order(d.Symptom, b.Dryer.Fuel, b.Dryer.FuseStops)...)
		}
	}
	for _, p := range rules.Parts() {
		if open[p.ID] {
			order = append(order, rules.Step{ID: p.ID, Text: p.Name + ": " + p.Healthy, Part: true, By: p.By, Cautions: p.Cautions})
		}
	}
	var out []rules.Step
	seen := map[string]bool{}
	for _, s := range order {
		runSeen := s.ID == rules.LookRun && airOf(b) != AirUnknown
		if !seen[s.ID] && (!decided[s.ID] || open[s.ID]) && !runSeen {
			seen[s.ID] = true
			out = append(out, s)
		}
	}
	return out
}

// heatParts are the parts that an open one-shot device asks about.
func heatParts(b Bench) []rules.Step {
	var out []rules.Step
	for _, id := range heatPartIDs(b.Dryer.Fuel) {
		p, _ := rules.PartByID(id)
		out = append(out, rules.Step{ID: id, Text: p.Name + ": " + p.Healthy, Part: true, By: p.By, Cautions: p.Cautions})
	}
	return out
}

func heatPartIDs(fuel vent.Fuel) []string {
	ids := []string{rules.ThermalCutoff, rules.HighLimit, rules.CyclingThermostat}
	if fuel != vent.Gas {
		ids = append(ids, rules.Heater)
	}
	return ids
}

// cautionsOf gathers the cautions of what was checked and what comes next.
func cautionsOf(b Bench, d Diagnosis) []string {
	ids := []string{rules.CautionPower, rules.CautionCodes}
	for _, c := range b.Finding.Parts {
		p, _ := rules.PartByID(c.Part)
		ids = append(ids, p.Cautions...)
	}
	for _, s := range d.Next {
		ids = append(ids, s.Cautions...)
	}
	if d.Hunt != nil {
		for _, s := range d.Hunt.Steps {
			ids = append(ids, s.Cautions...)
		}
	}
	if b.Dryer.Fuel == vent.Gas {
		ids = append(ids, rules.CautionGasValve, rules.CautionGasWork, rules.CautionGasMove, rules.CautionCO)
	} else {
		ids = slices.DeleteFunc(ids, func(id string) bool { return b.Dryer.Fuel != "" && id == rules.CautionGasMove })
	}
	return rules.InOrder(ids...)
}

// partSights gives the faults that the part checks lead to.
func partSights(b Bench, d Diagnosis) []Sight {
	var out []Sight
	say := func(id, note string) {
		r, _ := rules.FaultByID(id)
		out = append(out, Sight{Kind: Found, Rule: id, Subject: b.Setting.subject(r), On: b.Finding.Date, Finding: b.Finding.ID, ByTool: true, Note: note})
	}
	for _, v := range d.Verdicts {
		if id := faultOf(v); id != "" {
			p, _ := rules.PartByID(v.Part)
			say(id, p.Name+": "+v.Why)
		}
	}
	settled := func(id string) {
		r, _ := rules.FaultByID(id)
		out = append(out, Sight{Kind: Mended, Rule: id, Subject: b.Setting.subject(r), On: b.Finding.Date, Finding: b.Finding.ID, ByTool: true, By: doer(b.Finding.By)})
	}
	if slices.ContainsFunc(d.Verdicts, func(v Verdict) bool { return v.Part == rules.ThermalFuse && (v.Replaced || v.Standing == Sound) }) {
		settled(rules.FuseOpen)
	}
	switch half, whole := pair(b, d.Verdicts); {
	case half:
		say(rules.PairHalf, "")
	case whole:
		settled(rules.PairHalf)
	}
	if d.Hunt != nil {
		d.Hunt.sights(say)
	}
	return out
}

// pairDays is how far apart cut-off and high-limit may be replaced and still count as a pair. Ours.
const pairDays = 60

// pair reports whether only one of cut-off and high-limit was replaced, or both: in the finding, or the other one shortly
// before.
func pair(b Bench, vs []Verdict) (half, whole bool) {
	before := func(part string) bool {
		return slices.ContainsFunc(b.Earlier, func(f vent.Finding) bool {
			near := f.Counts() && f.Date <= b.Finding.Date && f.Date >= b.Finding.Date.AddDays(-pairDays)
			return near && slices.ContainsFunc(f.Parts, func(c vent.PartCheck) bool { return c.Part == part && c.Replaced })
		})
	}
	cutoff, limit := swapped(vs, rules.ThermalCutoff), swapped(vs, rules.HighLimit)
	if !cutoff && !limit {
		return false, false
	}
	whole = (cutoff || before(rules.ThermalCutoff)) && (limit || before(rules.HighLimit))
	return !whole, whole
}

// faultOf names the fault of one bad part; "" where the part was replaced or the cause hunt speaks for it. A part that
// touches the case is a stop even when replaced: somebody qualified looks at what it touched.
func faultOf(v Verdict) string {
	hotOver := v.Part == rules.CyclingThermostat && slices.Contains(v.Explains, vent.Overheats)
	switch {
	case v.Standing != Bad:
		return ""
	case v.Grounded && v.Part == rules.Heater:
		return rules.HeaterGrounded
	case v.Grounded:
		return rules.PartGrounded
	case v.OneShot || v.Replaced:
		return ""
	case v.Result == rules.StuckClosed || hotOver:
		return rules.PartStuck
	}
	return rules.PartFailed
}
