package scheduler

import "math"

// Score sums up replayed runs: whether what was said came true. It holds sums alone, so that any number of runs fit.
type Score struct {
	Runs       int `json:"runs"` // with at least one visit
	Visits     int `json:"visits"`
	Unforetold int `json:"unforetold"` // the last cleaning before them was not known
	Silent     int `json:"silent"`     // neither a reading of air nor lint by sight
	Compared   int `json:"compared"`   // the others
	// Of those compared: Sudden came at once, as nests do, and no date foresees it; they are in no sum below. Undecided
	// were judged by sight alone and fit both sides of the limit.
	Sudden     int `json:"sudden"`
	SuddenPast int `json:"sudden_past"`
	Undecided  int `json:"undecided"`

	Bins  []Bin     `json:"bins"`
	All   Bin       `json:"all"`
	Flow  FlowError `json:"flow"`
	Fixed Fixed     `json:"fixed"`

	variance float64            // of the number found past the limit, were the chances true
	choked   [Weeks + 1]float64 // mean weeks past the limit by weeks after a cleaning
}

// Bin holds the visits before which the chance of being past the limit was said to lie between From and To.
type Bin struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	// Visits that could be decided; Said is the sum of the chances said, Past the number found past the limit.
	Visits int     `json:"visits"`
	Said   float64 `json:"said"`
	Past   int     `json:"past"`
	// Low and High are the share, 0 to 1, found past the limit that chance alone leaves possible, 19 times out of 20 (Wilson's
	// interval, 1927).
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// FlowError compares the expected share of the clean flow with the measured one.
type FlowError struct {
	Readings int     `json:"readings"`
	Bias     float64 `json:"bias"`          // mean of measured less expected: positive is cleaner than expected
	Absolute float64 `json:"mean_absolute"` // mean size of the difference
	InBand   int     `json:"in_band"`       // within the band that holds eight in ten; the readings' own error takes some out
}

// Fixed compares the rules' dates with one fixed interval for all runs that makes the same number of cleanings. A cycle
// weighs as much as it lasted.
type Fixed struct {
	Cycles    int     `json:"cycles"`
	RunYears  float64 `json:"run_years"`
	Cleanings float64 `json:"cleanings_per_run_year"` // of either
	Interval  float64 `json:"interval_days"`          // of the fixed rule
	// Weeks past the limit per run and year, as far as it can be told.
	Rules float64 `json:"choked_weeks_rules"`
	Same  float64 `json:"choked_weeks_fixed"`
	// Beyond counts the cycles whose date by the rules lies after the visit: growth from there on is reckoned, not seen.
	Beyond int `json:"beyond"`
}

// binEdges part the chances said.
var binEdges = [...]float64{0, 0.02, 0.05, 0.10, 0.20, 0.50, 1}

// NewScore is an empty score.
func NewScore() Score {
	s := Score{All: Bin{To: 1}}
	for i := range len(binEdges) - 1 {
		s.Bins = append(s.Bins, Bin{From: binEdges[i], To: binEdges[i+1]})
	}
	return s
}

// Add puts one run in.
func (s *Score) Add(r Replayed) {
	if r.Visits > 0 {
		s.Runs++
	}
	s.Visits += r.Visits
	s.Unforetold += r.Unforetold
	s.Silent += r.Silent
	for i := range r.Steps {
		s.step(&r.Steps[i])
	}
	for i := range r.Cycles {
		s.cycle(&r.Cycles[i])
	}
}

func (s *Score) step(x *Step) {
	s.Compared++
	f := &x.Found
	if f.Sudden {
		s.Sudden++
		if f.Past == Past {
			s.SuddenPast++
		}
		return
	}
	if f.Share > 0 {
		d := f.Share - x.Expected
		n := float64(s.Flow.Readings)
		s.Flow.Bias = (s.Flow.Bias*n + d) / (n + 1)
		s.Flow.Absolute = (s.Flow.Absolute*n + math.Abs(d)) / (n + 1)
		s.Flow.Readings++
		if f.Share >= x.Low && (f.Share <= x.High || x.High >= 1) {
			s.Flow.InBand++
		}
	}
	if f.Past == Undecided {
		s.Undecided++
		return
	}
	s.variance += x.Chance * (1 - x.Chance)
	s.All.add(x)
	for i := range s.Bins {
		if b := &s.Bins[i]; x.Chance < b.To || i == len(s.Bins)-1 {
			b.add(x)
			break
		}
	}
}

func (b *Bin) add(x *Step) {
	b.Visits++
	b.Said += x.Chance
	if x.Found.Past == Past {
		b.Past++
	}
	b.Low, b.High = wilson(b.Past, b.Visits)
}

// wilson is the interval of a share by its score, for 19 times out of 20.
func wilson(k, n int) (low, high float64) {
	const z = 1.959964
	p, m := float64(k)/float64(n), float64(n)
	mid := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return max(0, mid-half), min(1, mid+half)
}

// cycle adds one cycle to the comparison: a run that goes on like it, for as long as it lasted.
func (s *Score) cycle(c *Cycle) {
	const daysPerYear = 365.25
	years := float64(c.From.DaysUntil(c.To)) / daysPerYear
	days := min(float64(c.Days), 7*Weeks)
	f := &s.Fixed
	all := f.RunYears + years
	mean := func(sum *float64, v float64) { *sum = (*sum*f.RunYears + v*years) / all }
	mean(&f.Cleanings, daysPerYear/days)
	mean(&f.Rules, daysPerYear/days*c.ChokedIn(days))
	for w := range s.choked {
		mean(&s.choked[w], c.Choked[w])
	}
	f.Cycles++
	f.RunYears = all
	if c.From.AddDays(c.Days) > c.To {
		f.Beyond++
	}
	f.Interval = daysPerYear / f.Cleanings
	f.Same = f.Cleanings * chokedIn(&s.choked, f.Interval)
}

// NeededVisits is how many decided visits it takes before the table means anything: with a tenth said, three are then expected.
const NeededVisits = 30

// Enough reports whether there is enough history to judge by.
func (s *Score) Enough() bool { return s.All.Visits >= NeededVisits }

// Trust says in one word how what happened compares with what was said over all chances.
type Trust string

// The words.
const (
	TooLittle Trust = "too_little" // not enough history
	AsSaid    Trust = "as_said"    // no more apart than chance makes
	MoreOften Trust = "more_often" // choked more often than said: the dates come too late
	LessOften Trust = "less_often" // choked less often than said: the dates are cautious
)

// Trust compares the number found past the limit with the sum of the chances; two standard deviations and a half visit are
// put down to chance.
func (s *Score) Trust() Trust {
	off := float64(s.All.Past) - s.All.Said
	chance := 2*math.Sqrt(s.variance) + 0.5
	switch {
	case !s.Enough():
		return TooLittle
	case off > chance:
		return MoreOften
	case off < -chance:
		return LessOften
	}
	return AsSaid
}
