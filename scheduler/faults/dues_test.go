package faults

import (
	"slices"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Signs within days, common practice: hot top 2, others 7, with gas 3; a smell of burning and a CO alarm at once.
func TestSignsAreDueWithinDays(t *testing.T) {
	for _, c := range []struct {
		kind     vent.SignKind
		gas      bool
		days     int
		severity vent.Severity
	}{
		{vent.TwoCycles, false, 7, vent.Fix}, {vent.TwoCycles, true, 3, vent.Fix}, {vent.DampRoom, false, 7, vent.Fix}, {vent.DampRoom, true, 3, vent.Fix},
		{vent.WeakFlap, false, 7, vent.Fix}, {vent.WeakFlap, true, 3, vent.Fix}, {vent.HotTop, false, 2, vent.Fix}, {vent.HotTop, true, 2, vent.Fix},
		{vent.BurningSmell, false, 0, vent.Stop}, {vent.COAlarmRang, true, 0, vent.Stop}, {"a new kind", false, 7, vent.Fix},
	} {
		w := SignDue(vent.Sign{ID: id(9), Kind: c.kind, On: visitDay}, c.gas)
		if w.Kind != vent.DueSign || w.Opener != id(9) || visitDay.DaysUntil(w.Day) != c.days || w.Severity != c.severity || w.Latest != w.Day || w.Reason.Rule != string(c.kind) {
			t.Errorf("%s gas %v: %+v", c.kind, c.gas, w)
		}
	}
}

func TestDuesStandStopFirst(t *testing.T) {
	sign := vent.Sign{ID: id(9), RunID: theRun, Kind: vent.BurningSmell, On: visitDay}
	s, _ := FromSign(sign, Setting{Run: theRun})
	stop, err := Raise(nil, []Sight{s}, false, false)
	if err != nil {
		t.Fatal(err)
	}
	stop[0].ID = id(100)
	fix := vent.Fault{ID: id(101), Rule: rules.FoilTransition, Severity: vent.Fix, State: vent.FaultOpen, Found: day("2026-01-01"), Deadline: day("2026-01-31")}
	fixed := fix
	fixed.ID, fixed.State = id(102), vent.FaultFixed
	old := vent.Fault{ID: id(103), Rule: "a_rule_of_old", Severity: vent.Fix, State: vent.FaultOpen, Found: day("2026-06-01")} // no deadline kept
	note := vent.Fault{ID: id(104), Rule: rules.LabelMissing, Severity: vent.Note, State: vent.FaultOpen, Found: day("2026-01-01"), Deadline: day("2027-01-01")}
	putOff := note
	putOff.ID, putOff.State, putOff.Until = id(105), vent.FaultWaived, day("2026-08-01")
	d := Dues(Asks{
		Faults: []vent.Fault{fix, fixed, old, note, putOff, stop[0]},
		Signs:  []vent.Sign{sign, {ID: id(10), Kind: vent.TwoCycles, On: visitDay}, {ID: id(11), Kind: vent.HotTop, On: visitDay, Answered: id(12)}},
	})
	var order []vent.ID
	for _, w := range d {
		order = append(order, w.Opener)
	}
	// The smell of burning is spoken for by its fault; then by day. Of a note nobody is reminded.
	if !slices.Equal(order, []vent.ID{id(100), id(101), id(10), id(103)}) {
		t.Errorf("%v", order)
	}
	if d[0].Day != visitDay || d[0].Severity != vent.Stop || d[0].Reason.Rule != rules.BurningReported {
		t.Errorf("%+v", d[0])
	}
	// Once it is released, a sign that nobody answered speaks for itself again.
	stop[0].State = vent.FaultFixed
	if d := Dues(Asks{Faults: stop, Signs: []vent.Sign{sign}}); len(d) != 1 || d[0].Kind != vent.DueSign {
		t.Errorf("%+v", d)
	}
}

// A call within a week, not the same day; a reading at 30 days, not before three weeks, a week of grace.
func TestFollowUpsHaveWindows(t *testing.T) {
	call := vent.Fault{Rule: rules.FollowUpCall, Severity: vent.Fix, State: vent.FaultOpen, Found: day("2026-03-31"), Deadline: day("2026-04-07")}
	if w, ok := FaultDue(call); !ok || w.Earliest != day("2026-04-01") || w.Day != day("2026-04-07") || w.Latest != day("2026-04-07") {
		t.Errorf("%+v", w)
	}
	read := vent.Fault{Rule: rules.FollowUpReading, Severity: vent.Fix, State: vent.FaultOpen, Found: day("2026-03-31"), Deadline: day("2026-04-30")}
	if w, ok := FaultDue(read); !ok || w.Earliest != day("2026-04-21") || w.Day != day("2026-04-30") || w.Latest != day("2026-05-07") {
		t.Errorf("%+v", w)
	}
}
