package lint

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// other sums the same posterior by another route: Gauss-Legendre nodes over growth and clean value, every cycle's own
// deviation integrated at each of them, the air solved exactly and not from a table, nothing cut and no row left out.
type other struct {
	z, zw, c, cw []float64
	build        *build
}

func newOther(b *build, centre float64) other {
	o := other{z: make([]float64, 150), zw: make([]float64, 150), c: make([]float64, 90), cw: make([]float64, 90), build: b}
	quad.Legendre{}.FixedLocations(o.z, o.zw, -4*b.spread, 4*b.spread)
	quad.Legendre{}.FixedLocations(o.c, o.cw, centre-0.35, centre+0.55)
	return o
}

// deviation gives nodes of a normal deviation.
func deviation(sd float64) (x, w []float64) {
	const n = 48
	x, w = make([]float64, n), make([]float64, n)
	quad.Legendre{}.FixedLocations(x, w, -6*sd, 6*sd)
	for i := range x {
		w[i] *= normal(x[i]/sd) / (sd * math.Sqrt(2*math.Pi))
	}
	return x, w
}

func density(x, s float64) float64 { return normal(x/s) / (s * math.Sqrt(2*math.Pi)) }

// share is the log share of the clean flow, solved.
func (o other) share(z, loads float64, m manner) float64 {
	if loads <= 0 {
		return 0
	}
	lint := math.Exp(o.build.median + z + o.build.pivot + shapes[m.shape]*(math.Log(loads)-o.build.pivot))
	p, err := o.build.sys.At(min(1, lint))
	if err != nil {
		panic(err)
	}
	return math.Log(max(float64(p.Flow/o.build.clean.Flow), leastShare))
}

// like is the likelihood of a cycle's air readings at (z, clean) for one possibility of leftover lint; the shares are given.
func like(e *sights, shares []float64, clean float64) float64 {
	p := 1.0
	for i := range e.n + 1 {
		if a := e.moment(i).air; a.s > 0 {
			p *= density(a.x-shares[i]-clean, a.s)
		}
	}
	return p
}

func (o other) sharesOf(e *sights, z, left float64, m manner) []float64 {
	s := make([]float64, e.n+1)
	for i := range s {
		s[i] = o.share(z, left+e.loadsAt(i), m)
	}
	return s
}

// chance is the chance of being past the limit on a day, and the log of the evidence, under one manner.
func (o other) chance(l *learner, d vent.Date) (past, all float64) {
	m := l.manner
	joint := make([][]float64, len(o.z))
	for i, z := range o.z {
		joint[i] = make([]float64, len(o.c))
		for k, c := range o.c {
			joint[i][k] = normal(z/o.build.spread) * normal(c/o.build.cleanSpread)
		}
	}
	plain := 1 - m.oddCycle - m.oddReading
	for n := range l.h.cycles {
		cy := &l.h.cycles[n]
		e := l.gather(cy)
		if n < len(l.h.cycles)-1 {
			o.weigh(joint, l, cy, &e, plain)
			v := m.year * m.year * float64(cy.start.DaysUntil(l.h.cycles[n+1].start)) / daysPerYear
			joint = o.blur(joint, math.Sqrt(v))
			continue
		}
		sd := hypot(m.cycle, m.year)
		loads := l.u.between(cy.start, d)
		for h, w := range cy.heads.weight[l.which] {
			// The limit is passed above one value of z: integrate on both sides of it apart.
			dried := math.Log(cy.heads.loads[h] + loads)
			edge := math.Log(o.build.limit.Lint) - o.build.median - o.build.pivot - shapes[m.shape]*(dried-o.build.pivot)
			edge = min(4*o.build.spread, max(-4*o.build.spread, edge))
			below := o.mass(joint, l, &e, sd, cy.heads.loads[h], w, -4*o.build.spread, edge)
			above := o.mass(joint, l, &e, sd, cy.heads.loads[h], w, edge, 4*o.build.spread)
			past += above
			all += above + below
		}
	}
	return past, all
}

// mass is the posterior mass of one possibility of leftover lint with z in a range.
func (o other) mass(joint [][]float64, l *learner, e *sights, sd, left, weight, from, to float64) (sum float64) {
	if from >= to {
		return 0
	}
	plain := 1 - l.manner.oddCycle - l.manner.oddReading
	z, zw := make([]float64, 70), make([]float64, 70)
	quad.Legendre{}.FixedLocations(z, zw, from, to)
	for i := range z {
		row := o.blurAt(joint, z[i], sd)
		s := o.sharesOf(e, z[i], left, l.manner)
		for k, c := range o.c {
			sum += zw[i] * o.cw[k] * row[k] * weight * (plain*like(e, s, c) + o.odd(l, e, c))
		}
	}
	return sum
}

func (o other) odd(l *learner, e *sights, c float64) float64 {
	looks := math.Pow(oddDensity, float64(e.n))
	a := e.start.air
	if a.s == 0 {
		return l.manner.oddCycle * looks
	}
	// Seven parts in ten the reading after the cleaning still tells, three it does not; or it is a slip itself.
	return l.manner.oddCycle*looks*0.7*density(a.x-c, a.s) + looks*oddDensity*(0.3*l.manner.oddCycle+l.manner.oddReading)
}

func (o other) weigh(joint [][]float64, l *learner, cy *cycle, e *sights, plain float64) {
	dx, dw := deviation(l.cycleSpread(cy.start, e.until))
	for i, z := range o.z {
		sum := make([]float64, len(o.c))
		for q := range dx {
			for h, w := range cy.heads.weight[l.which] {
				if w == 0 {
					continue
				}
				s := o.sharesOf(e, z+dx[q], cy.heads.loads[h], l.manner)
				for k, c := range o.c {
					sum[k] += dw[q] * w * like(e, s, c)
				}
			}
		}
		for k, c := range o.c {
			joint[i][k] *= plain*sum[k] + o.odd(l, e, c)
		}
	}
}

func (o other) blur(joint [][]float64, sd float64) [][]float64 {
	out := make([][]float64, len(o.z))
	for i := range out {
		out[i] = o.blurAt(joint, o.z[i], sd)
	}
	return out
}

// blurAt is the joint table smeared along growth, at any z.
func (o other) blurAt(joint [][]float64, z, sd float64) []float64 {
	row := make([]float64, len(o.c))
	for j := range o.z {
		w := o.zw[j] * density(z-o.z[j], sd)
		if w < 1e-12 {
			continue
		}
		for k := range row {
			row[k] += w * joint[j][k]
		}
	}
	return row
}

// The posterior, done by another route, agrees to a thousandth.
func TestPosteriorByAnotherRoute(t *testing.T) {
	histories := 4
	if os.Getenv("VENTDUE_FLEET") == "full" {
		histories = 200
	}
	g := rand.New(rand.NewPCG(7, 11))
	worst := 0.0
	for n := range histories {
		c := randomLife(g)
		b := Learn(c)
		u := usageOf(c.Run, c.Unit, c.Findings)
		h := historyOf(c.Run, u, c.Findings)
		builds := c.builds(&h, u)
		l := learner{h: &h, u: u, usual: UsualMinutes, build: &builds[0]}
		var xs float64
		for _, f := range c.Findings {
			xs += math.Log(f.After[0].Value/float64(l.build.clean.OutletSpeed)) / float64(len(c.Findings))
		}
		o := newOther(l.build, xs)
		for _, months := range []int{9, 15, 24} {
			d := b.From().AddMonths(months)
			var past, all float64
			for m := range nManners {
				l.manner, l.which = manners[m], m
				p, a := o.chance(&l, d)
				past += mannerPrior[m] * p
				all += mannerPrior[m] * a
			}
			b.season = 0
			if diff := math.Abs(b.Chance(d) - past/all); diff > 1e-3 {
				t.Errorf("history %d, %d findings, after %d months: chance %.5f, by the other route %.5f", n, len(c.Findings), months, b.Chance(d), past/all)
			} else {
				worst = max(worst, diff)
			}
		}
	}
	t.Logf("largest difference of chance %.5f", worst)
}

// randomLife is a run with one to three cleanings, read before and after with errors of every size.
func randomLife(g *rand.Rand) Case {
	r := straight(airflow.Materials()[g.IntN(3)], 10+30*g.Float64(), g.IntN(4), 3+7*g.Float64())
	c := Case{Run: r, Dryer: electric}
	c.Dryer.MaxStatic = 2000
	b := c.builds(&history{cycles: []cycle{{}}}, usageOf(r, c.Unit, nil))[0]
	clean := float64(b.clean.OutletSpeed) * math.Exp(0.06*g.NormFloat64())
	at := r.Known
	for n := range 1 + g.IntN(3) {
		at = at.AddDays(200 + g.IntN(400))
		f := vent.Finding{ID: vent.ID{0: 3, 15: byte(n + 1)}, RunID: r.ID, Date: at, By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full}
		if g.IntN(2) == 0 {
			f.Reach = vent.ReachThrough
		}
		f.Before = []vent.Reading{airSpeed(clean * (0.70 + 0.28*g.Float64()))}
		f.After = []vent.Reading{airSpeed(clean * math.Exp(0.03*g.NormFloat64()-0.08*float64(g.IntN(2))*g.Float64()))}
		c.Findings = append(c.Findings, f)
	}
	return c
}
