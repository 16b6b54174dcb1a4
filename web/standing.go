package web

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// faultCard is one fault with all that somebody who has to see to it must know.
type faultCard struct {
	ID                 string
	State, StateWord   string // shape and word
	What, When         string
	Do                 string // what puts it right and who may do it; "" for a rule that is not known
	Note               string
	Sources, Cautions  []string
	Calls              []string // who was told of a stop fault, and whether a tag hangs
	Open, Stop, Waived bool
	Forms              []faultForm // on a run's page

	fault vent.Fault
}

// faultCards gives the open ones first, the gravest and soonest on top.
func (f figures) faultCards(faults []vent.Fault, gas, shared bool, today vent.Date, zone *time.Location) []faultCard {
	sorted := slices.Clone(faults)
	slices.SortStableFunc(sorted, func(a, b vent.Fault) int {
		return cmp.Or(faultRank(a, today)-faultRank(b, today), cmp.Compare(a.Deadline, b.Deadline))
	})
	all := make([]faultCard, len(sorted))
	for i, x := range sorted {
		all[i] = f.faultCard(x, gas, shared, today, zone)
	}
	return all
}

// standsOpen reports whether a fault still has to be put right: a waiver counts until its day.
func standsOpen(x vent.Fault, today vent.Date) bool {
	return x.State == vent.FaultOpen || x.State == vent.FaultWaived && x.Until <= today
}

func faultRank(x vent.Fault, today vent.Date) int {
	switch {
	case standsOpen(x, today):
		return 3 - rules.Weight(x.Severity)
	case x.State == vent.FaultWaived:
		return 4
	}
	return 5
}

func (f figures) faultCard(x vent.Fault, gas, shared bool, today vent.Date, zone *time.Location) faultCard {
	c := faultCard{fault: x, ID: x.ID.String(), What: f.rule(x.Rule), When: f.Say("page.fault.found", "date", f.Date(x.Since())),
		Note: strings.TrimSpace(x.Note + " " + x.Why), Open: standsOpen(x, today), Stop: x.Severity == vent.Stop, Waived: x.State == vent.FaultWaived}
	switch {
	case x.State == vent.FaultFixed:
		c.State, c.StateWord = "done", f.Say("page.fault.fixed", "date", f.Date(x.Closed), "who", x.ClosedBy)
	case !c.Open:
		c.State, c.StateWord = "later", f.Say("page.fault.waived", "date", f.Date(x.Until), "who", x.ClosedBy)
	case c.Stop:
		c.State, c.StateWord = "stop", f.Say("state.stop")
	case x.Deadline != 0 && x.Deadline < today:
		c.State, c.StateWord = "overdue", f.Say("page.fault.late", "date", f.Date(x.Deadline))
	case x.Severity == vent.Fix:
		c.State, c.StateWord = "soon", f.Say("page.fault.fix", "date", f.Date(x.Deadline))
	default:
		c.State, c.StateWord = "later", f.Say("page.fault.note")
	}
	if c.Stop {
		c.Calls = f.calls(x, zone)
	}
	rule, ok := rules.FaultByID(x.Rule)
	if !ok || !c.Open {
		return c
	}
	c.Do = f.Say("page.fault.do", "do", f.FaultDo(rule.ID), "by", f.Say("page.party."+string(rule.By)))
	for _, s := range rule.Sources {
		c.Sources = append(c.Sources, s.String())
	}
	for _, id := range rule.CautionsAt(gas, shared) {
		if !slices.Contains(everyCaution, id) {
			c.Cautions = append(c.Cautions, f.Warning(id))
		}
	}
	return c
}

// calls tells how far a stop fault has come: the tag, and who was told when and how.
func (f figures) calls(x vent.Fault, zone *time.Location) []string {
	var all []string
	if x.Tagged {
		all = append(all, f.Say("page.fault.tagged"))
	}
	for _, c := range x.Told {
		line := f.Say("page.fault.told", "who", c.Who, "how", c.How, "when", f.moment(c.At, zone))
		if c.Ackd {
			line += " " + f.Say("page.fault.acknowledged")
		}
		all = append(all, line)
	}
	return all
}

// everyCaution are the cautions that stand under "Before any work" on every page that shows faults.
var everyCaution = []string{rules.CautionPower, rules.CautionGasValve, rules.CautionNoPermit, rules.CautionCodes}

// rule says what a fault looks like; an id that is not known is given as words.
func (f figures) rule(id string) string {
	if _, ok := rules.FaultByID(id); ok {
		return f.Rule(id)
	}
	return strings.ReplaceAll(id, "_", " ")
}

// inTurn sorts open dues as they are to be seen to: what must stop first, then by day.
func inTurn(dues []vent.Due) []vent.Due {
	sorted := slices.Clone(dues)
	slices.SortStableFunc(sorted, func(a, b vent.Due) int {
		if stop := a.Severity == vent.Stop; stop != (b.Severity == vent.Stop) {
			if stop {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.Day, b.Day)
	})
	return sorted
}

// standing chooses shape and word for a whole run from its open dues and faults.
func (f figures) standing(dues []vent.Due, faults []vent.Fault, today vent.Date) (state, word string) {
	for _, x := range faults {
		if x.Severity == vent.Stop && standsOpen(x, today) {
			return "stop", f.Say("state.stop")
		}
	}
	if len(dues) == 0 {
		return "done", f.Say("page.paper.nothing")
	}
	state = wording.StateKey(inTurn(dues)[0], today)
	return state, f.Say("state." + state)
}
