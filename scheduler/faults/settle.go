package faults

import (
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Resettle gives the checks of a run and its dryers that a finding changes: those that it carried out, and, where it takes
// another's place, those that the other one had carried out, which stand again where they stood before it.
//
// findings are all of the run that count, by date, this one included. old is the finding that was corrected; none.
func Resettle(checks []vent.Check, f vent.Finding, old vent.ID, findings []vent.Finding) (changed []vent.Check) {
	for _, c := range checks {
		next := c
		if !old.IsZero() {
			next = unsettle(c, old, findings)
		}
		if s := Settled([]vent.Check{next}, f); len(s) > 0 {
			next = s[0]
		}
		if next != c {
			changed = append(changed, next)
		}
	}
	return changed
}

// unsettle takes back what a finding had carried out. The check stands as it stood before; where that is not kept either, at
// the last visit that still counts: rather too soon than wrongly done.
func unsettle(c vent.Check, old vent.ID, findings []vent.Finding) vent.Check {
	switch {
	case c.Finding == old && c.Kept.Anchor != 0:
		c = visited(keptAlone(c), findings)
	case c.Finding == old:
		c = visited(undone(c), findings)
	case c.Kept.Finding == old:
		c.Kept = visited(undone(keptAlone(c)), findings).Standing()
	}
	return c
}

// undone is a check as if it had never been done.
func undone(c vent.Check) vent.Check { return c.At(vent.Standing{Anchor: c.Anchor}) }

// visited takes in the visits that came later than the last time the check was done.
func visited(c vent.Check, findings []vent.Finding) vent.Check {
	c.Round = vent.ID{}
	for _, f := range findings {
		if s := Settled([]vent.Check{c}, f); len(s) > 0 {
			c = s[0]
		}
	}
	return c
}

// Settled gives the checks that a finding's close-out list carried out, changed. checks are those of the finding's run and
// dryer.
func Settled(checks []vent.Check, f vent.Finding) []vent.Check {
	var out []vent.Check
	for _, c := range checks {
		r, ok := rules.CheckByID(c.Rule)
		if !ok || r.CloseOut == "" || c.Off || f.Date <= c.LastDone || !slices.Contains(f.CloseOut, r.CloseOut) {
			continue
		}
		before := c.Standing()
		next, err := Done(c, f.Date, f.Date, doer(f.By))
		if err != nil {
			continue // nobody is named, or the day cannot be
		}
		next.Finding, next.Kept = f.ID, before
		out = append(out, next)
	}
	return out
}
