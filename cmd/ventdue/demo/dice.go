package demo

import (
	"math"
	"math/rand/v2"
)

// dice are one stream of chance.
type dice struct{ rng *rand.Rand }

func newDice(seed, stream uint64) dice { return dice{rand.New(rand.NewPCG(seed, stream))} }

// between draws a whole number from lo to hi, both included.
func (d dice) between(lo, hi int) int { return lo + d.rng.IntN(hi-lo+1) }

// part draws a figure from lo to hi.
func (d dice) part(lo, hi float64) float64 { return lo + (hi-lo)*d.rng.Float64() }

// chance is true so often.
func (d dice) chance(p float64) bool { return d.rng.Float64() < p }

// spread draws a factor around 1 whose logarithm has the given standard deviation, at most two of them off.
func (d dice) spread(deviation float64) float64 {
	return math.Exp(deviation * min(2, max(-2, d.rng.NormFloat64())))
}

func pick[T any](d dice, from ...T) T { return from[d.rng.IntN(len(from))] }
