package lint

import "math"

// view is what the findings of one cycle say at every point of growth, for each possibility of leftover lint, under one
// shape of growth: all that does not depend on how well instruments are read.
type view struct {
	moments  int     // with a reading of air
	height   float64 // of their normal curves together
	variance float64 // of the part of the cycle's deviation that is summed in closed form around each point
	least    float64 // variance of growth that no reading may undercut; 0: as sharp as it likes
	points   [nHeads][nGrowth]point
}

// point gathers the readings of air at one growth: each of weight w is off by x and moves by t with log growth.
type point struct {
	w, wt, wtt, wx, wxx, wtx float64
	other                    float64 // likelihood of everything but air
}

// sharpest is the least width, in steps of growth, that a reading has in the open cycle: a sharper one would fall between
// two points. Such a reading stands far past the limit, where a few parts in a hundred of growth do not matter.
const sharpest = 0.6

// look makes the view of the findings gathered; in a cycle that is closed, a part of its deviation goes into the points.
func (l *learner) look(c *cycle, shape int, closed bool) {
	v := &l.view
	v.moments, v.height = 0, 1
	for i := range l.seen.n + 1 {
		if a := l.seen.moment(i).air; a.s > 0 {
			v.moments++
			v.height /= a.s * math.Sqrt(2*math.Pi)
		}
	}
	stride := strideOf(shape)
	if v.variance, v.least = 0, l.variance(stride, sharpest*sharpest); closed {
		v.variance, v.least = l.variance(stride, localShare), 0
	}
	for h := range nHeads {
		if c.heads.used(shape, h) {
			l.lookFrom(c.heads.loads[h], shape, stride, &v.points[h])
		}
	}
}

// strideOf is the least stride of the manners of a shape.
func strideOf(shape int) int {
	least := nGrowth
	for m := range manners {
		if manners[m].shape == shape {
			least = min(least, manners[m].stride())
		}
	}
	return least
}

// used reports whether any manner of a shape gives a possibility weight.
func (h *heads) used(shape, head int) bool {
	for m := range manners {
		if manners[m].shape == shape && h.weight[m][head] > 0 {
			return true
		}
	}
	return false
}

// lookFrom fills the points for so many loads left by the cleaning.
func (l *learner) lookFrom(left float64, shape, stride int, points *[nGrowth]point) {
	var at [maxLooks + 1]float64 // log of lint less z
	for i := range l.seen.n + 1 {
		at[i] = l.build.median + l.build.pivot + shapes[shape]*(math.Log(left+l.seen.loadsAt(i))-l.build.pivot)
	}
	for j := 0; j < nGrowth; j += stride {
		p := point{other: 1}
		z := l.z(j)
		for i := range l.seen.n + 1 {
			m := l.seen.moment(i)
			if !m.says() {
				continue
			}
			share, slope, bend := l.shares.at(z + at[i])
			if a := m.air; a.s > 0 {
				w, x := 1/(a.s*a.s), a.x-share-bend*l.view.variance/2
				p.w += w
				p.wt += w * slope
				p.wtt += w * slope * slope
				p.wx += w * x
				p.wxx += w * x * x
				p.wtx += w * slope * x
			}
			if m.indirect() {
				p.other *= m.likelihood(l.build, min(1, exp(z+at[i])), exp(share))
			}
		}
		points[j] = p
	}
}

// bell is the likelihood of the clean value at one point of growth under one manner. The deviation that is summed in closed form
// is common to all readings of the cycle, so that it takes their common part out of the sums.
func (v *view) bell(c *course, head, j int) bell {
	p := &v.points[head][j*c.stride]
	if v.moments == 0 {
		return bell{height: p.other}
	}
	f := c.manner.reading
	q := 1 / (f * f)
	sharp := p.wtt * q
	variance := v.variance
	if v.least > 0 && sharp*v.least > 1 {
		variance = v.least - 1/sharp
	}
	b := bell{height: v.height * p.other}
	for range v.moments {
		b.height /= f
	}
	w, x, xx := p.w*q, p.wx*q, p.wxx*q
	if grow := 1 + variance*sharp; grow > 1+1e-7 {
		g := variance / grow * q * q
		w -= g * p.wt * p.wt
		x -= g * p.wtx * p.wt
		xx -= g * p.wtx * p.wtx
		b.height /= math.Sqrt(grow)
	}
	mean := x / w
	b.misfit = max(0, (xx-x*mean)/2)
	b.at = (mean - c.clean0) / c.cleanD
	b.precision = w * c.cleanD * c.cleanD
	return b
}
