package scheduler

import (
	"encoding/json"
	"math"
	"testing"

	"ventdue/scheduler/lint"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// speed is a comparable reading at the outlet.
func speed(v float64) []vent.Reading {
	return []vent.Reading{{Quantity: vent.AirSpeed, Value: v, Conditions: []vent.Condition{vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen}}}
}

// yearly is a run cleaned every year with the shares of the clean flow that each visit found.
func yearly(found ...float64) Input {
	in := reference()
	in.Run.Known = day("2014-03-01")
	in.Run.Versions[0].From = in.Run.Known
	for n, share := range found {
		f := cleaning(10+n, "2015-03-01")
		f.Date = in.Run.Known.AddMonths(12 * (n + 1))
		f.Before, f.After = speed(8*share), speed(8)
		in.Findings = append(in.Findings, f)
	}
	return in
}

func daysTo(t *testing.T, in Input) int {
	t.Helper()
	w := clean(t, in)
	return in.Findings[len(in.Findings)-1].Date.DaysUntil(w.Day)
}

func TestEvidenceMovesTheDate(t *testing.T) {
	fast, slow := daysTo(t, yearly(0.84, 0.85, 0.84)), daysTo(t, yearly(0.97, 0.98, 0.97))
	if slow < 700 {
		t.Errorf("a run that keeps 97 %% of its flow over a year is due after %d days: want two years", slow)
	}
	if fast > 330 {
		t.Errorf("a run that loses 16 %% a year is due after %d days", fast)
	}
}

// One nest in six years of clean history moves the next date by less than a quarter, flagged or not.
func TestOneNestMovesTheDateLittle(t *testing.T) {
	calm := daysTo(t, yearly(0.93, 0.92, 0.93, 0.92, 0.93, 0.92))
	nest := yearly(0.93, 0.92, 0.93, 0.92, 0.93, 0.35)
	for _, flagged := range []bool{false, true} {
		nest.Findings[5].Sudden = flagged
		if got := daysTo(t, nest); math.Abs(float64(got-calm)) > 0.25*float64(calm) {
			t.Errorf("flagged %v: %d days without the nest, %d with it", flagged, calm, got)
		}
		var odd bool
		for _, x := range plan(t, nest).Troubles {
			odd = odd || x.Rule == lint.OddCycle
		}
		if !odd {
			t.Errorf("flagged %v: the odd cycle raised no trouble", flagged)
		}
	}
}

// Three bad findings in a row move it at once.
func TestThreeBadFindingsMoveTheDate(t *testing.T) {
	calm := daysTo(t, yearly(0.95, 0.94, 0.95, 0.94, 0.95, 0.95, 0.94, 0.95, 0.95))
	bad := daysTo(t, yearly(0.95, 0.94, 0.95, 0.94, 0.95, 0.95, 0.80, 0.79, 0.80))
	if float64(bad) > 0.6*float64(calm) {
		t.Errorf("%d days before, %d after three bad findings", calm, bad)
	}
}

func TestPastLimitIsDueAtOnce(t *testing.T) {
	in := yearly(0.93, 0.93)
	look := vent.Finding{ID: id(50), RunID: id(1), Date: day("2016-07-01"), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly, Before: speed(8 * 0.6)}
	in.Findings = append(in.Findings, look)
	w := clean(t, in)
	if w.Day != look.Date || w.Reason.Bound != vent.BoundPastLimit || w.Severity != vent.Fix {
		t.Errorf("%+v", w)
	}
	in.Dryer.Fuel = vent.Gas
	if w := clean(t, in); w.Severity != vent.Stop || w.Day != look.Date {
		t.Errorf("gas: %+v", w)
	}
	// A cleaning settles it.
	f := cleaning(51, "2016-07-02")
	f.After = speed(8)
	in.Findings = append(in.Findings, f)
	if w := clean(t, in); w.Day <= f.Date.AddDays(29) || w.Opener != f.ID {
		t.Errorf("after cleaning: %+v", w)
	}
}

// Low pressure with low flow is a leak or a fan, not a clean and not a choked run.
func TestLowStaticWithLowFlowIsNoEvidence(t *testing.T) {
	in := yearly(0.93, 0.93)
	before := clean(t, in)
	leak := vent.Finding{ID: id(50), RunID: id(1), Date: day("2016-07-01"), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly}
	leak.Before = append(speed(4), vent.Reading{Quantity: vent.Static, Value: 40})
	in.Findings = append(in.Findings, leak)
	o := plan(t, in)
	var found bool
	for _, x := range o.Troubles {
		found = found || x.Rule == lint.LeakOrFan && x.Finding == leak.ID
	}
	if w, _ := wanted(o, vent.DueClean); !found || w.Reason.Bound == vent.BoundPastLimit || w.Day != before.Day {
		t.Errorf("trouble %v, %+v, before %s", found, w, before.Day)
	}
}

// Drying minutes never lengthen a date, and a heat fault explains them.
func TestDryingMinutes(t *testing.T) {
	in := yearly(0.93, 0.93, 0.93)
	base := daysTo(t, in)
	minutes := func(m float64) Input {
		x := yearly(0.93, 0.93, 0.93)
		for i := range x.Findings {
			x.Findings[i].Before = append(x.Findings[i].Before, vent.Reading{Quantity: vent.DryMinutes, Value: m})
		}
		return x
	}
	if short := daysTo(t, minutes(30)); short > base {
		t.Errorf("short drying moved the date from %d to %d days", base, short)
	}
	long := minutes(95)
	if got := daysTo(t, long); got >= base {
		t.Errorf("long drying did not shorten: %d, without %d", got, base)
	}
	for i := range long.Findings {
		long.Findings[i].Parts = []vent.PartCheck{{Part: "heater", Result: "open"}}
	}
	if got := daysTo(t, long); got != base {
		t.Errorf("a heater fault explains long drying: %d days, without %d", got, base)
	}
}

// Gas, shared and roof runs never get more than a year; others only with evidence, and only where the operator allows it.
func TestLongerThanAYear(t *testing.T) {
	good := func() Input { return yearly(0.98, 0.98, 0.98, 0.98) }
	if d := daysTo(t, good()); d < 600 {
		t.Fatalf("with evidence after %d days", d)
	}
	for name, change := range map[string]func(*Input){
		"gas":         func(in *Input) { in.Dryer.Fuel = vent.Gas },
		"shared":      func(in *Input) { in.Run.Shape, in.Run.ParentID = vent.Branch, id(9) },
		"roof":        func(in *Input) { in.Run.Versions[0].RoofOutlet = true },
		"not allowed": func(in *Input) { in.Policy.AllowLonger = false },
		"not measured": func(in *Input) {
			for i := range in.Findings {
				in.Findings[i].Before, in.Findings[i].After = nil, nil
			}
		},
	} {
		in := good()
		change(&in)
		if d := daysTo(t, in); d > 366 {
			t.Errorf("%s: after %d days", name, d)
		}
	}
}

func TestUnverifiedCleaningIsDueSooner(t *testing.T) {
	in := yearly(0.90, 0.90, 0.90)
	ours := daysTo(t, in)
	in.Findings[2].By.Kind, in.Findings[2].After, in.Findings[2].Reach = vent.ByOtherFirm, nil, ""
	if theirs := daysTo(t, in); theirs >= ours {
		t.Errorf("after somebody else's cleaning %d days, after ours %d", theirs, ours)
	}
}

// A new outlet starts a new clean value; what was learned of growth stays.
func TestNewVersionKeepsGrowth(t *testing.T) {
	in := yearly(0.86, 0.85, 0.86, 0.85)
	fast := daysTo(t, in)
	v := in.Run.Versions[0]
	route := *v.Route
	route.Outlet.Kind = airflow.OutletLouvered
	v.Route, v.From = &route, in.Findings[3].Date
	in.Run.Versions = append(in.Run.Versions, v)
	o := plan(t, in)
	if o.Belief.Cycles() != 0 {
		t.Errorf("%d measured cycles of a version without a finding", o.Belief.Cycles())
	}
	fresh := reference()
	fresh.Run.Versions[0].Route = &route
	from := clean(t, fresh)
	if got := daysTo(t, in); got > fresh.Run.Known.DaysUntil(from.Day) || got < fast/2 {
		t.Errorf("%d days, a new run %d, before the change %d", got, fresh.Run.Known.DaysUntil(from.Day), fast)
	}
}

// Neighbours that fill fast bring a run forward that nobody measured yet.
func TestNeighboursTeach(t *testing.T) {
	in := reference()
	in.Run.Use[0].LoadsPerWeek = 7
	alone := clean(t, in)
	var near []lint.Summary
	for n := range 6 {
		near = append(near, lint.Summary{RunID: id(100 + n), SiteID: id(77), Shift: 0.7, Precision: 30})
	}
	in.Run.SiteID = id(77)
	in.Pool = lint.PoolOf(lint.Summary{RunID: in.Run.ID, SiteID: id(77)}, near)
	if w := clean(t, in); w.Day >= alone.Day {
		t.Errorf("with fast neighbours %s, alone %s", w.Day, alone.Day)
	}
	branch := lint.Summary{RunID: in.Run.ID, SiteID: id(77), Apart: true}
	if p := lint.PoolOf(branch, near); p.Site.Runs != 0 {
		t.Error("a branch was blamed for its neighbours")
	}
	var t0 lint.Tally
	for _, s := range near {
		t0.Add(s)
	}
	if got := t0.Less(near[5]); got.Runs != 5 || math.Abs(got.Sum/got.Weight-0.7) > 1e-9 {
		t.Errorf("%+v", got)
	}
}

func TestSharpen(t *testing.T) {
	in := reference()
	in.Run.Versions[0].Route = nil
	in.Run.Use = nil
	list, err := Sharpen(in, in.Run.Known.AddDays(100))
	if err != nil || len(list) == 0 {
		t.Fatal(list, err)
	}
	for i, s := range list {
		if i > 0 && s.most() > list[i-1].most() {
			t.Error("not the most telling first")
		}
		if s.most() <= 0 || s.Earlier < 0 || s.Later < 0 {
			t.Errorf("%+v moves nothing", s)
		}
	}
}

// FuzzPlan feeds hostile histories: whatever is written down, no number is lost and no day leaves the policy.
func FuzzPlan(f *testing.F) {
	f.Add([]byte{1, 2, 3}, 5.44, 8.0, 7.0, 25.0, uint8(0))
	f.Add([]byte{0xff, 0, 7, 200, 90}, 0.0, 1e300, -3.0, 1e-9, uint8(3))
	f.Add([]byte("a longer history with many findings of all kinds"), 700.0, 0.0, math.Inf(1), 99.0, uint8(7))
	f.Fuzz(func(t *testing.T, script []byte, loads, a, b, feet float64, flags uint8) {
		in := reference()
		in.Run.Use[0].LoadsPerWeek = loads
		in.Run.Versions[0].Route.Sections[0].Length = airflow.Feet(feet)
		if flags&1 != 0 {
			in.Dryer.Fuel = vent.Gas
		}
		if flags&2 != 0 {
			in.Run.Versions[0].From = 0
		}
		if flags&4 != 0 {
			in.Run.Versions = append(in.Run.Versions, vent.Version{From: in.Run.Known.AddMonths(20)})
		}
		outcomes := []vent.Outcome{vent.LookedOnly, vent.Full, vent.Partial, vent.OneEnd, vent.Failed}
		quantities := []vent.Quantity{vent.AirSpeed, vent.Static, vent.Flow, vent.Flap, vent.DryMinutes, vent.LintMass, vent.ExhaustT}
		grades := []vent.Grade{"", vent.Bare, vent.Film, vent.Fuzz, vent.Mat, vent.Plugged}
		at := in.Run.Known
		for i, c := range script[:min(len(script), 40)] {
			at = at.AddDays(int(c) * 3)
			x := vent.Finding{ID: id(200 + i), RunID: id(1), Date: at, By: vent.Doer{Kind: vent.ByUs}, Outcome: outcomes[int(c)%len(outcomes)]}
			x.Before = []vent.Reading{{Quantity: quantities[(int(c)/5)%len(quantities)], Value: a, Doubt: b}}
			x.LintBefore = grades[int(c)%len(grades)]
			if x.Cleaned() {
				x.After = []vent.Reading{{Quantity: quantities[(int(c)/3)%len(quantities)], Value: b}}
			}
			x.LoadCounter = int64(c) * int64(i)
			in.Findings = append(in.Findings, x)
		}
		o, err := Plan(in)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(o.Dues); err != nil { // refuses what is no number
			t.Fatalf("%v in %+v", err, o.Dues)
		}
		for _, w := range o.Dues {
			since := max(o.Belief.Since(), in.Run.Known)
			if !w.Day.Valid() || w.Earliest > w.Day || w.Day > w.Latest {
				t.Fatalf("window %s %s %s", w.Earliest, w.Day, w.Latest)
			}
			if w.Day < o.Belief.Since() || w.Reason.Chance < 0 || w.Reason.Chance > 1 {
				t.Fatalf("%+v", w)
			}
			if w.Kind == vent.DueClean && w.Reason.Bound != vent.BoundPastLimit && !w.Unknown && len(in.Findings) == 0 &&
				(w.Day < since.AddDays(30) || w.Day > since.AddMonths(24)) {
				t.Fatalf("preventive day %s outside the policy, since %s", w.Day, since)
			}
			// Two years from the last cleaning of any kind: one that did not reach everything but was read clean counts too.
			if last := max(since, o.Belief.From()); w.Kind == vent.DueClean && !w.Unknown && w.Reason.Bound != vent.BoundPastLimit && w.Day > last.AddMonths(24) {
				t.Fatalf("%s is later than two years after %s", w.Day, last)
			}
		}
	})
}
