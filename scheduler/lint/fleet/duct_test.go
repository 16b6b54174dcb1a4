package fleet

import "math"

// duct is a run in the simulated world: plain formulas (Swamee-Jain friction, loss coefficients), its own way for lint to
// narrow and roughen, and a table of flow against lint.
type duct struct {
	length, bore, rough float64 // m
	fittings, hood      float64 // sums of loss coefficients
	shutoff, free       float64 // blower: Pa, m³/s
	share               [steps + 1]float64
	clean               float64 // m³/s
}

const (
	steps   = 300
	most    = 0.6     // largest lint of the table
	density = 1.06    // kg/m³ of exhaust at 60 °C
	viscous = 1.89e-5 // m²/s
)

// flow finds where blower and duct agree, by halving.
func (d *duct) flow(lint float64) float64 {
	lo, hi := 0.0, d.free
	for range 30 {
		q := (lo + hi) / 2
		if d.loss(q, lint) > d.shutoff*(1-q*q/d.free/d.free) {
			hi = q
		} else {
			lo = q
		}
	}
	return (lo + hi) / 2
}

func (d *duct) loss(q, lint float64) float64 {
	bore := d.bore * (1 - lint)
	v := q / (math.Pi / 4 * bore * bore)
	re := math.Max(v*bore/viscous, 4000)
	rough := d.rough + 0.08*lint*d.bore/2 // its own guess of how a layer roughens
	f := 0.25 / math.Pow(math.Log10(rough/3.7/bore+5.74/math.Pow(re, 0.9)), 2)
	return (f*d.length/bore + d.fittings + d.hood) * density * v * v / 2
}

func (d *duct) tabulate() {
	d.clean = d.flow(0)
	for i := range d.share {
		d.share[i] = d.flow(most*float64(i)/steps) / d.clean
	}
}

// at is the flow with lint as a share of the clean flow.
func (d *duct) at(lint float64) float64 {
	x := math.Min(math.Max(lint, 0), most*0.9999) / most * steps
	i := int(x)
	return d.share[i] + (x-float64(i))*(d.share[i+1]-d.share[i])
}

// speed is the clean speed at the outlet, m/s.
func (d *duct) speed() float64 { return d.clean / (math.Pi / 4 * d.bore * d.bore) }

// limit is the lint at which the run counts as past its limit: flow below 75 % of clean, or the maker's static pressure
// where that comes sooner, but not below half of the former.
func (d *duct) limit(maker float64) float64 {
	var flow, static float64
	for i := range d.share {
		b := most * float64(i) / steps
		if flow == 0 && d.share[i] < 0.75 {
			flow = b
		}
		q := d.share[i] * d.clean
		if static == 0 && d.shutoff*(1-q*q/d.free/d.free) > maker {
			static = b + 1e-9
		}
	}
	if static == 0 {
		return flow
	}
	return math.Min(flow, math.Max(static, flow/2))
}
