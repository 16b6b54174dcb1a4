package lint

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// drawn is any plausible run with its dryer and unit.
func drawn(t *rapid.T) Case {
	r := straight(rapid.SampledFrom(airflow.Materials()).Draw(t, "material"), rapid.Float64Range(3, 80).Draw(t, "feet"),
		rapid.IntRange(0, 6).Draw(t, "elbows"), rapid.Float64Range(0.5, 30).Draw(t, "loads"))
	c := Case{Run: r, Dryer: electric}
	c.Dryer.MaxStatic = airflow.Pascals(rapid.SampledFrom([]float64{0, 75, 149.5, 186.8, 2000}).Draw(t, "maker"))
	c.Dryer.LintCarry = rapid.Bool().Draw(t, "carry")
	return c
}

func dueDay(c Case) vent.Date {
	b := Learn(c)
	if d := b.Day(0.10); d != 0 {
		return d
	}
	return lastDay
}

// worse changes one thing of a run for the worse.
var worse = map[string]func(*Case){
	"more loads":  func(c *Case) { c.Run.Use[0].LoadsPerWeek *= 1.3 },
	"longer":      func(c *Case) { section(c).Length *= 1.2 },
	"one elbow":   func(c *Case) { addElbow(c, airflow.Mitered90) },
	"rougher":     func(c *Case) { s := section(c); s.Roughness = 1.5 * s.Material.Roughness() },
	"uninsulated": func(c *Case) { c.Run.Versions[0].Uninsulated = true },
	"roof":        func(c *Case) { c.Run.Versions[0].RoofOutlet = true },
	"pets":        func(c *Case) { c.Unit.Pets = true },
	"torn screen": func(c *Case) { c.Faults = []vent.Fault{{Rule: "screen_torn", State: vent.FaultOpen}} },
	"compressed": func(c *Case) {
		if s := section(c); s.Material.Flexible() {
			s.FlexFactor = 1.5
		}
	},
	"flex": func(c *Case) {
		if s := section(c); s.Material == airflow.SmoothMetal || s.Material == airflow.Galvanized {
			s.Material = airflow.SemiRigid
		}
	},
	"closer hood":    func(c *Case) { c.Run.Versions[0].Route.Outlet.K = 2.5 },
	"stricter maker": func(c *Case) { c.Dryer.MaxStatic = c.Dryer.StaticLimit() * 0.8 },
}

func section(c *Case) *airflow.Section { return &c.Run.Versions[0].Route.Sections[0] }

func addElbow(c *Case, k airflow.FittingKind) {
	r := c.Run.Versions[0].Route
	if len(r.Fittings) == 0 {
		r.Fittings = []airflow.Fitting{{Kind: k}}
	}
	r.Fittings[0].Count++
}

// Whatever is worse about a run, its date is never later.
func TestWorseIsNeverLater(t *testing.T) {
	for name, change := range worse {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				c := drawn(t)
				before := dueDay(c)
				change(&c)
				if after := dueDay(c); after > before {
					t.Fatalf("due %s, with %s %s", before, name, after)
				}
			})
		})
	}
}

func TestOneLoadAWeekIsLaterThanTen(t *testing.T) {
	one, ten := Case{Run: straight(airflow.SmoothMetal, 25, 2, 1), Dryer: electric}, Case{Run: straight(airflow.SmoothMetal, 25, 2, 10), Dryer: electric}
	if dueDay(one) <= dueDay(ten) {
		t.Errorf("one load a week %s, ten %s", dueDay(one), dueDay(ten))
	}
}

// As a run gets longer its limit moves without a jump, and never backwards: measured as the share of flow that must be
// left, and as the day.
func TestLimitMovesSmoothly(t *testing.T) {
	for _, m := range airflow.Materials() {
		last, lastDay := 0.0, vent.Date(0)
		for feet := 3.0; feet < 80; feet += 0.25 {
			c := Case{Run: straight(m, feet, 2, 5.44), Dryer: electric}
			b := Learn(c)
			share, day := b.FlowAtLimit(), b.Day(0.10)
			if last > 0 && (share < last-0.004 || share > last+0.012) {
				t.Errorf("%s, %.2f ft: %.4f of the flow must be left, a quarter of a foot less: %.4f", m, feet, share, last)
			}
			from := c.Run.Known
			if lastDay != 0 && (day > lastDay || float64(from.DaysUntil(day)) < 0.88*float64(from.DaysUntil(lastDay))) {
				t.Errorf("%s, %.2f ft: due %s, a quarter of a foot less: %s", m, feet, day, lastDay)
			}
			last, lastDay = share, day
		}
	}
}

// The maker's limit brings the limit forward at most to half of the lint.
func TestMakerHalvesAtMost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t)
		b := Learn(c)
		limited := b.LimitAt()
		c.Dryer.MaxStatic, c.Dryer.LintCarry = 2000, false
		b = Learn(c)
		free := b.LimitAt()
		if limited.Lint > free.Lint*(1+1e-9) || limited.Lint < free.Lint/2*(1-1e-9) {
			t.Fatalf("limit %.4f, by flow alone %.4f", limited.Lint, free.Lint)
		}
	})
}

// The chance never falls with time, the day is its inverse, and the flow's quantiles fall.
func TestBeliefIsInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t)
		at := c.Run.Known
		for n := range rapid.IntRange(0, 5).Draw(t, "cleanings") {
			at = at.AddDays(rapid.IntRange(20, 700).Draw(t, "days"))
			v := rapid.Float64Range(2, 14).Draw(t, "speed")
			c.Findings = append(c.Findings, vent.Finding{
				ID: vent.ID{0: 3, 15: byte(n + 1)}, RunID: id, Date: at, By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full,
				Before: []vent.Reading{airSpeed(v * rapid.Float64Range(0.3, 1.1).Draw(t, "share"))}, After: []vent.Reading{airSpeed(v)},
			})
		}
		b := Learn(c)
		chance, flow := -1.0, 2.0
		for days := 0; days < 1500; days += 37 {
			d := b.From().AddDays(days)
			p, q := b.Chance(d), b.Quantile(d, 0.5)
			if math.IsNaN(p) || p < chance-1e-12 || p > 1 || math.IsNaN(q) || q > flow+1e-9 || q < 0 {
				t.Fatalf("after %d days: chance %v after %v, median flow %v after %v", days, p, chance, q, flow)
			}
			chance, flow = p, q
		}
		for _, x := range []float64{0.05, 0.1, 0.5} {
			if d := b.Day(x); d != 0 && (b.Chance(d) < x || d > b.From() && b.Chance(d-1) >= x) {
				t.Fatalf("day of %.2f is %s with chance %.4f", x, d, b.Chance(d))
			}
		}
	})
}

// Loads a year by bedrooms: 210.5, 257, 303.5 and 350 for one to four with the formula's washer, 150.52 to 250.27 with one of
// 4.5 ft³ (arithmetic on the formula of ANSI/RESNET/ICC 301 outside the project); 283 a year is 5.442 a week of 52 weeks.
func TestHouseholdLoads(t *testing.T) {
	for n, want := range []float64{210.5, 257, 303.5, 350} {
		if got := HouseholdLoads(n+1, 0); math.Abs(got-want) > 1e-6*want {
			t.Errorf("%d bedrooms: %.4f, want %.4f", n+1, got, want)
		}
	}
	for n, want := range []float64{150.52, 183.77, 217.02, 250.27} {
		if got := HouseholdLoads(n+1, 4.5*cubicFoot); math.Abs(got-want) > 1e-4*want {
			t.Errorf("%d bedrooms, 4.5 ft³: %.4f, want %.4f", n+1, got, want)
		}
	}
	if got := DefaultLoadsPerYear / 52.0; math.Abs(got-5.442) > 5e-4 {
		t.Error(got)
	}
}

// Loads of hand-made histories.
func TestUsage(t *testing.T) {
	d := day("2024-01-01")
	run := vent.Run{Use: []vent.Use{{LoadsPerWeek: 7, Source: vent.UseTold}, {From: d.AddDays(100), LoadsPerWeek: 14, Source: vent.UseTold}}}
	unit := vent.Unit{Occupancies: []vent.Occupancy{{From: d.AddDays(50), To: d.AddDays(60)}}}
	counted := []vent.Finding{{Date: d.AddDays(200), LoadCounter: 1000}, {Date: d.AddDays(210), LoadCounter: 1050}}
	for _, c := range []struct {
		name     string
		unit     vent.Unit
		findings []vent.Finding
		from, to int
		want     float64
	}{
		{"one a day", vent.Unit{}, nil, 0, 50, 50},
		{"across a change", vent.Unit{}, nil, 90, 110, 10 + 20},
		{"an empty unit", unit, nil, 40, 70, 20},
		{"counted", unit, counted, 195, 215, 10 + 50 + 25},
		{"nothing backwards", unit, counted, 20, 10, 0},
	} {
		if got := usageOf(run, c.unit, c.findings).between(d.AddDays(c.from), d.AddDays(c.to)); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %.3f loads, want %.3f", c.name, got, c.want)
		}
	}
}

// An outlet that lets the air out more easily never makes the first date earlier, whatever else limits the run.
func TestEasierOutletIsNeverEarlier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t)
		out := &c.Run.Versions[0].Route.Outlet
		out.Kind = rapid.SampledFrom(airflow.OutletKinds()).Draw(t, "kind")
		out.K = rapid.Float64Range(0.01, 6).Draw(t, "loss")
		hard := dueDay(c)
		out.K *= rapid.Float64Range(0.1, 1).Draw(t, "ease")
		if easy := dueDay(c); easy < hard {
			t.Fatalf("due %s, with an easier outlet %s", hard, easy)
		}
	})
}

// The same between the kinds as the tables have them, in order of loss.
func TestOutletKindsInOrder(t *testing.T) {
	kinds := slices.Clone(airflow.OutletKinds())
	slices.SortFunc(kinds, func(a, b airflow.OutletKind) int { return cmp.Compare(a.LossCoefficient(), b.LossCoefficient()) })
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t)
		last := vent.Date(0)
		for i := len(kinds) - 1; i >= 0; i-- {
			c.Run.Versions[0].Route.Outlet.Kind = kinds[i]
			d := dueDay(c)
			if d < last {
				t.Fatalf("%s: due %s, with a harder outlet %s", kinds[i], d, last)
			}
			last = d
		}
	})
}
