// Package size sizes one vent run that may not be built yet: its length as a rule counts it, what the air does in it, when it
// would first be due, and what one change would do. Everything in SI; how it is said stands in text.go.
package size

import (
	"fmt"
	"math"
	"strings"

	"ventdue/scheduler"
	"ventdue/scheduler/due"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Asked is the run in question, new and clean on the day Today.
type Asked struct {
	Version vent.Version // its Route is needed
	Dryer   vent.Appliance
	Unit    vent.Unit
	Use     []vent.Use // none: estimated from the unit
	Policy  due.Policy
	Today   vent.Date
}

// referenceFlow is the flow at which resistances of runs are compared: 150 cfm, about what a full-size dryer moves with
// nothing connected but a short duct.
var referenceFlow = airflow.CFM(150)

// carrySpeed keeps lint airborne: 1 200 ft/min (read: a commercial maker's installation manual 70304601 p. 27).
var carrySpeed = airflow.FeetPerMinute(1200)

// Result is what can be said of a run. Lengths in m, pressures in Pa, speeds in m/s, flows in m3/s.
type Result struct {
	Code          Code         `json:"code_length"`
	Air           Air          `json:"air"`
	Due           Due          `json:"due"`
	Changes       []Change     `json:"changes"` // the one that helps most first
	Plan          vent.Wanted  `json:"-"`
	Duct          airflow.Duct `json:"route"`
	NoSafe        bool         `json:"no_safe_interval,omitempty"` // the clean run stands at or past the maker's limit
	FoilOrPlastic bool         `json:"foil_or_plastic,omitempty"`
}

// Code is the length as an edition counts it.
type Code struct {
	Edition string `json:"edition"`
	Title   string `json:"title,omitempty"`
	// Unknown says why the edition has no value for the run, with the remedy; the figures are then 0.
	Unknown string `json:"unknown,omitempty"`
	// Strictest is then the length with every elbow counted as the kind of its angle with the most length.
	Strictest       airflow.Meters `json:"strictest_length_m,omitempty"`
	Straight        airflow.Meters `json:"straight_m"`
	Fittings        airflow.Meters `json:"fittings_m"`
	Length          airflow.Meters `json:"length_m"`
	Limit           airflow.Meters `json:"limit_m"`
	Margin          airflow.Meters `json:"margin_m"`
	StraightAllowed airflow.Meters `json:"straight_allowed_m"`
	Passes          bool           `json:"passes"`
	LabelNeeded     bool           `json:"label_needed"`
	Transition      airflow.Meters `json:"transition_m"`
	TransitionLimit airflow.Meters `json:"transition_limit_m"`
	TransitionOK    bool           `json:"transition_passes"`
	Source          string         `json:"source,omitempty"`
	LabelSource     string         `json:"label_source,omitempty"`
}

// Air is the operating point of the clean run.
type Air struct {
	Flow        airflow.CubicMetersPerSecond `json:"flow_m3_s"`
	OutletSpeed airflow.MetersPerSecond      `json:"outlet_speed_m_s"`
	DuctSpeed   airflow.MetersPerSecond      `json:"duct_speed_m_s"` // in the widest piece, where lint settles first
	Static      airflow.Pascals              `json:"static_pa"`
	StaticLimit airflow.Pascals              `json:"static_limit_pa"`
	StaticOK    bool                         `json:"static_passes"`
	// Resistance is the pressure that 150 cfm would take, whatever the blower.
	Resistance     airflow.Pascals         `json:"resistance_at_150_cfm_pa"`
	CarryHeld      bool                    `json:"lint_carry_held"` // 1 200 ft/min
	CarrySpeed     airflow.MetersPerSecond `json:"lint_carry_speed_m_s"`
	CarryAsked     bool                    `json:"lint_carry_demanded"` // by the maker
	BlowerOfClass  bool                    `json:"blower_is_usual_of_class"`
	FlowAtLimit    float64                 `json:"flow_share_at_limit"` // share of the clean flow at which it must be opened
	ExpectedLimit  vent.LimitKind          `json:"limit"`
	GrowthPer100   float64                 `json:"growth_per_100_loads"`
	LoadsPerWeek   float64                 `json:"loads_per_week"`
	LoadsPerWeekBy vent.UseSource          `json:"loads_from"`
}

// Due is when the run is first due.
type Due struct {
	Day      vent.Date  `json:"due"`
	Earliest vent.Date  `json:"earliest"`
	Latest   vent.Date  `json:"latest"`
	ByModel  vent.Date  `json:"by_model,omitzero"` // day by the numbers alone; none: not within ten years
	Bound    vent.Bound `json:"bound"`             // what set the day; "": the numbers
	Chance   float64    `json:"chance"`
	Risk     float64    `json:"risk"`
}

// Compute sizes the run. The error is for what the formulas do not hold for, and for a policy that cannot be.
func Compute(a Asked) (Result, error) {
	r, err := compute(a)
	if err != nil {
		return r, err
	}
	r.Code = codeLength(a, *a.Version.Route)
	r.Changes = changes(a, r)
	return r, nil
}

// compute is Compute without code length and changes.
func compute(a Asked) (r Result, err error) {
	if a.Version.Route == nil {
		return r, fmt.Errorf("size a run: %w: it needs a duct", vent.ErrInvalid)
	}
	r.Duct = *a.Version.Route
	blower := a.Dryer.BlowerCurve()
	sys, err := airflow.NewSystem(r.Duct, blower)
	if err != nil {
		return r, fmt.Errorf("size a run: %w", err)
	}
	clean, err := sys.At(0)
	if err != nil {
		return r, fmt.Errorf("size a run: %w", err)
	}
	r.Air = Air{
		Flow: short(clean.Flow), OutletSpeed: short(clean.OutletSpeed), DuctSpeed: short(clean.DuctSpeed),
		Static: short(clean.Static), StaticLimit: short(a.Dryer.StaticLimit()), StaticOK: clean.Static <= a.Dryer.StaticLimit(),
		CarryHeld: clean.DuctSpeed >= carrySpeed, CarrySpeed: carrySpeed, CarryAsked: a.Dryer.LintCarry, BlowerOfClass: a.Dryer.Blower == nil,
	}
	resistance, err := sys.Resistance(referenceFlow, 0)
	if err != nil {
		return r, fmt.Errorf("size a run: %w", err)
	}
	r.Air.Resistance = short(resistance)
	return r, r.date(a)
}

// date plans the run as if it had been built on the day.
func (r *Result) date(a Asked) error {
	v := a.Version
	v.From = a.Today
	out, err := scheduler.Plan(scheduler.Input{
		Run:   vent.Run{Name: vent.UsualRunName, Shape: vent.Single, Known: a.Today, Versions: []vent.Version{v}, Use: a.Use},
		Dryer: a.Dryer, Unit: a.Unit, Policy: a.Policy,
	})
	if err != nil {
		return err
	}
	for _, w := range out.Dues {
		if w.Kind == vent.DueClean {
			r.Plan = w
		}
	}
	b := out.Belief
	r.Due = Due{r.Plan.Day, r.Plan.Earliest, r.Plan.Latest, r.Plan.Reason.ByModel, r.Plan.Reason.Bound, short(r.Plan.Reason.Chance), r.Plan.Reason.Risk}
	r.Air.FlowAtLimit, r.Air.ExpectedLimit = short(b.FlowAtLimit()), b.Limit()
	growth, _ := b.Growth()
	loads, by := b.Loads()
	r.Air.GrowthPer100, r.Air.LoadsPerWeek, r.Air.LoadsPerWeekBy = short(growth), short(loads), by
	r.NoSafe, r.FoilOrPlastic = b.LimitAt().AtMaker, due.FoilIn(v)
	return nil
}

// codeLength counts the duct by the edition of the run, else of the policy.
func codeLength(a Asked, d airflow.Duct) Code {
	edition := a.Version.Edition
	if edition == "" {
		edition = a.Policy.Edition
	}
	c := Code{Edition: edition}
	if edition == string(airflow.MakerEdition) {
		c.Unknown = "the dryer's installation sheet has the table: compare the straight length with its row for the number of elbows and the hood"
		return c
	}
	rule, err := airflow.RuleFor(airflow.Edition(edition))
	if err != nil {
		c.Unknown = plainly(err)
		return c
	}
	c.Title = rule.Title
	got, err := rule.CodeLength(d)
	if err != nil {
		c.Unknown, c.Limit = plainly(err), short(rule.Limit)
		if got, err := rule.CodeLength(strictest(rule, d)); err == nil {
			c.Strictest = short(got.Length)
		}
		return c
	}
	c.Straight, c.Fittings, c.Length, c.Limit = short(got.Straight), short(got.Fittings), short(got.Length), short(got.Limit)
	c.Margin, c.StraightAllowed, c.Passes, c.LabelNeeded = short(got.Margin), short(got.StraightAllowed()), got.Passes, got.LabelNeeded
	c.Transition, c.TransitionLimit, c.TransitionOK = short(got.Transition.Length), short(got.Transition.Limit), got.Transition.Passes
	c.Source, c.LabelSource = got.Source, got.LabelSource
	return c
}

// strictest counts every fitting as the kind of its angle that the rule gives the most length.
func strictest(rule airflow.Rule, d airflow.Duct) airflow.Duct {
	d = copyOf(d)
	for i := range d.Fittings {
		f := &d.Fittings[i]
		var most airflow.Meters
		for _, row := range rule.Fittings {
			if row.Kind.Angle() == f.Kind.Angle() && row.Length > most {
				most, f.Kind = row.Length, row.Kind
			}
		}
	}
	return d
}

// plainly says what is wrong and the remedy, each remedy once, without the places in the record.
func plainly(err error) string {
	var said []string
	var remedy string
	var walk func(error)
	walk = func(e error) {
		if f, ok := e.(*airflow.FieldError); ok {
			said, remedy = append(said, f.Problem), f.Remedy // the errors of one rule have one remedy
			return
		}
		switch x := e.(type) {
		case interface{ Unwrap() []error }:
			for _, e := range x.Unwrap() {
				walk(e)
			}
		case interface{ Unwrap() error }:
			walk(x.Unwrap())
		}
	}
	walk(err)
	if said == nil {
		return err.Error()
	}
	return strings.Join(said, ", ") + ": " + remedy
}

// short cuts a figure to a millionth of its unit, so that JSON shows no dust of binary fractions.
func short[T ~float64](v T) T { return T(math.Round(float64(v)*1e6) / 1e6) }
