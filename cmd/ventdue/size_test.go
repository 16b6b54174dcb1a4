package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ventdue/cmd/ventdue/size"
	"ventdue/vent"
)

// fatal is what a test and a property check have in common.
type fatal interface {
	Helper()
	Fatalf(string, ...any)
}

// sized runs `ventdue size ... --json` and reads its answer.
func sized(t fatal, args ...string) (r size.Result) {
	t.Helper()
	var out, errs bytes.Buffer
	args = append([]string{"size", "--json", "--today", "2026-11-25"}, args...)
	if code := run(context.Background(), args, nil, stdio{In: strings.NewReader(""), Out: &out, Err: &errs}); code != exitDone {
		t.Fatalf("ventdue %s: exit %d: %s", strings.Join(args, " "), code, errs.String())
	}
	if err := json.Unmarshal(out.Bytes(), &r); err != nil {
		t.Fatalf("%v: %s", err, out.String())
	}
	return r
}

func words(s string) []string {
	var all []string
	for i, part := range strings.Split(s, `"`) {
		if i%2 == 1 {
			all = append(all, part)
		} else {
			all = append(all, strings.Fields(part)...)
		}
	}
	return all
}

const foot = 0.3048 // m, by definition

func closeTo(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s = %.6g, want %.6g ± %.2g %% (%s)", what, got, want, 100*tolerance, source)
	}
}

// TestSizeCodeLength holds the command to worked lengths of the codes.
func TestSizeCodeLength(t *testing.T) {
	for _, c := range []struct {
		args            string
		length, allowed float64 // ft; 0: not checked
		passes, label   bool
		source          string
	}{
		{`--duct-length "20 ft" --elbows-90 2 --elbows-45 1`, 32.5, 22.5, true, false, "35 ft less two 90s of 5 ft and one 45 of 2.5 ft: computed from IRC M1502.4.5.1 (read)"},
		{`--duct-length "17 ft" --elbows-90 3`, 32, 20, true, false, "17 + 3 x 5 ft: computed from IRC M1502.4.5.1 (read)"},
		{`--duct-length "31 ft" --elbows-90 1 --edition imc_2009`, 36, 30, false, true, "31 + 5 ft, fails 35 ft, label over 35 ft: computed from IMC 504.9 (read)"},
		{`--duct-length "14 ft" --elbows-90 3 --elbow-kind smooth_r10`, 18.5, 0, true, false, "read: Fine Homebuilding, three 10 in radius elbows and 14 ft"},
		{`--duct-length "15 ft" --elbows-90 1 --elbows-45 2 --edition irc_2006`, 0, 15, true, false, "25 ft less one 90 and two 45: computed from the IRC 2006 rule (read)"},
		{`--duct-length "10 ft" --elbows-90 4 --edition umc_1994`, 0, 10, true, false, "14 ft with two 90s free, less 2 x 2 ft: computed from the UMC rule (read)"},
		{`--units si --duct-length 5.1816 --elbows-90 3`, 32, 20, true, false, "the 17 ft case in metres, 1 ft = 0.3048 m"},
	} {
		r := sized(t, words(c.args)...).Code
		if c.length > 0 {
			closeTo(t, c.args+": length", float64(r.Length)/foot, c.length, 1e-6, c.source)
		}
		if c.allowed > 0 {
			closeTo(t, c.args+": straight allowed", float64(r.StraightAllowed)/foot, c.allowed, 1e-6, c.source)
		}
		if r.Passes != c.passes || r.LabelNeeded != c.label || r.Unknown != "" {
			t.Errorf("%s: passes %t, label %t, %q; want %t, %t (%s)", c.args, r.Passes, r.LabelNeeded, r.Unknown, c.passes, c.label, c.source)
		}
	}
	const single = "read: IRC M1502.4.3, one transition of at most 8 ft, never counted"
	if r := sized(t, words(`--duct-length "20 ft" --transition-length "8 ft"`)...).Code; !r.TransitionOK || math.Abs(float64(r.Length)-20*foot) > 1e-6 {
		t.Errorf("8 ft transition: %+v (%s)", r, single)
	}
	if r := sized(t, words(`--duct-length "20 ft" --transition-length "8.1 ft"`)...).Code; r.TransitionOK {
		t.Errorf("8.1 ft transition passes (%s)", single)
	}
	r := sized(t, words(`--duct-length "20 ft" --elbows-90 3 --elbow-kind sectioned`)...).Code
	if r.Unknown == "" || !strings.Contains(r.Unknown, "ask the authority") || r.Length != 0 || r.Passes {
		t.Errorf("an elbow without a row: %+v", r)
	}
	closeTo(t, "strictest count", float64(r.Strictest)/foot, 35, 1e-6, "20 + 3 x 5 ft, the row with the most length")
}

// TestSizeOperatingPoint holds the command to operating points computed by hand for a made-up blower.
func TestSizeOperatingPoint(t *testing.T) {
	const source = "computed independently from Darcy-Weisbach, Colebrook (e = 3e-4 ft), K of the outlet and the invented blower 1.0 (1 - (Q/225)^2) in w.c."
	const cfm, inch, fpm = 0.00047194745, 249.1, 0.00508
	for _, c := range []struct{ feet, k, cfm, inches float64 }{
		{10, 1, 172.7, 0.411}, {20, 1, 159.7, 0.496}, {35, 1, 144.4, 0.588}, {50, 1, 132.6, 0.653}, {35, 2.5, 128.5, 0.674}, {70, 2.5, 110.6, 0.759},
	} {
		run := words(fmt.Sprintf(`--duct-length "%g ft" --outlet-k %g --blower-free-air "225 cfm" --blower-shutoff "1 in w.c." --exhaust-temp "70 F"`, c.feet, c.k))
		a := sized(t, run...).Air
		closeTo(t, "flow", float64(a.Flow)/cfm, c.cfm, 0.005, source)
		closeTo(t, "static", float64(a.Static)/inch, c.inches, 0.005, source)
		closeTo(t, "speed", float64(a.OutletSpeed)/fpm, c.cfm/0.0872665, 0.005, source)
		if a.StaticOK != (c.inches <= 0.6) || a.BlowerOfClass {
			t.Errorf("%g ft, K %g: %+v", c.feet, c.k, a)
		}
		if held := c.cfm/0.0872665 >= 1200; a.CarryHeld != held {
			t.Errorf("%g ft, K %g: 1 200 ft/min held %t, want %t (read: a maker's manual 70304601 p. 27)", c.feet, c.k, a.CarryHeld, held)
		}
	}
	run := words(`--duct-length "35 ft" --outlet-k 1 --blower-free-air "225 cfm" --blower-shutoff "1 in w.c." --exhaust-temp "70 F"`)
	for limit, pass := range map[string]bool{"0.6 in w.c.": true, "0.75 in w.c.": true, "0.3 in w.c.": false} {
		if got := sized(t, append(run, "--max-static", limit)...).Air.StaticOK; got != pass {
			t.Errorf("0.588 in w.c. within %s: %t (%s)", limit, got, source)
		}
	}
	// 35 ft of smooth 4 in duct take 0.448 in w.c. at 150 cfm, K 1 another 0.184.
	closeTo(t, "resistance at 150 cfm", float64(sized(t, run...).Air.Resistance)/inch, 0.448+0.184, 0.01, "computed from Darcy-Weisbach, standard air")
}

// TestSizeReference: the reference run is first due at twelve months, as fire-safety bodies advise a yearly cleaning.
func TestSizeReference(t *testing.T) {
	r := sized(t, words(`--duct-length "25 ft" --elbows-90 2 --loads-per-week 5.44`)...)
	today := vent.NewDate(2026, 11, 25)
	if r.Due.ByModel < today.AddMonths(11) || r.Due.ByModel > today.AddMonths(13) || r.Due.Risk != 0.10 {
		t.Errorf("first due %+v, want twelve months after %s, give or take one", r.Due, today)
	}
}

func flagsOf(t *rapid.T) []string {
	pick := func(name string, from ...string) string { return rapid.SampledFrom(from).Draw(t, name) }
	args := []string{
		"--duct-length", fmt.Sprintf("%d ft", rapid.IntRange(4, 70).Draw(t, "feet")), "--elbows-90", fmt.Sprint(rapid.IntRange(0, 6).Draw(t, "elbows")),
		"--duct-material", pick("material", "smooth_metal", "galvanized", "semi_rigid_metal", "foil_flex"), "--fuel", pick("fuel", "electric", "gas"),
		"--elbow-kind", pick("kind", "mitered_r4", "smooth_r6", "sectioned"), "--outlet", pick("outlet", "flapper", "louvered", "wall_2_5_in", "roof_gooseneck"),
		"--loads-per-week", fmt.Sprint(rapid.IntRange(1, 30).Draw(t, "loads")),
	}
	for _, f := range []string{"--pets", "--uninsulated", "--roof-outlet", "--lint-carry"} {
		if rapid.Bool().Draw(t, f) {
			args = append(args, f)
		}
	}
	return args
}

// TestSizeNeverLater: a longer, more crooked, rougher or busier run is never due later, and moves no more air.
func TestSizeNeverLater(t *testing.T) {
	days := func(r size.Result) int {
		if r.Due.ByModel == 0 {
			return 3652 // not within ten years
		}
		return vent.NewDate(2026, 11, 25).DaysUntil(r.Due.ByModel)
	}
	rapid.Check(t, func(t *rapid.T) {
		args := flagsOf(t)
		now := sized(t, args...)
		feet, elbows, loads := rapid.IntRange(1, 40).Draw(t, "more feet"), rapid.IntRange(1, 3).Draw(t, "more elbows"), rapid.IntRange(1, 20).Draw(t, "more loads")
		number := func(s string) (n int) { fmt.Sscan(s, &n); return n }
		for name, worse := range map[string][]string{
			"longer":      {"--duct-length", fmt.Sprintf("%d ft", number(args[1])+feet)},
			"more elbows": {"--elbows-90", fmt.Sprint(number(args[3]) + elbows)},
			"foil":        {"--duct-material", "foil_flex"},
			"busier":      {"--loads-per-week", fmt.Sprint(number(args[13]) + loads)},
		} {
			then := sized(t, append(args, worse...)...)
			if days(then) > days(now) || then.Due.Day > now.Due.Day || then.Air.Flow > now.Air.Flow+1e-6 {
				t.Errorf("%v is due by the numbers on %s, by the rules on %s; %s on %s, %s", args, now.Due.ByModel, now.Due.Day, name, then.Due.ByModel, then.Due.Day)
			}
		}
	})
}

// TestSizeChanges: what a change promises is what the changed run gives when it is sized itself; the list is sorted by effect
// and holds no change that is none.
func TestSizeChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		args := flagsOf(t)
		r := sized(t, args...)
		for i, c := range r.Changes {
			if i > 0 && c.Days > r.Changes[i-1].Days {
				t.Errorf("%v: %+v stands before %+v", args, r.Changes[i-1], c)
			}
			var by []string
			switch c.Kind {
			case size.SmoothDuct:
				by = []string{"--duct-material", "smooth_metal"}
			case size.LargerRadius:
				by = []string{"--elbow-kind", "smooth_r10"}
			case size.WiderDuct:
				by = []string{"--duct-diameter", "5 in"}
			case size.OtherOutlet:
				by = []string{"--outlet", string(c.Outlet)}
			case size.Insulated:
				by = []string{"--uninsulated=no"}
			default:
				continue
			}
			then := sized(t, append(args, by...)...)
			if c.ByModel != then.Due.ByModel || c.Day != then.Due.Day || c.Static != then.Air.Static || c.Code != then.Code.Length {
				t.Errorf("%v: %s promises %+v, but gives %+v", args, c.Kind, c, then)
			}
		}
	})
}

// TestSizeHostile: what cannot be is wrong use and names its flag.
func TestSizeHostile(t *testing.T) {
	for args, says := range map[string]string{
		``:                                              "--duct-length is missing",
		`--duct-length 0`:                               "--duct-length: no duct at all",
		`--duct-length 1e9`:                             "--duct-length",
		`--duct-length nan`:                             "--duct-length",
		`--duct-length -5`:                              "--duct-length",
		`--duct-length "5 f"`:                           `unknown unit "f"`,
		`--duct-length 20 --elbows-90 -1`:               "--elbows-90",
		`--duct-length 20 --elbows-90 1.5`:              "whole number",
		`--duct-length 20 --edition irc_1999`:           "--edition",
		`--duct-length 20 --fuel ventless`:              "no exhaust run",
		`--duct-length 20 --outlet flaper`:              "did you mean flapper",
		`--duct-length 20 --outlet-k 99`:                "--outlet-k",
		`--duct-length 20 --altitude "90000 m"`:         "--altitude",
		`--duct-length 20 --exhaust-temp "900 F"`:       "--exhaust-temp",
		`--duct-length 20 --blower-shutoff "1 in w.c."`: "belong together",
		`--duct-length 20 --loads-per-week 1e6`:         "--loads-per-week",
		`--duct-length 20 --units imperial`:             "--units",
		`--duct-length 20 --risk 0.9`:                   "policy",
		`--duct-length 20 --today 2026-13-01`:           "2026-13-01",
		`--duct-length 20 --duct-diameter "1 in"`:       "--duct-diameter",
		`--duct-length 20 extra`:                        "argument",
		`--duct-length 20 --longest 36`:                 "longest_months",
		`--duct-length 20 --duct-lenght 3`:              "duct-lenght",
		`--duct-length 20 --max-static "-1 Pa"`:         "not between 0 and 2500 Pa",
	} {
		var out, errs bytes.Buffer
		code := run(context.Background(), append([]string{"size"}, words(args)...), nil, stdio{In: strings.NewReader(""), Out: &out, Err: &errs})
		if code != exitUsage || !strings.Contains(errs.String(), says) || out.Len() > 0 {
			t.Errorf("size %s: exit %d, %q, want %q", args, code, errs.String(), says)
		}
	}
}
