package faults

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

func monthly(anchor string, done string) vent.Check {
	c := vent.Check{ID: id(80), Rule: rules.CheckTrap, Subject: onRun, Months: 1, Anchor: day(anchor)}
	if done != "" {
		c.LastDone = day(done)
	}
	return c
}

// Civil dates by hand; 2028 is a leap year.
func TestNextKeepsTheDayOfTheMonth(t *testing.T) {
	for _, c := range []struct {
		check vent.Check
		want  string
	}{
		{monthly("2026-01-31", ""), "2026-01-31"}, // never done: the first day of the series
		{monthly("2026-01-31", "2026-01-31"), "2026-02-28"},
		{monthly("2026-01-31", "2026-02-28"), "2026-03-31"},
		{monthly("2028-01-31", "2028-01-31"), "2028-02-29"},
		{monthly("2026-01-31", "2026-02-10"), "2026-03-10"}, // not a day of the series: counts from the day it was done
		{monthly("2026-01-31", "2025-12-24"), "2026-01-24"}, // done before the series began
		{vent.Check{Months: 12, Anchor: day("2024-02-29"), LastDone: day("2024-02-29")}, "2025-02-28"},
		{vent.Check{Months: 12, Anchor: day("2024-02-29"), LastDone: day("2027-02-28")}, "2028-02-29"},
		{vent.Check{Months: 24, Anchor: day("2026-05-15"), LastDone: day("2028-05-15")}, "2030-05-15"},
		{vent.Check{Months: 24, Anchor: day("2026-05-15"), LastDone: day("2027-05-15")}, "2029-05-15"},
		{vent.Check{Months: 1, Anchor: day("2026-01-31"), Snoozed: day("2026-02-14")}, "2026-02-14"},
		{vent.Check{Months: 1, Anchor: day("2026-01-31"), Off: true}, ""},
	} {
		if got := Next(c.check); got.String() != c.want {
			t.Errorf("%+v: next %s, want %s", c.check, got, c.want)
		}
	}
}

func TestDoneStartsTheNextInterval(t *testing.T) {
	c := monthly("2026-01-31", "")
	for _, step := range []struct{ on, next string }{
		{"2026-01-31", "2026-02-28"}, {"2026-02-28", "2026-03-31"}, {"2026-04-05", "2026-05-05"}, {"2026-05-05", "2026-06-05"},
	} {
		var err error
		if c, err = Done(c, day(step.on), day(step.on), "Olu Brandt"); err != nil || Next(c) != day(step.next) || c.DoneBy != "Olu Brandt" {
			t.Errorf("done %s: next %s, want %s (%v)", step.on, Next(c), step.next, err)
		}
	}
	if late, err := Done(c, day("2026-03-01"), day("2026-05-10"), "Olu Brandt"); err != nil || late != c {
		t.Errorf("an older day changed it: %+v", late)
	}
	refused(t, "date", func() error { _, err := Done(c, day("2026-06-02"), day("2026-06-01"), "Olu Brandt"); return err })
	refused(t, "date", func() error { _, err := Done(c, 0, day("2026-06-01"), "Olu Brandt"); return err })
	refused(t, "by", func() error { _, err := Done(c, day("2026-06-01"), day("2026-06-01"), ""); return err })
}

func TestSkipAndSnoozeNeedAReason(t *testing.T) {
	c := monthly("2026-01-31", "2026-01-31")
	skipped, err := Skip(c, "away in February", "Olu Brandt")
	if err != nil || Next(skipped) != day("2026-03-31") || skipped.Why == "" {
		t.Errorf("%+v %v", skipped, err)
	}
	if twice, err := Skip(skipped, "still away", "Olu Brandt"); err != nil || Next(twice) != day("2026-04-30") {
		t.Errorf("%+v %v", twice, err)
	}
	if done, err := Done(skipped, day("2026-03-31"), day("2026-03-31"), "Olu Brandt"); err != nil || Next(done) != day("2026-04-30") || done.Why != "" || done.Snoozed != 0 {
		t.Errorf("%+v %v", done, err)
	}
	today := day("2026-02-28")
	put, err := Snooze(c, day("2026-03-10"), today, "trap is being replaced", "Olu Brandt")
	if err != nil || Next(put) != day("2026-03-10") {
		t.Errorf("%+v %v", put, err)
	}
	yearly := vent.Check{Rule: rules.CheckGas, Months: 12, Anchor: day("2026-02-28")}
	if _, err := Snooze(yearly, day("2026-05-29"), today, "fitter booked", "Olu Brandt"); err != nil { // 90 days after 28 February
		t.Error(err)
	}
	for field, try := range map[string]func() error{
		"why": func() error { _, err := Skip(c, " ", "Olu Brandt"); return err },
		"off": func() error { x := c; x.Off = true; _, err := Skip(x, "away", "Olu Brandt"); return err },
		"rule": func() error {
			_, err := Skip(vent.Check{Rule: rules.CheckAlarmReplace, Months: 120, Anchor: today}, "away", "Olu Brandt")
			return err
		},
		"until": func() error { _, err := Snooze(yearly, day("2026-05-30"), today, "later", "Olu Brandt"); return err },
	} {
		refused(t, field, try)
	}
	for _, until := range []vent.Date{0, today, today - 1, day("2026-02-28")} {
		refused(t, "until", func() error { _, err := Snooze(c, until, today, "later", "Olu Brandt"); return err })
	}
	refused(t, "until", func() error { _, err := Snooze(c, day("2026-04-01"), today, "later", "Olu Brandt"); return err }) // past the time after it
	refused(t, "by", func() error { _, err := Skip(c, "away", " "); return err })
	refused(t, "why", func() error { _, err := Snooze(c, day("2026-03-10"), today, "", "Olu Brandt"); return err })
}

// Smoke alarms 10 years from manufacture (NFPA 72 as quoted), CO alarms 7 (makers say 5 to 10); the maker's date goes first.
func TestAlarmsAreReplaced(t *testing.T) {
	for _, c := range []struct {
		alarm vent.Appliance
		want  string
	}{
		{vent.Appliance{Kind: vent.SmokeAlarm, Made: day("2016-05-20"), Installed: day("2018-01-01")}, "2026-05-20"},
		{vent.Appliance{Kind: vent.COAlarm, Made: day("2016-05-20")}, "2023-05-20"},
		{vent.Appliance{Kind: vent.COAlarm, Made: day("2016-05-20"), Replace: day("2026-02-01")}, "2026-02-01"},
		{vent.Appliance{Kind: vent.SmokeAlarm, Made: day("2016-02-29")}, "2026-02-28"},
		{vent.Appliance{Kind: vent.SmokeAlarm, Installed: day("2016-05-20")}, ""}, // installed says nothing of its age
		{vent.Appliance{Kind: vent.Dryer, Made: day("2016-05-20")}, ""},
	} {
		by, known := ReplaceBy(c.alarm)
		if by.String() != c.want || known != (c.want != "") {
			t.Errorf("%+v: %s, want %s", c.alarm, by, c.want)
		}
	}
}

// household is a house with a gas dryer, a trap, dryer sheets and three alarms, one without a date.
func household() Home {
	unit := id(90)
	known := day("2026-03-31")
	return Home{
		Site: id(91), Known: known,
		Units: []vent.Unit{{ID: unit, DryerSheets: true}},
		Runs:  []vent.Run{{ID: theRun, Shape: vent.Single, Versions: []vent.Version{{}}}},
		Appliances: []vent.Appliance{
			{ID: theDryer, UnitID: unit, Kind: vent.Dryer, Fuel: vent.Gas, Installed: day("2025-12-15")},
			{ID: id(92), UnitID: unit, Kind: vent.LintTrap},
			{ID: id(93), UnitID: unit, Kind: vent.COAlarm, Made: day("2022-06-01")},
			{ID: id(94), UnitID: unit, Kind: vent.SmokeAlarm, Made: day("2017-09-12")},
			{ID: id(95), UnitID: unit, Kind: vent.SmokeAlarm},
			{ID: id(96), UnitID: unit, Kind: vent.Dryer, Fuel: vent.Ventless},
		},
	}
}

func TestRecurringChecksOfAHousehold(t *testing.T) {
	h := household()
	missing, changed := Recurring(h)
	if len(changed) > 0 {
		t.Errorf("%+v", changed)
	}
	got := map[string]string{}
	for _, c := range missing {
		got[c.Rule+" "+c.Subject.String()] = fmt.Sprintf("%d %s", c.Months, c.Anchor)
		if p := append(c.Valid(), rules.CheckCheck(c)...); len(p) > 0 {
			t.Errorf("%+v: %v", c, p)
		}
	}
	subject := func(kind vent.Kind, n vent.ID) string { return vent.Subject{Kind: kind, ID: n}.String() }
	dryer, ventless := subject(vent.KindAppliance, theDryer), subject(vent.KindAppliance, id(96))
	want := map[string]string{
		"lint_screen " + dryer:                                    "3 2026-04-30", // 3 months after it was put in are past: within a month
		"cabinet " + dryer:                                        "24 2027-12-15",
		"gas_connection " + dryer:                                 "12 2026-12-15",
		"outlet_flap " + subject(vent.KindSite, id(91)):           "3 2026-04-30",
		"transition " + subject(vent.KindRun, theRun):             "12 2026-04-30",
		"booster_trap " + subject(vent.KindAppliance, id(92)):     "1 2026-04-30",
		"co_alarm_test " + subject(vent.KindAppliance, id(93)):    "1 2026-04-30",
		"alarm_replace " + subject(vent.KindAppliance, id(93)):    "84 2029-06-01",
		"smoke_alarm_test " + subject(vent.KindAppliance, id(94)): "1 2026-04-30",
		"alarm_replace " + subject(vent.KindAppliance, id(94)):    "120 2027-09-12",
		"smoke_alarm_test " + subject(vent.KindAppliance, id(95)): "1 2026-04-30",
		"alarm_replace " + subject(vent.KindAppliance, id(95)):    "120 2026-04-30", // no date: look on its back
		"lint_screen " + ventless:                                 "3 2026-04-30",
		"ventless_filter " + ventless:                             "1 2026-04-30",
		"ventless_coil " + ventless:                               "6 2026-04-30",
		"ventless_drain " + ventless:                              "6 2026-04-30",
		"ventless_gasket " + ventless:                             "12 2026-04-30",
	}
	for k, v := range want {
		if got[k] != v {
			t.Errorf("%s: %q, want %q", k, got[k], v)
		}
		delete(got, k)
	}
	if len(got) > 0 {
		t.Errorf("not expected: %v", got)
	}
}

func numbered(cs []vent.Check) []vent.Check {
	out := slices.Clone(cs)
	for i := range out {
		out[i].ID = id(500 + i)
	}
	return out
}

func TestStoredChecksStayAsTheOperatorSetThem(t *testing.T) {
	h := household()
	h.Stored, _ = Recurring(h)
	h.Stored = numbered(h.Stored)
	h.Stored[0].Off = true
	h.Stored[1].Months = 2
	if missing, changed := Recurring(h); len(missing) > 0 || len(changed) > 0 {
		t.Errorf("missing %+v, changed %+v", missing, changed)
	}
	// A new CO alarm in the old one's record; the trap is taken out.
	for i := range h.Appliances {
		switch h.Appliances[i].ID {
		case id(93):
			h.Appliances[i].Made = day("2026-04-02")
		case id(92):
			h.Appliances[i].Removed = day("2026-04-02")
		}
	}
	_, changed := Recurring(h)
	slices.SortFunc(changed, func(a, b vent.Check) int { return strings.Compare(a.Rule, b.Rule) })
	if len(changed) != 2 || Next(changed[0]) != day("2033-04-02") || !changed[1].Off || changed[1].Why == "" {
		t.Errorf("%+v", changed)
	}
}

// Thirty flats and everything in them: still five lines, and every check stands in one of them.
func TestFiveLinesAndNothingDropped(t *testing.T) {
	var all []vent.Check
	for n := range 30 {
		h := household()
		missing, _ := Recurring(h)
		for _, c := range missing {
			c.ID = id(2000 + len(all))
			c.Subject.ID[1] = byte(n)
			all = append(all, c)
		}
	}
	all = append(all, vent.Check{ID: id(7000), Rule: "from_a_newer_version", Months: 6, Anchor: day("2026-05-01")})
	lines := Lines(all)
	if len(lines) > 5 || len(lines) < 5 {
		t.Errorf("%d lines", len(lines))
	}
	seen := map[vent.ID]int{}
	for _, g := range lines {
		for _, x := range slices.Concat(g.Due, g.Later) {
			seen[x.Check.ID]++
			if x.Day < g.Day {
				t.Errorf("%s of %s is due before its line, %s", x.Check.Rule, x.Day, g.Day)
			}
		}
	}
	for _, c := range all {
		if seen[c.ID] != 1 {
			t.Errorf("%s %s stands in %d lines", c.Rule, c.ID, seen[c.ID])
		}
	}
	held := 0
	for i, r := range Rounds(all) {
		r.ID = id(8000 + i)
		if w := r.Due(); w.Opener != r.ID || w.Earliest > w.Day || w.Latest < w.Day || w.Day != r.Items[0].Day {
			t.Errorf("%+v", w)
		}
		held += len(r.Items)
	}
	if held != len(all) {
		t.Errorf("rounds hold %d of %d checks", held, len(all))
	}
}

func TestARoundSaysWhatElseIsDone(t *testing.T) {
	cs := []vent.Check{
		{ID: id(3), Rule: rules.CheckScreen, Months: 6, Anchor: day("2026-05-01")},
		{ID: id(2), Rule: rules.CheckTransition, Months: 12, Anchor: day("2026-05-22")}, // 21 days later: with it
		{ID: id(1), Rule: rules.CheckGasket, Months: 12, Anchor: day("2026-05-23")},     // 22: later
		{ID: id(4), Rule: rules.CheckScreen, Months: 6, Anchor: day("2026-05-02")},
	}
	rounds := Rounds(cs)
	if len(rounds) != 2 || len(rounds[0].Items) != 3 || len(rounds[1].Items) != 1 {
		t.Fatalf("%+v", rounds)
	}
	d := rounds[0].Due()
	if d.Day != day("2026-05-01") || d.Reason.Rule != rules.CheckScreen || d.Reason.Also != rules.CheckTransition || d.Reason.Months != 6 {
		t.Errorf("%+v", d)
	}
}

func TestCloseOutSettlesChecks(t *testing.T) {
	cs := []vent.Check{
		{ID: id(1), Rule: rules.CheckTransition, Months: 12, Anchor: day("2026-05-01")},
		{ID: id(2), Rule: rules.CheckCabinet, Months: 24, Anchor: day("2026-05-01")},
		{ID: id(3), Rule: rules.CheckGas, Months: 12, Anchor: day("2026-05-01"), Off: true},
	}
	f := finding(20, visitDay, func(f *vent.Finding) { f.CloseOut = []string{rules.CloseTransition, rules.CloseGasTest} })
	out := Settled(cs, f)
	if len(out) != 1 || out[0].ID != id(1) || Next(out[0]) != day("2027-03-31") || out[0].DoneBy != "Ines Moor" {
		t.Errorf("%+v", out)
	}
	if again := Settled(out, f); len(again) > 0 {
		t.Errorf("settled twice: %+v", again)
	}
}
