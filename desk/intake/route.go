package intake

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"ventdue/vent/airflow"
)

// What is assumed of a duct where a new run's row does not say it. The outlet and the bore are those of the usual
// household run (common practice); the elbow is the row of the model residential code with the most length.
const (
	defaultDiameter airflow.Meters     = 4 * 0.0254
	defaultMaterial airflow.Material   = airflow.SmoothMetal
	defaultOutlet   airflow.OutletKind = airflow.OutletFlapper
	defaultElbow                       = "mitered_r4"
)

// family names an elbow without its angle: smooth_90_r6 and smooth_45_r6 are smooth_r6.
func family(k airflow.FittingKind) string {
	s := strings.Replace(string(k), "_90", "", 1)
	return strings.Replace(s, "_45", "", 1)
}

// ElbowKinds lists the families of elbows that the column elbow_kind takes.
func ElbowKinds() []string {
	var all []string
	for _, k := range airflow.FittingKinds() {
		if f := family(k); !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	return all
}

// elbow gives the fitting kind of a family and angle.
func elbow(fam string, angle int) airflow.FittingKind { return elbows()[bend{fam, angle}] }

type bend struct {
	family string
	angle  int
}

// elbows is asked for every row, so it is built once.
var elbows = sync.OnceValue(func() map[bend]airflow.FittingKind {
	all := map[bend]airflow.FittingKind{}
	for _, k := range slices.Backward(airflow.FittingKinds()) { // the first of a family and angle stays
		all[bend{family(k), k.Angle()}] = k
	}
	return all
})

// Onto lays what the row says over a stored duct (nil: none yet) and gives the duct as it is then; nil where nothing
// is known of its length. A duct that was described in several pieces, or with several kinds of elbows,
// is not flattened: a differing figure is a problem of its column.
func (r Route) Onto(stored *airflow.Duct) (*airflow.Duct, []Problem) {
	if !r.Any() {
		return stored, nil
	}
	if stored == nil && !r.Length.Given {
		return nil, []Problem{{Column: "duct_length", What: "is missing, but other columns describe the duct",
			Remedy: "give the length of the straight duct, without elbows and transition"}}
	}
	d := airflow.Duct{Outlet: airflow.Outlet{Kind: defaultOutlet}}
	if stored != nil {
		d = *stored
		d.Sections = slices.Clone(stored.Sections)
		d.Fittings = slices.Clone(stored.Fittings)
	} else {
		d.Sections = []airflow.Section{{Material: defaultMaterial, Diameter: defaultDiameter}}
	}
	var p []Problem
	p = append(p, r.straight(&d)...)
	p = append(p, r.elbows(&d)...)
	r.transition(&d)
	if r.Outlet != "" && r.Outlet != d.Outlet.Kind {
		d.Outlet = airflow.Outlet{Kind: r.Outlet} // a stored measured K belonged to the other outlet
	}
	if r.Concealed.Given {
		d.Concealed = r.Concealed.Value != 0
	}
	return &d, p
}

func (r Route) straight(d *airflow.Duct) []Problem {
	if len(d.Sections) > 1 {
		const several = "differs from the stored duct, which has several pieces"
		const remedy = "change the pieces on the run's page, or leave the cell empty"
		var p []Problem
		if r.Length.Given && !near(float64(d.StraightLength()), r.Length.Value) {
			p = append(p, Problem{Column: "duct_length", What: several, Remedy: remedy})
		}
		if r.Diameter.Given && !near(float64(d.Sections[0].Diameter), r.Diameter.Value) {
			p = append(p, Problem{Column: "duct_diameter", What: several, Remedy: remedy})
		}
		if r.Material != "" && r.Material != d.Sections[0].Material {
			p = append(p, Problem{Column: "duct_material", What: several, Remedy: remedy})
		}
		return p
	}
	if len(d.Sections) == 0 {
		if !r.Length.Given && !r.Diameter.Given && r.Material == "" {
			return nil
		}
		d.Sections = []airflow.Section{{Material: defaultMaterial, Diameter: defaultDiameter}}
	}
	s := &d.Sections[0]
	if r.Length.Given {
		s.Length = airflow.Meters(r.Length.Value)
	}
	if r.Diameter.Given {
		s.Diameter = airflow.Meters(r.Diameter.Value)
	}
	if r.Material != "" && r.Material != s.Material {
		s.Material, s.Roughness = r.Material, 0
		if !r.Material.Flexible() {
			s.FlexFactor = 0
		}
	}
	return nil
}

// near forgives what turning feet into metres and back leaves over.
func near(a, b float64) bool { return a-b < 1e-6 && b-a < 1e-6 }

func (r Route) elbows(d *airflow.Duct) []Problem {
	var p []Problem
	for _, x := range []struct {
		column string
		angle  int
		count  Optional
	}{{"elbows_90", 90, r.Elbows90}, {"elbows_45", 45, r.Elbows45}} {
		if !x.count.Given && r.ElbowKind == "" {
			continue
		}
		if problem, ok := r.angle(d, x.angle, x.count); !ok {
			problem.Column = x.column
			p = append(p, problem)
		}
	}
	return p
}

// angle sets the elbows of one angle: their count, their kind, or both.
func (r Route) angle(d *airflow.Duct, angle int, count Optional) (Problem, bool) {
	at, lines, have := -1, 0, 0
	for i, f := range d.Fittings {
		if f.Kind.Angle() == angle {
			at, lines, have = i, lines+1, have+f.Count
		}
	}
	want := have
	if count.Given {
		want = int(count.Value)
	}
	if lines > 1 {
		if want == have && r.ElbowKind == "" {
			return Problem{}, true
		}
		return Problem{What: fmt.Sprintf("differs from the stored duct, which has several kinds of %d° elbows", angle),
			Remedy: "change the elbows on the run's page, or leave the cell empty"}, false
	}
	switch {
	case want == 0 && at >= 0:
		d.Fittings = slices.Delete(d.Fittings, at, at+1)
		if len(d.Fittings) == 0 {
			d.Fittings = nil
		}
	case want == 0:
	case at < 0:
		d.Fittings = append(d.Fittings, airflow.Fitting{Kind: elbow(r.elbowFamily(d), angle), Count: want})
	default:
		f := &d.Fittings[at]
		f.Count = want
		if k := elbow(r.ElbowKind, angle); r.ElbowKind != "" && k != f.Kind {
			f.Kind, f.K = k, 0
		}
	}
	return Problem{}, true
}

// elbowFamily is the family of an elbow that is added: the row's, that of the elbows there are, or the default.
func (r Route) elbowFamily(d *airflow.Duct) string {
	if r.ElbowKind != "" {
		return r.ElbowKind
	}
	if len(d.Fittings) > 0 {
		return family(d.Fittings[0].Kind)
	}
	return defaultElbow
}

func (r Route) transition(d *airflow.Duct) {
	if !r.TransitionLength.Given && r.TransitionMaterial == "" {
		return
	}
	t := &d.Transition
	if r.TransitionLength.Given {
		t.Length = airflow.Meters(r.TransitionLength.Value)
		if t.Length == 0 {
			*t = airflow.Section{}
			return
		}
	}
	if t.Length == 0 {
		return // a material without a length describes nothing
	}
	if t.Diameter == 0 {
		t.Diameter = defaultDiameter
		if len(d.Sections) > 0 {
			t.Diameter = d.Sections[0].Diameter
		}
	}
	if t.Material == "" {
		t.Material = airflow.SemiRigid
	}
	if m := r.TransitionMaterial; m != "" && m != t.Material {
		t.Material, t.Roughness = m, 0
		if !m.Flexible() {
			t.FlexFactor = 0
		}
	}
}
