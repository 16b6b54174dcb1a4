package desk

import (
	"testing"

	"ventdue/vent"
)

const outletScreen = "outlet_screen" // the rule's id

// A correction that no longer says that a fault was put right opens it again, in the spell in which it was; one that says it of
// another day moves the day.
func TestCorrectionTakesBackWhatWasPutRight(t *testing.T) {
	r := newFaultRig(t, oneHome)
	r.record("2026-03-03", func(f *vent.Finding) { f.Faults = []string{outletScreen} })
	deadline := r.fault(outletScreen).Deadline
	second := r.record("2026-03-10", func(f *vent.Finding) { f.Fixed = []string{outletScreen} })
	if f := r.fault(outletScreen); f.State != vent.FaultFixed || f.Closed != theDay("2026-03-10") || f.ClosedWith != second.Finding.ID {
		t.Fatalf("put right: %+v", f)
	}
	correct := func(old vent.ID, day string, fixed ...string) Recorded {
		t.Helper()
		got, err := r.Correct(at("2026-03-20"), old, vent.Finding{RunID: r.run.ID, Date: theDay(day), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly, Fixed: fixed})
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	moved := correct(second.Finding.ID, "2026-03-12", outletScreen)
	if f := r.fault(outletScreen); f.State != vent.FaultFixed || f.Closed != theDay("2026-03-12") || f.ClosedWith != moved.Finding.ID || len(f.Again) > 0 {
		t.Errorf("put right on another day: %+v", f)
	}
	dropped := correct(moved.Finding.ID, "2026-03-12")
	f := r.fault(outletScreen)
	if f.State != vent.FaultOpen || f.Deadline != deadline || len(f.Again) > 0 || f.Found != theDay("2026-03-03") || f.ClosedBy != "" {
		t.Errorf("never put right: %+v", f)
	}
	open := false
	for _, d := range dropped.Dues {
		open = open || d.Kind == vent.DueFault && d.Opener == f.ID
	}
	if !open {
		t.Error("the fault that is open again is not due")
	}

	// Put right by somebody's word, not by a visit: no correction of a visit takes that back.
	if _, err := r.FixFault(at("2026-03-20"), f.ID, theDay("2026-03-15"), "Ines Moor", "screen taken off"); err != nil {
		t.Fatal(err)
	}
	correct(dropped.Finding.ID, "2026-03-11")
	if f := r.fault(outletScreen); f.State != vent.FaultFixed || f.Closed != theDay("2026-03-15") {
		t.Errorf("put right by word: %+v", f)
	}
}

// Found and put right in one visit, and both taken back: the fault stays in the record as one that the record no longer shows.
func TestCorrectionTakesBackAVisitWhole(t *testing.T) {
	r := newFaultRig(t, oneHome)
	first := r.record("2026-03-03", func(f *vent.Finding) {
		f.Faults, f.Fixed = []string{outletScreen}, []string{outletScreen}
	})
	if _, err := r.Correct(at("2026-03-04"), first.Finding.ID, vent.Finding{RunID: r.run.ID, Date: theDay("2026-03-03"), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly}); err != nil {
		t.Fatal(err)
	}
	if f := r.fault(outletScreen); f.State != vent.FaultFixed || f.ClosedBy != "the record" {
		t.Errorf("%+v", f)
	}
	if got := r.open("2026-03-05"); got != "" {
		t.Errorf("open: %s", got)
	}
}
