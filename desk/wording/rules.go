package wording

import (
	"cmp"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// ruleTexts is what the rules say, by the rules' ids, in a language that is not theirs. What is missing is said in the
// rules' own words.
type ruleTexts struct {
	faults, work, warnings, noticed, advice, parts, healthy, closeOut, looks, hunt map[string]string
}

var spanishTexts = ruleTexts{faults: spanishRules, work: spanishWork, warnings: spanishWarnings, noticed: spanishNoticed, advice: spanishAdvice,
	parts: spanishParts, healthy: spanishHealthy, closeOut: spanishCloseOut, looks: spanishLooks, hunt: spanishHunt}

// FaultDo says what is to be done about a fault rule; "" for an unknown one.
func (w Words) FaultDo(id string) string {
	r, _ := rules.FaultByID(id)
	return cmp.Or(w.rules.work[id], r.Do)
}

// Warning says a caution of the rules; "" for an unknown one.
func (w Words) Warning(id string) string {
	return cmp.Or(w.rules.warnings[id], rules.CautionText(id))
}

// SignNoticed says what was noticed, as the one who noticed it would.
func (w Words) SignNoticed(k vent.SignKind) string {
	s, _ := rules.SignByKind(k)
	return cmp.Or(w.rules.noticed[string(k)], s.Looks)
}

// SignAdvice says what the one who noticed a sign is told at once.
func (w Words) SignAdvice(k vent.SignKind) string {
	s, _ := rules.SignByKind(k)
	return cmp.Or(w.rules.advice[string(k)], s.Say)
}

// PartName names a part of a dryer; an unknown one by its id.
func (w Words) PartName(id string) string {
	p, _ := rules.PartByID(id)
	return cmp.Or(w.rules.parts[id], p.Name, strings.ReplaceAll(id, "_", " "))
}

// PartHealthy says what a sound part shows; "" for an unknown one.
func (w Words) PartHealthy(id string) string {
	p, _ := rules.PartByID(id)
	return cmp.Or(w.rules.healthy[id], p.Healthy)
}

// CloseLine says a line of the close-out list; an unknown one by its id.
func (w Words) CloseLine(id string) string {
	if said := w.rules.closeOut[id]; said != "" {
		return said
	}
	for _, l := range rules.CloseOut(vent.Gas) { // gas has every line
		if l.ID == id {
			return l.Text
		}
	}
	return strings.ReplaceAll(id, "_", " ")
}

// LookAt says one thing to look at.
func (w Words) LookAt(s rules.Step) string {
	if name := w.rules.parts[s.ID]; s.Part && name != "" {
		return name + ": " + w.PartHealthy(s.ID)
	}
	return cmp.Or(w.rules.looks[s.ID], s.Text)
}

// HuntStep says one step of the search for a cause.
func (w Words) HuntStep(s rules.HuntStep) string { return cmp.Or(w.rules.hunt[s.ID], s.Text) }
