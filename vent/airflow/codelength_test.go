package airflow_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"ventdue/vent/airflow"
)

type elbows map[airflow.FittingKind]int

// run is smooth 4 in duct with elbows.
func run(feet float64, fittings elbows) airflow.Duct {
	d := straight(feet, 0)
	for kind, count := range fittings {
		d.Fittings = append(d.Fittings, airflow.Fitting{Kind: kind, Count: count})
	}
	return d
}

func TestCodeLength(t *testing.T) {
	const table = "computed by hand from IRC Table M1502.4.5.1 (read)"
	for _, c := range []struct {
		edition                        airflow.Edition
		duct                           airflow.Duct
		length, allowed                float64 // ft; allowed is the straight duct left by the limit
		passes, concealed, labelNeeded bool
		source                         string
	}{
		{airflow.IRC2012, run(14, elbows{airflow.Smooth90R10: 3}), 18.5, 30.5, true, true, true, "read: Fine Homebuilding 2016, three 10 in elbows and 14 ft"},
		{airflow.IRC2012, run(22.5, elbows{airflow.Mitered90: 2, airflow.Mitered45: 1}), 35, 22.5, true, false, false, table},
		{airflow.IRC2012, run(22.6, elbows{airflow.Mitered90: 2, airflow.Mitered45: 1}), 35.1, 22.5, false, false, false, table},
		{airflow.IRC2012, run(17, elbows{airflow.Mitered90: 3}), 32, 20, true, false, false, table},
		{airflow.IMCCurrent, run(20, elbows{airflow.Smooth90R8: 1, airflow.Smooth45R6: 2}), 23 + 7.0/12, 31 + 5.0/12, true, true, false, table},
		{airflow.IMCCurrent, run(31, elbows{airflow.Mitered90: 1}), 36, 30, false, false, true, table + "; label by IMC 504.9.5"},
		{airflow.IMCCurrent, run(35, nil), 35, 35, true, true, false, "IMC 504.9.5: label above 35 ft, not at it"},
		{airflow.IRC2012, run(10, elbows{airflow.Mitered45: 1, airflow.Mitered90: 1, airflow.Smooth45R6: 1, airflow.Smooth90R6: 1, airflow.Smooth45R8: 1,
			airflow.Smooth90R8: 1, airflow.Smooth45R10: 1, airflow.Smooth90R10: 1}), 10 + 2.5 + 5 + 1 + 1.75 + 1 + 19.0/12 + 0.75 + 1.5, 35 - (2.5 + 5 + 1 + 1.75 + 1 + 19.0/12 + 0.75 + 1.5), true, false, false, table},
		{airflow.IRC2009Electric, run(21, elbows{airflow.Mitered90: 1}), 26, 20, false, true, true, "IRC 2009 M1502: 25 ft (read at second hand)"},
		{airflow.IRC2009Gas, run(21, elbows{airflow.Mitered90: 1}), 26, 30, true, false, false, "IRC 2009 G2439: 35 ft (read at second hand)"},
		{airflow.IRC2006, run(15, elbows{airflow.Sectioned90: 1, airflow.Mitered45: 2}), 25, 15, true, true, false, "computed by hand: IRC 2006 M1502.6, 25 ft less 5 and twice 2.5 ft (read)"},
		{airflow.Georgia2010, run(30, elbows{airflow.Mitered90: 1}), 35, 30, true, false, false, "read: Georgia amendment of 2010, 35 ft"},
		{airflow.UMC1994, run(10, elbows{airflow.Mitered90: 4}), 14, 10, true, false, false, "computed by hand: UMC 504.3.1.2, 14 ft less 2 ft twice (read)"},
		{airflow.UMC1994, run(14, elbows{airflow.Mitered90: 1, airflow.Smooth90R6: 1}), 14, 14, true, false, false, "UMC 504.3.1.2: two 90s are included (read)"},
		{airflow.UMC1994, run(14, elbows{airflow.Mitered90: 2, airflow.Smooth90R6: 1}), 16, 12, false, false, false, "UMC 504.3.1.2: the third 90 costs 2 ft (read)"},
	} {
		c.duct.Concealed = c.concealed
		rule := must[airflow.Rule](t)(airflow.RuleFor(c.edition))
		got := must[airflow.CodeLength](t)(rule.CodeLength(c.duct))
		if math.Abs(got.Length.Feet()-c.length) > 1e-9 || math.Abs(got.StraightAllowed().Feet()-c.allowed) > 1e-9 ||
			math.Abs(float64(got.Margin-(got.Limit-got.Length))) > 1e-12 || got.Passes != c.passes || got.LabelNeeded != c.labelNeeded {
			t.Errorf("%s: %.4f ft, straight allowed %.4f ft, passes %t, label %t; want %.4f, %.4f, %t, %t (%s)", c.edition, got.Length.Feet(),
				got.StraightAllowed().Feet(), got.Passes, got.LabelNeeded, c.length, c.allowed, c.passes, c.labelNeeded, c.source)
		}
		if got.Source == "" || got.Transition.Source == "" || got.LabelNeeded && got.LabelSource == "" {
			t.Errorf("%s: a figure without its source: %+v", c.edition, got)
		}
	}
}

func TestTransitionIsCheckedAlone(t *testing.T) {
	for _, c := range []struct {
		edition airflow.Edition
		feet    float64
		passes  bool
		source  string
	}{
		{airflow.IRC2012, 8, true, "read: transition duct 8 ft (2438 mm) at most, NYC MC 504"},
		{airflow.IRC2012, 8.1, false, "read: transition duct 8 ft (2438 mm) at most, NYC MC 504"},
		{airflow.UMC1994, 6, true, "read: UMC, transition 6 ft at most"},
		{airflow.UMC1994, 7, false, "read: UMC, transition 6 ft at most"},
		{airflow.IRC2012, 0, true, "no transition, nothing to fail"},
	} {
		d := run(35, nil)
		d.Transition = airflow.Section{Material: airflow.SemiRigid, Length: airflow.Feet(c.feet), Diameter: airflow.Inches(4)}
		rule := must[airflow.Rule](t)(airflow.RuleFor(c.edition))
		got := must[airflow.CodeLength](t)(rule.CodeLength(d))
		if got.Transition.Passes != c.passes || math.Abs(got.Length.Feet()-35) > 1e-9 {
			t.Errorf("%s, transition %g ft: passes %t, code length %g ft; want %t and 35 (%s)", c.edition, c.feet, got.Transition.Passes, got.Length.Feet(), c.passes, c.source)
		}
	}
}

func TestRuleForUnknownEdition(t *testing.T) {
	_, err := airflow.RuleFor("irc_1066")
	if err == nil || !strings.Contains(err.Error(), "irc_1066") || !strings.Contains(err.Error(), "irc_2012") {
		t.Errorf("got %v, want the text and the known editions", err)
	}
	if _, err := airflow.RuleFor(""); err == nil {
		t.Error("no edition gave a rule")
	}
}

func TestFittingWithoutValue(t *testing.T) {
	for _, c := range []struct {
		edition airflow.Edition
		kind    airflow.FittingKind
	}{
		{airflow.IRC2012, airflow.Sectioned90}, {airflow.IMCCurrent, airflow.FlexBend45}, {airflow.UMC1994, airflow.Mitered45},
	} {
		rule := must[airflow.Rule](t)(airflow.RuleFor(c.edition))
		_, err := rule.CodeLength(run(10, elbows{c.kind: 1}))
		var field *airflow.FieldError
		if !errors.As(err, &field) || field.Field != "fittings[0].kind" || !strings.Contains(err.Error(), string(c.kind)) {
			t.Errorf("%s, %s: %v, want an error that names the fitting", c.edition, c.kind, err)
		}
	}
}

// sheet is a maker's table for 4 in rigid duct (read: specification sheet of a
// front-control home dryer; the same sheet has a table for flexible metal).
func sheet() airflow.MakerTable {
	return airflow.MakerTable{
		Source: "specification sheet, 4 in rigid metal",
		Columns: []airflow.MakerColumn{
			{Hood: airflow.Hood4Inch, Lengths: feet(65, 55, 47, 36, 28)},
			{Hood: airflow.Hood2AndHalf, Lengths: feet(55, 47, 41, 30, 22)},
		},
		ExtraElbow: airflow.Feet(6),
	}
}

func feet(list ...float64) (lengths []airflow.Meters) {
	for _, ft := range list {
		lengths = append(lengths, airflow.Feet(ft))
	}
	return lengths
}

func TestMakerTable(t *testing.T) {
	const rigid = "read: a maker's specification sheet, 4 in rigid, 6 ft less for each further elbow"
	narrow := func(d airflow.Duct) airflow.Duct {
		d.Outlet = airflow.Outlet{Kind: airflow.OutletNarrowWall}
		return d
	}
	// Another maker: 10 ft for each further 90, two 45s are one 90, a single one is ignored.
	pairs := airflow.MakerTable{Source: "specification sheet, 27 in model", ExtraElbow: airflow.Feet(10), Elbows45: airflow.Elbows45Pairs,
		Columns: []airflow.MakerColumn{{Hood: airflow.Hood4Inch, Lengths: feet(56, 48, 40, 32)}}}
	const paired = "read: another maker's specification sheet, 56, 48, 40, 32 ft"
	for _, c := range []struct {
		table  airflow.MakerTable
		duct   airflow.Duct
		limit  float64
		passes bool
		label  bool
		source string
	}{
		{sheet(), run(65, nil), 65, true, true, rigid},
		{sheet(), run(48, elbows{airflow.Mitered90: 2}), 47, false, true, rigid},
		{sheet(), narrow(run(22, elbows{airflow.Sectioned90: 4})), 22, true, false, rigid},
		{sheet(), run(16, elbows{airflow.Mitered90: 6}), 16, true, false, rigid},
		{sheet(), run(1, elbows{airflow.Mitered90: 20}), 0, false, false, rigid},
		{pairs, run(40, elbows{airflow.Mitered90: 1, airflow.Mitered45: 3}), 40, true, true, paired},
		{pairs, run(48, elbows{airflow.Mitered90: 1, airflow.Mitered45: 1}), 48, true, true, paired},
		{pairs, run(22, elbows{airflow.Mitered90: 4}), 22, true, false, paired},
	} {
		got := must[airflow.CodeLength](t)(c.table.CodeLength(c.duct))
		if math.Abs(got.Limit.Feet()-c.limit) > 1e-9 || got.Passes != c.passes || got.LabelNeeded != c.label || got.Source != c.table.Source {
			t.Errorf("%v: limit %g ft, passes %t, label %t; want %g, %t, %t (%s)", c.duct.Fittings, got.Limit.Feet(), got.Passes, got.LabelNeeded, c.limit, c.passes, c.label, c.source)
		}
	}

	flexible := sheet()
	flexible.Columns[0].Lengths = feet(45, 35, 30, 25, 20)
	ratio := must[airflow.CodeLength](t)(sheet().CodeLength(run(1, nil))).Limit / must[airflow.CodeLength](t)(flexible.CodeLength(run(1, nil))).Limit
	near(t, "rigid over flexible limit", float64(ratio), 1.444, 1e-3, "computed by hand: 65 ft over 45 ft of one maker's sheet")
}

func TestMakerTableRefuses(t *testing.T) {
	change := func(f func(*airflow.MakerTable)) airflow.MakerTable {
		m := sheet()
		f(&m)
		return m
	}
	for says, c := range map[string]struct {
		table airflow.MakerTable
		duct  airflow.Duct
	}{
		"45 degree elbows":   {sheet(), run(10, elbows{airflow.Mitered45: 1})},
		"5 elbows":           {change(func(m *airflow.MakerTable) { m.ExtraElbow = 0 }), run(10, elbows{airflow.Mitered90: 5})},
		"2 elbows":           {change(func(m *airflow.MakerTable) { m.Columns[0].Lengths[2] = 0 }), run(10, elbows{airflow.Mitered90: 2})},
		"no column":          {change(func(m *airflow.MakerTable) { m.Columns = m.Columns[1:] }), run(10, nil)},
		"table is empty":     {change(func(m *airflow.MakerTable) { m.Columns = nil }), run(10, nil)},
		"more elbows allow":  {change(func(m *airflow.MakerTable) { m.Columns[0].Lengths[4] = 20 }), run(10, nil)},
		"not named":          {change(func(m *airflow.MakerTable) { m.Source = "" }), run(10, nil)},
		"elbows_45":          {change(func(m *airflow.MakerTable) { m.Elbows45 = "half" }), run(10, nil)},
		"columns[0].hood":    {change(func(m *airflow.MakerTable) { m.Columns[0].Hood = "3_in" }), run(10, nil)},
		"columns[1].lengths": {change(func(m *airflow.MakerTable) { m.Columns[1].Lengths = nil }), run(10, nil)},
		"no duct at all":     {sheet(), airflow.Duct{Outlet: airflow.Outlet{Kind: airflow.OutletEave}}},
	} {
		if _, err := c.table.CodeLength(c.duct); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("got %v, want an error with %q", err, says)
		}
	}
}
