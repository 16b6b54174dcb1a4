package faults

import (
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Unsettled gives the checks that a finding had carried out which does not count any more, changed: they stand again where
// they stood before it; where that is not kept, at the last visit that still counts: rather too soon than wrongly done.
//
// findings are those of the run or dryer that count, by date.
func Unsettled(checks []vent.Check, old vent.ID, findings []vent.Finding) (changed []vent.Check) {
	for _, c := range checks {
		if next := unsettle(c, old, findings); next != c {
			changed = append(changed, next)
		}
	}
	return changed
}

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
