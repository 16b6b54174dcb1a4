package lint

import (
	"math"
	"slices"

	"ventdue/vent"
)

// What holds under all manners, ours.
const (
	spreadVersion = 0.25 // what a rebuilt run keeps of its own growth
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
	manner manner
	which  int
	h      *history
	u      usage
	faults []vent.Fault
	usual  float64 // drying minutes
	south  bool

	version int
	build   *build
	shares  shares
	rate    [nGrowth]float64 // log growth per load at the points of z
	channel channel

	low, step      float64 // axis of z, log growth over the version's median
	clean0, cleanD float64 // axis of the log of the clean value over the computed one
	nClean         int

	first, last int // rows of growth that still count; the rest of joint is zero

	joint, like, scratch table
	evidence             float64 // log of the factor that joint was divided by
}

// outcome is what one manner makes of a run's findings.
type outcome struct {
	growth         [nHeads][nGrowth]float64 // in the open cycle by head, up to a factor
	clean          float64                  // sum of the log clean value, up to the same factor
	odd            float64                  // chance that the last closed cycle was odd
	oddBy          *vent.Finding            // what closed it
	mean, variance float64                  // of the run's own z after all closed cycles
}

// learn runs through the cycles under one manner and gives the log of how well it foretold the findings.
func (l *learner) learn(builds []build, o *outcome) float64 {
	last := len(l.h.cycles) - 1
	l.evidence = 0
	for i := range l.h.cycles {
		c := &l.h.cycles[i]
		if i == 0 || c.version != l.version {
			l.enter(c.version, &builds[c.version], i == 0)
		}
		e := l.gather(c)
		if i == last {
			return l.open(c, &e, o)
		}
		l.closed(c, &e, o)
		l.drift(c, l.h.cycles[i+1].start)
	}
	return math.Inf(-1)
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
		if j >= l.first && j <= l.last {
			for k := range l.nClean {
				own[j] += l.joint[j][k]
			}
		}
	}
	l.version, l.build = version, b
	l.shares.tabulate(b)
	for j := range l.rate {
		l.rate[j] = b.median + l.z(j)
	}
	l.channel = channelOf(l.h, version)
	l.layClean()
	l.first, l.last = 0, nGrowth-1
	for j := range own {
		for k := range l.nClean {
			l.joint[j][k] = own[j] * normal((l.clean0+float64(k)*l.cleanD)/b.cleanSpread) * l.cleanD
		}
	}
	if !first {
		l.smear(&l.joint, 0, nGrowth-1, spreadVersion)
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
		if a := l.build.cleanAir(c.opener, l.channel, l.manner.reading); a.s > 0 {
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
		low = max(xs[0], mid-0.15) - 3.5*slack
		// That all of many cleanings left much is less and less likely; that the run is far better than computed, too.
		high = min(xs[n-1], mid+0.25) + 0.06 + 0.34/float64(n)
		high = max(min(high, max(wide, mid+0.15)), low+4*slack)
	}
	points := int((high-low)/(1.2/math.Sqrt(weight))) + 2
	l.nClean = min(maxClean, max(points, 9))
	l.clean0, l.cleanD = low, (high-low)/float64(l.nClean-1)
}

// z is the log growth of a grid point against the median.
func (l *learner) z(j int) float64 { return l.low + float64(j)*l.step }

// drift widens what is known of the run's own growth by the years of a cycle and by a change of use after it.
func (l *learner) drift(c *cycle, end vent.Date) {
	v := l.manner.year * l.manner.year * float64(c.start.DaysUntil(end)) / daysPerYear
	was, is := l.u.at(c.start), l.u.at(end)
	if was.from != is.from && was.source != vent.UseCounter && is.source != vent.UseEmpty {
		d := doubt(is.source)
		v += d * d / 2
	}
	l.first, l.last = l.smear(&l.joint, l.first, l.last, math.Sqrt(v))
}

// smear convolves the rows of a table that count with a normal kernel along growth and gives the rows that count then;
// the ends of the axis keep what would fall off.
func (l *learner) smear(t *table, first, last int, spread float64) (int, int) {
	var kernel [nGrowth]float64
	n := l.kernel(&kernel, spread)
	if n == 0 {
		return first, last
	}
	from, to := max(0, first-n), min(nGrowth-1, last+n)
	for j := from; j <= to; j++ {
		out := l.scratch[j][:l.nClean]
		clear(out)
		for i := max(first, j-n); i <= min(last, j+n); i++ {
			w, in := kernel[max(i-j, j-i)], t[i][:len(out)]
			for k := range out {
				out[k] += w * in[k]
			}
		}
		if first == 0 && j < n {
			l.reflect(out, t[0][:len(out)], &kernel, j+1, n)
		}
		if last == nGrowth-1 && j+n > last {
			l.reflect(out, t[last][:len(out)], &kernel, last-j+1, n)
		}
	}
	for j := from; j <= to; j++ {
		copy(t[j][:l.nClean], l.scratch[j][:l.nClean])
	}
	return from, to
}

// reflect adds what the kernel's part beyond an end of the axis holds, as if the end's row went on for ever.
func (l *learner) reflect(out, end []float64, kernel *[nGrowth]float64, from, n int) {
	var w float64
	for d := from; d <= n; d++ {
		w += kernel[d]
	}
	for k := range out {
		out[k] += w * end[k]
	}
}

// trim drops the rows of growth that hold next to nothing, so that what is settled costs nothing any more. A run that
// changes its pace finds its way back through the drift.
func (l *learner) trim() {
	const nothing = 1e-14 // of the largest, which is one
	empty := func(j int) bool {
		for _, p := range l.joint[j][:l.nClean] {
			if p > nothing {
				return false
			}
		}
		return true
	}
	for l.first < l.last && empty(l.first) {
		l.first++
	}
	for l.last > l.first && empty(l.last) {
		l.last--
	}
}

// kernelReach is where a kernel is cut, in standard deviations.
const kernelReach = 4.0

// kernel is one side of a normal kernel on the grid; 0 points where it is too narrow to matter.
func (l *learner) kernel(k *[nGrowth]float64, spread float64) int {
	if spread < 0.25*l.step {
		return 0
	}
	n := min(nGrowth-1, int(kernelReach*spread/l.step)+1)
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
		return l.manner.cycle
	}
	tilt := seasonTilt(from, to, l.south) / days
	return hypot(l.manner.cycle, l.manner.season*tilt)
}

// closed weighs a cycle that ended and takes what it says into the joint table.
func (l *learner) closed(c *cycle, e *sights, o *outcome) {
	if !e.says() {
		return
	}
	spread := l.cycleSpread(c.start, e.until)
	reach := int(kernelReach*spread/l.step) + 1
	first, last := max(0, l.first-reach), min(nGrowth-1, l.last+reach)
	clear(l.like[first : last+1])
	from, to := last+1, first-1
	for h, w := range c.heads.weight[l.which] {
		if w > 0 {
			a, b := l.addHead(e, c.heads.loads[h], w, first, last)
			from, to = min(from, a), max(to, b)
		}
	}
	if from <= to {
		l.smear(&l.like, from, to, spread)
	}
	var odd [maxClean]float64
	l.strange(e, &odd)
	plain := 1 - l.manner.oddCycle - l.manner.oddReading
	var peak, all, strange float64
	for j := l.first; j <= l.last; j++ {
		row, like := l.joint[j][:l.nClean], l.like[j][:l.nClean]
		for k := range row {
			strange += row[k] * odd[k]
			row[k] *= plain*like[k] + odd[k]
			all += row[k]
			peak = max(peak, row[k])
		}
	}
	if !(peak > 0) {
		return
	}
	for j := l.first; j <= l.last; j++ {
		for k := range l.nClean {
			l.joint[j][k] /= peak
		}
	}
	l.trim()
	l.evidence += math.Log(peak)
	o.odd, o.oddBy = 0, nil
	if e.n > 0 {
		o.odd, o.oddBy = strange/all, e.looks[e.n-1].by
	}
}

// open gives the posterior of growth in the cycle that goes on, apart for each possibility of leftover lint.
func (l *learner) open(c *cycle, e *sights, o *outcome) float64 {
	l.own(o)
	l.first, l.last = l.smear(&l.joint, l.first, l.last, hypot(l.manner.cycle, l.manner.year))
	var odd [maxClean]float64
	l.strange(e, &odd)
	plain := 1 - l.manner.oddCycle - l.manner.oddReading
	var all float64
	for h, w := range c.heads.weight[l.which] {
		if w == 0 {
			continue
		}
		clear(l.like[l.first : l.last+1])
		l.addHead(e, c.heads.loads[h], w, l.first, l.last)
		for j := l.first; j <= l.last; j++ {
			var sum float64
			row, like := l.joint[j][:l.nClean], l.like[j][:l.nClean]
			for k := range row {
				p := row[k] * (plain*like[k] + w*odd[k])
				sum += p
				o.clean += p * (l.clean0 + float64(k)*l.cleanD)
			}
			o.growth[h][j] = sum
			all += sum
		}
	}
	return l.evidence + math.Log(all)
}

// own keeps mean and variance of the run's own log growth after all closed cycles.
func (l *learner) own(o *outcome) {
	var n, mean, square float64
	for j := l.first; j <= l.last; j++ {
		var p float64
		for k := range l.nClean {
			p += l.joint[j][k]
		}
		z := l.z(j)
		n += p
		mean += p * z
		square += p * z * z
	}
	o.mean = mean / n
	o.variance = max(square/n-o.mean*o.mean, 1e-4)
}

// addHead adds the likelihood of a cycle's evidence under one possibility of leftover lint to the table of
// likelihoods, and gives the rows in which there is any.
func (l *learner) addHead(e *sights, left, weight float64, first, last int) (from, to int) {
	from, to = last+1, first-1
	scale := weight
	var precision float64
	var loads [maxLooks + 1]float64 // logarithms
	for i := range e.n + 1 {
		loads[i] = math.Log(left + e.loadsAt(i))
		if a := e.moment(i).air; a.s > 0 {
			precision += 1 / (a.s * a.s)
			scale /= a.s * math.Sqrt(2*math.Pi)
		}
	}
	row := newNormalRow(precision * l.cleanD * l.cleanD)
	for j := first; j <= last; j++ {
		p, sum, squares := scale, 0.0, 0.0
		for i := range e.n + 1 {
			m := e.moment(i)
			if !m.says() {
				continue
			}
			log := l.rate[j] + l.build.pivot + shapes[l.manner.shape]*(loads[i]-l.build.pivot)
			share := l.shares.at(log)
			if a := m.air; a.s > 0 {
				x, w := a.x-share, 1/(a.s*a.s)
				sum += w * x
				squares += w * x * x
			}
			if m.indirect() {
				p *= m.likelihood(l.build, min(1, math.Exp(log)), math.Exp(share))
			}
		}
		if precision == 0 {
			for k := range l.nClean {
				l.like[j][k] += p
			}
			from, to = min(from, j), j
			continue
		}
		mean := sum / precision
		if row.add(l.like[j][:l.nClean], p, (squares-sum*mean)/2, (mean-l.clean0)/l.cleanD) {
			from, to = min(from, j), j
		}
	}
	return from, to
}

// strange is the part of the likelihood in which what ended the cycle is not growth (then only the reading after the
// cleaning tells of the clean value, and less so) or in which that reading is a slip.
func (l *learner) strange(e *sights, odd *[maxClean]float64) {
	looks := 1.0
	for i := range e.n {
		if e.looks[i].air.s > 0 {
			looks *= oddDensity
		}
		if e.looks[i].indirect() {
			looks *= oddIndirect
		}
	}
	const trusted = 0.7
	slip := 1.0
	if a := e.start.air; a.s > 0 {
		slip = oddDensity
		row := newNormalRow(l.cleanD * l.cleanD / (a.s * a.s))
		row.add(odd[:l.nClean], l.manner.oddCycle*looks*trusted/(a.s*math.Sqrt(2*math.Pi)), 0, (a.x-l.clean0)/l.cleanD)
		looks *= 1 - trusted + l.manner.oddReading/l.manner.oddCycle
	}
	for k := range l.nClean {
		odd[k] += l.manner.oddCycle * looks * slip
	}
}
