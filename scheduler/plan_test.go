package scheduler

import (
	"fmt"
	"math"
	"testing"

	"ventdue/scheduler/due"
	"ventdue/scheduler/lint"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

func day(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func id(n int) vent.ID { return vent.ID{0: byte(n >> 8), 15: byte(n), 7: byte(n * 31)} }

// reference is the run of 25 ft smooth 4 in duct with two 90s, 5.44 loads a week, installed on 2024-03-01.
func reference() Input {
	from := day("2024-03-01")
	return Input{
		Run: vent.Run{
			ID: id(1), Name: "laundry", Shape: vent.Single, Known: from,
			Versions: []vent.Version{{From: from, Measured: true, Route: &airflow.Duct{
				Sections: []airflow.Section{{Material: airflow.SmoothMetal, Length: airflow.Feet(25), Diameter: airflow.Inches(4)}},
				Fittings: []airflow.Fitting{{Kind: airflow.Mitered90, Count: 2}},
				Outlet:   airflow.Outlet{Kind: airflow.OutletFlapper},
			}}},
			Use: []vent.Use{{LoadsPerWeek: 5.44, Source: vent.UseTold}},
		},
		Dryer:  vent.Appliance{Kind: vent.Dryer, Fuel: vent.Electric},
		Unit:   vent.Unit{Kind: vent.House},
		Policy: due.Default(),
	}
}

func cleaning(n int, on string) vent.Finding {
	return vent.Finding{ID: id(n), RunID: id(1), Date: day(on), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Reach: vent.ReachThrough}
}

func plan(t *testing.T, in Input) Outlook {
	t.Helper()
	o, err := Plan(in)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func wanted(o Outlook, k vent.DueKind) (vent.Wanted, bool) {
	for _, w := range o.Dues {
		if w.Kind == k {
			return w, true
		}
	}
	return vent.Wanted{}, false
}

func clean(t *testing.T, in Input) vent.Wanted {
	t.Helper()
	w, ok := wanted(plan(t, in), vent.DueClean)
	if !ok {
		t.Fatal("no cleaning is wanted")
	}
	return w
}

func TestReferenceRunIsDueAfterAboutAYear(t *testing.T) {
	w := clean(t, reference())
	if w.Day < day("2025-02-01") || w.Day > day("2025-03-01") { // 12 months at most without evidence, 12 within 1 by the model
		t.Errorf("due %s", w.Day)
	}
	if w.Opener != id(1) || w.Unknown || w.Reason.Risk != 0.10 || w.Reason.Since != day("2024-03-01") {
		t.Errorf("%+v", w)
	}
}

func TestUnknownLastCleaningIsDueNowWorstFirst(t *testing.T) {
	in := reference()
	in.Run.Versions[0].From = 0
	plain := clean(t, in)
	known := in.Run.Known
	if !plain.Unknown || plain.Day < known || plain.Day > known.AddDays(56) || plain.Reason.Bound != vent.BoundUnknown {
		t.Errorf("%+v", plain)
	}
	worse := in
	worse.Run.PastFuse = true
	worse.Signs = []vent.Sign{{ID: id(9), Kind: vent.TwoCycles, On: known}}
	if w := clean(t, worse); w.Day >= plain.Day || w.Reason.Worst <= plain.Reason.Worst {
		t.Errorf("a past fuse and a sign: %s, without: %s", w.Day, plain.Day)
	}
	days := map[vent.Date]int{}
	for n := range 2000 {
		in.Run.ID = id(n + 1)
		days[clean(t, in).Day]++
	}
	for d, n := range days {
		if n > 2000/8 {
			t.Errorf("%d of 2000 like runs on %s", n, d)
		}
	}
	// Old installation, nobody knows of a cleaning: not an interval counted from 2005.
	in = reference()
	in.Run.Versions[0].From = day("2005-01-01")
	if w := clean(t, in); !w.Unknown || w.Day < known {
		t.Errorf("%+v", w)
	}
}

func TestLookAndCleanAreTwoDues(t *testing.T) {
	in := reference()
	in.Findings = []vent.Finding{
		cleaning(2, "2025-03-01"),
		{ID: id(3), RunID: id(1), Date: day("2025-06-01"), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly},
	}
	o := plan(t, in)
	w, _ := wanted(o, vent.DueClean)
	if w.Opener != id(2) || w.Day > day("2026-03-01") || w.Day <= day("2025-06-01") {
		t.Errorf("clean %+v", w)
	}
	if l, ok := wanted(o, vent.DueLook); ok && (l.Opener != id(3) || l.Day >= w.Day) {
		t.Errorf("look %+v beside clean %s", l, w.Day)
	}
}

func TestPartialAndFailedDoNotCloseACleaning(t *testing.T) {
	in := reference()
	before := clean(t, in)
	partial := vent.Finding{ID: id(2), RunID: id(1), Date: day("2025-02-20"), By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.OneEnd, Reach: vent.ReachHood}
	in.Findings = []vent.Finding{partial}
	w := clean(t, in)
	if w.Opener != before.Opener {
		t.Errorf("a partial cleaning opened a new cycle: %+v", w)
	}
	if w.Day < partial.Date || w.Day > partial.Date.AddDays(31) {
		t.Errorf("after a partial cleaning due %s, want within a month of %s", w.Day, partial.Date)
	}
	in.Findings[0].Outcome = vent.Failed
	if w := clean(t, in); w.Opener != before.Opener || w.Day < in.Findings[0].Date {
		t.Errorf("after a failed one %+v", w)
	}
}

func TestCeilingIsHard(t *testing.T) {
	in := reference()
	in.Run.Ceilings = []vent.Ceiling{{Months: 6, Source: "lease"}}
	w := clean(t, in)
	if w.Day != day("2024-09-01") || w.Latest != w.Day || w.Reason.Bound != vent.BoundCeiling || w.Reason.Source != "lease" {
		t.Errorf("%+v", w)
	}
}

func TestToldDayHolds(t *testing.T) {
	in := reference()
	w := clean(t, in)
	told := vent.Due{Wanted: w, State: vent.DueOpen, ToldDay: w.Day}
	in.Open = []vent.Due{told}
	in.Run.Use[0].LoadsPerWeek = 4.5 // would be later: no evidence of the run's own
	in.Policy.Risk = 0.10
	later := clean(t, in)
	if later.Day != w.Day {
		t.Errorf("a told day %s moved to %s", w.Day, later.Day)
	}
	in.Run.Use[0].LoadsPerWeek = 5.6 // a few days sooner
	if got := clean(t, in); got.Day != w.Day {
		t.Errorf("a told day %s moved a little to %s", w.Day, got.Day)
	}
	in.Run.Use[0].LoadsPerWeek = 9
	if got := clean(t, in); w.Day.DaysUntil(got.Day) > -7 {
		t.Errorf("a told day %s did not move: %s", w.Day, got.Day)
	}
}

func TestWinterIsAvoided(t *testing.T) {
	north, south := 42.0, -42.0
	in := reference()
	in.Run.Versions[0].From, in.Run.Known = day("2024-01-20"), day("2024-01-20")
	in.Site.Lat = &north
	if w := clean(t, in); w.Day != day("2024-12-14") || w.Reason.Bound != vent.BoundWinter {
		t.Errorf("north %s %s", w.Day, w.Reason.Bound)
	}
	in.Site.Lat = &south
	if w := clean(t, in); w.Reason.Bound == vent.BoundWinter {
		t.Errorf("south in summer %s", w.Day)
	}
	in.Run.Versions[0].From, in.Run.Known = day("2024-07-20"), day("2024-07-20")
	if w := clean(t, in); w.Day != day("2025-06-14") || w.Reason.Bound != vent.BoundWinter {
		t.Errorf("south %s %s", w.Day, w.Reason.Bound)
	}
}

func TestEndedRunWantsNothing(t *testing.T) {
	in := reference()
	in.Run.Ended = day("2025-01-01")
	if o := plan(t, in); len(o.Dues) != 0 {
		t.Errorf("%+v", o.Dues)
	}
}

func TestRefusals(t *testing.T) {
	in := reference()
	in.Policy.Risk = math.NaN()
	if _, err := Plan(in); err == nil {
		t.Error("a risk that is no number was taken")
	}
	in = reference()
	in.Run.Versions = nil
	if _, err := Plan(in); err == nil {
		t.Error("a run without a version was taken")
	}
}

// A long flexible run of a small blower stands past the maker's limit when clean: a fault, not a monthly cleaning.
func TestCleanPastMakerIsATrouble(t *testing.T) {
	in := reference()
	in.Run.Versions[0].Route.Sections[0].Length = airflow.Feet(60)
	in.Run.Versions[0].Route.Sections[0].Material = airflow.FoilFlex
	o := plan(t, in)
	if len(o.Troubles) != 1 || o.Troubles[0].Rule != lint.CleanPastMaker {
		t.Fatalf("%+v", o.Troubles)
	}
	if w := clean(t, in); in.Run.Known.DaysUntil(w.Day) < 60 {
		t.Errorf("due after %d days", in.Run.Known.DaysUntil(w.Day))
	}
}

func ExamplePlan() {
	out, err := Plan(reference())
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, w := range out.Dues {
		fmt.Println(w.Kind, w.Reason.Limit, w.Reason.Risk)
	}
	// Output: clean pressure 0.1
}
