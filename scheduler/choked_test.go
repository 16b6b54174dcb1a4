package scheduler

import (
	"slices"
	"testing"

	"ventdue/scheduler/lint"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// atOutlet is a comparable air speed at the outlet, in ft/min.
func atOutlet(fpm float64) []vent.Reading {
	return []vent.Reading{supposedReading(float64(airflow.FeetPerMinute(fpm)))}
}

func troubled(o Outlook, rule string) bool {
	return slices.ContainsFunc(o.Troubles, func(t lint.Trouble) bool { return t.Rule == rule })
}

// A run that is left matted or plugged is not clean, whatever the outcome says: it is due on the day itself. The grades' own
// words (vent.Mat "narrows the bore", vent.Plugged "hardly any way through") are the source.
func TestRunLeftChokedIsDueAtOnce(t *testing.T) {
	for _, outcome := range []vent.Outcome{vent.Full, vent.Partial, vent.OneEnd} {
		for _, left := range []vent.Grade{vent.Mat, vent.Plugged} {
			for _, fuel := range []vent.Fuel{vent.Electric, vent.Gas} {
				in := reference()
				in.Dryer.Fuel = fuel
				f := cleaning(2, "2025-01-10")
				f.Outcome, f.LintBefore, f.LintAfter = outcome, vent.Plugged, left
				f.After = atOutlet(1480) // a reading that contradicts the eye earns nothing
				in.Findings = []vent.Finding{f}
				o := plan(t, in)
				w, _ := wanted(o, vent.DueClean)
				severity := vent.Fix
				if fuel == vent.Gas {
					severity = vent.Stop
				}
				if w.Day != f.Date || w.Latest != f.Date || w.Reason.Bound != vent.BoundPastLimit || w.Severity != severity ||
					w.Reason.Seen != left || w.Reason.SeenOn != f.Date || !troubled(o, lint.AfterPastLimit) {
					t.Errorf("%s left %s, %s: %s %s %q, seen %s on %s, %v", outcome, left, fuel, w.Day, w.Severity, w.Reason.Bound, w.Reason.Seen, w.Reason.SeenOn, o.Troubles)
				}
				if o.Belief.ProvenClean() {
					t.Errorf("%s left %s: proven clean", outcome, left)
				}
				// Somebody looks again and sees a film: the run is open after all.
				again := vent.Finding{ID: id(3), RunID: id(1), Date: day("2025-01-12"), By: f.By, Outcome: vent.LookedOnly, LintBefore: vent.Film, Before: atOutlet(1500)}
				in.Findings = append(in.Findings, again)
				if w := clean(t, in); w.Reason.Bound == vent.BoundPastLimit || w.Day < again.Date {
					t.Errorf("%s left %s, then seen open: %s %q", outcome, left, w.Day, w.Reason.Bound)
				}
			}
		}
	}
}

// More lint left never earns a later date; fuzz left shortens it, bare metal and a film do not make it due.
func TestFuzzLeftShortensTheDate(t *testing.T) {
	days := map[vent.Grade]vent.Date{}
	for _, g := range []vent.Grade{vent.NotGraded, vent.Bare, vent.Film, vent.Fuzz} {
		in := reference()
		f := cleaning(2, "2025-01-10")
		f.LintBefore, f.LintAfter = vent.Mat, g
		in.Findings = []vent.Finding{f}
		o := plan(t, in)
		w, _ := wanted(o, vent.DueClean)
		if w.Reason.Bound == vent.BoundPastLimit || w.Day < f.Date.AddMonths(2) || len(o.Troubles) > 0 {
			t.Errorf("left %q: %s %q %v", g, w.Day, w.Reason.Bound, o.Troubles)
		}
		days[g] = o.Belief.Day(0.1)
	}
	t.Log(days)
	if !(days[vent.Fuzz] < days[vent.Film] && days[vent.Fuzz] < days[vent.NotGraded] && days[vent.Film] <= days[vent.Bare]) {
		t.Errorf("%v", days)
	}
}

// What is seen outvotes an earlier good reading, and the reason says what was seen and when.
func TestRunSeenPluggedIsDueAtOnce(t *testing.T) {
	for _, outcome := range []vent.Outcome{vent.LookedOnly, vent.Failed} {
		for _, g := range []vent.Grade{vent.Plugged, vent.Mat} {
			in := reference()
			good := cleaning(2, "2024-06-01")
			good.After = atOutlet(1500)
			look := vent.Finding{ID: id(3), RunID: id(1), Date: day("2024-09-01"), By: good.By, Outcome: outcome, LintBefore: g}
			in.Findings = []vent.Finding{good, look}
			w := clean(t, in)
			if w.Day != look.Date || w.Reason.Bound != vent.BoundPastLimit || w.Reason.Seen != g || w.Reason.SeenOn != look.Date {
				t.Errorf("%s %s: %s %q, seen %q on %s", outcome, g, w.Day, w.Reason.Bound, w.Reason.Seen, w.Reason.SeenOn)
			}
		}
	}
}

// A reading after a cleaning far below what the route allows says that something blocks: it never becomes the clean value.
func TestFarTooLowAfterCleaningIsNoCleanValue(t *testing.T) {
	for _, described := range []bool{true, false} {
		for _, earlier := range []bool{false, true} {
			for _, fpm := range []float64{0, 50, 150, 200, 300} {
				in := reference()
				in.Run.Versions[0].Measured = false
				if !described {
					in.Run.Versions[0].Route = nil
				}
				if earlier {
					f := cleaning(2, "2024-09-01")
					f.After = atOutlet(1500)
					in.Findings = append(in.Findings, f)
				}
				f := cleaning(3, "2025-01-10")
				f.After = atOutlet(fpm)
				in.Findings = append(in.Findings, f)
				o := plan(t, in)
				w, _ := wanted(o, vent.DueClean)
				if !troubled(o, lint.AfterFarBelow) || !troubled(o, lint.AfterPastLimit) {
					t.Errorf("described %v, earlier %v, %g fpm: troubles %v", described, earlier, fpm, o.Troubles)
				}
				if w.Day != f.Date || w.Reason.Bound != vent.BoundPastLimit || w.Reason.LastFlow > 0.4 || !(w.Reason.LastFlow > 0) {
					t.Errorf("described %v, earlier %v, %g fpm: %s %q, last flow %.2f", described, earlier, fpm, w.Day, w.Reason.Bound, w.Reason.LastFlow)
				}
				if v := o.Belief.CleanSpeed(); v < float64(airflow.FeetPerMinute(800)) {
					t.Errorf("described %v, earlier %v, %g fpm: clean speed %.2f m/s", described, earlier, fpm, v)
				}
				// Read again, rightly: the date is that of a clean run.
				again := vent.Finding{ID: id(4), RunID: id(1), Date: day("2025-01-12"), By: f.By, Outcome: vent.LookedOnly, Before: atOutlet(1500)}
				in.Findings = append(in.Findings, again)
				if w := clean(t, in); w.Reason.Bound == vent.BoundPastLimit {
					t.Errorf("described %v, earlier %v, %g fpm, then 1500: %s %q", described, earlier, fpm, w.Day, w.Reason.Bound)
				}
			}
		}
	}
}

// Where the clean run stands past the maker's limit already, the date cannot be that of reaching it.
func TestDateNamesTheLimitItIsComputedFor(t *testing.T) {
	in := reference()
	in.Run.Versions[0].Route.Sections[0].Material = airflow.PlasticFlex
	in.Run.Versions[0].Route.Fittings[0].Count = 4
	o := plan(t, in)
	w, _ := wanted(o, vent.DueClean)
	if l := o.Belief.LimitAt(); !l.AtMaker || l.Kind != vent.LimitLint || w.Reason.Limit != vent.LimitLint {
		t.Errorf("%+v, reason names %q", l, w.Reason.Limit)
	}
	if l := plan(t, reference()).Belief.LimitAt(); l.AtMaker || l.Kind == vent.LimitLint {
		t.Errorf("reference run: %+v", l)
	}
}

// A run whose last cleaning nobody knows stands in turn, until somebody sees it choked: then it is overdue like any other.
func TestChokedRunStandsInNoQueue(t *testing.T) {
	in := reference()
	in.Run.Versions[0].From = 0
	if w := clean(t, in); !w.Unknown {
		t.Fatalf("%+v", w)
	}
	look := vent.Finding{ID: id(2), RunID: id(1), Date: in.Run.Known, By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly, LintBefore: vent.Plugged}
	in.Findings = []vent.Finding{look}
	if w := clean(t, in); w.Unknown || w.Day != look.Date || w.Reason.Seen != vent.Plugged || w.Reason.Since != 0 {
		t.Errorf("%+v", w)
	}
}

// TestANewDryerDoesNotOpenAChokedRun: what was seen or measured past the limit stays due when a dryer is changed, however
// often, until the run is cleaned.
func TestANewDryerDoesNotOpenAChokedRun(t *testing.T) {
	looked := func(f vent.Finding) vent.Finding {
		f.ID, f.Source, f.By, f.Outcome = id(9), "visit", vent.Doer{Kind: vent.ByUs}, vent.LookedOnly
		return f
	}
	for name, f := range map[string]vent.Finding{
		"seen plugged": looked(vent.Finding{LintBefore: vent.Plugged}),
		"measured":     looked(vent.Finding{Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 1.5}}}),
	} {
		in := reference()
		f.RunID, f.Date = in.Run.ID, in.Run.Known.AddMonths(6)
		in.Findings = append(in.Findings, f)
		for n, days := range []int{0, 40} { // the first on the very visit that found it
			v := in.Run.Versions[0]
			v.From, v.DryerID = f.Date.AddDays(days), id(70+n)
			in.Run.Versions = append(in.Run.Versions, v)
			if w := clean(t, in); w.Day != f.Date || w.Reason.Bound != vent.BoundPastLimit {
				t.Errorf("%s, dryer %d: due %s by %q, want %s", name, n+2, w.Day, w.Reason.Bound, f.Date)
			}
		}
		full := vent.Finding{ID: id(10), RunID: in.Run.ID, Date: f.Date.AddDays(60), Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Reach: vent.ReachThrough}
		in.Findings = append(in.Findings, full)
		if w := clean(t, in); w.Day <= full.Date.AddDays(30) || w.Reason.Bound == vent.BoundPastLimit {
			t.Errorf("%s, then cleaned: due %s by %q", name, w.Day, w.Reason.Bound)
		}
	}
}
