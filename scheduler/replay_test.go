package scheduler_test

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"ventdue/scheduler"
	"ventdue/scheduler/due"
	"ventdue/scheduler/lint"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// lived is an ordinary run, built on a day, with full cleanings: readings before and after in m/s.
func lived(built vent.Date, cleanings ...[3]float64) scheduler.Input {
	in := scheduler.Input{
		Run: vent.Run{ID: vent.ID{7}, Name: vent.UsualRunName, Shape: vent.Single, Known: built, Versions: []vent.Version{{
			From: built, DryerID: vent.ID{9}, Measured: true,
			Route: &airflow.Duct{
				Sections: []airflow.Section{{Material: airflow.SmoothMetal, Length: airflow.Feet(20), Diameter: airflow.Inches(4)}},
				Fittings: []airflow.Fitting{{Kind: airflow.Mitered90, Count: 2}},
				Outlet:   airflow.Outlet{Kind: airflow.OutletFlapper},
			},
		}}, Use: []vent.Use{{LoadsPerWeek: 5, Source: vent.UseTold}}},
		Dryer:  vent.Appliance{ID: vent.ID{9}, Kind: vent.Dryer, Fuel: vent.Electric},
		Unit:   vent.Unit{Kind: vent.House, Name: "house"},
		Policy: due.Default(),
	}
	for i, c := range cleanings {
		in.Findings = append(in.Findings, vent.Finding{
			ID: vent.ID{1, byte(i)}, RunID: in.Run.ID, Date: built.AddDays(int(c[0])), Source: "visit", By: vent.Doer{Kind: vent.ByUs},
			Outcome: vent.Full, Reach: vent.ReachThrough, Before: speed(c[1]), After: speed(c[2]),
		})
	}
	return in
}

func speed(v float64) []vent.Reading {
	if v == 0 {
		return nil
	}
	return []vent.Reading{{Quantity: vent.AirSpeed, Value: v, Conditions: []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen}}}
}

func replay(t testing.TB, in scheduler.Input) scheduler.Replayed {
	t.Helper()
	r, err := scheduler.Replay(in, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var built = vent.NewDate(2020, 3, 1)

// TestReplayIsThePlanOfTheDay: what a step says was expected is what the rules say of the same run the evening before.
func TestReplayIsThePlanOfTheDay(t *testing.T) {
	in := lived(built, [3]float64{360, 7.1, 8.1}, [3]float64{700, 7.2, 8.0}, [3]float64{1100, 5.2, 8.1})
	r := replay(t, in)
	if r.Visits != 3 || len(r.Steps) != 3 || len(r.Cycles) != 3 || r.Unforetold+r.Silent != 0 {
		t.Fatalf("%+v", r)
	}
	for i, s := range r.Steps {
		then := in
		then.Findings = in.Findings[:i]
		o, err := scheduler.Plan(then)
		if err != nil {
			t.Fatal(err)
		}
		if s.Chance != o.Belief.Chance(s.On) || s.Due != o.Dues[0].Day || s.Expected != o.Belief.Quantile(s.On, 0.5) || s.Since != o.Belief.Since() {
			t.Errorf("step %d: %+v", i, s)
		}
		if !(s.Low <= s.Expected && s.Expected <= s.High) {
			t.Errorf("step %d: band %v %v %v", i, s.Low, s.Expected, s.High)
		}
		since := built
		if i > 0 {
			since = in.Findings[i-1].Date
		}
		if c := r.Cycles[i]; c.From != since || c.To != in.Findings[i].Date || c.Days != since.DaysUntil(s.Due) {
			t.Errorf("cycle %d: from %s to %s, %d days", i, c.From, c.To, c.Days)
		}
	}
	// 7.1 of 8.1 m/s is 88 % of the clean air, 5.2 of 8.1 is 64 %, below every limit; clean values by hand, a
	// tenth is left for what the route lets expect.
	for i, want := range []float64{7.1 / 8.1, 7.2 / 8.05, 5.2 / 8.07} {
		if got := r.Steps[i].Found.Share; math.Abs(got-want) > 0.1 {
			t.Errorf("step %d found %.3f of the clean air, want about %.3f", i, got, want)
		}
	}
	if r.Steps[0].Found.Past != scheduler.Within || r.Steps[2].Found.Past != scheduler.Past {
		t.Errorf("%+v", r.Steps)
	}
}

// TestReplayKnowsNothingOfLater: whatever is recorded on or after the day of a visit changes nothing of what was expected of it.
func TestReplayKnowsNothingOfLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var cleanings [][3]float64
		on := 0
		for range rapid.IntRange(2, 6).Draw(t, "cleanings") {
			on += rapid.IntRange(40, 500).Draw(t, "apart")
			cleanings = append(cleanings, [3]float64{float64(on), rapid.Float64Range(4, 8.5).Draw(t, "before"), rapid.Float64Range(6.5, 8.5).Draw(t, "after")})
		}
		in := lived(built, cleanings...)
		for i := range in.Findings {
			in.Findings[i].Outcome = rapid.SampledFrom([]vent.Outcome{vent.Full, vent.Full, vent.Partial}).Draw(t, "outcome")
		}
		whole, err := scheduler.Replay(in, nil)
		if err != nil {
			t.Fatal(err)
		}
		n := rapid.IntRange(1, len(cleanings)-1).Draw(t, "known")
		cut := in.Findings[n].Date
		other := in
		other.Findings = append([]vent.Finding{}, in.Findings[:n+1]...)
		other.Findings[n].After, other.Findings[n].Outcome = speed(3), vent.OneEnd
		next := in.Run.Versions[0]
		next.From, next.RoofOutlet = cut.AddDays(rapid.IntRange(0, 50).Draw(t, "rebuilt")), true
		other.Run.Versions = append([]vent.Version{}, in.Run.Versions[0], next)
		other.Run.Use = append([]vent.Use{}, in.Run.Use[0], vent.Use{From: cut, LoadsPerWeek: 50, Source: vent.UseCounter})
		other.Faults = []vent.Fault{{ID: vent.ID{3}, Subject: vent.Subject{Kind: vent.KindAppliance, ID: in.Dryer.ID}, Rule: "heat", Found: cut}}
		other.Run.Ended = cut.AddDays(3)
		other.Pool = lint.Pool{Site: lint.Tally{Weight: 50, Sum: 100, Runs: 9}}
		later, err := scheduler.Replay(other, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(whole.Steps) != len(cleanings) || len(later.Steps) != n+1 {
			t.Fatalf("%d and %d steps", len(whole.Steps), len(later.Steps))
		}
		if !reflect.DeepEqual(whole.Steps[:n+1], later.Steps) {
			t.Errorf("with another future:\n%+v\n%+v", whole.Steps[:n+1], later.Steps)
		}
	})
}

// TestReplayTakesTheDryerOfTheTime: an older version is judged with its own dryer's blower.
func TestReplayTakesTheDryerOfTheTime(t *testing.T) {
	in := lived(built, [3]float64{300, 7, 8}, [3]float64{900, 7, 8})
	old := vent.Appliance{ID: vent.ID{8}, Kind: vent.Dryer, Fuel: vent.Gas, Class: airflow.Compact}
	first := in.Run.Versions[0]
	first.DryerID = old.ID
	second := in.Run.Versions[0]
	second.From = built.AddDays(500)
	in.Run.Versions = []vent.Version{first, second}
	r, err := scheduler.Replay(in, func(id vent.ID) vent.Appliance {
		if id == old.ID {
			return old
		}
		return vent.Appliance{}
	})
	if err != nil {
		t.Fatal(err)
	}
	then := in
	then.Run.Versions, then.Findings, then.Dryer = []vent.Version{first}, nil, old
	o, err := scheduler.Plan(then)
	if err != nil {
		t.Fatal(err)
	}
	if r.Steps[0].Due != o.Dues[0].Day || r.Steps[0].Chance != o.Belief.Chance(r.Steps[0].On) {
		t.Errorf("%+v, want due %s", r.Steps[0], o.Dues[0].Day)
	}
}

// TestReplaySaysWhatItCannotTell: visits without a known cleaning before them, and without a word on lint, are counted apart;
// failed visits are none; lint by sight decides at its ends alone.
func TestReplaySaysWhatItCannotTell(t *testing.T) {
	in := lived(built, [3]float64{100, 7, 8}, [3]float64{400, 0, 8}, [3]float64{700, 0, 0}, [3]float64{1000, 0, 8}, [3]float64{1300, 0, 8}, [3]float64{1600, 6, 8})
	in.Run.Versions[0].From, in.Run.Known = 0, built.AddDays(2000)
	in.Findings[3].LintBefore, in.Findings[4].LintBefore = vent.Plugged, vent.Mat
	in.Findings[5].Sudden = true
	failed := in.Findings[2]
	failed.ID, failed.Date, failed.Outcome = vent.ID{2}, failed.Date.AddDays(10), vent.Failed
	replaced := in.Findings[2]
	replaced.ID, replaced.Date, replaced.Replaced = vent.ID{3}, failed.Date.AddDays(20), vent.ID{4}
	in.Findings = append(in.Findings, failed, replaced)
	r := replay(t, in)
	if r.Visits != 6 || r.Unforetold != 1 || r.Silent != 2 || len(r.Steps) != 3 || len(r.Cycles) != 0 {
		t.Fatalf("%+v", r)
	}
	got := []scheduler.Verdict{r.Steps[0].Found.Past, r.Steps[1].Found.Past}
	if want := []scheduler.Verdict{scheduler.Past, scheduler.Undecided}; !reflect.DeepEqual(got, want) || !r.Steps[2].Found.Sudden {
		t.Errorf("%v, want %v", got, want)
	}
	if r := replay(t, lived(built)); r.Visits != 0 || r.Steps != nil {
		t.Errorf("a run without findings: %+v", r)
	}
	bad := lived(built, [3]float64{100, 7, 8})
	bad.Policy = due.Policy{}
	if _, err := scheduler.Replay(bad, nil); err == nil {
		t.Error("a policy that cannot be was taken")
	}
}

// TestCycleChoked: the weeks past the limit never fall, never outrun the calendar, and lie between whole weeks on a line.
func TestCycleChoked(t *testing.T) {
	r := replay(t, lived(built, [3]float64{360, 5, 8.1}))
	c := r.Cycles[0]
	for w := 1; w <= scheduler.Weeks; w++ {
		if step := c.Choked[w] - c.Choked[w-1]; step < 0 || step > 1+1e-12 {
			t.Fatalf("week %d adds %v", w, step)
		}
	}
	if a := c.ChokedIn(7 * 40.5); math.Abs(a-(c.Choked[40]+c.Choked[41])/2) > 1e-12 {
		t.Errorf("half a week: %v", a)
	}
	if c.ChokedIn(-3) != 0 || c.ChokedIn(1e9) != c.Choked[scheduler.Weeks] {
		t.Error("outside")
	}
	// Found at 5 of 8.1 m/s, 62 %, after 360 days: long past any limit by then.
	if c.ChokedIn(360) < 4 || c.ChokedIn(60) > 1 {
		t.Errorf("%v weeks past the limit in 360 days, %v in 60", c.ChokedIn(360), c.ChokedIn(60))
	}
}

func TestScoreByHand(t *testing.T) {
	s := scheduler.NewScore()
	step := func(chance float64, v scheduler.Verdict, share float64) scheduler.Step {
		return scheduler.Step{Chance: chance, Low: 0.8, Expected: 0.9, High: 0.95, Found: scheduler.Found{Share: share, Past: v}}
	}
	r := scheduler.Replayed{Visits: 8, Unforetold: 1, Silent: 1, Steps: []scheduler.Step{
		step(0.01, scheduler.Within, 0.92), step(0.05, scheduler.Within, 0.84), step(0.07, scheduler.Past, 0.70), step(1, scheduler.Past, 0.66),
		step(0.3, scheduler.Undecided, 0), {Chance: 0.4, Found: scheduler.Found{Sudden: true, Past: scheduler.Past, Share: 0.2}},
	}}
	s.Add(r)
	if s.Runs != 1 || s.Visits != 8 || s.Unforetold != 1 || s.Silent != 1 || s.Compared != 6 || s.Sudden != 1 || s.SuddenPast != 1 || s.Undecided != 1 {
		t.Errorf("%+v", s)
	}
	type row struct {
		visits, past int
		said         float64
	}
	var got []row
	for _, b := range append(s.Bins, s.All) {
		got = append(got, row{b.Visits, b.Past, math.Round(b.Said*1e9) / 1e9})
	}
	// Bins from 0, 2, 5, 10, 20 and 50 %: an edge belongs to the upper one; all, by hand.
	if want := []row{{1, 0, 0.01}, {0, 0, 0}, {2, 1, 0.12}, {0, 0, 0}, {0, 0, 0}, {1, 1, 1}, {4, 2, 1.13}}; !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	// Differences 0.02, -0.06, -0.20, -0.24: mean -0.12, mean size 0.13; two of four within 0.80 to 0.95.
	if f := s.Flow; f.Readings != 4 || math.Abs(f.Bias+0.12) > 1e-12 || math.Abs(f.Absolute-0.13) > 1e-12 || f.InBand != 2 {
		t.Errorf("%+v", f)
	}
	if s.Trust() != scheduler.TooLittle {
		t.Error("four visits are enough to judge by")
	}
}

// TestWilson: Wilson's interval for 81 of 263 is 0.2553 to 0.3662, for 15 of 148 0.0624 to 0.1605, for 0 of 20 0 to 0.1611
// (read: Newcombe 1998, Statistics in Medicine 17, table I; from memory of the table, checked by hand).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		past, of  int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}} {
		s := scheduler.NewScore()
		for i := range c.of {
			v := scheduler.Within
			if i < c.past {
				v = scheduler.Past
			}
			s.Add(scheduler.Replayed{Visits: 1, Steps: []scheduler.Step{{Chance: 0.1, Found: scheduler.Found{Past: v}}}})
		}
		if math.Abs(s.All.Low-c.low) > 5e-5 || math.Abs(s.All.High-c.high) > 5e-5 {
			t.Errorf("%d of %d: %.4f to %.4f, want %.4f to %.4f", c.past, c.of, s.All.Low, s.All.High, c.low, c.high)
		}
	}
}

// TestTrust: with a tenth said of 100 visits, ten are expected, give or take twice the root of 9, and a half.
func TestTrust(t *testing.T) {
	for past, want := range map[int]scheduler.Trust{0: scheduler.LessOften, 3: scheduler.LessOften, 4: scheduler.AsSaid, 10: scheduler.AsSaid, 16: scheduler.AsSaid, 17: scheduler.MoreOften, 60: scheduler.MoreOften} {
		s := scheduler.NewScore()
		for i := range 100 {
			v := scheduler.Within
			if i < past {
				v = scheduler.Past
			}
			s.Add(scheduler.Replayed{Steps: []scheduler.Step{{Chance: 0.1, Found: scheduler.Found{Past: v}}}})
		}
		if got := s.Trust(); got != want {
			t.Errorf("%d of 100: %s, want %s", past, got, want)
		}
	}
}

// choked is a cycle that goes past its limit a number of days after the cleaning and was watched for a year.
func choked(after, interval int) scheduler.Cycle {
	c := scheduler.Cycle{From: built, To: built.AddDays(365), Days: interval}
	for w := range c.Choked {
		c.Choked[w] = max(0, float64(w)-float64(after)/7)
	}
	return c
}

// TestFixedByHand: one run chokes after 70 days, one after 350; the rules open them after 70 and 350. That is 1/70 + 1/350 =
// 6/350 cleanings a day for two runs, so the fixed rule opens both every 350/3 = 116.67 days: the first is past its limit for
// 46.67 of them, 40 %; together 20 % of 52.18 weeks a year.
func TestFixedByHand(t *testing.T) {
	s := scheduler.NewScore()
	s.Add(scheduler.Replayed{Cycles: []scheduler.Cycle{choked(70, 70), choked(350, 350)}})
	f := s.Fixed
	if f.Cycles != 2 || math.Abs(f.RunYears-2*365/365.25) > 1e-9 || math.Abs(f.Interval-350.0/3) > 1e-6 || f.Rules > 1e-9 || f.Beyond != 0 {
		t.Errorf("%+v", f)
	}
	if want := 0.20 * 365.25 / 7; math.Abs(f.Same-want) > 0.01*want {
		t.Errorf("%.3f weeks under the fixed rule, want %.3f", f.Same, want)
	}
	if want := 365.25 * 3 / 350; math.Abs(f.Cleanings-want) > 1e-9 {
		t.Errorf("%v cleanings, want %v", f.Cleanings, want)
	}
	// One interval for all is the fixed rule itself.
	one := scheduler.NewScore()
	one.Add(scheduler.Replayed{Cycles: []scheduler.Cycle{choked(70, 200), choked(350, 200), choked(150, 200)}})
	if f := one.Fixed; math.Abs(f.Rules-f.Same) > 1e-9 || math.Abs(f.Interval-200) > 1e-9 {
		t.Errorf("%+v", f)
	}
	late := scheduler.NewScore()
	late.Add(scheduler.Replayed{Cycles: []scheduler.Cycle{choked(70, 400)}})
	if late.Fixed.Beyond != 1 {
		t.Errorf("%+v", late.Fixed)
	}
}

func BenchmarkReplay(b *testing.B) {
	in := lived(built, [3]float64{360, 7.1, 8.1}, [3]float64{700, 7.2, 8.0}, [3]float64{1100, 5.2, 8.1}, [3]float64{1400, 7.1, 8.1}, [3]float64{1800, 7.2, 8.0}, [3]float64{2100, 6.9, 8.1})
	b.Run("six-visits", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := scheduler.Replay(in, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("floor-one-plan", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := scheduler.Plan(in); err != nil {
				b.Fatal(err)
			}
		}
	})
}
