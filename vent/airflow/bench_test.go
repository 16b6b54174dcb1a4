package airflow_test

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"ventdue/vent/airflow"
)

// floor is the same operating point solved by a C program: see testdata/floor.c.
type floor struct{ binary string }

type floorResult struct{ bracketFlow, bracketNs, newtonFlow, newtonNs float64 }

// buildFloor compiles the C program, or skips where there is no compiler.
func buildFloor(t testing.TB) floor {
	t.Helper()
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		t.Skip("no gcc on the path: install it to compare with the C floor")
	}
	f := floor{filepath.Join(t.TempDir(), "floor")}
	if out, err := exec.Command(gcc, "-O2", "-o", f.binary, filepath.Join("testdata", "floor.c"), "-lm").CombinedOutput(); err != nil {
		t.Fatalf("compile the C floor: %v\n%s", err, out)
	}
	return f
}

// run solves a duct of one bore. Lint narrows every bore to g = 1 - b and takes the
// relative roughness from the wall's to 0.05 by 1 - g^2, written out once more here.
func (f floor) run(t testing.TB, calls int, d airflow.Duct, b airflow.Blower, lint float64) floorResult {
	t.Helper()
	d = d.WithDefaults()
	s := system(t, d, b)
	air := s.Air()
	k := d.Outlet.K
	for _, fitting := range d.Fittings {
		k += float64(fitting.Count) * fitting.K
	}
	args := []string{strconv.Itoa(calls)}
	number := func(x float64) { args = append(args, strconv.FormatFloat(x, 'g', -1, 64)) }
	number(float64(b.Shutoff) * float64(air.Density) / 1.2014) // the fan law, written out once more
	number(float64(b.FreeAir))
	number(float64(air.Density))
	number(float64(air.Viscosity))
	number(k)
	g := 1 - lint
	number(float64(d.Outlet.Diameter) * g)
	for _, sec := range append([]airflow.Section{d.Transition}, d.Sections...) {
		if sec.Length == 0 {
			continue
		}
		bore := float64(sec.Diameter) * g
		relative := 0.05 - (0.05-float64(sec.Roughness/sec.Diameter))*g*g
		number(float64(sec.Length))
		number(bore)
		number(relative * bore)
	}
	out, err := exec.Command(f.binary, args...).Output()
	if err != nil {
		t.Fatalf("run the C floor: %v", err)
	}
	var r floorResult
	if _, err := fmt.Sscan(string(out), &r.bracketFlow, &r.bracketNs, &r.newtonFlow, &r.newtonNs); err != nil {
		t.Fatalf("read the C floor's answer %q: %v", out, err)
	}
	return r
}

// The C program brackets with a fixed-point Colebrook: another method for the same equations.
func TestOperatingPointBesideC(t *testing.T) {
	f := buildFloor(t)
	for _, d := range []airflow.Duct{ordinary(), straight(35, 1), straight(100, 30), straight(0.3, 0.1)} {
		s := system(t, d, invented())
		for _, lint := range []float64{0, 0.05, 0.3, 0.6, 0.8, 0.9, 0.97, 0.999} {
			want := f.run(t, 1, d, invented(), lint)
			near(t, "flow, m3/s", float64(at(t, s, lint).Flow), want.bracketFlow, 1e-9, "bracketing in C, testdata/floor.c")
			if lint <= 0.3 {
				near(t, "flow by Newton in C, m3/s", want.newtonFlow, want.bracketFlow, 1e-9, "bracketing in C, testdata/floor.c")
			}
		}
	}
}

// benchLint is the lint of a duct about to be cleaned.
const benchLint = 0.1

// BenchmarkOperatingPoint reports how often At fits into the time of the C
// program's bracketing and of its joint Newton: medians of pairs measured side by side.
func BenchmarkOperatingPoint(b *testing.B) {
	f := buildFloor(b)
	s := system(b, ordinary(), invented())
	var bracket, newton []float64
	for range 5 {
		const calls = 100_000
		start := time.Now()
		for range calls {
			s.At(benchLint)
		}
		ours := float64(time.Since(start).Nanoseconds()) / calls
		c := f.run(b, calls, ordinary(), invented(), benchLint)
		bracket = append(bracket, c.bracketNs/ours)
		newton = append(newton, c.newtonNs/ours)
	}
	slices.Sort(bracket)
	slices.Sort(newton)
	b.ReportAllocs()
	for b.Loop() {
		s.At(benchLint)
	}
	b.ReportMetric(bracket[len(bracket)/2], "C-bracketing/go")
	b.ReportMetric(newton[len(newton)/2], "C-newton/go")
}

func BenchmarkOperatingPointHeavyLint(b *testing.B) {
	s := system(b, ordinary(), invented())
	b.ReportAllocs()
	for b.Loop() {
		s.At(0.9)
	}
}

func BenchmarkNewSystem(b *testing.B) {
	d, blower := ordinary(), invented()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := airflow.NewSystem(d, blower); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLintFromFlow(b *testing.B) {
	s := system(b, ordinary(), invented())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.LintFromFlow(0.04, 0); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCurve(b *testing.B) {
	s := system(b, ordinary(), invented())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Curve(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCurveFlow(b *testing.B) {
	s := system(b, ordinary(), invented())
	c := must[airflow.Curve](b)(s.Curve())
	b.ReportAllocs()
	sum, lint := 0.0, 0.0
	for b.Loop() {
		lint += 0.001
		if lint > 1 {
			lint = 0
		}
		sum += c.Flow(lint)
	}
	_ = sum
}
