package lint

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ventdue/vent"
)

// uneven is a life with readings that do not fit together, so that no manner, shape or possibility of leftover lint is ruled out.
func uneven() Case {
	c := life(4)
	for i, share := range []float64{0.80, 0.93, 0.72, 0.88} {
		c.Findings[i].Reach = ""
		c.Findings[i].Before = []vent.Reading{airSpeed(7.9 * share)}
		c.Findings[i].After = []vent.Reading{airSpeed(7.9 * (0.93 + 0.02*float64(i)))}
	}
	return c
}

// Sampling the posterior, part by part and point by point, gives the same courses of flow.
func TestFuturesAgreeWithSampling(t *testing.T) {
	for name, c := range map[string]Case{"prior": life(0), "two cleanings": life(2), "uneven": uneven()} {
		b := Learn(c)
		g := rand.New(rand.NewPCG(5, 6))
		for _, months := range []int{0, 4, 9, 15, 30} {
			d := b.From().AddMonths(months)
			f := b.Futures([]vent.Date{d})[0]
			flows := sampleFlows(&b, d, g)
			for p, got := range map[float64]float64{0.1: f.Low, 0.5: f.Middle, 0.9: f.High} {
				if want := flows[int(p*float64(len(flows)))]; math.Abs(got-want) > 0.006 {
					t.Errorf("%s, %d months, %.1f: %.4f of the clean flow, sampled %.4f", name, months, p, got, want)
				}
			}
		}
	}
}

// sampleFlows draws flows of a day, in order: a part of the belief, a point of growth in it, a season.
func sampleFlows(b *Belief, d vent.Date, g *rand.Rand) []float64 {
	const n = 40000
	var points, sums []float64 // of growth, and of the weights up to each
	var slots []int
	var all float64
	for s := range b.growth.weight {
		for j, w := range b.growth.weight[s] {
			if w > 0 {
				all += w
				points, sums, slots = append(points, b.growth.at(j)), append(sums, all), append(slots, s)
			}
		}
	}
	loads := b.use.between(b.from, d)
	tilt := 0.0
	if d > b.from {
		tilt = seasonTilt(b.from, d, b.south) / float64(b.from.DaysUntil(d))
	}
	flows := make([]float64, n)
	for i := range flows {
		k, _ := slices.BinarySearch(sums, all*g.Float64())
		rate := points[k] + b.growth.step*(g.Float64()+g.Float64()-1)
		season := [...]float64{-math.Sqrt(3), 0, 0, 0, 0, math.Sqrt(3)}[g.IntN(6)]
		now := b.heads.loads[slots[k]%nHeads] + loads*(1+b.season*season*tilt)
		lint := 0.0
		if now > 0 {
			at := math.Log(b.build.limit.Lint / math.Exp(b.build.median)) // loads to the limit at the median
			lint = math.Exp(rate) * math.Exp(at) * math.Pow(now/math.Exp(at), shapes[slots[k]/nHeads])
		}
		flows[i] = b.flowShare(min(1, lint))
	}
	slices.Sort(flows)
	return flows
}

// The picture's lower course passes the limit on the day on which the chance reaches one in ten, and no course rises.
func TestFuturesMeetTheDay(t *testing.T) {
	for _, c := range []Case{life(0), life(1), life(6), uneven()} {
		b := Learn(c)
		due := b.Day(0.10)
		f := b.Futures([]vent.Date{b.From(), due.AddDays(-2), due.AddDays(1), due.AddMonths(12)})
		if limit := b.FlowAtLimit(); f[1].Low < limit || f[2].Low > limit {
			t.Errorf("due %s with %.4f of the flow at the limit: %+v", due, limit, f)
		}
		for i := range f {
			if f[i].Low > f[i].Middle || f[i].Middle > f[i].High || i > 0 && (f[i].Low > f[i-1].Low || f[i].High > f[i-1].High) {
				t.Errorf("not in order: %+v", f)
			}
		}
	}
}
