package faults

import (
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// The story of one dryer. Days and windows are the blueprint of the trade: a call within a week, a reading at 30 days, a second
// open fuse within twelve months stops it (common practice).
func TestTheStoryOfOneDryer(t *testing.T) {
	s := &shelf{t: t}
	at := Setting{Run: theRun, Dryer: theDryer}
	open := func() string {
		var out []string
		for _, f := range s.faults {
			if f.State == vent.FaultOpen {
				out = append(out, f.Rule)
			}
		}
		slices.Sort(out)
		return strings.Join(out, " ")
	}
	record := func(f vent.Finding, share float64, earlier ...vent.Finding) Diagnosis {
		t.Helper()
		d, err := Diagnose(Bench{Finding: f, Dryer: electric, Setting: at, FlowShare: share, Earlier: earlier})
		if err != nil {
			t.Fatal(err)
		}
		tool, doubts := ByTool(facts(func(x *Facts) { x.Findings, x.Today = append(earlier, f), f.Date }))
		if len(doubts) > 0 {
			t.Errorf("doubts %v", doubts)
		}
		s.raise(false, slices.Concat(FromFinding(f, at), d.Sights, tool)...)
		return d
	}

	// It does not start. The thermal fuse is open, the run is choked: cleaned in the same visit, read before and after with the
	// dryer pushed back, the fuse replaced, cycled hot.
	first := finding(200, day("2026-03-02"), func(f *vent.Finding) {
		f.Symptom, f.LintBefore, f.Outcome, f.Reach = vent.NoStart, vent.Plugged, vent.Full, vent.ReachThrough
		hot := part(rules.CyclingThermostat, rules.Good, false)
		hot.Reading = hotAt(66)
		f.Parts = these(part(rules.ThermalFuse, rules.Open, true), part(rules.ThermalCutoff, rules.Good, false), part(rules.HighLimit, rules.Good, false), part(rules.Heater, rules.Good, false), hot)
		f.Before, f.After = inPlace(2.1), inPlace(7.4)
		f.CloseOut = []string{rules.ClosePushedBack, rules.CloseTransition, rules.CloseReadLast, rules.CloseFlap, rules.CloseHotRun}
	})
	d := record(first, 0.28)
	if d.Symptom != vent.NoStart || !d.Explained || d.Hunt == nil || len(d.Hunt.Missing()) > 0 || len(MissingCloseOut(first, vent.Electric)) > 0 {
		t.Errorf("first visit: %+v", d)
	}
	if open() != "follow_up_call follow_up_reading" {
		t.Errorf("after the first visit: %s", open())
	}
	dues := Dues(Asks{Faults: s.faults})
	if len(dues) != 2 || dues[0].Day != day("2026-03-09") || dues[1].Day != day("2026-04-01") {
		t.Errorf("%+v", dues)
	}

	// They are called on the fifth day; the customer's answer on the 31st day says how long a load takes.
	call, err := Fix(s.one(rules.FollowUpCall), day("2026-03-06"), "Ines Moor", "dries in one cycle")
	if err != nil {
		t.Fatal(err)
	}
	s.put(&call, call)
	answer := finding(201, day("2026-04-02"), func(f *vent.Finding) {
		f.By, f.Source = vent.Doer{Kind: vent.ByCustomer, Name: "Ida Lund"}, "customer"
		f.Before = []vent.Reading{{Quantity: vent.DryMinutes, Value: 42}}
	})
	record(answer, 0, first)
	if open() != "" {
		t.Errorf("after the follow-up: %s", open())
	}
	if f := s.one(rules.FollowUpReading); f.ClosedBy != "Ida Lund" || f.Closed != day("2026-04-02") {
		t.Errorf("%+v", f)
	}

	// Month seven: a second open fuse. The same visit cleans and replaces again, and yet nobody uses the dryer.
	second := finding(202, day("2026-10-05"), func(f *vent.Finding) {
		f.Symptom, f.LintBefore, f.Outcome, f.Reach = vent.NoStart, vent.Mat, vent.Full, vent.ReachThrough
		f.Parts = these(part(rules.ThermalFuse, rules.Open, true))
	})
	d = record(second, 0.5, first, answer)
	if !d.Hunt.Second || open() != "follow_up_call follow_up_reading second_fuse_in_year" {
		t.Errorf("month seven: %s", open())
	}
	stop := s.one(rules.SecondFuse)
	if dues = Dues(Asks{Faults: s.faults}); dues[0].Opener != stop.ID || dues[0].Day != second.Date || dues[0].Severity != vent.Stop {
		t.Errorf("%+v", dues[0])
	}

	// Occupant, customer and operator are told within the hour.
	raised := vent.InstantOf(time.Date(2026, 10, 5, 15, 0, 0, 0, time.UTC))
	roles := []vent.CallRole{vent.ToldOccupant, vent.ToldCustomer, vent.ToldOperator}
	for _, r := range roles {
		when, ok := NextCall(stop, r, raised)
		if !ok || when > raised.Add(CallWithin) {
			t.Errorf("%s is told at %s", r, when)
		}
		if stop, err = Tell(stop, vent.Call{At: when, Who: "Ida Lund", How: "telephone", Role: r, Ackd: true}); err != nil {
			t.Fatal(err)
		}
	}
	if stop, err = Tag(stop, true); err != nil || StageOf(stop, roles) != StageAcknowledged {
		t.Errorf("%s %v", StageOf(stop, roles), err)
	}
	s.put(&stop, stop)

	// Planning again, with the same facts, tells nothing new and takes no call away.
	tool, _ := ByTool(facts(func(x *Facts) { x.Findings = []vent.Finding{first, answer, second} }))
	if out := s.raise(false, tool...); len(out) > 0 {
		t.Errorf("%+v", out)
	}

	// A qualified person finds the crushed elbow in the wall and releases it.
	released, err := Release(s.one(rules.SecondFuse), day("2026-10-09"), Releaser{Name: "Marlon Fay", As: "appliance technician, certificate 88"}, "crushed elbow in the wall replaced")
	if err != nil {
		t.Fatal(err)
	}
	s.put(&released, released)
	if out := s.raise(false, tool...); len(out) > 0 || s.one(rules.SecondFuse).State != vent.FaultFixed {
		t.Errorf("the same two fuses stopped it again: %+v", out)
	}
}

// An open fuse with a clean run stops the dryer at once; so does a smell of burning told on the form at night.
func TestStopsAtOnce(t *testing.T) {
	at := Setting{Run: theRun, Dryer: theDryer}
	f := finding(210, visitDay, func(f *vent.Finding) { f.Parts = these(part(rules.ThermalFuse, rules.Open, false)) })
	d, err := Diagnose(Bench{Finding: f, Dryer: electric, Setting: at, FlowShare: 0.96})
	if err != nil {
		t.Fatal(err)
	}
	s := &shelf{t: t}
	s.raise(false, d.Sights...)
	if x := s.one(rules.FuseOpenClean); x.Severity != vent.Stop || x.Deadline != visitDay {
		t.Errorf("%+v", x)
	}

	night := vent.Sign{ID: id(300), RunID: theRun, Kind: vent.BurningSmell, On: visitDay, At: vent.InstantOf(time.Date(2026, 4, 1, 3, 12, 0, 0, time.UTC))}
	sight, ok := FromSign(night, at)
	if !ok {
		t.Fatal("a smell of burning raises nothing")
	}
	s.raise(false, sight)
	fault := s.one(rules.BurningReported)
	if next, ok := NextCall(fault, vent.ToldOccupant, night.At); !ok || next != night.At || fault.SignID != night.ID {
		t.Errorf("told at %s: %+v", next, fault)
	}
	rule, _ := rules.SignByKind(night.Kind)
	if !rule.Emergency || !strings.Contains(rule.Say, "emergency number") || !strings.Contains(rule.Say, "out") {
		t.Errorf("what they read: %s", rule.Say)
	}
	// Released in the morning, smelled again the same evening.
	fault, err = Release(fault, visitDay, Releaser{Name: "Marlon Fay", As: "appliance technician, certificate 88"}, "belt replaced")
	if err != nil {
		t.Fatal(err)
	}
	s.put(&fault, fault)
	sight.Sign = id(301)
	s.raise(false, sight)
	if x := s.one(rules.BurningReported); x.State != vent.FaultOpen || x.SignID != id(301) {
		t.Errorf("%+v", x)
	}
}
