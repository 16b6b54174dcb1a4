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

// learner sums the evidence of one run, cycle by cycle and under all manners side by side. It is a plain value that lives on
// the stack: nothing is allocated.
type learner struct {
	h      *history
	u      usage
	faults []vent.Fault
	usual  float64 // drying minutes
	south  bool

	low, step float64 // axis of z, log growth over the version's median

	version int
	build   *build
	channel channel
	shares  shares
	seen    sights // of the cycle at hand
	view    view   // of it, under one shape

	courses [nManners]course
	tables  [nManners + 1]table // joint tables of the courses, and one to work in
	spare   int                 // the one to work in
}

// course is where one manner has got to.
type course struct {
	manner         manner
	which          int
	clean0, cleanD float64 // axis of the log of the clean value over the computed one
	nClean         int
	stride         int     // of its rows, in points of growth
	joint          int     // which table holds growth and clean value together
	peak           float64 // largest cell of the joint table
	evidence       float64 // log of the factor that the joint table was divided by
	odd            [maxClean]float64
}

// outcome is what one manner makes of a run's findings.
type outcome struct {
	growth         [nHeads][nGrowth]float64 // in the open cycle by head, up to a factor
	clean          float64                  // sum of the log clean value, up to the same factor
	odd            float64                  // chance that the last closed cycle was odd
	oddBy          *vent.Finding            // what closed it
	mean, variance float64                  // of the run's own z after all closed cycles
}

// learn runs through the cycles and gives, for every manner, the log of how well it foretold the findings.
func (l *learner) learn(builds []build, o *[nManners]outcome) (told byManner) {
	l.spare = nManners
	for m := range l.courses {
		c := &l.courses[m]
		c.manner, c.which, c.joint = manners[m], m, m
		c.stride = c.manner.stride()
	}
	last := len(l.h.cycles) - 1
	for i := range l.h.cycles {
		c := &l.h.cycles[i]
		if i == 0 || c.version != l.version {
			l.enter(c.version, &builds[c.version], i == 0)
		}
		l.gather(c)
		for s := range shapes {
			if l.seen.says() || i == last {
				l.look(c, s, i < last)
			}
			for m := range l.courses {
				switch course := &l.courses[m]; {
				case course.manner.shape != s:
				case i == last:
					told[m] = l.open(course, c, &o[m])
				default:
					if l.seen.says() {
						l.closed(course, c, &o[m])
					}
					l.drift(course, c, l.h.cycles[i+1].start)
				}
			}
		}
	}
	return told
}

// localShare is the part of a cycle's deviation, as a variance in squared steps of growth, that is summed in closed form at
// every point, with the air's curve taken as a parabola there. It keeps a sharp reading from falling between two points.
const localShare = 0.2

// stride is how many points of growth a manner's rows are apart: one that smears everything widely needs fewer.
func (m *manner) stride() int {
	if m.cycle > 0.25 {
		return 2
	}
	return 1
}

// variance turns squared steps of a course into squared log growth.
func (l *learner) variance(stride int, steps float64) float64 {
	step := l.step * float64(stride)
	return steps * step * step
}

// enter starts a version: a fresh clean value; of growth, the first version begins with the prior and a later one with
// what is known of the run, less sure after a rebuilding.
func (l *learner) enter(version int, b *build, first bool) {
	l.version, l.build = version, b
	l.shares.tabulate(b)
	l.channel = channelOf(l.h, version)
	for m := range l.courses {
		c := &l.courses[m]
		var own [nGrowth]float64
		if first {
			for j := range own {
				own[j] = normal(l.z(j*c.stride) / b.spread)
			}
		} else {
			l.tables[c.joint].margin(&own)
		}
		l.layClean(c)
		t := &l.tables[c.joint]
		t.first, t.end, c.peak = 0, (nGrowth-1)/c.stride, 0
		t.last = t.end
		for j := range t.end + 1 {
			t.lo[j], t.hi[j] = 0, c.nClean
		}
		for k := range c.nClean {
			p := normal((c.clean0+float64(k)*c.cleanD)/b.cleanSpread) * c.cleanD
			for j := range t.end + 1 {
				t.cell[j][k] = own[j] * p
				c.peak = max(c.peak, t.cell[j][k])
			}
		}
		if !first {
			l.widen(c, spreadVersion*spreadVersion)
		}
	}
}

// margin sums a table over the clean value.
func (t *table) margin(own *[nGrowth]float64) {
	for j := t.first; j <= t.last; j++ {
		for _, p := range t.row(j) {
			own[j] += p
		}
	}
}

// layClean lays the axis of the clean value where the version's readings leave it: a little below the readings after
// cleanings, and above them as far as leftover lint can have lowered them all.
func (l *learner) layClean(course *course) {
	const maxReadings = 64
	var xs [maxReadings]float64
	n, weight, slack := 0, 1/(l.build.cleanSpread*l.build.cleanSpread), 0.0
	for i := range l.h.cycles {
		c := &l.h.cycles[i]
		if c.version != l.version || c.opener == nil || n == maxReadings {
			continue
		}
		if a := l.build.cleanAir(c.opener, l.channel, course.manner.reading); a.s > 0 {
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
	course.nClean = min(maxClean, max(points, 9))
	course.clean0, course.cleanD = low, (high-low)/float64(course.nClean-1)
}

// z is the log growth of a grid point against the median.
func (l *learner) z(j int) float64 { return l.low + float64(j)*l.step }

// drift widens what is known of the run's own growth by the years of a cycle and by a change of use after it.
func (l *learner) drift(course *course, c *cycle, end vent.Date) {
	v := course.manner.year * course.manner.year * float64(c.start.DaysUntil(end)) / daysPerYear
	was, is := l.u.at(c.start), l.u.at(end)
	if was.from != is.from && was.source != vent.UseCounter && is.source != vent.UseEmpty {
		d := doubt(is.source)
		v += d * d / 2
	}
	l.widen(course, v)
}

// widen smears a joint table along growth by a variance.
func (l *learner) widen(c *course, variance float64) {
	k := kernelOf(variance / l.variance(c.stride, 1))
	if k.n == 0 {
		return
	}
	l.tables[c.joint].smear(&l.tables[l.spare], &k)
	c.joint, l.spare = l.spare, c.joint
}

// cycleSpread is the deviation of one cycle from the run's own growth: chance, and use that the season moved.
func (l *learner) cycleSpread(m *manner, from, to vent.Date) float64 {
	days := float64(from.DaysUntil(to))
	if days < 1 {
		return m.cycle
	}
	tilt := seasonTilt(from, to, l.south) / days
	return hypot(m.cycle, m.season*tilt)
}

// closed weighs a cycle that ended and takes what it says into the joint table.
func (l *learner) closed(c *course, cy *cycle, o *outcome) {
	spread := l.cycleSpread(&c.manner, cy.start, l.seen.until)
	k := kernelOf(spread*spread/l.variance(c.stride, 1) - localShare)
	joint, like := &l.tables[c.joint], &l.tables[l.spare]
	l.liken(c, cy, joint, like, k.n)
	l.strange(c)
	all, strange := c.weigh(joint, like, &k)
	if !(all > 0) {
		return
	}
	joint.trim(nothing * c.peak)
	o.odd, o.oddBy = 0, nil
	if l.seen.n > 0 {
		o.odd, o.oddBy = strange/all, l.seen.looks[l.seen.n-1].by
	}
}

// nothing is the share of the largest cell below which a cell is dropped.
const nothing = 1e-8

// liken lays down how well every growth and clean value foretells the cycle at hand, as far as the joint table will
// ask for it through a kernel that reaches n rows.
func (l *learner) liken(c *course, cy *cycle, joint, like *table, n int) {
	like.end = joint.end
	like.first, like.last = max(0, joint.first-n), min(joint.end, joint.last+n)
	for j := like.first; j <= like.last; j++ {
		lo, hi := joint.reach(j, n)
		like.lo[j], like.hi[j] = lo, hi
		if lo >= hi {
			continue
		}
		row := like.cell[j][:c.nClean]
		clear(row[lo:hi])
		any := false
		for h, w := range cy.heads.weight[c.which] {
			if w > 0 {
				b := l.view.bell(c, h, j)
				b.height *= w
				any = b.add(row, lo, hi) || any
			}
		}
		if !any {
			like.hi[j] = lo
		}
	}
}

// weigh multiplies the joint table with the likelihood, smeared by a cycle's own deviation, and the odd part, and gives
// the sums of the new table and of its odd part. It divides by the former peak and keeps the new one.
func (c *course) weigh(joint, like *table, k *kernel) (all, strange float64) {
	plain := 1 - c.manner.oddCycle - c.manner.oddReading
	scale, peak := 1/c.peak, 0.0
	var sum [maxClean]float64
	for j := joint.first; j <= joint.last; j++ {
		lo, hi := joint.lo[j], joint.hi[j]
		if lo >= hi {
			continue
		}
		acc := sum[lo:hi]
		clear(acc)
		like.blend(acc, j, lo, k)
		row, odd := joint.cell[j][lo:hi], c.odd[lo:hi]
		for i, p := range row {
			p *= scale
			strange += p * odd[i]
			p *= plain*acc[i] + odd[i]
			all += p
			peak = max(peak, p)
			row[i] = p
		}
	}
	if all > 0 {
		c.evidence += math.Log(c.peak)
		c.peak = peak
	}
	return all, strange
}

// open gives the posterior of growth in the cycle that goes on, apart for each possibility of leftover lint.
func (l *learner) open(c *course, cy *cycle, o *outcome) float64 {
	l.own(c, o)
	l.widen(c, c.manner.cycle*c.manner.cycle+c.manner.year*c.manner.year)
	l.strange(c)
	plain := 1 - c.manner.oddCycle - c.manner.oddReading
	t := &l.tables[c.joint]
	var like [maxClean]float64
	var all float64
	for h, w := range cy.heads.weight[c.which] {
		if w == 0 {
			continue
		}
		for j := t.first; j <= t.last; j++ {
			lo, hi := t.lo[j], t.hi[j]
			if lo >= hi {
				continue
			}
			clear(like[lo:hi])
			b := l.view.bell(c, h, j)
			b.height *= w
			b.add(like[:], lo, hi)
			var sum, at float64
			for k, p := range t.cell[j][lo:hi] {
				p *= plain*like[lo+k] + w*c.odd[lo+k]
				sum += p
				at += p * float64(k)
			}
			o.clean += sum*(c.clean0+float64(lo)*c.cleanD) + at*c.cleanD
			o.growth[h][j*c.stride] = sum
			all += sum
		}
	}
	if c.stride > 1 {
		o.fill()
	}
	return c.evidence + math.Log(all) + math.Log(float64(c.stride))
}

// fill puts in the points between those of a course of every other point, by a cubic through four neighbours.
func (o *outcome) fill() {
	for h := range o.growth {
		g := &o.growth[h]
		for j := 1; j < nGrowth; j += 2 {
			outer := g[max(0, j-3)] + g[min(nGrowth-1, j+3)]
			g[j] = max(0, (9*(g[j-1]+g[j+1])-outer)/16)
		}
	}
}

// own keeps mean and variance of the run's own log growth after all closed cycles.
func (l *learner) own(c *course, o *outcome) {
	var own [nGrowth]float64
	l.tables[c.joint].margin(&own)
	var n, mean, square float64
	for j, p := range own[:l.tables[c.joint].end+1] {
		z := l.z(j * c.stride)
		n += p
		mean += p * z
		square += p * z * z
	}
	o.mean = mean / n
	o.variance = max(square/n-o.mean*o.mean, 1e-4)
}

// strange is the part of the likelihood in which what ended the cycle is not growth (then only the reading after the
// cleaning tells of the clean value, and less so) or in which that reading is a slip.
func (l *learner) strange(c *course) {
	looks := 1.0
	for i := range l.seen.n {
		if l.seen.looks[i].air.s > 0 {
			looks *= oddDensity
		}
		if l.seen.looks[i].indirect() {
			looks *= oddIndirect
		}
	}
	odd := c.odd[:c.nClean]
	clear(odd)
	const trusted = 0.7
	slip := 1.0
	if a := l.seen.start.air; a.s > 0 {
		slip = oddDensity
		s := a.s * c.manner.reading
		b := bell{
			height: c.manner.oddCycle * looks * trusted / (s * math.Sqrt(2*math.Pi)),
			at:     (a.x - c.clean0) / c.cleanD, precision: c.cleanD * c.cleanD / (s * s),
		}
		b.add(odd, 0, c.nClean)
		looks *= 1 - trusted + c.manner.oddReading/c.manner.oddCycle
	}
	for k := range odd {
		odd[k] += c.manner.oddCycle * looks * slip
	}
}
