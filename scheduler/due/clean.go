package due

import "ventdue/vent"

// Windows and grace, in days. Ours.
const (
	returnDays    = 14 // to come back and finish a cleaning that did not reach everything
	earliestShare = 8  // a window opens an eighth of the interval before the day,
	earliestLeast = 14 // two weeks before at least
	earliestMost  = 60 // and two months at most
	graceMost     = 30 // it closes a month after the day at the latest
	graceRisk     = 1.5
)

// Clean is the due for opening and cleaning the run.
//
// Invariant: the day is never before the last full cleaning, never past an outside ceiling counted from it, and, unless
// something was found that asks for it, never sooner after it than the policy's shortest interval.
func Clean(f Facts, p Policy, told *vent.Due) vent.Wanted {
	w := vent.Wanted{Kind: vent.DueClean, Opener: f.Opener, Reason: f.Reason}
	w.Reason.Risk = f.risk(p)
	w.Reason.Since = f.Since
	w.Reason.ByModel, w.Reason.Median = f.Day(w.Reason.Risk), f.Day(0.5)
	switch {
	case f.Past != 0:
		f.past(&w)
	case f.Since == 0:
		f.unknown(&w, p.SpreadDays)
	default:
		hard := f.preventive(&w, p)
		f.beforeWinter(&w, p)
		f.keepTold(&w, hard, told)
		f.window(&w, p, hard)
	}
	w.Reason.Chance = f.Chance(w.Day)
	return w
}

// past is due at once: a reading or an eye saw the run past its limit and nobody cleaned it since. That stands in no
// queue, whether or not the last cleaning is known.
func (f Facts) past(w *vent.Wanted) {
	w.Day, w.Earliest, w.Latest = f.Past, f.Past, f.Past
	w.Reason.Bound, w.Severity = vent.BoundPastLimit, vent.Fix
	if f.Seen != vent.NotGraded {
		w.Reason.Seen, w.Reason.SeenOn = f.Seen, f.Past
	}
	if f.Gas {
		w.Severity = vent.Stop
	}
}

// unknown is due now, worst first over a few weeks: a big import must not fall on one day, and no interval is counted
// from the day on which somebody happened to type the run in. The worst third comes in the first days, hence the square; a
// third of the spread is by the run's own id, so that like runs do not fall on one day.
func (f Facts) unknown(w *vent.Wanted, spread int) {
	known := f.Run.Known
	worst := min(1, max(0, f.Worst))
	after := ((1-worst)*(1-worst) + share(f.Run.ID)*(1-worst)/3) * float64(spread)
	w.Unknown = true
	w.Earliest, w.Day, w.Latest = known, known.AddDays(int(after)), known.AddDays(spread+spread/3)
	w.Reason.Bound, w.Reason.Worst, w.Reason.Since = vent.BoundUnknown, worst, known
}

// share is an even number from 0 to below 1 that belongs to an id.
func share(id vent.ID) float64 {
	h := uint32(2166136261) // FNV-1a: a version-7 UUID begins with its time, only mixed bits are even
	for _, b := range id {
		h = (h ^ uint32(b)) * 16777619
	}
	h ^= h >> 15
	h *= 0x85ebca6b
	h ^= h >> 13
	return float64(h>>8) / (1 << 24)
}

// preventive sets the computed day within its bounds and gives the day that nothing may push it past.
func (f Facts) preventive(w *vent.Wanted, p Policy) (hard vent.Date) {
	months, bound := f.longest(p)
	source := ""
	for _, c := range f.Run.Ceilings {
		if c.Months > 0 && c.Months < months {
			months, bound, source = c.Months, vent.BoundCeiling, c.Source
		}
	}
	hard = f.Since.AddMonths(months)
	floor := max(f.Since.AddDays(p.ShortestDays), f.LastFinding)
	if f.Partial > f.Since {
		finish := f.Partial.AddDays(returnDays)
		floor, hard = max(finish, f.LastFinding), max(hard, finish)
		if f.Proven {
			hard = max(hard, f.Partial.AddMonths(months))
		}
	}
	day := w.Reason.ByModel
	switch {
	case day == 0 || day > hard:
		day = hard
		w.Reason.Bound, w.Reason.Months, w.Reason.Source = bound, months, source
	case day < floor && floor > hard:
		day = hard
		w.Reason.Bound, w.Reason.Months, w.Reason.Source = bound, months, source
	case day < floor:
		day = floor
		if floor == f.Since.AddDays(p.ShortestDays) {
			w.Reason.Bound = vent.BoundShortest
		}
	}
	w.Day = max(day, f.Since)
	return max(hard, w.Day)
}

// window opens before the day and closes after it, as far as the bounds and half as much risk again allow.
func (f Facts) window(w *vent.Wanted, p Policy, hard vent.Date) {
	lead := min(earliestMost, max(earliestLeast, f.Since.DaysUntil(w.Day)/earliestShare))
	w.Earliest = min(w.Day, max(w.Day.AddDays(-lead), f.Since.AddDays(p.ShortestDays)))
	w.Latest = min(hard, w.Day.AddDays(graceMost))
	if late := f.Day(graceRisk * w.Reason.Risk); late != 0 {
		w.Latest = min(w.Latest, late)
	}
	w.Latest = max(w.Latest, w.Day)
}
