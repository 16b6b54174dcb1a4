package size

import (
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// ChangeKind names one change to a run.
type ChangeKind string

// The changes that are looked at, each by itself.
const (
	SmoothDuct       ChangeKind = "smooth_duct"       // rigid smooth metal instead of flexible duct
	BetterTransition ChangeKind = "better_transition" // semi-rigid metal instead of foil or plastic
	OneElbowLess     ChangeKind = "one_elbow_less"
	OneBendLess      ChangeKind = "one_45_less"
	LargerRadius     ChangeKind = "larger_radius" // smooth elbows of 10 in radius
	WiderDuct        ChangeKind = "wider_duct"    // 5 in
	OtherOutlet      ChangeKind = "other_outlet"
	Shorter          ChangeKind = "shorter" // by 5 ft
	Insulated        ChangeKind = "insulated"
	FewerLoads       ChangeKind = "fewer_loads" // by a quarter
)

// Change is what one change would do.
type Change struct {
	Kind   ChangeKind         `json:"change"`
	Outlet airflow.OutletKind `json:"outlet,omitempty"` // of OtherOutlet
	// Days by which the day by the numbers moves, later positive; where it is not within ten years, that is taken as ten years.
	Days     int             `json:"days_by_model"`
	Beyond   bool            `json:"beyond_ten_years,omitempty"` // the day by the numbers is then not within ten years
	ByModel  vent.Date       `json:"by_model,omitzero"`
	Day      vent.Date       `json:"due"` // within the bounds of the policy
	Static   airflow.Pascals `json:"static_pa"`
	StaticOK bool            `json:"static_passes"`
	Code     airflow.Meters  `json:"code_length_m,omitempty"` // 0: the edition has no value
	CodeOK   bool            `json:"code_passes"`
	Carry    bool            `json:"lint_carry_held"`
}

// Steps of the changes.
const (
	shorterBy airflow.Meters = 5 * 0.3048
	widerBore airflow.Meters = 5 * 0.0254
	usualBore airflow.Meters = 4 * 0.0254
	keptLoads                = 0.75
	// horizonDays is how far the rules look ahead: ten years.
	horizonDays = 3652
)

// changed is a run while one thing of it is changed.
type changed struct {
	Asked
	duct airflow.Duct
	now  Air // of the run as it is
	out  Change
}

// variants make one change each; they give false where it would be none.
var variants = []struct {
	kind  ChangeKind
	apply func(*changed) bool
}{
	{SmoothDuct, smoothDuct},
	{BetterTransition, betterTransition},
	{OneElbowLess, func(x *changed) bool { return x.lessOne(90) }},
	{OneBendLess, func(x *changed) bool { return x.lessOne(45) }},
	{LargerRadius, largerRadius},
	{WiderDuct, widerDuct},
	{OtherOutlet, otherOutlet},
	{Shorter, shorter},
	{Insulated, insulated},
	{FewerLoads, fewerLoads},
}

// changes works out what each change would do, the one that moves the date most first.
func changes(a Asked, now Result) []Change {
	list := []Change{}
	for _, v := range variants {
		x := changed{Asked: a, duct: copyOf(*a.Version.Route), now: now.Air, out: Change{Kind: v.kind}}
		if !v.apply(&x) {
			continue
		}
		x.Version.Route = &x.duct
		r, err := compute(x.Asked)
		if err != nil {
			continue // the changed run is outside the formulas: nothing can be promised of it
		}
		c, code := x.out, codeLength(x.Asked, x.duct)
		c.ByModel, c.Day, c.Beyond = r.Due.ByModel, r.Due.Day, r.Due.ByModel == 0
		c.Days = days(a.Today, r.Due.ByModel) - days(a.Today, now.Due.ByModel)
		c.Static, c.StaticOK, c.Carry = r.Air.Static, r.Air.StaticOK, r.Air.CarryHeld
		c.Code, c.CodeOK = code.Length, code.Passes
		list = append(list, c)
	}
	slices.SortStableFunc(list, func(x, y Change) int { return y.Days - x.Days })
	return list
}

// days counts to the day by the numbers; a day that is not within ten years stands at their end.
func days(today, d vent.Date) int {
	if d == 0 {
		return horizonDays
	}
	return today.DaysUntil(d)
}

func copyOf(d airflow.Duct) airflow.Duct {
	d.Sections = slices.Clone(d.Sections)
	d.Fittings = slices.Clone(d.Fittings)
	return d
}

// rigid turns a flexible piece into smooth metal.
func rigid(s *airflow.Section) bool {
	if s.Length == 0 || !s.Material.Flexible() {
		return false
	}
	s.Material, s.Roughness, s.FlexFactor = airflow.SmoothMetal, 0, 0
	return true
}

func smoothDuct(x *changed) bool {
	any := false
	for i := range x.duct.Sections {
		any = rigid(&x.duct.Sections[i]) || any
	}
	return any
}

func betterTransition(x *changed) bool {
	t := &x.duct.Transition
	if t.Length == 0 || t.Material != airflow.FoilFlex && t.Material != airflow.PlasticFlex {
		return false
	}
	t.Material, t.Roughness, t.FlexFactor = airflow.SemiRigid, 0, 0
	return true
}

// lessOne takes one elbow of the angle away.
func (x *changed) lessOne(angle int) bool {
	d := &x.duct
	for i := range d.Fittings {
		f := &d.Fittings[i]
		if f.Kind.Angle() != angle {
			continue
		}
		if f.Count--; f.Count == 0 {
			d.Fittings = slices.Delete(d.Fittings, i, i+1)
		}
		return true
	}
	return false
}

func largerRadius(x *changed) bool {
	any := false
	for i := range x.duct.Fittings {
		f := &x.duct.Fittings[i]
		best := airflow.Smooth90R10
		if f.Kind.Angle() == 45 {
			best = airflow.Smooth45R10
		}
		if f.K == 0 && f.Kind.LossCoefficient() > best.LossCoefficient() {
			f.Kind, any = best, true
		}
	}
	return any
}

// widerDuct makes a usual 4 in duct one of 5 in; the transition and the dryer's outlet stay.
func widerDuct(x *changed) bool {
	d := &x.duct
	for i := range d.Sections {
		if bore := d.Sections[i].Diameter; bore > usualBore+0.003 || bore < usualBore-0.003 {
			return false
		}
		d.Sections[i].Diameter = widerBore
	}
	return len(d.Sections) > 0
}

// places are outlets that can stand where another of them stood. An open end is not among them: it keeps no bird out.
var places = [][]airflow.OutletKind{
	{airflow.OutletLouvered, airflow.OutletFlapper, airflow.OutletFloating, airflow.OutletNarrowWall},
	{airflow.OutletRoofCap, airflow.OutletRoofGooseneck, airflow.OutletRoofMushroom, airflow.OutletRoofPlastic},
}

// otherOutlet takes the outlet of the place that costs least.
func otherOutlet(x *changed) bool {
	d := &x.duct
	for _, kinds := range places {
		if d.Outlet.K != 0 || !slices.Contains(kinds, d.Outlet.Kind) {
			continue
		}
		best := slices.MinFunc(kinds, func(a, b airflow.OutletKind) int {
			if a.LossCoefficient() < b.LossCoefficient() {
				return -1
			}
			return 1
		})
		if best == d.Outlet.Kind {
			return false
		}
		d.Outlet.Kind, x.out.Outlet = best, best
		return true
	}
	return false
}

// shorter takes 5 ft off the longest piece.
func shorter(x *changed) bool {
	d := &x.duct
	longest := -1
	for i := range d.Sections {
		if longest < 0 || d.Sections[i].Length > d.Sections[longest].Length {
			longest = i
		}
	}
	if longest < 0 || d.Sections[longest].Length <= shorterBy {
		return false
	}
	d.Sections[longest].Length -= shorterBy
	return true
}

func insulated(x *changed) bool {
	was := x.Version.Uninsulated
	x.Version.Uninsulated = false
	return was
}

// fewerLoads takes a quarter of the loads away; who counted them stays, and so does the doubt.
func fewerLoads(x *changed) bool {
	x.Use = []vent.Use{{LoadsPerWeek: keptLoads * x.now.LoadsPerWeek, Source: x.now.LoadsPerWeekBy}}
	return x.now.LoadsPerWeek > 0
}
