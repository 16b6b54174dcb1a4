package estimate

import (
	"errors"
	"fmt"
	"math"
	"runtime/debug"
	"strings"

	"ventdue/desk/wording"
	"ventdue/scheduler"
	"ventdue/scheduler/due"
	"ventdue/vent"
)

// Options are what holds for all lines.
type Options struct {
	Policy due.Policy
	Units  vent.UnitSystem // of plain numbers in, and of the sentences out; "" is US
	Today  vent.Date       // no finding can be later
	At     vent.Date       // another day on which the chance is wanted; 0 none
	Lang   string          // of the sentences, BCP 47; "" is English
}

// Validate refuses options that cannot be meant.
func (o Options) Validate() error {
	if o.Today < firstDay || o.Today > lastDay {
		return fmt.Errorf("today %s: use 1950 to 2199: %w", o.Today, vent.ErrInvalid)
	}
	if o.At != 0 && (o.At < firstDay || o.At > lastDay) {
		return fmt.Errorf("at %s: use 1950 to 2199: %w", o.At, vent.ErrInvalid)
	}
	return o.Policy.Validate()
}

// Answer is what is said of one run.
type Answer struct {
	Line int    `json:"line"`
	ID   string `json:"id,omitempty"`

	Due      vent.Date `json:"due"`      // open and clean it by this day
	Earliest vent.Date `json:"earliest"` // not sensible before
	Latest   vent.Date `json:"latest"`   // must not be later
	// Median is the day by which half of such runs are past their limit; none: not within ten years.
	Median vent.Date `json:"median,omitzero"`
	// Chance, 0 to 1, of being past the limit on the due day.
	Chance   float64       `json:"chance"`
	ChanceAt *ChanceAt     `json:"chance_at,omitempty"`
	Growth   Growth        `json:"growth"`
	Bound    string        `json:"bound"` // what set the day; "none": the chance itself
	Limit    string        `json:"limit"` // which limit it is expected to pass first
	Unknown  bool          `json:"last_cleaning_unknown,omitempty"`
	Severity vent.Severity `json:"severity,omitempty"`
	Look     *Look         `json:"look,omitempty"`
	Faults   []Fault       `json:"faults,omitempty"`
	Reason   []string      `json:"reason"`
}

// ChanceAt is the chance of being past the limit on a day that was asked for.
type ChanceAt struct {
	Date   vent.Date `json:"date"`
	Chance float64   `json:"chance"`
}

// Growth is how fast the run fills.
type Growth struct {
	Per100Loads  float64 `json:"per_100_loads"` // median share of the bore's radius lost
	DoubtFactor  float64 `json:"doubt_factor"`  // within which it lies two times out of three
	LoadsPerWeek float64 `json:"loads_per_week"`
}

// Look is a look that is due before the cleaning.
type Look struct {
	Due      vent.Date `json:"due"`
	Earliest vent.Date `json:"earliest"`
	Latest   vent.Date `json:"latest"`
}

// Fault is something that the computation found and nobody may forget.
type Fault struct {
	Rule     string        `json:"rule"`
	Severity vent.Severity `json:"severity"`
	On       vent.Date     `json:"on"`
}

// One answers one line. It never panics: a line that upsets the program gets an error of its own. The id is given
// with an error as well, as far as it was read.
func One(o *Options, line []byte) (a Answer, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the program failed on this line: %v at %s: please report it", p, where())
		}
	}()
	id, in, err := read(o, line)
	if err != nil {
		return Answer{ID: id}, err
	}
	a, err = answer(o, in)
	a.ID = id
	return a, err
}

func answer(o *Options, in scheduler.Input) (a Answer, err error) {
	out, err := scheduler.Plan(in)
	if err != nil {
		return a, err
	}
	words := wording.For(o.Lang, o.Units)
	for _, w := range out.Dues {
		switch w.Kind {
		case vent.DueClean:
			a.Due, a.Earliest, a.Latest, a.Median = w.Day, w.Earliest, w.Latest, w.Reason.Median
			a.Chance = short(w.Reason.Chance)
			a.Bound, a.Limit = orNone(string(w.Reason.Bound)), string(w.Reason.Limit)
			a.Unknown, a.Severity = w.Unknown, w.Severity
			a.Growth = Growth{short(w.Reason.GrowthPer100), short(w.Reason.GrowthDoubt), short(w.Reason.LoadsPerWeek)}
			a.Reason = words.Reason(vent.Due{Wanted: w})
		case vent.DueLook:
			a.Look = &Look{w.Day, w.Earliest, w.Latest}
		}
	}
	if a.Due == 0 {
		return a, errors.New("no cleaning is due on such a run: please report it")
	}
	if o.At != 0 {
		a.ChanceAt = &ChanceAt{o.At, short(out.Belief.Chance(o.At))}
	}
	for _, t := range out.Troubles {
		a.Faults = append(a.Faults, Fault{t.Rule, t.Severity, t.On})
	}
	return a, nil
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// short cuts a figure to what it is worth, six digits after the point.
func short(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// where names our function in which a panic began.
func where() string {
	_, began, _ := strings.Cut(string(debug.Stack()), "\npanic(")
	for line := range strings.Lines(began) {
		if strings.HasPrefix(line, "ventdue/") {
			name, _, _ := strings.Cut(line, "(0x")
			return strings.TrimSpace(name)
		}
	}
	return "an unknown place"
}
