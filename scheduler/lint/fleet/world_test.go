package fleet

import (
	"math"
	"math/rand/v2"
)

// law is how lint grows with loads.
type law int

const (
	linear       law = iota
	saturating       // slows down as the bore narrows and the wind of what is left scours it
	accelerating     // the slower the air, the more settles
)

// world says what the simulated fleet is like. The zero world is the one the model has in mind: linear growth, steady use
// as told, good instruments, whole cleanings.
type world struct {
	name       string
	law        law
	season     float64 // amplitude of use over the year
	wrongLoads float64 // log error of what was told, and of a change of use that nobody tells
	instrument bool    // readings are 3 to 5 % off instead of 2 %
	missing    float64 // share of readings that nobody took
	poor       float64 // share of cleanings that leave 40 % of the lint
	nests      float64 // a year and run
	scale      float64 // of growth, see departures; 0: 1
	runs       int     // 0: 4 000
	pressure   bool    // all dryers under the strictest usual maker's limit
}

const (
	years    = 12
	perSite  = 12
	yearDays = 365.25
	week     = 7.0
)

// The spread of growth between sites and between runs of one site (logarithms), and from cycle to cycle.
const (
	siteSpread  = 0.30
	runSpread   = 0.46
	cycleSpread = 0.12
	toldError   = 0.10
)

// run is one run of the simulated world: what is true of it.
type run struct {
	duct    duct
	rate    float64 // share of the radius per load
	loads   float64 // a day, on average
	told    float64 // a day, as told
	phase   float64 // of the season, days
	amp     float64
	change  float64 // day of an untold change of use; < 0 none
	changed float64 // its factor
	ceiling float64 // where saturating growth ends, in limits
	limit   float64
	maker   float64 // Pa
	meters  float64
	elbows  int
	cold    bool // parts in cold space
	pets    bool
	kind    int // 0 smooth, 1 semi-rigid, 2 foil
	nests   []float64
}

// draw makes run i of a site, the same for every planner.
func (w world) draw(seed uint64, site, i int, siteShift float64) *run {
	g := rand.New(rand.NewPCG(seed, uint64(site*1000+i)))
	r := &run{
		meters: (10 + 40*g.Float64()) * 0.3048,
		elbows: g.IntN(5),
		loads:  7.5 * math.Exp(0.40*g.NormFloat64()) / week,
		change: -1, changed: 1,
	}
	switch u := g.Float64(); {
	case u > 0.85:
		r.kind = 2
	case u > 0.6:
		r.kind = 1
	}
	r.duct = duct{
		length: r.meters, bore: 0.1016, rough: [...]float64{9e-5, 9e-4, 3e-3}[r.kind],
		fittings: 0.7 * float64(r.elbows), hood: 1.1,
		shutoff: 220 * math.Exp(0.05*g.NormFloat64()), free: 0.106 * math.Exp(0.05*g.NormFloat64()),
	}
	r.duct.tabulate()
	r.maker = 1e9 // a plate that asks for less than the flow limit does
	if w.pressure {
		r.maker = 149.5
	}
	r.limit = r.duct.limit(r.maker)
	r.rate = baseRate * math.Pow(r.meters/7.62, 0.55) * math.Exp(0.06*float64(r.elbows-2)+[...]float64{0, 0.25, 0.5}[r.kind])
	r.cold, r.pets = g.Float64() < 0.5, g.Float64() < 0.5
	if r.cold {
		r.rate *= 1.3
	}
	if r.pets {
		r.rate *= 1.2
	}
	r.rate *= math.Exp(siteShift + runSpread*g.NormFloat64())
	if w.scale > 0 {
		r.rate *= w.scale
	}
	r.told = r.loads * math.Exp(toldError*g.NormFloat64())
	r.ceiling = 0.8 + 2*g.Float64()

	z1, z2, u1, u2, u3 := g.NormFloat64(), g.NormFloat64(), g.Float64(), g.NormFloat64(), g.Float64()
	if w.wrongLoads > 0 {
		r.told = r.loads * math.Exp(w.wrongLoads*z1)
		r.change, r.changed = u1*2*years*yearDays, math.Exp(w.wrongLoads*z2) // half the runs change
	}
	r.amp, r.phase = w.season*(0.5+u3), 15+25*u2
	n := rand.New(rand.NewPCG(seed+77, uint64(site*1000+i)))
	for y := range years {
		if n.Float64() < w.nests {
			r.nests = append(r.nests, (float64(y)+0.25+0.15*n.Float64())*yearDays) // spring
		}
	}
	return r
}

// baseRate is the median growth per load of 25 ft smooth duct with two elbows.
const baseRate = 1.02e-4

// use is the loads of a day t after the start.
func (r *run) use(t float64) float64 {
	l := r.loads * (1 + r.amp*math.Cos(2*math.Pi*(t-r.phase)/yearDays))
	if r.change >= 0 && t >= r.change {
		l *= r.changed
	}
	return l
}

// step grows lint by so many loads.
func (r *run) step(l law, lint, loads, cycle float64) float64 {
	d := r.rate * cycle * loads
	switch l {
	case saturating:
		d *= 1.6 * math.Max(0, 1-lint/(r.ceiling*r.limit+0.02))
	case accelerating:
		s := math.Max(r.duct.at(lint), 0.3)
		d *= 0.8 / (s * s)
	}
	return math.Min(lint+d, most)
}
