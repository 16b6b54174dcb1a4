package demo

import (
	"fmt"
	"math"
	"strconv"

	"ventdue/vent/airflow"
)

// build is how a run is made.
type build struct {
	feet       float64 // straight duct
	transition float64 // ft
	bore       float64 // in
	elbows     int
	elbow      elbow
	material   airflow.Material
	flex       airflow.Material // of the transition
	outlet     airflow.OutletKind
	class      airflow.DryerClass
	roof       bool // the outlet is on the roof
	cold       bool // a part runs through a cold space
	concealed  bool
	metric     bool // the owner wrote it down in metres
}

type elbow struct {
	name string // as the column elbow_kind takes it
	loss float64
}

var (
	mitred    = elbow{"mitered_r4", 0.7}
	smooth    = elbow{"smooth_r6", 0.15}
	sectioned = elbow{"sectioned", 1.05}
)

// usual is the run that most houses have: through the wall behind the dryer and a bit along a joist.
func usual() build {
	return build{feet: 16, transition: 4, bore: 4, elbows: 2, elbow: mitred, material: airflow.SmoothMetal,
		flex: airflow.SemiRigid, outlet: airflow.OutletFlapper, class: airflow.FullSize}
}

// air gives the speed at the outlet in m/s and the static pressure at the dryer in Pa when lint has taken the given share
// of the bore's radius: a blower P = shutoff (1 - (q/free)²) on a resistance that goes with q². One constant friction
// factor, roughened in proportion to the lint, is all there is to the duct.
func (b build) air(lint float64) (speed, static float64) {
	const (
		friction = 0.0232 // smooth duct at 150 cfm; Darcy
		density  = 1.06   // kg/m³ at 60 °C
		foot     = 0.3048
		inch     = 0.0254
	)
	free, shutoff := 0.106, 220.0 // m³/s, Pa: a household dryer
	switch b.class {
	case airflow.Compact:
		free, shutoff = 0.061, 176
	case airflow.LargeTumbler:
		free, shutoff = 0.354, 176
	}
	bore := b.bore * inch
	area := math.Pi / 4 * bore * bore
	wall := friction * foot / bore * (b.feet*roughness(b.material) + b.transition*roughness(b.flex))
	local := float64(b.elbows)*b.elbow.loss + b.outlet.LossCoefficient()
	open := max(1-lint, 0.05)
	wall *= (1 + 7*lint) / math.Pow(open, 5)
	local /= math.Pow(open, 4)
	q := math.Sqrt(shutoff / (shutoff/(free*free) + density/(2*area*area)*(wall+local)))
	return q / area, shutoff * (1 - q*q/(free*free))
}

// roughness is how much more friction a material makes than smooth duct.
func roughness(m airflow.Material) float64 {
	switch m {
	case airflow.SemiRigid:
		return 1.6
	case airflow.FoilFlex:
		return 2.4
	}
	return 1
}

// pace is how much faster lint settles in the run than in 25 ft of plain duct.
func (b build) pace() float64 {
	x := math.Sqrt(max(b.feet, 4)/25) * 4 / b.bore
	for _, worse := range []struct {
		is bool
		by float64
	}{{b.roof, 1.25}, {b.cold, 1.2}, {b.material == airflow.FoilFlex, 1.5}, {b.material == airflow.SemiRigid, 1.2}} {
		if worse.is {
			x *= worse.by
		}
	}
	return x
}

// describe writes the run into its row.
func (b build) describe(r row) {
	r["duct_length"], r["transition_length"], r["duct_diameter"] = b.length(b.feet), b.length(b.transition), number(b.bore)
	if b.metric {
		r["duct_diameter"] = fmt.Sprintf("%.0f mm", b.bore*25.4)
	}
	r["duct_material"], r["transition_material"] = string(b.material), string(b.flex)
	r["elbows_90"], r["elbow_kind"] = strconv.Itoa(b.elbows), b.elbow.name
	r["outlet"], r["dryer_class"] = string(b.outlet), string(b.class) // a riser has no dryer
	r.yes("roof_outlet", b.roof)
	r.yes("roof_access", b.roof)
	r.yes("uninsulated", b.cold)
	r.yes("concealed", b.concealed)
}

func (b build) length(feet float64) string {
	if b.metric {
		return fmt.Sprintf("%.1f m", feet*0.3048)
	}
	return number(feet)
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
