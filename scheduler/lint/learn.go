package lint

import (
	"math"
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Spreads of log growth and chances, ours; tuned on simulated fleets whose seeds are not scored.
const (
	spreadCycle   = 0.17 // of one cycle around the run's own growth
	spreadYear    = 0.08 // drift of the run's own growth in a year
	spreadVersion = 0.25 // what a rebuilt run keeps of its own growth
	seasonDoubt   = 0.25 // amplitude of use over the year
	oddCycle      = 0.04 // chance that what ends a cycle is not growth
	oddReading    = 0.02 // chance that the reading after a cleaning is a slip
	oddDensity    = 0.5  // of a reading that says nothing: even over two units of log share
	oddIndirect   = 0.4
)

// Spread of the clean value around the computed one.
const (
	spreadCleanMeasured  = 0.10
	spreadCleanGuessed   = 0.18
	spreadCleanNoDrawing = 0.40
)

// maxClean is the most points on the axis of the clean value.
const maxClean = 48

// table holds a figure for every point of log growth and clean value.
type table [nGrowth][maxClean]float64

// learner sums the evidence of one run. It is a plain value that lives on the stack: nothing is allocated.
type learner struct {
	h      *history
	u      usage
	faults []vent.Fault
	usual  float64 // drying minutes
	south  bool

	version int
	build   *build
	curve   airflow.Curve
	channel channel

	low, step      float64 // axis of z, log growth over the version's median
	clean0, cleanD float64 // axis of the log of the clean value over the computed one
	nClean         int

	joint, like, scratch table
}

// learn runs through the cycles and leaves the posterior in the belief.
func (l *learner) learn(b *Belief, builds []build) {
	last := len(l.h.cycles) - 1
	for i := range l.h.cycles {
		c := &l.h.cycles[i]
		if i == 0 || c.version != l.version {
			l.enter(c.version, &builds[c.version], i == 0)
		}
		e := l.gather(c)
		if i == last {
			l.open(b, c, &e)
			return
		}
		l.closed(b, c, &e)
		l.drift(c, l.h.cycles[i+1].start)
	}
}

// enter starts a version: a fresh clean value; of growth, the first version begins with the prior and a later one with
// what is known of the run, less sure after a rebuilding.
func (l *learner) enter(version int, b *build, first bool) {
	var own [nGrowth]float64
	for j := range own {
		if first {
			own[j] = normal(l.z(j) / b.spread)
			continue
		}
		for k := range l.nClean {
			own[j] += l.joint[j][k]
		}
	}
	l.version, l.build = version, b
	l.curve, _ = b.sys.Curve()
	l.channel = channelOf(l.h, version)
	l.layClean()
	for j := range own {
		for k := range l.nClean {
			l.joint[j][k] = own[j] * normal((l.clean0+float64(k)*l.cleanD)/b.cleanSpread)
		}
	}
	if !first {
		l.smear(&l.joint, spreadVersion)
	}
}

// layClean lays the axis of the clean value where the version's readings leave it: a little below the readings after
// cleanings, and above them as far as leftover lint can have lowered them all.
func (l *learner) layClean() {
	const maxReadings = 64
	var xs [maxReadings]float64
	n, weight, slack := 0, 1/(l.build.cleanSpread*l.build.cleanSpread), 0.0
	for i := range l.h.cycles {
		c := &l.h.cycles[i]
		if c.version != l.version || c.opener == nil || n == maxReadings {
			continue
		}
		if a := l.build.airOf(c.opener.After, l.channel); a.s > 0 {
			xs[n], slack = a.x, max(slack, a.s)
			weight += 1 / (a.s * a.s)
			n++
		}
	}
	wide := 4 * l.build.cleanSpread
	low, high := -wide, wide
	if n > 0 {
		slices.Sort(xs[:n])
		mid := xs[n/2]
		low = max(xs[0], mid-0.25) - 3.5*slack
		high = min(min(xs[n-1], mid+0.25)+0.40, max(wide, mid+0.15))
		high = max(high, low+4*slack)
	}
	points := int((high-low)/(1.2/math.Sqrt(weight))) + 2
	l.nClean = min(maxClean, max(points, 9))
	l.clean0, l.cleanD = low, (high-low)/float64(l.nClean-1)
}

// z is the log growth of a grid point against the median.
func (l *learner) z(j int) float64 { return l.low + float64(j)*l.step }

// drift widens what is known of the run's own growth by the years of a cycle and by a change of use after it.
func (l *learner) drift(c *cycle, end vent.Date) {
	v := spreadYear * spreadYear * float64(c.start.DaysUntil(end)) / daysPerYear
	was, is := l.u.at(c.start), l.u.at(end)
	if was.from != is.from && was.source != vent.UseCounter && is.source != vent.UseEmpty {
		d := doubt(is.source)
		v += d * d / 2
	}
	l.smear(&l.joint, math.Sqrt(v))
}

// smear convolves a table along growth with a normal kernel; the ends keep what would fall off.
func (l *learner) smear(t *table, spread float64) {
	var kernel [nGrowth]float64
	n := l.kernel(&kernel, spread)
	if n == 0 {
		return
	}
	for j := range nGrowth {
		out := l.scratch[j][:l.nClean]
		for k := range out {
			out[k] = kernel[0] * t[j][k]
		}
		for d := 1; d <= n; d++ {
			a, b := t[max(j-d, 0)][:len(out)], t[min(j+d, nGrowth-1)][:len(out)]
			w := kernel[d]
			for k := range out {
				out[k] += w * (a[k] + b[k])
			}
		}
	}
	for j := range nGrowth {
		copy(t[j][:l.nClean], l.scratch[j][:l.nClean])
	}
}

// kernel is one side of a normal kernel on the grid; 0 points where it is too narrow to matter.
func (l *learner) kernel(k *[nGrowth]float64, spread float64) int {
	if spread < 0.25*l.step {
		return 0
	}
	n := min(nGrowth-1, int(3.7*spread/l.step)+1)
	sum := 0.0
	for d := 0; d <= n; d++ {
		k[d] = normal(float64(d) * l.step / spread)
		sum += k[d]
		if d > 0 {
			sum += k[d]
		}
	}
	for d := 0; d <= n; d++ {
		k[d] /= sum
	}
	return n
}

// cycleSpread is the deviation of one cycle from the run's own growth: chance, and use that the season moved.
func (l *learner) cycleSpread(from, to vent.Date) float64 {
	days := float64(from.DaysUntil(to))
	if days < 1 {
		return spreadCycle
	}
	tilt := seasonTilt(from, to, l.south) / days
	return math.Hypot(spreadCycle, seasonDoubt*tilt)
}

// closed weighs a cycle that ended and takes what it says into the joint table.
func (l *learner) closed(b *Belief, c *cycle, e *sights) {
	if !e.says() {
		return
	}
	clear(l.like[:])
	for h, w := range c.heads.weight {
		if w > 0 {
			l.addHead(e, c.heads.loads[h], w)
		}
	}
	l.smear(&l.like, l.cycleSpread(c.start, e.until))
	var odd [maxClean]float64
	l.odd(e, &odd)
	var peak, all, strange float64
	for j := range nGrowth {
		row, like := l.joint[j][:l.nClean], l.like[j][:l.nClean]
		for k := range row {
			strange += row[k] * odd[k]
			row[k] *= (1-oddCycle-oddReading)*like[k] + odd[k]
			all += row[k]
			peak = max(peak, row[k])
		}
	}
	if !(peak > 0) {
		peak = 1
	}
	for j := range nGrowth {
		for k := range l.nClean {
			l.joint[j][k] /= peak
		}
	}
	b.oddLast, b.oddBy = 0, nil
	if e.n > 0 && all > 0 {
		b.oddLast, b.oddBy = strange/all, e.looks[e.n-1].by
	}
}

// open gives the posterior of growth in the cycle that goes on, apart for each possibility of leftover lint.
func (l *learner) open(b *Belief, c *cycle, e *sights) {
	b.summary.learn(l, b.build.spread)
	l.smear(&l.joint, math.Hypot(spreadCycle, spreadYear))
	b.growth = grid{low: l.build.median + l.low, step: l.step}
	var odd [maxClean]float64
	l.odd(e, &odd)
	var all, clean float64
	for h, w := range c.heads.weight {
		if w == 0 {
			continue
		}
		clear(l.like[:])
		l.addHead(e, c.heads.loads[h], w)
		for j := range nGrowth {
			var sum float64
			row, like := l.joint[j][:l.nClean], l.like[j][:l.nClean]
			for k := range row {
				p := row[k] * ((1-oddCycle-oddReading)*like[k] + w*odd[k])
				sum += p
				clean += p * (l.clean0 + float64(k)*l.cleanD)
			}
			b.growth.weight[h][j] = sum
			all += sum
		}
	}
	if !(all > 0) {
		b.fromPrior()
		return
	}
	b.growth.normalise()
	b.clean = clean / all
}

// addHead adds the likelihood of a cycle's evidence under one possibility of leftover lint to the table of likelihoods.
func (l *learner) addHead(e *sights, left, weight float64) {
	for j := range nGrowth {
		rate := math.Exp(l.build.median + l.z(j))
		p, sum, squares, precision := weight, 0.0, 0.0, 0.0
		see := func(m *moment, loads float64) {
			lint := min(1, rate*(left+loads))
			share := l.curve.Flow(lint)
			if a := m.air; a.s > 0 {
				x, w := a.x-math.Log(max(share, 0.02)), 1/(a.s*a.s)
				sum += w * x
				squares += w * x * x
				precision += w
				p *= 1 / (a.s * math.Sqrt(2*math.Pi))
			}
			if m.indirect() {
				p *= m.likelihood(l.build, lint, share)
			}
		}
		if e.start.says() {
			see(&e.start, 0)
		}
		for i := range e.n {
			see(&e.looks[i], e.loads[i])
		}
		row := l.like[j][:l.nClean]
		if precision == 0 {
			for k := range row {
				row[k] += p
			}
			continue
		}
		mean := sum / precision
		p *= math.Exp(-(squares - sum*mean) / 2)
		addNormal(row, p, (mean-l.clean0)/l.cleanD, precision*l.cleanD*l.cleanD)
	}
}

// addNormal adds height·exp(-(k - at)² precision/2) to every element k. From the element nearest to the peak outwards each
// is the one before times a factor that itself shrinks by a constant factor: three exponentials for the whole row.
func addNormal(row []float64, height, at, precision float64) {
	top := min(max(int(at+0.5), 0), len(row)-1)
	d := float64(top) - at
	g0 := height * math.Exp(-d*d*precision/2)
	if g0 < 1e-290 {
		return
	}
	shrink := math.Exp(-precision)
	step := math.Exp(-precision / 2)
	skew := math.Exp(-d * precision)
	g, r := g0, skew*step
	row[top] += g0
	for k := top + 1; k < len(row); k++ {
		g *= r
		r *= shrink
		row[k] += g
	}
	g, r = g0, step/skew
	for k := top - 1; k >= 0; k-- {
		g *= r
		r *= shrink
		row[k] += g
	}
}

// odd is the part of the likelihood in which what ended the cycle is not growth (then only the reading after the cleaning
// tells of the clean value) or in which that reading is a slip.
func (l *learner) odd(e *sights, odd *[maxClean]float64) {
	looks := 1.0
	for i := range e.n {
		if e.looks[i].air.s > 0 {
			looks *= oddDensity
		}
		if e.looks[i].indirect() {
			looks *= oddIndirect
		}
	}
	slip := 1.0
	if a := e.start.air; a.s > 0 {
		slip = oddDensity
		addNormal(odd[:l.nClean], oddCycle*looks*0.7/(a.s*math.Sqrt(2*math.Pi)), (a.x-l.clean0)/l.cleanD, l.cleanD*l.cleanD/(a.s*a.s))
	} else {
		slip = oddDensity / 2
	}
	for k := range l.nClean {
		odd[k] += (oddCycle*0.3*2 + oddReading) * looks * slip
	}
}
