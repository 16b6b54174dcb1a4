package lint

import "math"

// nGrowth is the number of points on the axis of log growth.
const nGrowth = 65

// nSlots is the number of parts of a belief: leftover lint times shape of growth.
const nSlots = nHeads * nShapes

// grid is a distribution of log growth on evenly spaced points, one part for each possibility of leftover lint and each shape of growth. The parts
// together hold all the chance.
type grid struct {
	low, step float64
	weight    [nSlots][nGrowth]float64
	below     [nSlots][nGrowth]float64 // chance below each point
	mass      [nSlots]float64
}

// axis gives the ends of the axis of log growth around a prior: a run that is slower than the low end is due by the calendar
// anyhow, and there is room for one that is twenty-five times as fast as thought.
func axis(spread float64) (low, step float64) {
	low = -max(2.0, 3.4*spread)
	return low, (max(3.2, 5*spread) - low) / (nGrowth - 1)
}

// newGrid lays the axis around a prior.
func newGrid(median, spread float64) grid {
	low, step := axis(spread)
	return grid{low: median + low, step: step}
}

func (g *grid) at(j int) float64 { return g.low + float64(j)*g.step }

// normalise makes the weights sum to one and prepares the sums below each point.
func (g *grid) normalise() {
	var sum float64
	for h := range g.weight {
		for _, w := range g.weight[h] {
			sum += w
		}
	}
	for h := range g.weight {
		for j := range g.weight[h] {
			g.weight[h][j] /= sum
		}
		g.accumulate(h)
	}
}

// accumulate sums one part by the trapezoidal rule with its first end correction (Euler and Maclaurin), and keeps the sums
// from falling where the weights are spiky.
func (g *grid) accumulate(h int) {
	w := &g.weight[h]
	var below, least float64
	for j := range w {
		slope := w[min(j+1, nGrowth-1)] - w[max(j-1, 0)]
		least = max(least, below+w[j]/2-slope/24)
		g.below[h][j] = least
		below += w[j]
	}
	g.mass[h] = max(below, least)
}

// above is the chance that log growth is above x together with slot h. Between the points it is a cubic through the sums
// with the density as slope, held to three times its secant so that it never turns back.
func (g *grid) above(h int, x float64) float64 {
	if g.mass[h] == 0 {
		return 0
	}
	t := (x - g.low) / g.step
	switch {
	case !(t > 0):
		return g.mass[h]
	case t >= nGrowth-1:
		return 0
	}
	j := int(t)
	t -= float64(j)
	y0, y1 := g.below[h][j], g.below[h][j+1]
	steepest := 3 * (y1 - y0)
	s0, s1 := min(g.weight[h][j], steepest), min(g.weight[h][j+1], steepest)
	u := 1 - t
	y := y0*u*u*(1+2*t) + y1*t*t*(3-2*t) + s0*t*u*u - s1*t*t*u
	return max(0, g.mass[h]-y)
}

// quantile is the log growth that is not passed with chance p, over all slots.
func (g *grid) quantile(p float64) float64 {
	lo, hi := g.low, g.at(nGrowth-1)
	for range 40 {
		mid := (lo + hi) / 2
		var above float64
		for h := range g.mass {
			above += g.above(h, mid)
		}
		if 1-above < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// normal is the density's shape, not scaled.
func normal(z float64) float64 { return math.Exp(-z * z / 2) }

func hypot(a, b float64) float64 { return math.Sqrt(a*a + b*b) }
