package rules

import (
	"slices"
	"strings"

	"ventdue/vent"
)

// CheckFinding lists what a finding says that these rules do not know or that cannot be: besides vent.Finding.Valid,
// which knows no rules. dryer is the dryer of that day; zero where it is not known.
func CheckFinding(f vent.Finding, dryer vent.Appliance) vent.Problems {
	var p vent.Problems
	for _, id := range f.Faults {
		checkRule(&p, "faults", id, dryer.Fuel, true)
	}
	for _, id := range f.Fixed {
		checkRule(&p, "fixed", id, dryer.Fuel, false)
	}
	checkParts(&p, f.Parts, dryer.Fuel)
	if strings.TrimSpace(f.By.Name) == "" && len(f.Fixed) > 0 {
		p.Add("by_name", "", "is empty: who put it right is part of the record")
	}
	for _, id := range f.CloseOut {
		l, ok := closeLine(id)
		switch {
		case !ok:
			p.Add("close_out", id, "is no line of the close-out list: use one of %s", names(closeOut, func(l CloseLine) string { return l.ID }))
		case l.GasOnly && dryer.Fuel != vent.Gas && dryer.Fuel != "":
			p.Add("close_out", id, "is for gas dryers: this one is %s", dryer.Fuel)
		}
	}
	return p
}

// checkRule refuses a rule that is not known, and, where it is to be raised, one that only the tool raises.
func checkRule(p *vent.Problems, field, id string, fuel vent.Fuel, raise bool) {
	r, ok := FaultByID(id)
	switch {
	case !ok:
		p.Add(field, id, "is no fault rule: see the list of rules for its ids")
	case raise && r.FoundBy == ByTool:
		p.Add(field, id, "follows from what is recorded: give the readings or part checks that show it")
	case r.GasOnly && fuel != vent.Gas && fuel != "":
		p.Add(field, id, "is for gas dryers: this one is %s", fuel)
	}
}

func checkParts(p *vent.Problems, checks []vent.PartCheck, fuel vent.Fuel) {
	for _, c := range checks {
		part, ok := PartByID(c.Part)
		if !ok {
			p.Add("parts.part", c.Part, "is not a known part: use one of %s", names(parts, func(x Part) string { return x.ID }))
			continue
		}
		if !part.Fits(fuel) {
			p.Add("parts.part", c.Part, "is not in a dryer of that fuel (%s)", fuel)
		}
		if !slices.Contains(part.Results, c.Result) {
			p.Add("parts.result", c.Result, "cannot be the result for the %s: use one of %s", part.Name, strings.Join(part.Results, ", "))
		}
		if c.Replaced && c.Result == NotChecked {
			p.Add("parts.replaced", c.Part, "was replaced without being checked: check the old part, its result tells the cause")
		}
		checkPartReading(p, part, c)
		if len(c.Note) > maxNote {
			p.Add("parts.note", c.Note, "is %d bytes long: at most %d", len(c.Note), maxNote)
		}
	}
}

// maxNote is the longest note on a part, in bytes.
const maxNote = 4000

func checkPartReading(p *vent.Problems, part Part, c vent.PartCheck) {
	if c.Reading == nil {
		return
	}
	r := *c.Reading
	p.Under("parts.reading", r.Valid())
	switch {
	case r.Quantity == vent.Ohms:
	case r.Quantity == vent.ExhaustT && part.Resets:
	default:
		p.Add("parts.reading.quantity", string(r.Quantity), "says nothing of the %s: give ohms, or for a thermostat the temperature at which it opened", part.Name)
	}
	if c.Result == NotChecked {
		p.Add("parts.reading", c.Part, "has a reading but was not checked: say what the check gave")
	}
	if r.Quantity == vent.Ohms && r.Place == ToCase && c.Result != Grounded {
		p.Add("parts.result", c.Result, "has a reading to the case: a sound part gives none, so the result is %s", Grounded)
	}
}

func names[T any](rows []T, id func(T) string) string {
	ids := make([]string, len(rows))
	for i, r := range rows {
		ids[i] = id(r)
	}
	return strings.Join(ids, ", ")
}

// CheckCheck lists what is wrong with a recurring check besides vent.Check.Valid: a rule that is not known, an
// interval longer than the rule allows.
func CheckCheck(c vent.Check) vent.Problems {
	var p vent.Problems
	r, ok := CheckByID(c.Rule)
	switch {
	case !ok:
		p.Add("rule", c.Rule, "is no check: use one of %s", names(checks, func(x Check) string { return x.ID }))
	case c.Months > r.Most:
		p.Add("months", "", "is %d: at most %d for %s", c.Months, r.Most, c.Rule)
	}
	return p
}
