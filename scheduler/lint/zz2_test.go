package lint

import (
	"math"
	"testing"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

func TestZZ2(t *testing.T) {
	for _, k := range []airflow.Material{airflow.SmoothMetal, airflow.SemiRigid, airflow.FoilFlex} {
		for _, ft := range []float64{10, 20, 30, 40, 50} {
			for _, e := range []int{0, 2, 4} {
				r := straight(k, ft, e, 5)
				d := electric
				d.MaxStatic = 2000
				b := buildOf(r.Versions[0], d, vent.Unit{})
				kk := map[airflow.Material]float64{airflow.SmoothMetal: 0, airflow.SemiRigid: .25, airflow.FoilFlex: .5}[k]
				sim := math.Log(8.5e-5) + .55*math.Log(ft/25) + .06*float64(e-2) + kk
				t.Logf("%-18s %2.0f %d diff %.3f", k, ft, e, b.median-sim)
			}
		}
	}
}
