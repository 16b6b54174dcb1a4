package due

import (
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Danger is what makes a run whose last cleaning is not known worse than another.
type Danger struct {
	Signs    int     // open ones
	Gas      bool    //
	Foil     bool    // foil or plastic anywhere in the route
	PastFuse bool    // a one-shot fuse opened here once
	Roof     bool    //
	Meters   float64 // length of the route, 0 not known
}

// weights of the dangers, in the blueprint's order: signs, gas, foil or plastic, a past fuse, a roof outlet, length. Ours.
const (
	weighSign = 0.45
	weighGas  = 0.30
	weighFoil = 0.28
	weighFuse = 0.26
	weighRoof = 0.15
	weighLong = 0.25 // for a very long run
	longRun   = 12.0 // m, at which half of it counts
)

// Worst ranks a run: 0 harmless to 1 first. It rises with every danger and leaves room for the next one.
func Worst(d Danger) float64 {
	safe := 1.0
	if d.Signs > 0 {
		safe *= 1 - weighSign
	}
	for range min(d.Signs-1, 3) {
		safe *= 1 - weighSign/2
	}
	for _, x := range []struct {
		is     bool
		weight float64
	}{{d.Gas, weighGas}, {d.Foil, weighFoil}, {d.PastFuse, weighFuse}, {d.Roof, weighRoof}} {
		if x.is {
			safe *= 1 - x.weight
		}
	}
	if d.Meters > 0 {
		safe *= 1 - weighLong*d.Meters/(d.Meters+longRun)
	}
	return 1 - safe
}

// FoilIn reports whether a route has foil or plastic in it.
func FoilIn(v vent.Version) bool {
	if v.Route == nil {
		return false
	}
	foil := v.Route.Transition.Length > 0 && isFoil(v.Route.Transition)
	for _, s := range v.Route.Sections {
		foil = foil || isFoil(s)
	}
	return foil
}

func isFoil(s airflow.Section) bool {
	return s.Material == airflow.FoilFlex || s.Material == airflow.PlasticFlex
}
