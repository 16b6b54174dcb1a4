package fleet

import (
	"math"
	"math/rand/v2"
)

func normalOf(seed uint64, site int) float64 {
	return rand.New(rand.NewPCG(seed+55, uint64(site))).NormFloat64()
}

// every is the fixed calendar: so many months after the last cleaning, whatever was found.
func every(months float64) planner {
	return func(c *client, _ []*client) verdict {
		return verdict{day: start.AddDays(int(c.cleaned + months*yearDays/12))}
	}
}

// calendar is what the fixed rule costs at several intervals: cleanings a run and year against weeks past the limit.
type calendar struct {
	cleanings, weeks []float64
	yearly           score
}

func (f *fleet) calendar() calendar {
	var c calendar
	for _, months := range []float64{30, 27, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6} {
		s := f.simulate(every(months))
		c.cleanings = append(c.cleanings, s.perYear())
		c.weeks = append(c.weeks, s.clogged())
		if months == 12 {
			c.yearly = s
		}
	}
	return c
}

// at is the fixed rule's weeks at the same cleanings a run and year.
func (c calendar) at(cleanings float64) float64 {
	for i := 1; i < len(c.cleanings); i++ {
		if cleanings <= c.cleanings[i] || i == len(c.cleanings)-1 {
			t := (cleanings - c.cleanings[i-1]) / (c.cleanings[i] - c.cleanings[i-1])
			return math.Max(0, c.weeks[i-1]+t*(c.weeks[i]-c.weeks[i-1]))
		}
	}
	return math.NaN()
}

// departures are the worlds that differ from what the model thinks, each on its own and all at once. Their factors of growth
// bring all of them to the premise of the comparison, see scale_test.go.
func departures() []world {
	return []world{
		{name: "as the model thinks", scale: 0.965},
		{name: "saturating growth", scale: 0.890, law: saturating},
		{name: "growth accelerates as air slows", scale: 0.930, law: accelerating},
		{name: "seasonal use", scale: 0.965, season: 0.45},
		{name: "wrong and changing load counts", scale: 0.950, wrongLoads: 0.3},
		{name: "instruments at 3 to 5 %", scale: 0.965, instrument: true},
		{name: "a third of the readings missing", scale: 0.965, missing: 1.0 / 3},
		{name: "poor cleanings and missing readings", scale: 0.895, poor: 0.2, missing: 1.0 / 3},
		{name: "nests", scale: 0.924, nests: 0.017},
		{name: "all at once", scale: 0.807, law: accelerating, season: 0.45, wrongLoads: 0.3, instrument: true, missing: 1.0 / 3, poor: 0.2, nests: 0.017},
	}
}

// plain is the learner that anybody would write first: the mean reading after cleanings is the clean value, the mean of log growth with
// a normal prior, due when its 90th percentile reaches the limit; the same bounds.
func plain(c *client, _ []*client) verdict {
	r := c.truth
	const prior, spread, scatter = 0.0, 0.6, 0.25
	mean, precision := prior, 1/(spread*spread)
	clean, n, begun, cycles := 0.0, 0.0, start, 0
	for _, f := range c.findings {
		for _, x := range f.After {
			clean += x.Value
			n++
		}
	}
	if clean /= n; n == 0 {
		clean = r.duct.speed()
	}
	guess := baseRate * math.Pow(r.meters/7.62, 0.55) * math.Exp(0.06*float64(r.elbows-2)+[...]float64{0, 0.25, 0.5}[r.kind])
	if r.cold {
		guess *= 1.3
	}
	if r.pets {
		guess *= 1.2
	}
	for _, f := range c.findings {
		loads := r.told * float64(begun.DaysUntil(f.Date))
		if len(f.Before) > 0 && !f.Sudden && loads > 0 {
			share := math.Min(1, f.Before[0].Value/clean)
			lint := math.Max(r.duct.lintAt(share), 0.1*r.limit)
			x := math.Log(lint/loads) - math.Log(guess)
			w := 1 / (scatter * scatter)
			mean = (mean*precision + x*w) / (precision + w)
			precision += w
			cycles++
		}
		begun = f.Date
	}
	sd := math.Sqrt(1/precision + cycleSpread*cycleSpread)
	days := r.limit / (guess * math.Exp(mean+1.2816*sd)) / r.told
	most := 365.25
	if cycles >= 2 {
		most = 730.5
	}
	day := begun.AddDays(int(math.Max(30, math.Min(days, most))))
	v := verdict{day: day}
	if days < most {
		v.stated = 0.1
	}
	return v
}

// lintAt is the lint that leaves a share of the clean flow.
func (d *duct) lintAt(share float64) float64 {
	for i := 1; i <= steps; i++ {
		if d.share[i] <= share {
			t := (d.share[i-1] - share) / (d.share[i-1] - d.share[i])
			return most * (float64(i-1) + t) / steps
		}
	}
	return most
}
