package due

import "ventdue/vent"

// Look is the due for a look: a reading, the flap, or a full opening, never later than the policy's interval after the
// last one. It is not wanted where a cleaning is due by then, which is a look as well.
func Look(f Facts, p Policy, clean vent.Wanted, told *vent.Due) (vent.Wanted, bool) {
	w := vent.Wanted{Kind: vent.DueLook, Opener: f.Saw, Reason: f.Reason}
	last := f.Looked
	if last == 0 {
		last, w.Opener = f.Since, f.Run.ID
	}
	if last == 0 {
		return vent.Wanted{}, false
	}
	hard := last.AddMonths(p.LookMonths)
	w.Day = hard
	w.Reason.Bound, w.Reason.Months = vent.BoundLook, p.LookMonths
	if start, ok := frost(f.Lat).before(hard); ok && start > last.AddDays(p.ShortestDays) {
		w.Day = start
		w.Reason.Bound = vent.BoundWinter
	}
	if told != nil && told.Opener == w.Opener && told.ToldDay != 0 && w.Day > told.ToldDay && told.ToldDay > last {
		w.Day = told.ToldDay
		w.Reason.Bound = vent.BoundNotToldLater
	}
	if clean.Day <= w.Day {
		return vent.Wanted{}, false
	}
	w.Earliest = max(w.Day.AddDays(-earliestMost), last)
	w.Latest = max(hard, w.Day)
	w.Reason.Risk = f.risk(p)
	w.Reason.Since = last
	w.Reason.ByModel, w.Reason.Median = f.Day(w.Reason.Risk), f.Day(0.5)
	w.Reason.Chance = f.Chance(w.Day)
	return w, true
}
