package scheduler

import (
	"fmt"
	"slices"

	"ventdue/scheduler/lint"
	"ventdue/vent"
)

// Course is the flow of a run over time, in numbers: what was read and done, what is likely to come, when it is to be
// cleaned. Shares are of the clean flow, 1 is all of it.
type Course struct {
	// Since is where the open cycle begins, and with it Likely: the last cleaning of any kind or rebuilding, else the day
	// on which the run became known.
	Since      vent.Date       `json:"since"`
	CleanSpeed float64         `json:"clean_speed_mps"` // air speed at the outlet of the clean run, m/s
	Limit      float64         `json:"limit"`           // share at which the run is to be clean again
	LimitKind  vent.LimitKind  `json:"limit_kind"`
	Readings   []lint.Measured `json:"readings"`  // by date
	Cleanings  []Cleaning      `json:"cleanings"` // by date
	Likely     []lint.Future   `json:"likely"`    // by date; none for a run that is no longer kept
	Due        *CleanDue       `json:"due,omitempty"`
}

// Cleaning is a day on which lint was taken out.
type Cleaning struct {
	On      vent.Date    `json:"on"`
	Outcome vent.Outcome `json:"outcome"`
	Finding vent.ID      `json:"finding_id"`
}

// CleanDue is the day of the next cleaning, and from when to when it is sensible.
type CleanDue struct {
	Day      vent.Date `json:"day"`
	Earliest vent.Date `json:"earliest"`
	Latest   vent.Date `json:"latest"`
	Unknown  bool      `json:"last_cleaning_unknown,omitempty"`
}

// likelyDays is how many days the likely courses are given for.
const likelyDays = 49

// CourseOf works out the run's flow over time. The likely courses reach to half as far again as the latest day of the next
// cleaning, a year at least, and at least to until. The day of the next cleaning is that of the open due, where there is
// one. The error is that of Plan.
func CourseOf(in Input, until vent.Date) (Course, error) {
	if len(in.Run.Versions) == 0 || !in.Run.Known.Valid() {
		return Course{}, fmt.Errorf("course of run %s: %w: it needs a version and the day on which it became known", in.Run.ID, vent.ErrInvalid)
	}
	known := in.knowledge()
	b := lint.Learn(known)
	c := Course{Since: b.From(), CleanSpeed: b.CleanSpeed(), Limit: b.FlowAtLimit(), LimitKind: b.Limit(),
		Readings: lint.Measurements(known), Cleanings: cleaningsOf(in)}
	slices.SortStableFunc(c.Readings, func(a, b lint.Measured) int { return int(a.On) - int(b.On) })
	if in.Run.Ended != 0 {
		return c, nil
	}
	var err error
	if c.Due, err = nextCleaning(in); err != nil {
		return Course{}, err
	}
	c.Likely = b.Futures(daysOf(c, until))
	return c, nil
}

// cleaningsOf lists the cleanings that count.
func cleaningsOf(in Input) (all []Cleaning) {
	for _, f := range in.Findings {
		if f.Counts() && f.Cleaned() && (f.RunID.IsZero() || f.RunID == in.Run.ID) {
			all = append(all, Cleaning{On: f.Date, Outcome: f.Outcome, Finding: f.ID})
		}
	}
	slices.SortStableFunc(all, func(a, b Cleaning) int { return int(a.On) - int(b.On) })
	return all
}

// nextCleaning gives the open due of the cleaning, else the one that the rules want.
func nextCleaning(in Input) (*CleanDue, error) {
	for _, d := range in.Open {
		if d.Kind == vent.DueClean && d.State == vent.DueOpen {
			return &CleanDue{Day: d.Day, Earliest: d.Earliest, Latest: d.Latest, Unknown: d.Unknown}, nil
		}
	}
	out, err := Plan(in)
	if err != nil {
		return nil, err
	}
	for _, w := range out.Dues {
		if w.Kind == vent.DueClean {
			return &CleanDue{Day: w.Day, Earliest: w.Earliest, Latest: w.Latest, Unknown: w.Unknown}, nil
		}
	}
	return nil, nil
}

// daysOf chooses the days of the likely courses: evenly, and the due day itself.
func daysOf(c Course, until vent.Date) []vent.Date {
	end := max(until, c.Since.AddDays(365))
	if c.Due != nil {
		last := max(c.Due.Day, c.Due.Latest)
		end = max(end, last.AddDays(max(0, c.Since.DaysUntil(last))/2))
	}
	span := c.Since.DaysUntil(end)
	days := make([]vent.Date, 0, likelyDays+1)
	for i := range likelyDays {
		days = append(days, c.Since.AddDays(span*i/(likelyDays-1)))
	}
	if c.Due != nil && c.Due.Day > c.Since {
		days = append(days, c.Due.Day)
	}
	slices.Sort(days)
	return slices.Compact(days)
}
