package faults

import (
	"ventdue/vent"
	"ventdue/vent/rules"
)

// FromSign gives the stop fault that a sign raises, once, when it is written down; false for signs that a look settles.
func FromSign(s vent.Sign, at Setting) (Sight, bool) {
	rule, ok := rules.SignByKind(s.Kind)
	if !ok || rule.Fault == "" {
		return Sight{}, false
	}
	r, _ := rules.FaultByID(rule.Fault)
	return Sight{Kind: Found, Rule: rule.Fault, Subject: at.subject(r), On: s.On, Sign: s.ID, ByTool: false, Note: s.Note}, true
}

// SignDue is the corrective due that an open sign asks for. Nothing puts it off. A sign whose kind is not known is looked
// into within the week.
func SignDue(s vent.Sign, gas bool) vent.Wanted {
	g := rules.Grade{Severity: vent.Fix, Days: 7}
	if rule, ok := rules.SignByKind(s.Kind); ok {
		g = rule.At(gas)
	}
	day := s.On.AddDays(g.Days)
	return vent.Wanted{
		Kind: vent.DueSign, Opener: s.ID, Severity: g.Severity, Earliest: s.On, Day: day, Latest: day,
		Reason: vent.Reason{Bound: vent.BoundCorrective, Rule: string(s.Kind), Since: s.On},
	}
}
