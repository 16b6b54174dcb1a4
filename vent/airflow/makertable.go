package airflow

import (
	"fmt"
	"slices"
)

// HoodSize is the opening of the exhaust hood that a column of a maker's table is for.
type HoodSize string

// The hood sizes of makers' tables.
const (
	Hood4Inch    HoodSize = "4_in"
	Hood2AndHalf HoodSize = "2_5_in"
)

// MakerTable is a dryer maker's own limit: allowed straight length by number of
// 90 degree elbows, as printed in the installation instructions. Where the model
// is known, the codes let it take the place of their own limit (IRC M1502.4.5.2).
//
// It is stored by others as JSON and CBOR: names and numbers are for ever.
type MakerTable struct {
	// Source names the instructions: title, number, page.
	Source string `json:"source,omitempty" cbor:"1,keyasint,omitempty"`
	// Columns hold one list of lengths for each hood.
	Columns []MakerColumn `json:"columns,omitempty" cbor:"2,keyasint,omitempty"`
	// ExtraElbow is taken off for each 90 beyond the last row; 0: the table ends there.
	ExtraElbow Meters `json:"extra_elbow,omitempty" cbor:"3,keyasint,omitempty"`
	// Elbows45 tells how 45 degree elbows count.
	Elbows45 Rule45 `json:"elbows_45,omitempty" cbor:"4,keyasint,omitempty"`
	// Transition is the longest transition duct; 0: 8 ft (2438 mm) of IRC M1502.4.3.
	Transition Meters `json:"transition,omitempty" cbor:"5,keyasint,omitempty"`
}

// MakerColumn is one hood's column.
type MakerColumn struct {
	Hood HoodSize `json:"hood,omitempty" cbor:"1,keyasint,omitempty"`
	// Lengths are the allowed straight lengths with 0, 1, 2, ... 90 degree elbows.
	// 0 stands for a row that the maker leaves empty.
	Lengths []Meters `json:"lengths,omitempty" cbor:"2,keyasint,omitempty"`
}

// Rule45 tells how a maker counts 45 degree elbows. It is stored as its text.
type Rule45 string

// The rules.
const (
	Elbows45Unstated Rule45 = ""         // the maker says nothing: a duct with one is an error
	Elbows45Pairs    Rule45 = "pairs"    // one is ignored, two make one 90
	Elbows45As90     Rule45 = "count_90" // each counts as one 90
)

// Validate reports everything that is wrong with the table, each as a FieldError, joined.
func (m MakerTable) Validate() error {
	var p problems
	if m.Source == "" {
		p.add("source", "the instructions are not named", "give their title, number and page")
	}
	if !slices.Contains([]Rule45{Elbows45Unstated, Elbows45Pairs, Elbows45As90}, m.Elbows45) {
		p.add("elbows_45", fmt.Sprintf("%q is not a known rule", m.Elbows45), oneOf([]Rule45{Elbows45Pairs, Elbows45As90})+" or leave it out")
	}
	p.within("extra_elbow", float64(m.ExtraElbow), 0, float64(maxLength), 1, "m")
	p.within("transition", float64(m.Transition), 0, float64(maxLength), 1, "m")
	if len(m.Columns) == 0 {
		p.add("columns", "the table is empty", "give at least one hood with its lengths")
	}
	for i, c := range m.Columns {
		c.validate(&p, fmt.Sprintf("columns[%d]", i))
	}
	return p.join()
}

func (c MakerColumn) validate(p *problems, field string) {
	if c.Hood != Hood4Inch && c.Hood != Hood2AndHalf {
		p.add(field+".hood", fmt.Sprintf("%q is not a known hood", c.Hood), oneOf([]HoodSize{Hood4Inch, Hood2AndHalf}))
	}
	if len(c.Lengths) == 0 || len(c.Lengths) > maxCount {
		p.add(field+".lengths", fmt.Sprintf("%d rows", len(c.Lengths)), fmt.Sprintf("give the lengths for 0, 1, 2, ... elbows, at most %d", maxCount))
	}
	last := maxLength
	for i, length := range c.Lengths {
		name := fmt.Sprintf("%s.lengths[%d]", field, i)
		p.within(name, float64(length), 0, float64(maxLength), 1, "m")
		if length > last {
			p.add(name, "more elbows allow more duct than fewer do", "check the row against the instructions")
		}
		if length > 0 {
			last = length
		}
	}
}

// HoodFor is the column an outlet kind belongs to: the narrow wall hood has its
// own, makers put everything with a full 4 in opening into the other.
func HoodFor(k OutletKind) HoodSize {
	if k == OutletNarrowWall {
		return Hood2AndHalf
	}
	return Hood4Inch
}

// CodeLength counts the duct by the maker's table: the limit depends on elbows
// and hood, the length is the straight duct. It is an error where the duct or the
// table is not valid or the table has no value for the duct; nothing is extrapolated.
func (m MakerTable) CodeLength(d Duct) (CodeLength, error) {
	const what = "length by the maker's table"
	if err := m.Validate(); err != nil {
		return CodeLength{}, fmt.Errorf("%s: %w", what, err)
	}
	if err := d.Validate(); err != nil {
		return CodeLength{}, fmt.Errorf("%s: %w", what, err)
	}
	elbows, err := m.elbows(d.Fittings)
	if err != nil {
		return CodeLength{}, fmt.Errorf("%s: %w", what, err)
	}
	limit, err := m.limit(HoodFor(d.Outlet.Kind), elbows)
	if err != nil {
		return CodeLength{}, fmt.Errorf("%s: %w", what, err)
	}
	c := CodeLength{Edition: MakerEdition, Straight: d.StraightLength(), Limit: limit, Source: m.Source}
	c.compare()
	c.LabelNeeded, c.LabelSource = c.Length > labelLength+lengthTolerance, over35Source
	c.Transition = checkTransition(d.Transition.Length, m.Transition, m.Source)
	if m.Transition == 0 {
		c.Transition = checkTransition(d.Transition.Length, Feet(8), transitionSource)
	}
	return c, nil
}

// elbows counts 90 degree elbows, with the 45s as the maker does.
func (m MakerTable) elbows(fittings []Fitting) (int, error) {
	n90, n45 := 0, 0
	for _, f := range fittings {
		if f.Kind.Angle() == 90 {
			n90 += f.Count
		} else {
			n45 += f.Count
		}
	}
	switch {
	case n45 == 0:
		return n90, nil
	case m.Elbows45 == Elbows45Pairs:
		return n90 + n45/2, nil
	case m.Elbows45 == Elbows45As90:
		return n90 + n45, nil
	}
	return 0, &FieldError{Field: "fittings", Problem: "the maker does not say how 45 degree elbows count",
		Remedy: "ask the maker and set elbows_45, or use a code edition"}
}

// limit looks up a column; rows the maker left empty have no value.
func (m MakerTable) limit(hood HoodSize, elbows int) (Meters, error) {
	i := slices.IndexFunc(m.Columns, func(c MakerColumn) bool { return c.Hood == hood })
	if i < 0 {
		return 0, &FieldError{Field: "columns", Problem: fmt.Sprintf("no column for the hood %s", hood),
			Remedy: "add the column from the instructions or use a code edition"}
	}
	rows := m.Columns[i].Lengths
	last := len(rows) - 1
	limit := rows[min(elbows, last)]
	if elbows > last && m.ExtraElbow == 0 || limit == 0 {
		return 0, &FieldError{Field: "fittings", Problem: fmt.Sprintf("the maker gives no length for %d elbows", elbows),
			Remedy: "use fewer elbows, ask the maker, or use a code edition"}
	}
	return max(0, limit-Meters(max(0, elbows-last))*m.ExtraElbow), nil
}
