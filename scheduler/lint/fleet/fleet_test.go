package fleet

import (
	"math"
	"os"
	"strconv"
	"testing"
)

// fullFleet is asked for by VENTDUE_FLEET=full: 4 000 runs over 12 years in every world, or so many as it says. Without it a
// smaller fleet runs.
func fullFleet() bool { return os.Getenv("VENTDUE_FLEET") != "" }

// scoredSeed and the next two are scored. Tuning used seeds 1 and 2, and 5 set the worlds' factors. Two scored seeds are spent,
// 20261 and 704110: figures were changed after they were seen. Whoever tunes again takes a new one.
const scoredSeed = 625401

func size(n int) int {
	if !fullFleet() {
		return n
	}
	if runs, err := strconv.Atoi(os.Getenv("VENTDUE_FLEET")); err == nil && runs > 0 {
		return runs
	}
	return 4000
}

// The plain learner says how hard these fleets are: a learner of a hundred lines already beats the calendar by far.
func TestPlainLearnerBeatsTheCalendar(t *testing.T) {
	for _, w := range departures() {
		w.runs = size(240)
		f := w.fleet(scoredSeed)
		c := f.calendar()
		s := f.simulate(plain)
		ratio := c.at(s.perYear()) / s.clogged()
		t.Logf("%-36s yearly finds %4.1f %% past; plain: %.3f cleanings a year, %.3f weeks past, calendar at as many %.3f: 1/%.1f; 10 %% said, %.1f %% happened",
			w.name, 100*c.yearly.pastShare(), s.perYear(), s.clogged(), c.at(s.perYear()), ratio, 100*s.wrong/s.due)
		if !(ratio > 1) {
			t.Errorf("%s: the plain learner loses against the calendar", w.name)
		}
	}
}

// The world is the same for every planner and every time, however the cores share the work.
func TestSameSeedSameFate(t *testing.T) {
	w := world{runs: 48, nests: 0.1, poor: 0.2, missing: 0.3, season: 0.4, wrongLoads: 0.3}
	if a, b := w.fleet(3).simulate(plain), w.fleet(3).simulate(plain); a != b {
		t.Errorf("%+v\n%+v", a, b)
	}
}

// A made-up blower P = 1.0 (1 - (Q/225)²) in w.c. on 35 ft of 4 in duct, e = 3e-4 ft, hood K 1.0: 144.4 cfm (computed with
// Colebrook outside the project for standard air; a lighter gas changes blower and duct alike).
func TestDuctOfTheWorld(t *testing.T) {
	d := duct{
		length: 35 * 0.3048, bore: 0.1016, rough: 3e-4 * 0.3048, hood: 1.0,
		shutoff: 249.1 * density / 1.2014, free: 225 * 0.000471947,
	}
	if cfm := d.flow(0) / 0.000471947; math.Abs(cfm-144.4) > 2 {
		t.Errorf("%.1f cfm, want 144.4", cfm)
	}
	d.tabulate()
	for b := 0.0; b < 0.55; b += 0.01 {
		if d.at(b+0.01) >= d.at(b) {
			t.Fatalf("more lint, more flow at %.2f", b)
		}
	}
	if l := d.limit(1e9); math.Abs(d.at(l)-0.75) > 0.01 {
		t.Errorf("flow at the limit %.3f", d.at(l))
	}
}
