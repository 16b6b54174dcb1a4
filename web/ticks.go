package web

import (
	"net/url"
	"slices"

	"ventdue/desk"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// tickList is a list of boxes to tick, under one heading.
type tickList struct {
	Name, Label string
	Choices     []choice
}

// ticked gives what is ticked, and what was there before without being offered.
func (t tickList) ticked(before []string) []string {
	var all []string
	for _, id := range before {
		if !slices.ContainsFunc(t.Choices, func(c choice) bool { return c.Value == id }) {
			all = append(all, id)
		}
	}
	for _, c := range t.Choices {
		if c.Chosen {
			all = append(all, c.Value)
		}
	}
	return all
}

func (t *tickList) fill(v url.Values) {
	for i := range t.Choices {
		t.Choices[i].Chosen = slices.Contains(v[t.Name], t.Choices[i].Value)
	}
}

// Some reports whether anything is ticked.
func (t tickList) Some() bool {
	return slices.ContainsFunc(t.Choices, func(c choice) bool { return c.Chosen })
}

// seenAt lists the faults that somebody can see on a run or on its dryer.
func (f figures) seenAt(on vent.Kind, view desk.RunView) tickList {
	t := tickList{Name: "fault", Label: f.Say("page.seen." + string(on))}
	for _, r := range rules.Faults() {
		if r.On != on || r.FoundBy == rules.ByTool || r.FollowUp || r.GasOnly && view.Dryer.Fuel != vent.Gas {
			continue
		}
		label := f.rule(r.ID)
		if r.At(view.Dryer.Fuel == vent.Gas, view.Run.Shared()).Severity == vent.Stop {
			label += f.Say("page.seen.stop")
		}
		t.Choices = append(t.Choices, choice{Value: r.ID, Label: label})
	}
	return t
}

// fixable lists the open faults that a visit may put right; what must stop is released, not ticked off.
func (f figures) fixable(view desk.RunView) tickList {
	t := tickList{Name: "fixed", Label: f.Say("page.field.fixed")}
	for _, x := range view.Faults {
		known := slices.ContainsFunc(t.Choices, func(c choice) bool { return c.Value == x.Rule })
		if _, ok := rules.FaultByID(x.Rule); ok && x.State != vent.FaultFixed && x.Severity != vent.Stop && !known {
			t.Choices = append(t.Choices, choice{Value: x.Rule, Label: f.rule(x.Rule)})
		}
	}
	return t
}

// closing lists what is confirmed before the visit is done.
func (f figures) closing(view desk.RunView) tickList {
	t := tickList{Name: "close_out", Label: f.Say("page.field.close_out")}
	for _, l := range rules.CloseOut(view.Dryer.Fuel) {
		label := f.CloseLine(l.ID)
		if l.By == rules.Licensed {
			label += " (" + f.Say("page.party."+string(l.By)) + ")"
		}
		t.Choices = append(t.Choices, choice{Value: l.ID, Label: label})
	}
	return t
}
