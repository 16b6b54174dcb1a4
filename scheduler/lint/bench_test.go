package lint

import (
	"math"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// life is a history of so many cleanings, read before and after, a year apart; exactly as the model expects it.
func life(cleanings int) Case {
	r := straight(airflow.SmoothMetal, 25, 2, 5.44)
	c := Case{Run: r, Dryer: electric}
	full := airSpeed(7.9)
	for n := range cleanings {
		c.Findings = append(c.Findings, vent.Finding{
			ID: vent.ID{0: 3, 15: byte(n + 1)}, RunID: r.ID, Date: r.Known.AddMonths(12 * (n + 1)),
			By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Reach: vent.ReachThrough,
			Before: []vent.Reading{airSpeed(7.9 * (0.92 + 0.02*math.Sin(float64(n))))}, After: []vent.Reading{full},
		})
	}
	return c
}

func airSpeed(v float64) vent.Reading {
	return vent.Reading{Quantity: vent.AirSpeed, Value: v, Conditions: []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen}}
}

func BenchmarkLearn(b *testing.B) {
	for _, n := range []struct {
		name string
		c    Case
	}{{"prior", life(0)}, {"findings=6", life(6)}, {"findings=20", life(20)}} {
		b.Run(n.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				l := Learn(n.c)
				l.Day(0.1)
			}
		})
		b.Run(n.name+"/floor", func(b *testing.B) {
			for b.Loop() {
				plainSum(len(n.c.Findings))
			}
		})
	}
}

// plainSum is the same sum written plainly: every manner, cycle, possibility of leftover lint, growth and clean value, one
// normal density each; cells as many as the learner has, kernels aside.
func plainSum(cycles int) float64 {
	var total float64
	for range nManners {
		var joint [nGrowth][24]float64
		for c := range cycles + 1 {
			for h := range nHeads {
				for j := range nGrowth {
					for k := range 24 {
						z := (float64(j-k) + float64(h+c)) * 0.1
						joint[j][k] += math.Exp(-z * z / 2)
					}
				}
			}
		}
		total += joint[3][3]
	}
	return total
}
