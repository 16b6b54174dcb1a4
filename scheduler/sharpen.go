package scheduler

import (
	"cmp"
	"fmt"
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Measure is something that somebody could find out and that would make a run's date surer.
type Measure string

// The measures.
const (
	DescribeRoute Measure = "describe_route"         // length, material, elbows, outlet
	ReadAfter     Measure = "reading_after_cleaning" // air speed at the outlet right after the last cleaning
	ReadNow       Measure = "reading_now"            // air speed at the outlet on the day
	CountLoads    Measure = "count_loads"            // the machine's counter, or a week's tally
)

// Sharper says how far the cleaning date would move at most, earlier or later, for plausible answers of a measure.
type Sharper struct {
	Measure        Measure
	Earlier, Later int // days, not negative
}

// most is the larger of the two.
func (s Sharper) most() int { return max(s.Earlier, s.Later) }

// Sharpen lists what would sharpen the run's cleaning date, what moves it most first. Every measure is played through with a
// good and a bad answer, each as far out as one case in ten goes, and the run is planned anew; what a bound holds in place does not
// move. on is the day on which somebody would measure. The error is that of Plan.
func Sharpen(in Input, on vent.Date) ([]Sharper, error) {
	in.Open = nil
	out, err := Plan(in)
	if err != nil || out.Belief == nil {
		return nil, err
	}
	base, ok := cleanDay(out)
	if !ok {
		return nil, nil
	}
	var list []Sharper
	for _, m := range []Measure{DescribeRoute, ReadAfter, ReadNow, CountLoads} {
		s := Sharper{Measure: m}
		for _, good := range []bool{true, false} {
			what, ok := suppose(in, out, m, good, on)
			if !ok {
				continue
			}
			o, err := Plan(what)
			if err != nil {
				return nil, fmt.Errorf("suppose %s: %w", m, err)
			}
			if d, ok := cleanDay(o); ok {
				s.Earlier, s.Later = max(s.Earlier, d.DaysUntil(base)), max(s.Later, base.DaysUntil(d))
			}
		}
		if s.most() > 0 {
			list = append(list, s)
		}
	}
	slices.SortStableFunc(list, func(a, b Sharper) int { return cmp.Compare(b.most(), a.most()) })
	return list, nil
}

func cleanDay(o Outlook) (vent.Date, bool) {
	for _, w := range o.Dues {
		if w.Kind == vent.DueClean && !w.Unknown {
			return w.Day, true
		}
	}
	return 0, false
}

// suppose gives the input as it would be after a measure with a good or a bad answer; false where there is nothing to measure.
func suppose(in Input, out Outlook, m Measure, good bool, on vent.Date) (Input, bool) {
	b := out.Belief
	switch m {
	case DescribeRoute:
		if !b.NoGeometry() || b.Boosted() {
			return in, false
		}
		in.Run.Versions = slices.Clone(in.Run.Versions)
		in.Run.Versions[len(in.Run.Versions)-1].Route = supposedRoute(good)
	case ReadAfter:
		at := lastCleaning(in.Findings)
		if at < 0 || len(in.Findings[at].After) > 0 {
			return in, false
		}
		share := 0.88
		if good {
			share = 1
		}
		in.Findings = slices.Clone(in.Findings)
		in.Findings[at].After = []vent.Reading{supposedReading(cmp.Or(b.CleanSpeed(), anySpeed) * share)}
	case ReadNow:
		if on < b.From().AddDays(30) || b.Boosted() && b.CleanSpeed() == 0 {
			return in, false
		}
		p := 0.1
		if good {
			p = 0.9
		}
		f := vent.Finding{ID: vent.ID{0: 0xff}, RunID: in.Run.ID, Date: on, Source: "supposed", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly}
		f.Before = []vent.Reading{supposedReading(b.CleanSpeed() * b.Quantile(on, p))}
		in.Findings = append(slices.Clone(in.Findings), f)
	case CountLoads:
		perWeek, source := b.Loads()
		if source == vent.UseCounter || source == vent.UseEmpty || perWeek <= 0 {
			return in, false
		}
		const oneInTen = 1.45 // factor of a load count that nobody counted
		if good {
			perWeek /= oneInTen
		} else {
			perWeek *= oneInTen
		}
		in.Run.Use = []vent.Use{{LoadsPerWeek: perWeek, Source: vent.UseCounter}}
	}
	return in, true
}

// anySpeed stands for the clean speed of a boosted run that was never read when clean: what is read then is clean, whatever it is.
const anySpeed = 6.0 // m/s

// supposedRoute is a short smooth run or a long flexible one.
func supposedRoute(good bool) *airflow.Duct {
	d := &airflow.Duct{
		Sections: []airflow.Section{{Material: airflow.SmoothMetal, Length: airflow.Feet(10), Diameter: airflow.Inches(4)}},
		Outlet:   airflow.Outlet{Kind: airflow.OutletFlapper},
	}
	if !good {
		d.Sections[0].Material, d.Sections[0].Length = airflow.FoilFlex, airflow.Feet(35)
		d.Fittings = []airflow.Fitting{{Kind: airflow.Mitered90, Count: 4}}
	}
	return d
}

func supposedReading(v float64) vent.Reading {
	return vent.Reading{Quantity: vent.AirSpeed, Value: v, Conditions: []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen}}
}

// lastCleaning is the index of the newest cleaning that counts, -1 where there is none.
func lastCleaning(findings []vent.Finding) int {
	for i := len(findings) - 1; i >= 0; i-- {
		if findings[i].Counts() && findings[i].Cleaned() {
			return i
		}
	}
	return -1
}
