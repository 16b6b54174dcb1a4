package faults

import (
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// planned gives checks the rounds they fall into, as whoever stores them does; made counts the new ones.
func planned(checks []vent.Check, made *int) map[vent.ID]Round {
	out := map[vent.ID]Round{}
	for _, r := range Rounds(checks) {
		if r.ID.IsZero() {
			*made++
			r.ID = id(500 + *made)
		}
		out[r.ID] = r
		for _, x := range r.Items {
			for i := range checks {
				if checks[i].ID == x.Check.ID {
					checks[i].Round = r.ID
				}
			}
		}
	}
	return out
}

func screens(n int, anchor string) (all []vent.Check) {
	for i := range n {
		all = append(all, vent.Check{ID: id(i + 1), Rule: rules.CheckScreen, Subject: vent.Subject{Kind: vent.KindAppliance, ID: id(100 + i)}, Months: 6, Anchor: day(anchor)})
	}
	return all
}

// Thirty screens are one errand; with three doors shut it stays the same errand for these three, and the others begin a new
// one.
func TestARoundStaysWhileAPartOfItIsDone(t *testing.T) {
	made := 0
	all := screens(30, "2026-05-04")
	first := planned(all, &made)
	if len(first) != 1 {
		t.Fatalf("%d rounds", len(first))
	}
	was := all[0].Round
	for i := range 27 {
		all[i], _ = Done(all[i], day("2026-05-04"), day("2026-05-04"), "Olu Brandt")
	}
	two := planned(all, &made)
	if r := two[was]; len(two) != 2 || len(r.Items) != 3 || r.Due().Day != day("2026-05-04") {
		t.Fatalf("%d rounds, %+v", len(two), r)
	}
	next := all[0].Round
	if w := two[next].Due(); next == was || w.Day != day("2026-11-04") { // six months by the calendar
		t.Errorf("%+v", w)
	}
	for i := 27; i < 30; i++ { // nine days later: the same walk next time
		all[i], _ = Done(all[i], day("2026-05-13"), day("2026-05-13"), "Olu Brandt")
	}
	if one := planned(all, &made); len(one) != 1 || len(one[next].Items) != 30 || made != 2 {
		t.Errorf("%d rounds, %d made", len(one), made)
	}
}

// An alarm past its date does not hide the test of its button: what is late stays late, what is next is due as well.
func TestWhatIsLateHidesNothing(t *testing.T) {
	made := 0
	all := []vent.Check{
		{ID: id(1), Rule: rules.CheckAlarmReplace, Months: 120, Anchor: day("2026-01-10")},
		{ID: id(2), Rule: rules.CheckSmokeTest, Months: 1, Anchor: day("2026-01-12")},
		{ID: id(3), Rule: rules.CheckTransition, Months: 12, Anchor: day("2026-01-12")},
		{ID: id(4), Rule: rules.CheckTrap, Months: 1, Anchor: day("2026-01-12"), LastDone: day("2026-02-12")},
	}
	days := map[string]bool{}
	for _, r := range planned(all, &made) {
		days[r.Items[0].Check.Rule+" "+r.Due().Day.String()] = true
	}
	for _, want := range []string{"alarm_replace 2026-01-10", "smoke_alarm_test 2026-01-12", "transition 2026-01-12", "booster_trap 2026-03-12"} {
		if !days[want] {
			t.Errorf("%s is missing in %v", want, days)
		}
	}
}

// One check that is put off moves its due; where others stay behind it leaves them.
func TestPutOffKeepsTheRoundWhereItIsAlone(t *testing.T) {
	made := 0
	alone := screens(1, "2026-05-04")
	planned(alone, &made)
	was := alone[0].Round
	var err error
	if alone[0], err = Snooze(alone[0], day("2026-07-01"), day("2026-05-04"), "away", "Olu Brandt"); err != nil {
		t.Fatal(err)
	}
	if r := planned(alone, &made); len(r) != 1 || r[was].Due().Day != day("2026-07-01") {
		t.Errorf("%+v", r)
	}
	many := screens(3, "2026-05-04")
	planned(many, &made)
	was = many[0].Round
	if many[0], err = Snooze(many[0], day("2026-07-01"), day("2026-05-04"), "away", "Olu Brandt"); err != nil {
		t.Fatal(err)
	}
	r := planned(many, &made)
	if len(r) != 2 || len(r[was].Items) != 2 || r[was].Due().Day != day("2026-05-04") {
		t.Errorf("%+v", r)
	}
	if many[0], err = Skip(many[0], "away until winter", "Olu Brandt"); err != nil || !many[0].Round.IsZero() {
		t.Errorf("a skipped check keeps its errand: %+v %v", many[0], err)
	}
}

// The visit that carried a check out is corrected: the check stands again where it stood.
func TestACorrectedVisitDidNotDoTheCheck(t *testing.T) {
	c := vent.Check{ID: id(1), Rule: rules.CheckTransition, Months: 12, Anchor: day("2026-01-31")}
	visit := func(n int, on string, did bool) vent.Finding {
		return finding(n, day(on), func(f *vent.Finding) {
			f.CloseOut = nil
			if did {
				f.CloseOut = []string{rules.CloseTransition}
			}
		})
	}
	f1, f2 := visit(20, "2026-02-10", true), visit(21, "2026-08-10", true)
	none := vent.ID{}
	settle := func(c vent.Check, f vent.Finding, old vent.ID, counting ...vent.Finding) vent.Check {
		t.Helper()
		if !old.IsZero() {
			if out := Unsettled([]vent.Check{c}, old, counting); len(out) == 1 {
				c = out[0]
			}
		}
		if out := Settled([]vent.Check{c}, f); len(out) == 1 {
			c = out[0]
		}
		return c
	}
	c.Round = id(60)
	byHand, _ := Done(c, day("2026-01-31"), day("2026-01-31"), "Olu Brandt")
	byHand.Round = id(61)
	one := settle(byHand, f1, none, f1)
	two := settle(one, f2, none, f1, f2)
	if Next(one) != day("2027-02-10") || Next(two) != day("2027-08-10") || two.DoneBy != "Ines Moor" {
		t.Fatalf("%+v %+v", one, two)
	}
	back := settle(two, visit(22, "2026-08-10", false), f2.ID, f1)
	if Next(back) != day("2027-02-10") || back.Finding != f1.ID {
		t.Errorf("back to the first visit: %+v", back)
	}
	// The one before it is taken back as well: nothing of a visit is left, and no word of a person is kept beneath it.
	if c := settle(back, visit(23, "2026-02-10", false), f1.ID); c.LastDone != 0 || !c.Finding.IsZero() || Next(c) > day("2026-02-10") {
		t.Errorf("wrongly done: %+v", c)
	}
	// Taken back at once, what a person said stands again.
	if c := settle(one, visit(24, "2026-02-10", false), f1.ID); c.LastDone != day("2026-01-31") || c.DoneBy != "Olu Brandt" || c.Kept != (vent.Standing{}) || c.Round != id(61) {
		t.Errorf("%+v", c)
	}
	// The day was wrong, not the work.
	if c := settle(one, visit(25, "2026-02-12", true), f1.ID); c.LastDone != day("2026-02-12") || Next(c) != day("2027-02-12") {
		t.Errorf("%+v", c)
	}
	// A person said it was done between the two; both visits are taken back.
	said, _ := Done(two, day("2026-05-01"), day("2026-09-01"), "Olu Brandt")
	if c := settle(said, visit(26, "2026-08-10", false), f2.ID, f1); c.LastDone != day("2026-05-01") || c.DoneBy != "Olu Brandt" {
		t.Errorf("%+v", c)
	}
	// Put off after the visit: it stays put off when the visit is taken back.
	off, err := Snooze(one, day("2027-03-15"), day("2027-02-10"), "snow", "Olu Brandt")
	if err != nil {
		t.Fatal(err)
	}
	if c := settle(off, visit(27, "2026-02-10", false), f1.ID); c.LastDone != day("2026-01-31") || Next(c) != day("2027-03-15") {
		t.Errorf("%+v", c)
	}
	// A visit that was written down late changes nothing about a later one.
	if out := Settled([]vent.Check{two}, visit(28, "2026-03-01", true)); len(out) > 0 {
		t.Errorf("%+v", out)
	}
}

func TestOffOnAndEvery(t *testing.T) {
	c := vent.Check{ID: id(1), Rule: rules.CheckScreen, Months: 6, Anchor: day("2026-01-31"), LastDone: day("2026-01-31"), Round: id(9)}
	off, err := TurnOff(c, "the screen is sealed", "Olu Brandt")
	if err != nil || Next(off) != 0 || !off.Round.IsZero() || off.Who != "Olu Brandt" {
		t.Errorf("%+v %v", off, err)
	}
	refused(t, "why", func() error { _, err := TurnOff(c, "", "Olu Brandt"); return err })
	if on := TurnOn(off, day("2026-03-01")); Next(on) != day("2026-07-31") || on.Why != "" {
		t.Errorf("%+v", on)
	}
	if on := TurnOn(off, day("2028-03-01")); Next(on) != day("2028-03-01") { // not overdue by two years
		t.Errorf("%+v", on)
	}
	three, err := Every(c, 3)
	if err != nil || Next(three) != day("2026-04-30") { // three months after 31 January
		t.Errorf("%+v %v", three, err)
	}
	for _, months := range []int{0, -1, 13} {
		refused(t, "months", func() error { _, err := Every(c, months); return err })
	}
	refused(t, "months", func() error { _, err := Every(vent.Check{Rule: rules.CheckAlarmReplace, Months: 120}, 12); return err })
}

func TestWhatIsGoneIsRetiredAndComesBack(t *testing.T) {
	h := household()
	h.Stored, _ = Recurring(h)
	h.Stored = numbered(h.Stored)
	h.Runs[0].Ended = day("2026-06-01")
	retired := map[string]bool{}
	_, changed := Recurring(h)
	for _, c := range changed {
		retired[c.Rule] = c.Off && c.Who == TheRecord && c.Why != ""
	}
	if len(retired) != 2 || !retired[rules.CheckTransition] || !retired[rules.CheckFlap] {
		t.Errorf("%v", retired)
	}
	h.Stored, h.Runs[0].Ended = changed, 0
	if _, again := Recurring(h); len(again) != 2 || again[0].Off || again[1].Off {
		t.Errorf("%+v", again)
	}
}

// A service business is asked what takes a licence or has a date; what anybody can do stays with its customers.
func TestWhoIsAskedForWhat(t *testing.T) {
	missing, _ := Recurring(household())
	n := map[vent.OperatorKind]int{}
	for _, c := range missing {
		r, _ := rules.CheckByID(c.Rule)
		for _, k := range []vent.OperatorKind{vent.Household, vent.Buildings, vent.Customers} {
			if Asked(k, r) {
				n[k]++
			}
		}
	}
	// Of the household's: gas connection, and three alarms to replace.
	if n[vent.Household] != len(missing) || n[vent.Buildings] != len(missing) || n[vent.Customers] != 4 {
		t.Errorf("%v of %d", n, len(missing))
	}
}
