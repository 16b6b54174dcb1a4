package fleet

import "math"

// cause is what kind of cycle it was in which a run stood past its limit; the first that fits.
type cause int

const (
	byNest     cause = iota
	byLeftover       // the cleaning before left lint
	byPrior          // nothing was measured yet
	bySecond         // one cycle was measured
	byThird          // two were
	byLater
	nCauses
)

var causes = [nCauses]string{"nest", "lint left by the cleaning before", "nothing measured yet", "one cycle measured", "two cycles measured", "three or more"}

// spent puts the cycle that ends on a day down to its kind.
func (c *client) spent(t float64, total *score) {
	weeks := c.pastBetween(c.cleaned, t) / week
	total.weeks += weeks
	p := &total.by[c.cause(t)]
	p.cycles++
	p.weeks += weeks
}

func (c *client) cause(t float64) cause {
	measured := 0
	for i := range c.findings {
		if len(c.findings[i].Before) > 0 {
			measured++
		}
	}
	switch {
	case t > c.nest && !math.IsInf(c.nest, 1):
		return byNest
	case c.lint > 0:
		return byLeftover
	}
	return min(byPrior+cause(measured), byLater)
}
