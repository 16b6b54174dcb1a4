package lint

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// other sums the same posterior by another route: Gauss-Legendre nodes over growth and clean value, every cycle's own
// deviation summed point by point at each of them, the air solved exactly in thousands of points, nothing cut and no row left out.
type other struct {
	z, zw, c, cw []float64
	low, high    float64           // of growth
	from, to     [nManners]float64 // of the clean value: the model rules out what the readings after cleanings do
	build        *build
	air          []float64 // log of the share of the clean flow, from the lint of e^airLow to 1
	h            *history
	u            usage
	looks        []sights // of every cycle
}

const (
	airLow   = -12.0
	airSteps = 4000
)

func newOther(c *Case) *other {
	u := usageOf(c.Run, c.Unit, c.Findings)
	h := historyOf(c.Run, u, c.Findings)
	b := c.builds(&h, u)[0]
	o := &other{z: make([]float64, 150), zw: make([]float64, 150), c: make([]float64, 56), cw: make([]float64, 56), build: &b, h: &h, u: u}
	low, step := axis(b.spread)
	o.low, o.high = low-step/2, low+(nGrowth-0.5)*step
	quad.Legendre{}.FixedLocations(o.z, o.zw, o.low, o.high)
	o.air = make([]float64, airSteps+1)
	for i := range o.air {
		p, err := b.sys.At(min(1, math.Exp(airLow*(1-float64(i)/airSteps))))
		if err != nil {
			panic(err)
		}
		o.air[i] = math.Log(max(float64(p.Flow/b.clean.Flow), leastShare))
	}
	l := learner{h: &h, u: u, usual: UsualMinutes, build: &b, channel: byAir}
	for m := range manners {
		c := &course{manner: manners[m]}
		l.layClean(c)
		o.from[m], o.to[m] = c.clean0-c.cleanD/2, c.clean0+(float64(c.nClean)-0.5)*c.cleanD
	}
	for i := range h.cycles {
		l.gather(&h.cycles[i])
		o.looks = append(o.looks, l.seen)
	}
	return o
}

// share is the log share of the clean flow for a log growth over the median and so many loads.
func (o *other) share(z, loads float64, m *manner) float64 {
	lint := o.build.median + z + o.build.pivot + shapes[m.shape]*(math.Log(loads)-o.build.pivot)
	x := (lint - airLow) / -airLow * airSteps
	switch {
	case !(x > 0):
		return 0
	case x >= airSteps:
		return o.air[airSteps]
	}
	i := int(x)
	return o.air[i] + (x-float64(i))*(o.air[i+1]-o.air[i])
}

func density(x, s float64) float64 { return normal(x/s) / (s * math.Sqrt(2*math.Pi)) }

// like adds a factor times the likelihood of a cycle's readings of air for all clean values.
func (o *other) like(sum []float64, factor float64, e *sights, z, left float64, m *manner) {
	var x, p [maxLooks + 1]float64
	n := 0
	for i := range e.n + 1 {
		if a := e.moment(i).air; a.s > 0 {
			s := a.s * m.reading
			x[n], p[n] = a.x-o.share(z, left+e.loadsAt(i), m), 1/(s*s)
			factor /= s * math.Sqrt(2*math.Pi)
			n++
		}
	}
	for k, c := range o.c {
		q := 0.0
		for i := range n {
			q += (x[i] - c) * (x[i] - c) * p[i]
		}
		if q < 90 {
			sum[k] += factor * math.Exp(-q/2)
		}
	}
}

// chance is the mass past the limit on the days, and all of it, under one manner.
func (o *other) chance(which int, days []vent.Date) (past []float64, all float64) {
	m := &manners[which]
	quad.Legendre{}.FixedLocations(o.c, o.cw, o.from[which], o.to[which])
	joint := make([][]float64, len(o.z))
	for i, z := range o.z {
		joint[i] = make([]float64, len(o.c))
		for k, c := range o.c {
			joint[i][k] = normal(z/o.build.spread) * normal(c/o.build.cleanSpread)
		}
	}
	last := len(o.h.cycles) - 1
	for n := range last {
		cy := &o.h.cycles[n]
		o.weigh(joint, which, cy, &o.looks[n])
		v := m.year * m.year * float64(cy.start.DaysUntil(o.h.cycles[n+1].start)) / daysPerYear
		joint = o.blur(joint, math.Sqrt(v))
	}
	past = make([]float64, len(days))
	cy := &o.h.cycles[last]
	sd := hypot(m.cycle, m.year)
	for h, w := range cy.heads.weight[which] {
		if w == 0 {
			continue
		}
		for i, d := range days {
			// The limit is passed above one value of z: integrate on both sides of it apart.
			dried := math.Log(cy.heads.loads[h] + o.u.between(cy.start, d))
			edge := math.Log(o.build.limit.Lint) - o.build.median - o.build.pivot - shapes[m.shape]*(dried-o.build.pivot)
			edge = min(o.high, max(o.low, edge))
			below := o.mass(joint, &o.looks[last], m, sd, cy.heads.loads[h], w, o.low, edge)
			above := o.mass(joint, &o.looks[last], m, sd, cy.heads.loads[h], w, edge, o.high)
			past[i] += above
			if i == 0 {
				all += above + below
			}
		}
	}
	return past, all
}

// mass is the posterior mass of one possibility of leftover lint with z in a range.
func (o *other) mass(joint [][]float64, e *sights, m *manner, sd, left, weight, from, to float64) (sum float64) {
	if from >= to {
		return 0
	}
	plain := 1 - m.oddCycle - m.oddReading
	z, zw := make([]float64, 48), make([]float64, 48)
	quad.Legendre{}.FixedLocations(z, zw, from, to)
	like := make([]float64, len(o.c))
	for i := range z {
		row := o.blurAt(joint, z[i], sd)
		clear(like)
		o.like(like, plain, e, z[i], left, m)
		for k, c := range o.c {
			sum += zw[i] * o.cw[k] * row[k] * weight * (like[k] + odd(m, e, c))
		}
	}
	return sum
}

func odd(m *manner, e *sights, c float64) float64 {
	looks := math.Pow(oddDensity, float64(e.n))
	a := e.start.air
	if a.s == 0 {
		return m.oddCycle * looks
	}
	// Seven parts in ten the reading after the cleaning still tells, three it does not; or it is a slip itself.
	return m.oddCycle*looks*0.7*density(a.x-c, a.s*m.reading) + looks*oddDensity*(0.3*m.oddCycle+m.oddReading)
}

func (o *other) weigh(joint [][]float64, which int, cy *cycle, e *sights) {
	m := &manners[which]
	l := learner{}
	sd := l.cycleSpread(m, cy.start, e.until)
	const nodes = 48
	step := 10 * sd / nodes
	plain := 1 - m.oddCycle - m.oddReading
	sum := make([]float64, len(o.c))
	for i, z := range o.z {
		clear(sum)
		for q := range nodes + 1 {
			x := -5*sd + float64(q)*step
			for h, w := range cy.heads.weight[which] {
				if w > 0 {
					o.like(sum, plain*w*step*density(x, sd), e, z+x, cy.heads.loads[h], m)
				}
			}
		}
		for k, c := range o.c {
			joint[i][k] *= sum[k] + odd(m, e, c)
		}
	}
}

// blur smears the joint table along growth. A narrow kernel would fall between the nodes: there the table is taken at five
// Gauss-Hermite points around each node, by the polynomial through all nodes (barycentric weights of Gauss-Legendre nodes:
// Wang and Xiang 2012).
func (o *other) blur(joint [][]float64, sd float64) [][]float64 {
	out := make([][]float64, len(o.z))
	if sd > 0.1 {
		for i := range out {
			out[i] = o.blurAt(joint, o.z[i], sd)
		}
		return out
	}
	points := [...]float64{0, 1.3556261799742659, -1.3556261799742659, 2.8569700138728056, -2.8569700138728056}
	weights := [...]float64{8.0 / 15, 0.22207592200561266, 0.22207592200561266, 0.01125741132772071, 0.01125741132772071}
	mid, half := (o.high+o.low)/2, (o.high-o.low)/2
	bary := make([]float64, len(o.z))
	for i, z := range o.z {
		x := (z - mid) / half
		bary[i] = math.Sqrt((1 - x*x) * o.zw[i])
		if i%2 == 1 {
			bary[i] = -bary[i]
		}
	}
	part := make([]float64, len(o.z))
	for i, z := range o.z {
		row := make([]float64, len(o.c))
		for q, p := range points {
			at := min(o.high, max(o.low, z+p*sd))
			var all float64
			for j := range part {
				part[j] = bary[j] / (at - o.z[j] + 1e-13)
				all += part[j]
			}
			for j, x := range part {
				w := weights[q] * x / all
				if math.Abs(w) < 1e-14 {
					continue
				}
				for k := range row {
					row[k] += w * joint[j][k]
				}
			}
		}
		out[i] = row
	}
	return out
}

// blurAt is the joint table smeared along growth, at any z.
func (o *other) blurAt(joint [][]float64, z, sd float64) []float64 {
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

// The posterior, done by another route, agrees to a thousandth on 200 random histories.
func TestPosteriorByAnotherRoute(t *testing.T) {
	const histories = 200
	lives := make(chan Case)
	var worst float64
	var mu sync.Mutex
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for c := range lives {
				diff := compare(t, &c)
				mu.Lock()
				worst = max(worst, diff)
				mu.Unlock()
			}
		})
	}
	g := rand.New(rand.NewPCG(7, 11))
	for range histories {
		lives <- randomLife(g)
	}
	close(lives)
	wg.Wait()
	t.Logf("largest difference of chance %.5f", worst)
}

// compare gives the largest difference of chance between the two routes, and holds the date of one in ten against the slow
// route: it is that route's own within a day.
func compare(t *testing.T, c *Case) (worst float64) {
	b := Learn(*c)
	b.season = 0
	days := []vent.Date{b.From().AddMonths(9), b.From().AddMonths(15), b.From().AddMonths(24)}
	due := b.Day(0.10)
	if due > b.From().AddDays(2) {
		days = append(days, due.AddDays(-2), due.AddDays(1))
	}
	slow := newOther(c).chances(days)
	for i, d := range days[:3] {
		diff := math.Abs(b.Chance(d) - slow[i])
		worst = max(worst, diff)
		if diff > 1e-3 {
			t.Errorf("%d findings, %s: chance %.5f, by the other route %.5f", len(c.Findings), d, b.Chance(d), slow[i])
		}
	}
	if len(days) > 3 && (slow[3] >= 0.10 || slow[4] < 0.10) {
		t.Errorf("due %s, %d days after the cleaning; by the other route the chance is %.4f two days before and %.4f the day after",
			due, b.From().DaysUntil(due), slow[3], slow[4])
	}
	return worst
}

// chances are those of being past the limit on the days, over all manners.
func (o *other) chances(days []vent.Date) []float64 {
	past := make([]float64, len(days))
	var all float64
	for m := range nManners {
		p, a := o.chance(m, days)
		for i := range p {
			past[i] += mannerPrior[m] * p[i]
		}
		all += mannerPrior[m] * a
	}
	for i := range past {
		past[i] /= all
	}
	return past
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
