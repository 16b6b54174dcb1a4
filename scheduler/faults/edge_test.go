package faults

import (
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// A duct fallen off an electric dryer can be put off; with gas it is a stop, which cannot.
func TestAStopEndsAWaiver(t *testing.T) {
	s := &shelf{t: t}
	fallen := foil("2026-03-31")
	fallen.Rule = "duct_fallen_off"
	s.raise(false, fallen)
	f, err := Waive(s.one("duct_fallen_off"), day("2026-04-01"), "Ida Lund", day("2026-09-01"), "house is empty")
	if err != nil {
		t.Fatal(err)
	}
	s.put(&f, f)
	fallen.On = day("2026-05-01")
	if s.raise(false, fallen); s.one("duct_fallen_off").State != vent.FaultWaived {
		t.Error("a look ended the waiver")
	}
	s.raise(true, fallen)
	if f := s.one("duct_fallen_off"); f.State != vent.FaultOpen || f.Severity != vent.Stop || f.Deadline > fallen.On {
		t.Errorf("%+v", f)
	}
}

// The reading that showed it cannot also show that it is over, whatever is computed from it later.
func TestOneReadingDoesNotEndWhatItShowed(t *testing.T) {
	cleaned := finding(61, day("2026-02-05"), func(f *vent.Finding) { f.Outcome, f.After = vent.Full, inPlace(4) })
	far := []Trouble{{Rule: rules.AfterFarBelow, On: cleaned.Date, Finding: cleaned.ID, Value: 0.6, Against: 0.75}}
	s := &shelf{t: t}
	s.raise(false, raisesTool(facts(func(f *Facts) { f.Findings, f.Troubles = []vent.Finding{cleaned}, far }))...)
	s.raise(false, raisesTool(facts(func(f *Facts) { f.Findings = []vent.Finding{cleaned} }))...)
	if f := s.one(rules.AfterFarBelow); f.State != vent.FaultOpen {
		t.Errorf("%+v", f)
	}
}

func TestAShutFlapIsACause(t *testing.T) {
	flap := func(open float64) Air {
		return airOf(Bench{Finding: finding(20, visitDay, func(f *vent.Finding) {
			f.LintBefore, f.Before = vent.Film, []vent.Reading{{Quantity: vent.Flap, Value: open}}
		})})
	}
	if flap(0) != AirChoked || flap(0.5) != AirClear {
		t.Errorf("shut %s, half open %s", flap(0), flap(0.5))
	}
}

// A correction that moves the day of a visit does not make one fuse two.
func TestACorrectedVisitIsNoSecondFuse(t *testing.T) {
	old := finding(1, day("2026-03-28"), checked(part(rules.ThermalFuse, rules.Open, true)))
	right := finding(2, day("2026-03-31"), choked(part(rules.ThermalFuse, rules.Open, true)))
	right.Corrects = old.ID
	if got := raisesParts(right, electric, 0, old); has(got, Found, rules.SecondFuse) {
		t.Errorf("%+v", got)
	}
	right.Corrects = vent.ID{}
	if got := raisesParts(right, electric, 0, old); !has(got, Found, rules.SecondFuse) {
		t.Error("two visits with an open fuse each")
	}
}

func TestNobodyHomeAnswersNothing(t *testing.T) {
	s := &shelf{t: t}
	s.raise(false, raisesParts(finding(1, day("2026-03-02"), choked(part(rules.ThermalFuse, rules.Open, true))), electric, 0)...)
	at := Setting{Run: theRun, Dryer: theDryer}
	s.raise(false, FromFinding(finding(2, day("2026-03-06"), func(f *vent.Finding) { f.Outcome = vent.Failed }), at)...)
	if s.one(rules.FollowUpCall).State != vent.FaultOpen {
		t.Error("a shut door answered the call")
	}
	read := func(n int, on string) vent.Finding {
		return finding(n, day(on), func(f *vent.Finding) { f.Before = inPlace(7) })
	}
	s.raise(false, FromFinding(read(3, "2026-03-08"), at)...) // six days: answers the call, is too soon for the reading
	if s.one(rules.FollowUpCall).State != vent.FaultFixed || s.one(rules.FollowUpReading).State != vent.FaultOpen {
		t.Errorf("%+v", s.faults)
	}
	s.raise(false, FromFinding(read(4, "2026-03-23"), at)...) // 21 days
	if s.one(rules.FollowUpReading).State != vent.FaultFixed {
		t.Error("a reading after three weeks")
	}
}

func TestAlarmDoneStaysDone(t *testing.T) {
	h := household()
	h.Stored, _ = Recurring(h)
	h.Stored = numbered(h.Stored)
	i := slices.IndexFunc(h.Stored, func(c vent.Check) bool {
		return c.Rule == rules.CheckAlarmReplace && c.Subject.ID == id(94)
	})
	var err error
	// Replaced on its day; the new alarm's own date is not recorded yet.
	if h.Stored[i], err = Done(h.Stored[i], day("2027-10-01"), day("2027-10-01"), "Olu Brandt"); err != nil {
		t.Fatal(err)
	}
	if _, changed := Recurring(h); len(changed) > 0 || Next(h.Stored[i]) != day("2037-10-01") {
		t.Errorf("%+v", changed)
	}
}

func TestWhichThingsAreChecked(t *testing.T) {
	rulesFor := func(as ...vent.Appliance) string {
		missing, _ := Recurring(Home{Site: id(91), Known: visitDay, Appliances: as})
		var out []string
		for _, c := range missing {
			out = append(out, c.Rule)
		}
		slices.Sort(out)
		return strings.Join(out, " ")
	}
	booster, trap := vent.Appliance{ID: id(1), Kind: vent.Booster}, vent.Appliance{ID: id(2), Kind: vent.LintTrap}
	withCO := gas
	noCO := gas
	noCO.HasCO = false
	for _, c := range []struct {
		things []vent.Appliance
		want   string
	}{
		{[]vent.Appliance{booster}, "booster_trap"},
		{[]vent.Appliance{booster, trap}, "booster_trap"}, // the trap's own, once
		{[]vent.Appliance{withCO}, "cabinet co_alarm_test gas_connection lint_screen"},
		{[]vent.Appliance{noCO}, "cabinet gas_connection lint_screen"},
		{[]vent.Appliance{withCO, {ID: id(3), Kind: vent.COAlarm}}, "alarm_replace cabinet co_alarm_test gas_connection lint_screen"},
		{[]vent.Appliance{electric}, "cabinet lint_screen"},
		{[]vent.Appliance{{ID: id(4), Kind: vent.Dryer, Fuel: vent.Gas, Removed: visitDay}}, ""},
	} {
		if got := rulesFor(c.things...); got != c.want {
			t.Errorf("%+v: %s, want %s", c.things, got, c.want)
		}
	}
}
