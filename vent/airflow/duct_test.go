package airflow_test

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/fxamacker/cbor/v2"

	"ventdue/vent/airflow"
)

func TestValidateNamesFieldAndRemedy(t *testing.T) {
	nan := math.NaN()
	for field, change := range map[string]func(*airflow.Duct){
		"sections":                func(d *airflow.Duct) { d.Sections, d.Transition = nil, airflow.Section{} },
		"sections[0].material":    func(d *airflow.Duct) { d.Sections[0].Material = "paper" },
		"sections[0].length":      func(d *airflow.Duct) { d.Sections[0].Length = 101 },
		"sections[0].diameter":    func(d *airflow.Duct) { d.Sections[0].Diameter = 4 },
		"sections[0].roughness":   func(d *airflow.Duct) { d.Sections[0].Roughness = airflow.Meters(nan) },
		"sections[0].flex_factor": func(d *airflow.Duct) { d.Sections[0].FlexFactor = 4 },
		"transition.flex_factor":  func(d *airflow.Duct) { d.Transition.FlexFactor = 0.5 },
		"transition.diameter":     func(d *airflow.Duct) { d.Transition.Diameter = 0 },
		"transition.length":       func(d *airflow.Duct) { d.Transition.Length = -1 },
		"fittings[0].kind":        func(d *airflow.Duct) { d.Fittings[0].Kind = "" },
		"fittings[0].count":       func(d *airflow.Duct) { d.Fittings[0].Count = 51 },
		"fittings[0].diameter":    func(d *airflow.Duct) { d.Fittings[0].Diameter = 0.02 },
		"fittings[0].k":           func(d *airflow.Duct) { d.Fittings[0].K = math.Inf(1) },
		"outlet.kind":             func(d *airflow.Duct) { d.Outlet.Kind = "bucket" },
		"outlet.k":                func(d *airflow.Duct) { d.Outlet.K = -1 },
		"outlet.diameter":         func(d *airflow.Duct) { d.Outlet.Diameter = 1 },
		"exhaust_temperature":     func(d *airflow.Duct) { d.ExhaustTemperature = 160 },
		"altitude":                func(d *airflow.Duct) { d.Altitude = airflow.Meters(nan) },
		"dryer_outlet":            func(d *airflow.Duct) { d.DryerOutlet = 0.01 },
	} {
		d := ordinary()
		change(&d)
		err := d.Validate()
		var found *airflow.FieldError
		if !errors.As(err, &found) || found.Field != field || found.Problem == "" || found.Remedy == "" {
			t.Errorf("%s: got %v", field, err)
		}
		if _, err := airflow.NewSystem(d, invented()); err == nil {
			t.Errorf("%s: NewSystem took it", field)
		}
	}
	if err := ordinary().Validate(); err != nil {
		t.Error(err)
	}
}

func TestValidateReportsEverything(t *testing.T) {
	err := airflow.Duct{
		Sections: []airflow.Section{{Material: "paper", Length: -1, Diameter: 4}},
		Fittings: []airflow.Fitting{{Kind: "knot"}},
	}.Validate()
	for _, field := range []string{"sections[0].material", "sections[0].length", "sections[0].diameter", "fittings[0].kind", "fittings[0].count", "outlet.kind"} {
		if err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("%s is missing from: %v", field, err)
		}
	}
	if _, err := airflow.NewSystem(ordinary(), airflow.Blower{}); err == nil || !strings.Contains(err.Error(), "free_air") || !strings.Contains(err.Error(), "shutoff") {
		t.Errorf("empty blower: %v", err)
	}
	blower := invented()
	blower.Density = 12
	if err := blower.Validate(); err == nil {
		t.Error("a blower for air of 12 kg/m3 is valid")
	}
}

func TestSystemRefusesWhatTheModelDoesNotHold(t *testing.T) {
	d := ordinary()
	d.Sections[0] = airflow.Section{Material: airflow.FoilFlex, Length: 1, Diameter: 0.05}
	if _, err := airflow.NewSystem(d, invented()); !errors.Is(err, airflow.ErrOutsideModel) {
		t.Errorf("3 mm of roughness in 50 mm: %v, want ErrOutsideModel", err)
	}
	d = ordinary()
	for i := range 9 {
		d.Sections = append(d.Sections, airflow.Section{Material: airflow.SmoothMetal, Length: 1, Diameter: airflow.Meters(0.1 + 0.01*float64(i))})
	}
	if _, err := airflow.NewSystem(d, invented()); !errors.Is(err, airflow.ErrOutsideModel) {
		t.Errorf("ten bores: %v, want ErrOutsideModel", err)
	}
	d = straight(0.1, 0)
	d.Outlet = airflow.Outlet{Kind: airflow.OutletOpen}
	if _, err := airflow.NewSystem(d, airflow.Blower{FreeAir: 5, Shutoff: 2000}); !errors.Is(err, airflow.ErrOutsideModel) {
		t.Errorf("a jet: %v, want ErrOutsideModel", err)
	}
}

// What is stored must come back, and zero fields must not be stored at all.
func TestEncoding(t *testing.T) {
	d := ordinary()
	d.ExhaustTemperature, d.Altitude, d.DryerOutlet, d.Concealed = 65, 120, 0.1, true
	d.Sections[0].Roughness, d.Outlet.K = average, 1.5

	text := must[[]byte](t)(json.Marshal(d))
	var fromText airflow.Duct
	if err := json.Unmarshal(text, &fromText); err != nil || !reflect.DeepEqual(d, fromText) {
		t.Errorf("json %s came back as %+v, %v", text, fromText, err)
	}
	data := must[[]byte](t)(cbor.Marshal(d))
	var fromData airflow.Duct
	if err := cbor.Unmarshal(data, &fromData); err != nil || !reflect.DeepEqual(d, fromData) {
		t.Errorf("cbor came back as %+v, %v", fromData, err)
	}
	if got := string(must[[]byte](t)(json.Marshal(airflow.Duct{}))); got != "{}" {
		t.Errorf("an empty duct is %s, want {}", got)
	}
	if got := must[[]byte](t)(cbor.Marshal(airflow.Duct{})); len(got) != 1 {
		t.Errorf("an empty duct is % x, want an empty map", got)
	}
}

// Numbers and names of stored fields are for ever.
func TestStoredFieldNumbers(t *testing.T) {
	for sample, want := range map[any]string{
		airflow.Section{}: "1 material, 2 length, 3 diameter, 4 roughness, 5 flex_factor",
		airflow.Fitting{}: "1 kind, 2 count, 3 diameter, 4 k",
		airflow.Outlet{}:  "1 kind, 2 diameter, 3 k",
		airflow.Blower{}:  "1 free_air, 2 shutoff, 3 density",
	} {
		checkNumbers(t, reflect.TypeOf(sample), want)
	}
	checkNumbers(t, reflect.TypeFor[airflow.Duct](), "1 transition, 2 sections, 3 fittings, 4 outlet, 5 exhaust_temperature, 6 altitude, 7 dryer_outlet, 8 concealed")
	checkNumbers(t, reflect.TypeFor[airflow.MakerTable](), "1 source, 2 columns, 3 extra_elbow, 4 elbows_45, 5 transition")
	checkNumbers(t, reflect.TypeFor[airflow.MakerColumn](), "1 hood, 2 lengths")
}

func checkNumbers(t *testing.T, typ reflect.Type, want string) {
	t.Helper()
	var got []string
	for f := range typ.Fields() {
		number, _, _ := strings.Cut(f.Tag.Get("cbor"), ",")
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		got = append(got, number+" "+name)
	}
	if list := strings.Join(got, ", "); list != want {
		t.Errorf("%s is stored as %s, want %s", typ, list, want)
	}
}

// Written-down defaults change no answer, and nothing of the original.
func TestWithDefaults(t *testing.T) {
	d := ordinary()
	full := d.WithDefaults()
	if !reflect.DeepEqual(d, ordinary()) {
		t.Error("WithDefaults changed its duct")
	}
	if full.Sections[0].Roughness != airflow.SmoothMetal.Roughness() || full.Fittings[0].K != airflow.Mitered90.LossCoefficient() ||
		full.Fittings[0].Diameter != airflow.Inches(4) || full.Outlet.K != airflow.OutletFlapper.LossCoefficient() || full.ExhaustTemperature != 60 {
		t.Errorf("figures are missing: %+v", full)
	}
	if !reflect.DeepEqual(full, full.WithDefaults()) {
		t.Error("defaults of defaults differ")
	}
	if a, b := at(t, system(t, d, invented()), 0.2), at(t, system(t, full, invented()), 0.2); a != b {
		t.Errorf("written-down defaults change the answer: %+v, %+v", a, b)
	}
}

func TestKinds(t *testing.T) {
	for _, m := range airflow.Materials() {
		if !m.Valid() || m.Roughness() <= 0 {
			t.Errorf("material %s: roughness %g", m, float64(m.Roughness()))
		}
	}
	for _, k := range airflow.FittingKinds() {
		if !k.Valid() || k.LossCoefficient() <= 0 || !strings.Contains(string(k), map[int]string{45: "45", 90: "90"}[k.Angle()]) {
			t.Errorf("fitting %s: angle %d, K %g", k, k.Angle(), k.LossCoefficient())
		}
	}
	for _, k := range airflow.OutletKinds() {
		if !k.Valid() || (k.LossCoefficient() <= 0) != (k == airflow.OutletOpen) {
			t.Errorf("outlet %s: K %g", k, k.LossCoefficient())
		}
	}
	for _, c := range airflow.DryerClasses() {
		if err := c.Blower().Validate(); !c.Valid() || err != nil || c.Basis() == "" {
			t.Errorf("class %s: %v, basis %q", c, err, c.Basis())
		}
	}
	if airflow.Material("").Valid() || airflow.FittingKind("x").Valid() || airflow.OutletKind("").Valid() || airflow.DryerClass("").Valid() {
		t.Error("an unknown kind is valid")
	}
	if airflow.Material("x").Flexible() || airflow.Material("x").Roughness() != 0 {
		t.Error("an unknown material has properties")
	}
}

// A usual blower on the usual run is near the usual back-pressure limit when
// clean (common practice: 0.6 in w.c.), and above the speed that carries lint
// (read: 1200 fpm, a maker's installation manual 70304601 p. 27).
func TestUsualRun(t *testing.T) {
	p := at(t, system(t, ordinary(), airflow.FullSize.Blower()), 0)
	if in := p.Static.InchesWater(); in < 0.5 || in > 0.65 {
		t.Errorf("static pressure %.3f in w.c., want near 0.6", in)
	}
	if fpm := p.OutletSpeed.FeetPerMinute(); fpm < 1200 || fpm > 1800 {
		t.Errorf("outlet speed %.0f fpm, want above 1200", fpm)
	}
}

// The fan law: in thinner air blower and duct lose alike, so the flow stays.
func TestThinAir(t *testing.T) {
	d := straight(0.1, 3) // hardly any friction, whose factor moves with density
	low := at(t, system(t, d, invented()), 0)
	d.Altitude = 2000
	high := at(t, system(t, d, invented()), 0)
	near(t, "flow at 2000 m", float64(high.Flow), float64(low.Flow), 1e-3, "read: fan laws, flow unchanged at one speed")
	near(t, "static at 2000 m", float64(high.Static/low.Static), 0.7846, 2e-3, "memory: standard atmosphere, 79495 Pa at 2000 m; pressure proportional to density")
}

func TestBlowerPressure(t *testing.T) {
	b := invented()
	for cfm, inches := range map[float64]float64{0: 1, 112.5: 0.75, 225: 0} {
		p := must[airflow.Pascals](t)(b.Pressure(airflow.CFM(cfm)))
		if math.Abs(p.InchesWater()-inches) > 1e-12 {
			t.Errorf("pressure at %g cfm = %g in w.c., want %g (computed by hand)", cfm, p.InchesWater(), inches)
		}
	}
	for _, q := range []airflow.CubicMetersPerSecond{-1, 1, airflow.CubicMetersPerSecond(math.NaN())} {
		if _, err := b.Pressure(q); !errors.Is(err, airflow.ErrOutsideModel) {
			t.Errorf("pressure at %g m3/s: %v, want ErrOutsideModel", float64(q), err)
		}
	}
}

// A duct narrower than the dryer's outlet costs the pressure that speeds the air up.
func TestNarrowDuct(t *testing.T) {
	loss := func(dryerOutlet airflow.Meters) float64 {
		d := straight(0.001, 1)
		d.DryerOutlet = dryerOutlet
		return float64(must[airflow.Pascals](t)(system(t, d, invented()).Resistance(airflow.CFM(100), 0)))
	}
	// Computed by hand: bore ratio 1/2, 1 - 1/16 + 0.5 (1 - 1/4) = 1.3125 on top of K = 1.
	near(t, "4 in behind 8 in", loss(airflow.Inches(8))/loss(airflow.Inches(4)), 2.3125, 1e-3, "computed by hand: Bernoulli and sudden contraction")
}
