package estimate

import (
	"encoding/json"
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"ventdue/vent"
)

// shape is a run that a property changes one thing of.
type shape struct {
	feet           float64
	elbows90       int
	material, fuel string
	loads          float64
	roof, cold     bool
	pets           bool
	findings       []map[string]any
}

func drawShape(t *rapid.T) shape {
	s := shape{
		feet: float64(rapid.IntRange(4, 60).Draw(t, "feet")), elbows90: rapid.IntRange(0, 6).Draw(t, "elbows"),
		material: rapid.SampledFrom([]string{"smooth_metal", "galvanized", "semi_rigid_metal", "foil_flex"}).Draw(t, "material"),
		fuel:     rapid.SampledFrom([]string{"electric", "gas"}).Draw(t, "fuel"),
		loads:    rapid.Float64Range(0.5, 40).Draw(t, "loads"), roof: rapid.Bool().Draw(t, "roof"), cold: rapid.Bool().Draw(t, "cold"), pets: rapid.Bool().Draw(t, "pets"),
	}
	on := vent.NewDate(2019, 3, rapid.IntRange(1, 28).Draw(t, "day"))
	for range rapid.IntRange(0, 4).Draw(t, "findings") {
		after := rapid.IntRange(1100, 1700).Draw(t, "after")
		s.findings = append(s.findings, map[string]any{
			"date": on.String(), "outcome": rapid.SampledFrom([]string{"full", "full", "partial", "looked", "failed"}).Draw(t, "outcome"),
			"lint_before": rapid.SampledFrom([]any{nil, "bare", "film", "fuzz", "mat"}).Draw(t, "grade"),
			"before":      map[string]any{"air_speed": fmt.Sprintf("%.0f fpm", float64(after)*rapid.Float64Range(0.6, 1).Draw(t, "share"))},
		})
		if o := s.findings[len(s.findings)-1]; o["outcome"] == "full" {
			o["after"] = map[string]any{"air_speed": fmt.Sprintf("%d fpm", after)}
		}
		on = on.AddDays(rapid.IntRange(60, 700).Draw(t, "apart"))
	}
	return s
}

// line tells the shape; built on a day, so that its start is known.
func (s shape) line(t *rapid.T) []byte {
	b, err := json.Marshal(map[string]any{
		"run": map[string]any{"duct_length": fmt.Sprintf("%g ft", s.feet), "elbows_90": s.elbows90, "duct_material": s.material, "roof_outlet": s.roof,
			"uninsulated": s.cold, "changed_on": "2019-01-01", "known": "2019-01-01"},
		"dryer": map[string]any{"fuel": s.fuel}, "unit": map[string]any{"pets": s.pets}, "use": s.loads, "findings": s.findings,
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func ask(t *rapid.T, o *Options, s shape) Answer {
	a, err := One(o, s.line(t))
	if err != nil {
		t.Fatalf("%s: %v", s.line(t), err)
	}
	return a
}

// TestWindow: every answer is a window around its day, with chances that are chances.
func TestWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := options()
		o.At = vent.NewDate(2027, 6, 1)
		s := drawShape(t)
		a := ask(t, o, s)
		if a.Earliest > a.Due || a.Due > a.Latest || !(a.Chance >= 0 && a.Chance <= 1) || !(a.ChanceAt.Chance >= 0 && a.ChanceAt.Chance <= 1) || a.Growth.DoubtFactor < 1 {
			t.Errorf("%s: %+v", s.line(t), a)
		}
		later := *o
		later.At = o.At.AddDays(rapid.IntRange(0, 900).Draw(t, "later"))
		if b := ask(t, &later, s); b.ChanceAt.Chance < a.ChanceAt.Chance-1e-6 || b.Due != a.Due {
			t.Errorf("%s: chance falls from %v to %v", s.line(t), *a.ChanceAt, *b.ChanceAt)
		}
	})
}

// TestNeverLater: what makes a run worse, or an operator more careful, never makes it due later. Without findings: readings
// of a run that is told otherwise mean something else.
func TestNeverLater(t *testing.T) {
	worse := map[string]func(*shape, *Options, *rapid.T){
		"more loads":  func(s *shape, _ *Options, t *rapid.T) { s.loads *= rapid.Float64Range(1, 3).Draw(t, "times") },
		"longer":      func(s *shape, _ *Options, t *rapid.T) { s.feet += float64(rapid.IntRange(0, 30).Draw(t, "more")) },
		"more elbows": func(s *shape, _ *Options, _ *rapid.T) { s.elbows90++ },
		"foil":        func(s *shape, _ *Options, _ *rapid.T) { s.material = "foil_flex" },
		"gas":         func(s *shape, _ *Options, _ *rapid.T) { s.fuel = "gas" },
		"roof":        func(s *shape, _ *Options, _ *rapid.T) { s.roof = true },
		"cold":        func(s *shape, _ *Options, _ *rapid.T) { s.cold = true },
		"pets":        func(s *shape, _ *Options, _ *rapid.T) { s.pets = true },
		"lower risk":  func(_ *shape, o *Options, _ *rapid.T) { o.Policy.Risk, o.Policy.RiskCareful = 0.03, 0.02 },
		"shorter bound": func(_ *shape, o *Options, t *rapid.T) {
			o.Policy.UnprovenMonths = rapid.IntRange(3, 12).Draw(t, "months")
		},
	}
	for name, change := range worse {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				s, o, p := drawShape(t), options(), options()
				s.findings = nil
				before := ask(t, o, s)
				was := s
				change(&s, p, t)
				if after := ask(t, p, s); after.Due > before.Due {
					t.Errorf("%s is due on %s, %s on %s", was.line(t), before.Due, s.line(t), after.Due)
				}
			})
		})
	}
}

// TestMoreLoadsWithHistory: with findings as they are, more loads from now on never make it due later.
func TestMoreLoadsWithHistory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawShape(t)
		tell := func(next float64) Answer {
			var m map[string]any
			if err := json.Unmarshal(s.line(t), &m); err != nil {
				t.Fatal(err)
			}
			m["use"] = []any{map[string]any{"loads_per_week": s.loads}, map[string]any{"from": "2026-11-25", "loads_per_week": next}}
			b, err := json.Marshal(m)
			if err != nil {
				t.Fatal(err)
			}
			a, err := One(options(), b)
			if err != nil {
				t.Fatal(err)
			}
			return a
		}
		few := tell(s.loads)
		if more := tell(s.loads * 2); more.Due > few.Due {
			t.Errorf("%s: due %s, with twice the loads from now on %s", s.line(t), few.Due, more.Due)
		}
	})
}

// TestPolicyHolds: no preventive date lies outside the policy's bounds after the last cleaning.
func TestPolicyHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, o := drawShape(t), options()
		s.findings = nil
		o.Policy.ShortestDays = rapid.IntRange(7, 90).Draw(t, "shortest")
		o.Policy.UnprovenMonths = rapid.IntRange(4, 12).Draw(t, "longest")
		a := ask(t, o, s)
		since := vent.NewDate(2019, 1, 1)
		if a.Due < since.AddDays(o.Policy.ShortestDays) || a.Latest > since.AddMonths(o.Policy.UnprovenMonths) {
			t.Errorf("%s: %s to %s under %+v", s.line(t), a.Due, a.Latest, o.Policy)
		}
	})
}
