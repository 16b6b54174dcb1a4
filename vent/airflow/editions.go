package airflow

import (
	"fmt"
	"slices"
)

// Edition names a building rule for the length of dryer exhaust duct. It is
// stored as its text.
type Edition string

// The editions. Which one holds is for the authority of the place to say.
const (
	IRC2012         Edition = "irc_2012"          // IRC 2012 and later
	IMCCurrent      Edition = "imc_2009"          // IMC 2009 and later
	IRC2009Electric Edition = "irc_2009_electric" // IRC 2009, chapter 15
	IRC2009Gas      Edition = "irc_2009_gas"      // IRC 2009, G2439
	IRC2006         Edition = "irc_2006"          // IRC 2006, IMC 2000 and 2003
	Georgia2010     Edition = "georgia_2010"      // Georgia's amendment to IRC 2006
	UMC1994         Edition = "umc_1994"          // UMC 1994 and later
	MakerEdition    Edition = "maker"             // the dryer maker's own table, see MakerTable
)

// LabelRule tells when a permanent label with the equivalent length is asked for.
type LabelRule string

// The label rules.
const (
	LabelNever         LabelRule = ""
	LabelWhenConcealed LabelRule = "when_concealed"
	LabelOver35Feet    LabelRule = "over_35_ft"
)

// labelLength is the equivalent length above which LabelOver35Feet asks for a label.
const labelLength Meters = 35 * metersPerFoot

// FittingLength is one row of a rule's fitting table.
type FittingLength struct {
	Kind   FittingKind
	Length Meters
}

// Rule is one edition's limit as data.
type Rule struct {
	Edition Edition
	Title   string
	// Limit is the greatest code length.
	Limit Meters
	// Fittings are what one fitting of a kind adds; a kind without a row has no value in the edition.
	Fittings []FittingLength
	// Free90s is how many 90 degree elbows the limit already includes.
	Free90s int
	Label   LabelRule
	// Transition is the longest single transition duct; it is never added to the code length.
	Transition Meters
	// Source, LabelSource and TransitionSource say where the figures are from and how sure they are.
	Source, LabelSource, TransitionSource string
}

const (
	transitionSource      = "IRC M1502.4.3: one single length, 8 ft (2438 mm) at most (read at second hand; read in NYC MC 504)"
	olderTransitionSource = "the text read for this edition gives no figure; 8 ft (2438 mm) of the later IRC M1502.4.3 is used"
	concealedSource       = "IRC 2009 M1502.4.5 (read at second hand)"
	over35Source          = "IMC 504.9.5, current (read at second hand)"
	fittingTableSource    = "fitting Table M1502.4.5.1 (read, FL 2017 = IRC 2015)"
)

// fittingTable is IRC Table M1502.4.5.1, the same as M1502.4.4.1 of 2012 and IMC
// 504.6.4.1, 504.8.4.1 and 504.9.4.1 (read, Florida 2017 residential code).
func fittingTable() []FittingLength {
	return []FittingLength{
		{Mitered45, Feet(2.5)},
		{Mitered90, Feet(5)},
		{Smooth45R6, Feet(1)},
		{Smooth90R6, Feet(1.75)},
		{Smooth45R8, Feet(1)},
		{Smooth90R8, Feet(1 + 7.0/12)},
		{Smooth45R10, Feet(0.75)},
		{Smooth90R10, Feet(1.5)},
	}
}

// byAngle gives every kind of fitting a length by its angle; nil lengths (0) leave the angle without a value.
func byAngle(length45, length90 Meters) []FittingLength {
	var rows []FittingLength
	for _, f := range fittingData {
		length := length90
		if f.angle == 45 {
			length = length45
		}
		if length > 0 {
			rows = append(rows, FittingLength{f.kind, length})
		}
	}
	return rows
}

// Rules lists all editions, newest kind first.
func Rules() []Rule {
	return []Rule{
		{
			Edition: IRC2012, Title: "IRC 2012 and later", Limit: Feet(35), Fittings: fittingTable(),
			Label: LabelWhenConcealed, LabelSource: concealedSource + "; later texts differ, ask the authority",
			Source:     "IRC 2015 M1502.4.5.1, 35 ft (10668 mm), and " + fittingTableSource,
			Transition: Feet(8), TransitionSource: transitionSource,
		},
		{
			Edition: IMCCurrent, Title: "IMC 2009 and later", Limit: Feet(35), Fittings: fittingTable(),
			Label: LabelOver35Feet, LabelSource: over35Source,
			Source:     "IMC 504.6.4.1 / 504.9.4.1, 35 ft (10668 mm) (read at second hand), and " + fittingTableSource,
			Transition: Feet(8), TransitionSource: transitionSource,
		},
		{
			Edition: IRC2009Electric, Title: "IRC 2009, electric dryers", Limit: Feet(25), Fittings: fittingTable(),
			Label: LabelWhenConcealed, LabelSource: concealedSource,
			Source:     "IRC 2009 M1502, 25 ft (7620 mm) (read at second hand), and " + fittingTableSource,
			Transition: Feet(8), TransitionSource: transitionSource,
		},
		{
			Edition: IRC2009Gas, Title: "IRC 2009, gas dryers", Limit: Feet(35), Fittings: fittingTable(),
			Label: LabelWhenConcealed, LabelSource: concealedSource,
			Source:     "IRC 2009 G2439, 35 ft (10668 mm) (read at second hand), and " + fittingTableSource,
			Transition: Feet(8), TransitionSource: transitionSource,
		},
		{
			Edition: IRC2006, Title: "IRC 2006, IMC 2000 and 2003", Limit: Feet(25), Fittings: byAngle(Feet(2.5), Feet(5)),
			Source:     "IRC 2006 M1502.6 and IMC 2000, 25 ft (7620 mm) less 2.5 ft for each 45 and 5 ft for each 90 (read)",
			Transition: Feet(8), TransitionSource: olderTransitionSource,
		},
		{
			Edition: Georgia2010, Title: "IRC 2006 as amended in Georgia, 2010", Limit: Feet(35), Fittings: byAngle(Feet(2.5), Feet(5)),
			Source:     "Georgia amendment of 1 January 2010 to IRC 2006, 35 ft less 2.5 ft for each 45 and 5 ft for each 90 (read)",
			Transition: Feet(8), TransitionSource: olderTransitionSource,
		},
		{
			Edition: UMC1994, Title: "UMC 1994 and later", Limit: Feet(14), Fittings: byAngle(0, Feet(2)), Free90s: 2,
			Source:     "UMC 504.3.1.2, 14 ft (4.27 m) with two 90s, less 2 ft (0.61 m) for each 90 beyond two (read)",
			Transition: Feet(6), TransitionSource: "UMC 504.3.1.2, 6 ft (read)",
		},
	}
}

// RuleFor finds an edition's rule; an unknown edition is an error that lists the known ones.
func RuleFor(e Edition) (Rule, error) {
	rules := Rules()
	i := slices.IndexFunc(rules, func(r Rule) bool { return r.Edition == e })
	if i >= 0 {
		return rules[i], nil
	}
	var known []Edition
	for _, r := range rules {
		known = append(known, r.Edition)
	}
	return Rule{}, &FieldError{Field: "edition", Problem: fmt.Sprintf("%q is not a known edition", e),
		Remedy: oneOf(known) + ", or use the dryer maker's table"}
}
