package due

import "ventdue/vent"

// Facts is all that the days of one run depend on.
type Facts struct {
	Run vent.Run
	// Gas, Shared, MultiFamily and Roof make a run one to be careful with.
	Gas, Shared, MultiFamily, Roof bool
	Lat                            *float64 // of the site, degrees north; nil not known

	// Chance of being past the limit on a day, never falling; Day is its inverse, 0 where not within ten years.
	Chance func(vent.Date) float64
	Day    func(float64) vent.Date

	Since  vent.Date // last full cleaning or installation; 0 not known
	Opener vent.ID   // finding of it, else the run
	// Partial is the newest cleaning since then that did not reach everything; 0 none. Proven says that a reading
	// after it showed the run clean.
	Partial vent.Date
	Proven  bool
	// Looked is the newest look of any kind, Saw the finding; LastFinding is the newest of all, failed ones included.
	Looked      vent.Date
	Saw         vent.ID
	LastFinding vent.Date
	// Past is the newest finding since the last cleaning, itself included, that saw the run past its limit; 0 none. Seen is
	// the lint that an eye saw there; none where a reading said so.
	Past vent.Date
	Seen vent.Grade

	Supports bool    // two measured cycles of this version and a known clean value
	Worst    float64 // rank of a run whose last cleaning is not known: 0 harmless to 1 first
	Reason   vent.Reason
}

// careful reports whether the lower risk holds.
func (f Facts) careful() bool { return f.Gas || f.Shared || f.MultiFamily }

// risk is the chance of being past the limit at which the run must be opened.
func (f Facts) risk(p Policy) float64 {
	if f.careful() {
		return p.RiskCareful
	}
	return p.Risk
}

// longest is the longest time between two cleanings, and which bound says so.
func (f Facts) longest(p Policy) (months int, bound vent.Bound) {
	if p.AllowLonger && f.Supports && !f.Gas && !f.Shared && !f.Roof {
		return p.LongestMonths, vent.BoundLongest
	}
	return p.UnprovenMonths, vent.BoundNoEvidence
}
