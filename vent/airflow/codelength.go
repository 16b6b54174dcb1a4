package airflow

import (
	"fmt"
	"slices"
)

// CodeLength is a duct's length as a building rule or a maker counts it, beside the limit.
type CodeLength struct {
	Edition Edition
	// Straight is the developed length of the straight duct, Fittings what the rule adds for fittings.
	Straight, Fittings Meters
	// Length is what is compared with Limit: Straight and Fittings. The transition duct is never in it.
	Length, Limit Meters
	// Margin is Limit less Length, negative where the duct is too long.
	Margin Meters
	Passes bool
	// LabelNeeded: a permanent label with the length within 6 ft of the duct's connection.
	LabelNeeded bool
	Transition  TransitionCheck
	// Source and LabelSource say where limit and label rule are from.
	Source, LabelSource string
}

// StraightAllowed is the straight duct that the limit leaves beside the fittings; negative if they alone exceed it.
func (c CodeLength) StraightAllowed() Meters { return c.Limit - c.Fittings }

// TransitionCheck is the transition duct's own check: one single length.
type TransitionCheck struct {
	Length, Limit Meters
	Passes        bool
	Source        string
}

// lengthTolerance forgives the rounding between feet and metres.
const lengthTolerance Meters = 1e-6

// CodeLength counts the duct by an edition's rule. It is an error, with the
// remedy, where the duct is not valid or the edition has no value for a fitting.
func (r Rule) CodeLength(d Duct) (CodeLength, error) {
	if err := d.Validate(); err != nil {
		return CodeLength{}, fmt.Errorf("code length by %s: %w", r.Title, err)
	}
	fittings, err := r.fittingLength(d.Fittings)
	if err != nil {
		return CodeLength{}, fmt.Errorf("code length by %s: %w", r.Title, err)
	}
	c := CodeLength{
		Edition: r.Edition, Straight: d.StraightLength(), Fittings: fittings, Limit: r.Limit,
		Source: r.Source, LabelSource: r.LabelSource,
		Transition: checkTransition(d.Transition.Length, r.Transition, r.TransitionSource),
	}
	c.compare()
	c.LabelNeeded = r.Label == LabelWhenConcealed && d.Concealed ||
		r.Label == LabelOver35Feet && c.Length > labelLength+lengthTolerance
	return c, nil
}

// compare fills in what follows from the lengths and the limit.
func (c *CodeLength) compare() {
	c.Length = c.Straight + c.Fittings
	c.Margin = c.Limit - c.Length
	c.Passes = c.Margin >= -lengthTolerance
}

func checkTransition(length, limit Meters, source string) TransitionCheck {
	return TransitionCheck{Length: length, Limit: limit, Passes: length <= limit+lengthTolerance, Source: source}
}

func (r Rule) fittingLength(fittings []Fitting) (Meters, error) {
	var sum Meters
	var p problems
	free := r.Free90s
	for i, f := range fittings {
		row := slices.IndexFunc(r.Fittings, func(row FittingLength) bool { return row.Kind == f.Kind })
		if row < 0 {
			p.add(fmt.Sprintf("fittings[%d].kind", i),
				fmt.Sprintf("%s gives no length for %s", r.Title, f.Kind),
				"ask the authority which row it counts as and enter that kind with its own k, or use the dryer maker's table")
			continue
		}
		count := f.Count
		if f.Kind.Angle() == 90 {
			included := min(count, free)
			count, free = count-included, free-included
		}
		sum += Meters(count) * r.Fittings[row].Length
	}
	return sum, p.join()
}
