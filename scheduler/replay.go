package scheduler

import (
	"cmp"
	"slices"

	"ventdue/scheduler/lint"
	"ventdue/vent"
)

// Replayed is one run's history, gone through visit by visit.
type Replayed struct {
	Steps  []Step
	Cycles []Cycle
	// Visits counts all looks; those that are no step could not be foretold (the last cleaning was not known) or say
	// nothing of lint (neither a reading of air nor lint by sight).
	Visits, Unforetold, Silent int
}

// Step is one visit: what was believed the evening before, and what the visit found.
type Step struct {
	Finding vent.ID
	On      vent.Date
	Since   vent.Date // last full cleaning, as far as it was known
	Due     vent.Date // cleaning day that stood before the visit
	// Chance of being past the limit on the day, as far as growth goes.
	Chance float64
	// Low, Expected and High are the share of the clean flow: below Low one time in ten, above High one time in ten.
	Low, Expected, High float64
	Found               Found
}

// Found is what a visit found before anything was taken out.
type Found struct {
	Share  float64    // of the clean flow, as the clean value was believed to be; 0: not measured
	Limit  float64    // share of the clean flow at the limit
	Grade  vent.Grade // lint by sight
	Sudden bool       // it came at once, not by growth: no date foresees it
	Past   Verdict
}

// Verdict says whether a visit found the run past its limit.
type Verdict string

// The verdicts.
const (
	Within    Verdict = "within"
	Past      Verdict = "past"
	Undecided Verdict = "undecided" // lint by sight alone that fits both
)

// Weeks is how far a cycle's hindsight reaches, a little over two years.
const Weeks = 106

// Cycle is the time from one cleaning to the visit that measured what had grown since.
type Cycle struct {
	From, To vent.Date
	// Days is the interval that the rules gave on the day of the cleaning.
	Days int
	// Choked is, for every number of weeks after the cleaning, how many of them the run stood past its limit: the sum of
	// the chance as it is believed once the visit's reading is known. Growth between the two days is not seen by anybody.
	Choked [Weeks + 1]float64
}

// Replay goes through a run's history and tells, for every visit, what would have been believed before it: from the findings,
// versions, changes of use and faults of earlier days alone. What neighbours teach is left out, since it was learned later.
// dryer gives the appliances of older versions; nil, or a zero
// appliance, takes the input's.
//
// Two things that records cannot tell are taken as they are stored: a load count that somebody corrected for the past, and
// a route that was described late. The error is that of Plan.
func Replay(in Input, dryer func(vent.ID) vent.Appliance) (out Replayed, err error) {
	in.Findings = counted(in)
	in.Run.Ended = 0
	in.Signs, in.Open, in.Pool = nil, nil, lint.Pool{}
	opening := 0 // the interval that stood when the cycle was opened; 0 not known
	for i := range in.Findings {
		f := &in.Findings[i]
		if !f.Looked() {
			continue
		}
		out.Visits++
		before, err := Plan(in.asOf(i, dryer))
		if err != nil {
			return out, err
		}
		if opening == 0 {
			opening = interval(before)
		}
		switch {
		case before.Belief.Since() == 0 || before.Belief.From() >= f.Date:
			out.Unforetold++
		case !speaks(f):
			out.Silent++
		default:
			after := in.seen(i, dryer)
			s := stepOf(f, before, &after)
			out.Steps = append(out.Steps, s)
			if f.Cleaned() && s.Found.Share > 0 && !f.Sudden && opening > 0 {
				out.Cycles = append(out.Cycles, cycleOf(f.Date, opening, &after))
			}
		}
		if f.Cleaned() {
			opening = 0
		}
	}
	return out, nil
}

// counted gives the run's own findings that count, by date.
func counted(in Input) []vent.Finding {
	list := make([]vent.Finding, 0, len(in.Findings))
	for _, f := range in.Findings {
		if f.Counts() && (f.RunID.IsZero() || f.RunID == in.Run.ID) {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b vent.Finding) int { return cmp.Compare(a.Date, b.Date) })
	return list
}

// asOf is what was known on the evening before finding i.
func (in Input) asOf(i int, dryer func(vent.ID) vent.Appliance) Input {
	on := in.Findings[i].Date
	in.Findings = in.Findings[:i:i]
	in.Run.Known = min(in.Run.Known, on)
	n := 1
	for n < len(in.Run.Versions) && in.Run.Versions[n].From < on {
		n++
	}
	current := in.Run.Current().DryerID
	in.Run.Versions = in.Run.Versions[:n:n]
	if id := in.Run.Current().DryerID; dryer != nil && id != current {
		if a := dryer(id); a.Kind != "" {
			in.Dryer = a
		}
	}
	n = 0
	for n < len(in.Run.Use) && in.Run.Use[n].From < on {
		n++
	}
	in.Run.Use = in.Run.Use[:n:n]
	in.Faults = slices.DeleteFunc(slices.Clone(in.Faults), func(x vent.Fault) bool { return x.Found >= on })
	return in
}

// seen is the belief once the eye and the gauge of finding i are known, before anything was taken out.
func (in Input) seen(i int, dryer func(vent.ID) vent.Appliance) lint.Belief {
	then := in.asOf(i, dryer)
	f := in.Findings[i]
	f.Outcome, f.After, f.LintAfter = vent.LookedOnly, nil, vent.NotGraded
	return lint.Learn(lint.Case{
		Run: then.Run, Dryer: then.Dryer, Unit: then.Unit, Site: then.Site,
		Findings: append(then.Findings, f), Faults: then.Faults, InLine: then.InLine,
	})
}

// interval is the number of days that the rules gave from the last cleaning on; 0 where it is not known.
func interval(o Outlook) int {
	since := o.Belief.From()
	if o.Belief.Since() == 0 {
		return 0
	}
	for _, w := range o.Dues {
		if w.Kind == vent.DueClean {
			return max(1, since.DaysUntil(w.Day))
		}
	}
	return 0
}

// speaks reports whether a finding says anything of the lint that it found.
func speaks(f *vent.Finding) bool {
	return f.LintBefore != vent.NotGraded || slices.ContainsFunc(f.Before, func(r vent.Reading) bool {
		return r.Quantity == vent.AirSpeed || r.Quantity == vent.Flow || r.Quantity == vent.Static
	})
}

func stepOf(f *vent.Finding, before Outlook, after *lint.Belief) Step {
	b := before.Belief
	s := Step{
		Finding: f.ID, On: f.Date, Since: b.Since(), Chance: b.Chance(f.Date),
		Low: b.Quantile(f.Date, 0.1), Expected: b.Quantile(f.Date, 0.5), High: b.Quantile(f.Date, 0.9),
		Found: Found{Limit: b.FlowAtLimit(), Grade: f.LintBefore, Sudden: f.Sudden},
	}
	for _, w := range before.Dues {
		if w.Kind == vent.DueClean {
			s.Due = w.Day
		}
	}
	if share, on, ok := after.LastFlow(); ok && on == f.Date {
		s.Found.Share = share
	}
	s.Found.judge()
	return s
}

// judge compares what was found with the limit. Lint by sight decides at its ends only: a plugged run is past any limit, a
// bare one within; fuzz and mat fit both.
func (f *Found) judge() {
	switch {
	case f.Share > 0 && f.Share < f.Limit, f.Share == 0 && f.Grade == vent.Plugged:
		f.Past = Past
	case f.Share > 0, f.Grade == vent.Bare:
		f.Past = Within
	default:
		f.Past = Undecided
	}
}

// cycleOf looks back at a cycle that a visit ended.
func cycleOf(to vent.Date, days int, after *lint.Belief) Cycle {
	c := Cycle{From: after.From(), To: to, Days: days}
	last := after.Chance(c.From)
	for w := 1; w <= Weeks; w++ {
		now := after.Chance(c.From.AddDays(7 * w))
		c.Choked[w] = c.Choked[w-1] + (last+now)/2
		last = now
	}
	return c
}

// ChokedIn is the number of weeks past the limit within so many days of the cleaning.
func (c *Cycle) ChokedIn(days float64) float64 { return chokedIn(&c.Choked, days) }

func chokedIn(sum *[Weeks + 1]float64, days float64) float64 {
	w := min(max(days/7, 0), Weeks)
	i := min(int(w), Weeks-1)
	return sum[i] + (w-float64(i))*(sum[i+1]-sum[i])
}
