package faults

import (
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// MissingCloseOut lists what is still to be confirmed before the visit of a finding is done, in order. It asks of those
// who moved or opened something: a cleaning of ours, or parts replaced. A last reading that was not taken with the dryer
// pushed back does not count, whatever was ticked.
func MissingCloseOut(f vent.Finding, fuel vent.Fuel) []rules.CloseLine {
	parts := slices.ContainsFunc(f.Parts, func(c vent.PartCheck) bool { return c.Replaced })
	if f.By.Kind != vent.ByUs || !f.Cleaned() && !parts {
		return nil
	}
	var out []rules.CloseLine
	for _, l := range rules.CloseOut(fuel) {
		if l.Wanted && !confirmed(f, l.ID) {
			out = append(out, l)
		}
	}
	return out
}

func confirmed(f vent.Finding, id string) bool {
	if !slices.Contains(f.CloseOut, id) {
		return false
	}
	if id != rules.CloseReadLast {
		return true
	}
	last := f.After
	if !f.Cleaned() {
		last = f.Before // nothing was cleaned: readings stand there
	}
	return slices.ContainsFunc(last, func(r vent.Reading) bool { return isAir(r) && r.Has(vent.PushedBack) })
}
