package faults

import (
	"cmp"
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Asks is what stands open on one subject.
type Asks struct {
	Faults []vent.Fault // in any state
	Signs  []vent.Sign
	Gas    bool
}

// Dues gives the dues that faults and signs ask for, stop first, then by day. Each carries its opener: the fault or the
// sign. A sign that raised a fault which still stands is spoken for by it; a waived fault is due on the day on which it
// comes back. Checks are asked for by Rounds.
func Dues(a Asks) []vent.Wanted {
	var out []vent.Wanted
	spoken := map[vent.ID]bool{}
	for _, f := range a.Faults {
		if w, ok := FaultDue(f); ok {
			out = append(out, w)
			spoken[f.SignID] = true
		}
	}
	for _, s := range a.Signs {
		if s.Answered.IsZero() && s.On.Valid() && !spoken[s.ID] {
			out = append(out, SignDue(s, a.Gas))
		}
	}
	slices.SortStableFunc(out, func(a, b vent.Wanted) int {
		return cmp.Or(stopFirst(a, b), cmp.Compare(a.Day, b.Day),
			cmp.Compare(a.Kind, b.Kind), slices.Compare(a.Opener[:], b.Opener[:]))
	})
	return out
}

func stopFirst(a, b vent.Wanted) int {
	switch aStop, bStop := a.Severity == vent.Stop, b.Severity == vent.Stop; {
	case aStop == bStop:
		return 0
	case aStop:
		return -1
	}
	return 1
}

// FaultDue is the due that a fault asks for; false for one that was put right, and for a note: that is remembered in lists, for
// the next visit, and nobody is reminded of it. A stop is due on the day it was found.
func FaultDue(f vent.Fault) (vent.Wanted, bool) {
	since := f.Since()
	w := vent.Wanted{
		Kind: vent.DueFault, Opener: f.ID, Severity: f.Severity, Earliest: since, Day: max(f.Deadline, since), Latest: max(f.Deadline, since),
		Reason: vent.Reason{Bound: vent.BoundCorrective, Rule: f.Rule, Since: since},
	}
	r, known := rules.FaultByID(f.Rule)
	switch {
	case f.State == vent.FaultFixed || f.Severity == vent.Note:
		return vent.Wanted{}, false
	case f.State == vent.FaultWaived:
		w.Earliest, w.Day, w.Latest = max(f.Until, since), max(f.Until, since), max(f.Until, since)
		w.Reason.Bound = vent.BoundWaived
	case f.Severity == vent.Stop:
		w.Day, w.Latest = since, since
	case known && r.FollowUp:
		w.Earliest = since.AddDays(r.NotBefore)
		w.Day, w.Latest = max(w.Day, w.Earliest), max(w.Day, w.Earliest).AddDays(graceFollowUp(r))
	}
	return w, true
}

// graceFollowUp is how many days late a follow-up still serves: none for a call within the week, a week for a reading
// after 30 days. Ours.
func graceFollowUp(r rules.Fault) int {
	if r.Days < 30 {
		return 0
	}
	return 7
}

// CheckDue is what one recurring check asks for, in a round of its own. It must not be turned off.
func CheckDue(c vent.Check) vent.Wanted {
	day := Next(c)
	r, _ := rules.CheckByID(c.Rule)
	lead, grace := leeway(c.Months)
	if r.Once {
		lead, grace = 60, 0
	}
	since := c.LastDone
	return vent.Wanted{
		Kind: vent.DueCheck, Opener: c.ID, Day: day, Earliest: max(day.AddDays(-lead), since), Latest: day.AddDays(grace),
		Reason: vent.Reason{Bound: vent.BoundInterval, Rule: c.Rule, Months: c.Months, Since: since},
	}
}

// leeway is how many days before and after its day a check of an interval serves as well: an eighth of it, a month at
// most. Ours.
func leeway(months int) (lead, grace int) {
	n := min(30, max(3, months*30/8))
	return n, n
}
