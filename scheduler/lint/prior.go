package lint

import (
	"math"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// The prior is set so that the reference run (25 ft of smooth 4 in duct, two mitred 90s, a flapper hood, 5.44 loads a
// week as told, a full-size electric dryer under the default pressure limit) has a chance of one in ten of being past its
// limit after twelve months: the yearly cleaning that fire-safety bodies advise. A test holds it there.
const (
	referenceRate   = 7.65e-5 // median share of the radius per load
	referenceLength = 25 * 0.3048
	referenceBore   = 4 * 0.0254
	referenceK      = 2 * 0.70 // two mitred 90s
	referenceSpeed  = 7.85     // m/s in the clean reference run, computed
)

// Spread of log r. Ours: between like runs; between runs nobody described, more.
const (
	spreadRuns       = 0.55
	spreadNoGeometry = 0.40
)

// How much more or less lint settles, as exponents and logarithms. Ours; signs and order of size from what makers and
// trade pages say: longer, rougher, colder and roof runs fill sooner, over 25 ft or three elbows sooner than a year.
const (
	byLength      = 0.5  // power of length
	bySlowness    = 0.25 // power of the speed lost against the reference
	byFitting     = 0.06 // per unit of loss coefficient
	bySemiRigid   = 0.15
	byFoil        = 0.33
	byUninsulated = 0.22
	byRoof        = 0.20
	byPets        = 0.20
	byScreen      = 0.40 // a torn or missing lint screen
)

// unknownRoute stands for a run nobody described: rather long and crooked, so that ignorance does not earn time.
func unknownRoute(class airflow.DryerClass) airflow.Duct {
	bore := airflow.Inches(4)
	if class == airflow.LargeTumbler {
		bore = airflow.Inches(8)
	}
	return airflow.Duct{
		Sections: []airflow.Section{{Material: airflow.Galvanized, Length: airflow.Feet(30), Diameter: bore}},
		Fittings: []airflow.Fitting{{Kind: airflow.Mitered90, Count: 3}},
		Outlet:   airflow.Outlet{Kind: airflow.OutletFlapper},
	}
}

// build is a version made ready: its air, its limit, its prior.
type build struct {
	sys         airflow.System
	clean       airflow.Point
	limit       Limit
	median      float64 // log of the prior's median growth per load
	spread      float64 // standard deviation of log growth, without doubt about loads
	pivot       float64 // log of the loads after which the prior's median is at the limit
	shift       float64 // part of median that neighbours taught
	far         float64 // share of the computed clean flow below which the value after a cleaning is far too low
	cleanSpread float64 // standard deviation of the log of the clean value around the computed one
	wall, bore  float64 // inner surface in m² and widest bore in m
	noGeometry  bool
	outside     bool    // the formulas do not hold for it: as it was described, or because of a booster
	boosted     bool    // a booster is in the run
	ownClean    bool    // boosted: the air was read after a cleaning of this version
	anchor      float64 // boosted: log of those readings over what the formulas give for one fan
}

// buildOf makes a version ready. A route that is missing or that the formulas do not hold for is replaced by
// unknownRoute with a wider prior: every run gets a date. So is that of a boosted run: the formulas know one fan alone.
func buildOf(v vent.Version, dryer vent.Appliance, unit vent.Unit, boosted bool) build {
	blower := dryer.BlowerCurve()
	if v.Route != nil && !boosted {
		if sys, err := airflow.NewSystem(*v.Route, blower); err == nil {
			if b, err := finish(v, dryer, unit, *v.Route, sys); err == nil {
				return b
			}
		}
	}
	route := unknownRoute(dryer.Class)
	sys, err := airflow.NewSystem(route, blower)
	if err != nil { // a blower outside the model: fall back to the class's own
		dryer.Blower = nil
		sys, _ = airflow.NewSystem(route, dryer.BlowerCurve())
	}
	b, _ := finish(v, dryer, unit, route, sys)
	b.noGeometry, b.outside, b.boosted = true, v.Route != nil || boosted, boosted
	b.cleanSpread, b.far = spreadCleanNoDrawing, farBelowUnknown
	if boosted {
		b.far = 0 // nothing computed tells what is too low
	}
	b.spread = math.Hypot(b.spread, spreadNoGeometry)
	return b
}

func finish(v vent.Version, dryer vent.Appliance, unit vent.Unit, route airflow.Duct, sys airflow.System) (build, error) {
	clean, err := sys.At(0)
	if err != nil {
		return build{}, err
	}
	limit, err := limitOf(dryer, route, &sys)
	if err != nil {
		return build{}, err
	}
	b := build{sys: sys, clean: clean, limit: limit, spread: spreadRuns, cleanSpread: spreadCleanGuessed, far: farBelowGuessed}
	if v.Measured {
		b.cleanSpread, b.far = spreadCleanMeasured, farBelowMeasured
	}
	b.wall, b.bore = wallOf(route)
	b.median = math.Log(referenceRate) + routeFactor(route, clean) + limit.Backwards
	if v.Uninsulated {
		b.median += byUninsulated
	}
	if v.RoofOutlet {
		b.median += byRoof
	}
	if unit.Pets {
		b.median += byPets
	}
	b.pivot = math.Log(limit.Lint) - b.median
	return b, nil
}

// routeFactor is the log of how much faster a route fills than the reference run.
func routeFactor(route airflow.Duct, clean airflow.Point) float64 {
	var length, flexible float64
	add := func(s airflow.Section) {
		m := float64(s.Length)
		length += m
		switch {
		case s.Material == airflow.SemiRigid:
			flexible += m * bySemiRigid
		case s.Material.Flexible():
			flexible += m * byFoil
		}
	}
	add(route.Transition)
	for _, s := range route.Sections {
		add(s)
	}
	var k float64
	for _, f := range route.WithDefaults().Fittings {
		k += float64(f.Count) * f.K
	}
	speed := max(float64(clean.DuctSpeed), 0.1) // in the widest piece of the clean duct
	bore := math.Sqrt(4 / math.Pi * float64(clean.Flow) / speed)
	x := byLength*math.Log(max(length, 0.3)/referenceLength) + byFitting*(k-referenceK)
	x += bySlowness * math.Log(referenceSpeed/speed)
	x += math.Log(referenceBore / bore) // the same layer is a smaller share of a wider bore
	return x + flexible/max(length, 0.3)
}
