package fleet

import (
	"math"
	"sync"
	"testing"

	"ventdue/scheduler/due"
	"ventdue/scheduler/lint"
)

func TestZZ(t *testing.T) {
	var mu sync.Mutex
	var n, s1, s2, q1 [16]float64
	w := world{runs: 1200}
	p := learner(due.Default())
	var at, over [16][4]float64
	wrap := func(c *client, site []*client) verdict {
		v := p(c, site)
		mu.Lock()
		for l, d := range v.reaches {
			x := float64(start.DaysUntil(d))
			if d == 0 || x > c.cleaned+731 || x < c.cleaned+30 {
				continue
			}
			i := min(len(c.findings), 15)
			at[i][l]++
			if c.pastOn(x) {
				over[i][l]++
			}
		}
		mu.Unlock()
		if v.reaches[3] != 0 && v.reaches[1] != 0 && v.reaches[3] < start.AddDays(int(c.cleaned)+1000) {
			t50 := float64(start.DaysUntil(v.reaches[3])) - c.cleaned
			t10 := float64(start.DaysUntil(v.reaches[1])) - c.cleaned
			k := 0.0
			for k = 0; k < 1040 && !c.pastOn(c.cleaned+k); k++ {
			}
			x := math.Log(k / t50)
			i := min(len(c.findings), 15)
			mu.Lock()
			n[i]++
			s1[i] += x
			s2[i] += x * x
			q1[i] += math.Log(t50/t10) / 1.2816
			mu.Unlock()
		}
		return v
	}
	w.fleet(1).simulate(wrap)
	for i := range n {
		m := s1[i] / n[i]
		t.Logf("%2d n %4.0f mean %.3f sd %.3f said %.3f", i, n[i], m, math.Sqrt(s2[i]/n[i]-m*m), q1[i]/n[i])
	}
	for i := range at {
		t.Logf("%2d %5.1f %5.1f %5.1f %5.1f  of %.0f", i, 100*over[i][0]/at[i][0], 100*over[i][1]/at[i][1], 100*over[i][2]/at[i][2], 100*over[i][3]/at[i][3], at[i][1])
	}
	_ = lint.Pool{}
}
