package due

import "ventdue/vent"

// toldDays is the least by which a date that somebody was already told moves earlier.
const toldDays = 7

// keepTold holds a date that somebody was told: later it moves only on the run's own evidence, not because neighbours,
// a new version of the model or a changed policy say so; earlier only by a week or more.
func (f Facts) keepTold(w *vent.Wanted, hard vent.Date, told *vent.Due) {
	if told == nil || told.ToldDay == 0 || told.Opener != w.Opener {
		return
	}
	was := told.ToldDay
	later := w.Day > was && !ownEvidence(w.Reason, told.Reason) && f.Partial <= f.Since
	sooner := w.Day < was && w.Day.DaysUntil(was) < toldDays
	if !later && !sooner {
		return
	}
	keep := min(was, hard)
	if keep == w.Day || keep < f.LastFinding || keep < f.Since {
		return
	}
	w.Day = keep
	if later {
		w.Reason.Bound, w.Reason.Months, w.Reason.Source = vent.BoundNotToldLater, 0, ""
	}
}

// ownEvidence reports whether more was measured on the run itself than when the date was told.
func ownEvidence(now, then vent.Reason) bool {
	return now.Readings > then.Readings || now.Cycles > then.Cycles
}
