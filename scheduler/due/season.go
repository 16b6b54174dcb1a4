package due

import (
	"math"

	"ventdue/vent"
)

// span is a part of the year in which outdoor work is not wanted, as day and month of the northern winter; an empty span
// is no part. It crosses the turn of the year.
type span struct {
	fromMonth, fromDay, toMonth, toDay int
	south                              bool
}

// Latitudes at which winters begin to matter, in degrees. Ours.
const (
	mildWinter  = 33
	hardWinter  = 38
	longWinter  = 48
	southMonths = 6
)

// frost is the time in which roofs are icy and flaps freeze.
func frost(lat *float64) span {
	switch l, south := latitude(lat); {
	case l >= longWinter:
		return span{11, 1, 4, 1, south}
	case l >= hardWinter:
		return span{11, 15, 3, 15, south}
	case l >= mildWinter:
		return span{12, 10, 2, 20, south}
	}
	return span{}
}

// deepWinter is the time from which any preventive trip is pulled forward.
func deepWinter(lat *float64) span {
	switch l, south := latitude(lat); {
	case l >= longWinter:
		return span{12, 1, 3, 15, south}
	case l >= hardWinter:
		return span{12, 15, 3, 1, south}
	}
	return span{}
}

func latitude(lat *float64) (abs float64, south bool) {
	if lat == nil || math.IsNaN(*lat) {
		return 0, false
	}
	return math.Abs(*lat), *lat < 0
}

// before gives the last day before the span that holds d; false where none does.
func (s span) before(d vent.Date) (vent.Date, bool) {
	if s == (span{}) || d == 0 {
		return 0, false
	}
	shift := 0
	if s.south {
		shift = southMonths
	}
	for year := max(1, d.Year()-2); year <= d.Year(); year++ {
		start := vent.NewDate(year, 1, s.fromDay).AddMonths(s.fromMonth - 1 + shift)
		end := vent.NewDate(year+1, 1, s.toDay).AddMonths(s.toMonth - 1 + shift)
		if start <= d && d < end {
			return start.AddDays(-1), true
		}
	}
	return 0, false
}

// beforeWinter pulls a preventive cleaning forward: from deep winter, and for roof outlets from frost. Corrective work
// never waits and is never here.
func (f Facts) beforeWinter(w *vent.Wanted, p Policy) {
	s := deepWinter(f.Lat)
	if f.Roof {
		s = frost(f.Lat)
	}
	day, ok := s.before(w.Day)
	if !ok || day < f.Since.AddDays(p.ShortestDays) || day < f.LastFinding || day < f.Run.Known {
		return
	}
	w.Day = day
	w.Reason.Bound, w.Reason.Months, w.Reason.Source = vent.BoundWinter, 0, ""
}
