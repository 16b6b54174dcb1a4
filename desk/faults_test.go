package desk

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// oneHome is a house with an electric dryer on a plain run of 25 ft and one elbow, long not cleaned: nothing about it is a fault.
const oneHome = `customer_name,contact_email,site_name,address,zone,unit_name,occupant_name,occupant_email,fuel,duct_length,duct_diameter,duct_material,elbows_90,outlet,run_ref,last_cleaned,cleaned_by
Ida Lund,ida.lund@example.com,9 Heron Lane,9 Heron Lane,America/New_York,House,Olle Lund,olle.lund@example.com,electric,25,4,smooth_metal,1,flapper,R-1,2017-03-13,us
`

// faultRig is an office with one home.
type faultRig struct {
	*Desk
	t   *testing.T
	run vent.Run
}

func newFaultRig(t *testing.T, csv string) faultRig {
	t.Helper()
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, csv)
	return faultRig{d, t, readAll(t, d).runs[0]}
}

// at is the office's stamp on a civil day at three in the afternoon in New York.
func at(day string) By {
	d := theDay(day)
	zone, _ := time.LoadLocation("America/New_York")
	return By{Now: d.At(15*60, zone), Actor: "office"}
}

func (r faultRig) record(day string, change func(*vent.Finding)) Recorded {
	r.t.Helper()
	f := vent.Finding{RunID: r.run.ID, Date: theDay(day), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly}
	change(&f)
	got, err := r.Record(at(day), f)
	if err != nil {
		r.t.Fatalf("record %s: %v", day, err)
	}
	return got
}

// open lists the open faults' rules, sorted.
func (r faultRig) open(day string) string {
	r.t.Helper()
	all, _, err := r.Faults(at(day), FaultQuery{Run: r.run.ID})
	if err != nil {
		r.t.Fatal(err)
	}
	var out []string
	for _, v := range all {
		if v.Fault.State == vent.FaultOpen {
			out = append(out, v.Fault.Rule)
		}
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

func (r faultRig) fault(rule string) vent.Fault {
	r.t.Helper()
	all, _, err := r.Faults(at("2026-12-01"), FaultQuery{Run: r.run.ID, Closed: true})
	if err != nil {
		r.t.Fatal(err)
	}
	var found []vent.Fault
	for _, v := range all {
		if v.Fault.Rule == rule {
			found = append(found, v.Fault)
		}
	}
	if len(found) != 1 {
		r.t.Fatalf("%d faults of %s, want one", len(found), rule)
	}
	return found[0]
}

// dues gives the run's open dues of a kind by their rule.
func (r faultRig) dues(kind vent.DueKind) map[string]vent.Due {
	r.t.Helper()
	out := map[string]vent.Due{}
	for _, x := range readAll(r.t, r.Desk).dues {
		if x.State == vent.DueOpen && x.Kind == kind {
			out[x.Reason.Rule] = x
		}
	}
	return out
}

func reading(q vent.Quantity, v float64) vent.Reading {
	return vent.Reading{Quantity: q, Value: v, Conditions: []vent.Condition{vent.PushedBack}}
}

// The story of one dryer. Days and windows are the blueprint of the trade: a call within a week, a reading at 30 days, a
// second open fuse within twelve months stops it (common practice).
func TestStoryOfOneDryer(t *testing.T) {
	r := newFaultRig(t, oneHome)
	if got := r.open("2026-03-02"); got != "" {
		t.Fatalf("a plain run has faults: %s", got)
	}
	first := r.record("2026-03-02", func(f *vent.Finding) {
		f.Symptom, f.LintBefore, f.Outcome, f.Reach = vent.NoStart, vent.Plugged, vent.Full, vent.ReachThrough
		hot := reading(vent.ExhaustT, 66)
		f.Parts = []vent.PartCheck{{Part: rules.ThermalFuse, Result: rules.Open, Replaced: true}, {Part: rules.ThermalCutoff, Result: rules.Good}, {Part: rules.HighLimit, Result: rules.Good},
			{Part: rules.Heater, Result: rules.Good}, {Part: rules.CyclingThermostat, Result: rules.Good, Reading: &hot}}
		f.Before, f.After = []vent.Reading{reading(vent.AirSpeed, 2.1)}, []vent.Reading{reading(vent.AirSpeed, 7.4)}
		f.CloseOut = []string{rules.ClosePushedBack, rules.CloseTransition, rules.CloseReadLast, rules.CloseFlap, rules.CloseHotRun}
	})
	if d := first.Diagnosis; d == nil || d.Hunt == nil || d.Hunt.Air != faults.AirChoked || len(d.Hunt.Missing()) > 0 || len(first.Missing) > 0 {
		t.Errorf("first visit: %+v, missing %v", first.Diagnosis, first.Missing)
	}
	if got := r.open("2026-03-02"); got != "follow_up_call follow_up_reading" {
		t.Errorf("after the first visit: %s", got)
	}
	dues := r.dues(vent.DueFault)
	if dues[rules.FollowUpCall].Day != theDay("2026-03-09") || dues[rules.FollowUpReading].Day != theDay("2026-04-01") {
		t.Errorf("follow-ups: %+v", dues)
	}

	if _, err := r.FixFault(at("2026-03-06"), r.fault(rules.FollowUpCall).ID, 0, "Ines Moor", "dries in one cycle"); err != nil {
		t.Fatal(err)
	}
	for _, x := range readAll(t, r.Desk).dues {
		if x.Reason.Rule == rules.FollowUpCall && x.State != vent.DueDone {
			t.Errorf("the call's due is %s", x.State)
		}
	}
	r.record("2026-04-02", func(f *vent.Finding) {
		f.By, f.Source = vent.Doer{Kind: vent.ByCustomer, Name: "Ida Lund"}, "customer"
		f.Before = []vent.Reading{{Quantity: vent.DryMinutes, Value: 42}}
	})
	if got := r.open("2026-04-02"); got != "" {
		t.Errorf("after the follow-up: %s", got)
	}

	second := r.record("2026-10-05", func(f *vent.Finding) {
		f.Symptom, f.LintBefore, f.Outcome, f.Reach = vent.NoStart, vent.Mat, vent.Full, vent.ReachThrough
		f.Parts = []vent.PartCheck{{Part: rules.ThermalFuse, Result: rules.Open, Replaced: true}}
	})
	if len(second.Faults) == 0 || second.Faults[0].Severity != vent.Stop {
		t.Errorf("month seven: %+v", second.Faults)
	}
	stop := r.fault(rules.SecondFuse)
	if due := r.dues(vent.DueFault)[rules.SecondFuse]; due.Severity != vent.Stop || due.Day != theDay("2026-10-05") || due.Subject.ID != r.run.ID {
		t.Errorf("stop due: %+v", due)
	}
	if _, err := r.FixFault(at("2026-10-06"), stop.ID, 0, "Ines Moor", "new fuse"); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("a stop fault was simply fixed: %v", err)
	}
	if _, err := r.WaiveFault(at("2026-10-06"), stop.ID, "Ida Lund", theDay("2026-11-01"), "later"); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("a stop fault was put off: %v", err)
	}
	for _, role := range []vent.CallRole{vent.ToldOccupant, vent.ToldCustomer, vent.ToldOperator} {
		if _, err := r.NoteCall(at("2026-10-05"), stop.ID, vent.Call{Who: "Olle Lund", How: "telephone", Role: role, Ackd: true}); err != nil {
			t.Fatal(err)
		}
	}
	v, err := r.TagFault(at("2026-10-05"), stop.ID, true)
	if err != nil || v.Stage != faults.StageAcknowledged || len(v.Untold) > 0 {
		t.Errorf("%s, untold %v: %v", v.Stage, v.Untold, err)
	}
	for _, bad := range []Release{{As: "appliance technician", What: "elbow replaced"}, {Name: "Marlon Fay", What: "elbow replaced"}, {Name: "Marlon Fay", As: "appliance technician"},
		{Name: "Marlon Fay", As: "appliance technician", What: "elbow replaced", On: theDay("2026-10-20")}} {
		if _, err := r.ReleaseFault(at("2026-10-09"), stop.ID, bad); !errors.Is(err, vent.ErrInvalid) {
			t.Errorf("released by %+v: %v", bad, err)
		}
	}
	if _, err := r.ReleaseFault(at("2026-10-09"), stop.ID, Release{Name: "Marlon Fay", As: "appliance technician, certificate 88", What: "crushed elbow replaced"}); err != nil {
		t.Fatal(err)
	}
	if _, ok := r.dues(vent.DueFault)[rules.SecondFuse]; ok {
		t.Error("the stop is due after its release")
	}
	r.mustNotChange("2026-10-10")
	if f := r.fault(rules.SecondFuse); f.State != vent.FaultFixed {
		t.Errorf("planning again stopped it again: %+v", f)
	}
}

// mustNotChange plans everything again and wants the very same export.
func (r faultRig) mustNotChange(day string) {
	r.t.Helper()
	before := exportOf(r.t, r.Desk)
	if _, err := r.ReplanAll(at(day), "test"); err != nil {
		r.t.Fatal(err)
	}
	if _, err := r.Replan(context.Background(), at(day)); err != nil {
		r.t.Fatal(err)
	}
	if !bytes.Equal(before, exportOf(r.t, r.Desk)) {
		r.t.Error("planning again with the same facts changed the record")
	}
}

func TestOpenFuseWithAClearRunStops(t *testing.T) {
	r := newFaultRig(t, oneHome)
	got := r.record("2026-03-02", func(f *vent.Finding) {
		f.LintBefore, f.Reach = vent.Bare, vent.ReachThrough
		f.Parts = []vent.PartCheck{{Part: rules.ThermalFuse, Result: rules.Open}}
	})
	if len(got.Faults) == 0 || got.Faults[0].Rule != rules.FuseOpenClean || got.Faults[0].Severity != vent.Stop {
		t.Errorf("%+v", got.Faults)
	}
	if due := r.dues(vent.DueFault)[rules.FuseOpenClean]; due.Severity != vent.Stop || due.Day != theDay("2026-03-02") {
		t.Errorf("%+v", due)
	}
}

// A smell of burning at three at night: what they read tells them to get out, the dryer is stopped at once, telling it
// twice is one sign, and its release answers it. Smelled again afterwards it stops again.
func TestBurningSmellAtNight(t *testing.T) {
	r := newFaultRig(t, oneHome)
	night := By{Now: at("2026-03-05").Now.Add(-12 * time.Hour), Actor: "form"}
	sign := vent.Sign{RunID: r.run.ID, Kind: vent.BurningSmell, By: "Olle Lund"}
	got, err := r.ReportSign(night, sign)
	if err != nil {
		t.Fatal(err)
	}
	if !got.Emergency || !strings.Contains(got.Say, "emergency number") || len(got.Cautions) == 0 || got.Sign.On != theDay("2026-03-05") || got.Fault.Rule != rules.BurningReported {
		t.Errorf("%+v", got)
	}
	dues := r.dues(vent.DueFault)
	if due := dues[rules.BurningReported]; due.Severity != vent.Stop || due.Day != theDay("2026-03-05") || len(r.dues(vent.DueSign)) > 0 {
		t.Errorf("%+v", dues)
	}
	if again, err := r.ReportSign(night, sign); err != nil || !again.Known || again.Sign.ID != got.Sign.ID || again.Fault.ID != got.Fault.ID {
		t.Errorf("told twice: %+v %v", again, err)
	}
	if _, err := r.ReleaseFault(at("2026-03-05"), got.Fault.ID, Release{Name: "Marlon Fay", As: "appliance technician, certificate 88", What: "belt replaced"}); err != nil {
		t.Fatal(err)
	}
	if got := r.open("2026-03-05"); got != "" || len(r.dues(vent.DueSign))+len(r.dues(vent.DueFault)) > 0 {
		t.Errorf("after the release: %s", got)
	}
	later := By{Now: at("2026-03-05").Now.Add(6 * time.Hour), Actor: "form"}
	copyOf, all := emptyDesk(t), exportOf(t, r.Desk)
	doImport(t, copyOf, 5, "all.jsonl", string(all), ImportOptions{})
	if !bytes.Equal(all, exportOf(t, copyOf)) {
		t.Error("an export of the import of an export differs")
	}
	if again, err := r.ReportSign(later, sign); err != nil || again.Known || again.Fault.State != vent.FaultOpen || again.Fault.ID != got.Fault.ID {
		t.Errorf("smelled again: %+v %v", again, err)
	}
	for _, bad := range []vent.Sign{{RunID: r.run.ID, Kind: "ghost"}, {RunID: r.run.ID, Kind: vent.HotTop, On: theDay("2027-01-01")}} {
		if _, err := r.ReportSign(later, bad); !errors.Is(err, vent.ErrInvalid) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

// A sign that a look settles is due within days, and a finding answers it.
func TestSignIsAnsweredByALook(t *testing.T) {
	r := newFaultRig(t, oneHome)
	got, err := r.ReportSign(at("2026-03-05"), vent.Sign{RunID: r.run.ID, Kind: vent.WeakFlap})
	if err != nil || got.Emergency || got.Due != theDay("2026-03-12") {
		t.Errorf("%+v %v", got, err)
	}
	if due := r.dues(vent.DueSign)[string(vent.WeakFlap)]; due.Day != got.Due {
		t.Errorf("%+v", due)
	}
	r.record("2026-03-06", func(*vent.Finding) {})
	if n := len(r.dues(vent.DueSign)); n > 0 {
		t.Errorf("%d signs due after a look", n)
	}
}

// A fault that the customer declines goes away until the day, by name and with a reason, and comes back by itself.
func TestWaivedFaultComesBack(t *testing.T) {
	r := newFaultRig(t, oneHome)
	r.record("2026-03-10", func(f *vent.Finding) { f.Faults = []string{rules.FoilTransition} })
	f := r.fault(rules.FoilTransition)
	if _, err := r.WaiveFault(at("2026-03-11"), f.ID, "Ida Lund", theDay("2026-06-01"), ""); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("waived without a reason: %v", err)
	}
	if _, err := r.WaiveFault(at("2026-03-11"), f.ID, "Ida Lund", theDay("2026-06-01"), "moves the laundry in summer"); err != nil {
		t.Fatal(err)
	}
	if due := r.dues(vent.DueFault)[rules.FoilTransition]; due.Day != theDay("2026-06-01") || due.Reason.Bound != vent.BoundWaived {
		t.Errorf("while it is put off: %+v", due)
	}
	next, err := r.EndWaivers(context.Background(), at("2026-05-31"))
	if err != nil || vent.DateOf(next) != theDay("2026-06-01") || r.fault(rules.FoilTransition).State != vent.FaultWaived {
		t.Errorf("too early: next %s, %v", next, err)
	}
	if next, err = r.EndWaivers(context.Background(), at("2026-06-01")); err != nil || !next.IsZero() {
		t.Errorf("next %s, %v", next, err)
	}
	if f := r.fault(rules.FoilTransition); f.State != vent.FaultOpen || f.Deadline != theDay("2026-06-01") {
		t.Errorf("%+v", f)
	}
	r.mustNotChange("2026-06-01")
	r.record("2026-06-03", func(f *vent.Finding) { f.Fixed = []string{rules.FoilTransition} })
	if f := r.fault(rules.FoilTransition); f.State != vent.FaultFixed || f.ClosedBy != "Ines Moor" || len(r.dues(vent.DueFault)) > 0 {
		t.Errorf("%+v", f)
	}
}

// A correction takes back what the corrected finding alone showed; the same correction again changes nothing.
func TestCorrectionTakesAFaultBack(t *testing.T) {
	r := newFaultRig(t, oneHome)
	was := r.record("2026-03-10", func(f *vent.Finding) { f.Faults = []string{rules.FoilTransition} })
	right := was.Finding
	right.Faults = nil
	for range 2 {
		if _, err := r.Correct(at("2026-03-12"), was.Finding.ID, right); err != nil {
			t.Fatal(err)
		}
	}
	if f := r.fault(rules.FoilTransition); f.State != vent.FaultFixed || f.ClosedBy != faults.TheRecord {
		t.Errorf("%+v", f)
	}
}

func TestRecordRefusesWhatTheRulesDoNotKnow(t *testing.T) {
	r := newFaultRig(t, oneHome)
	ok := vent.Finding{RunID: r.run.ID, Date: theDay("2026-03-02"), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly}
	for field, change := range map[string]func(*vent.Finding){
		"faults":       func(f *vent.Finding) { f.Faults = []string{"made_up"} },
		"fixed":        func(f *vent.Finding) { f.Fixed = []string{"made_up"} },
		"parts.part":   func(f *vent.Finding) { f.Parts = []vent.PartCheck{{Part: "flux_box", Result: rules.Good}} },
		"parts.result": func(f *vent.Finding) { f.Parts = []vent.PartCheck{{Part: rules.ThermalFuse, Result: "perhaps"}} },
		"close_out":    func(f *vent.Finding) { f.CloseOut = []string{"swept"} },
	} {
		f := ok
		change(&f)
		_, err := r.Record(at("2026-03-02"), f)
		var p vent.Problems
		if !errors.As(err, &p) || !slices.ContainsFunc(p, func(x vent.Problem) bool { return x.Field == field }) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// A run of 60 ft is longer than the 35 ft of IRC 2012 M1502.4.5.1: the tool says so on import, once, and says it no more
// when the description is put right.
func TestImportRaisesCodeLengthOnce(t *testing.T) {
	long := strings.Replace(oneHome, "electric,25,", "electric,60,", 1)
	r := newFaultRig(t, long)
	f := r.fault(rules.CodeLengthOver)
	if f.State != vent.FaultOpen || !f.ByTool || f.Found != theDay("2026-03-02") {
		t.Errorf("%+v", f)
	}
	before := exportOf(t, r.Desk)
	mustImport(t, r.Desk, 3, long)
	if !bytes.Equal(before, exportOf(t, r.Desk)) {
		t.Error("the same file again changed the record")
	}
	r.mustNotChange("2026-03-02")

	copyOf := emptyDesk(t)
	doImport(t, copyOf, 5, "all.jsonl", string(before), ImportOptions{})
	if !bytes.Equal(before, exportOf(t, copyOf)) {
		t.Error("an export of the import of an export differs")
	}

	mustImport(t, r.Desk, 10, oneHome)
	if f := r.fault(rules.CodeLengthOver); f.State != vent.FaultFixed || f.ClosedBy != faults.TheRecord || len(r.dues(vent.DueFault)) > 0 {
		t.Errorf("%+v, dues %+v", f, r.dues(vent.DueFault))
	}
	mustImport(t, r.Desk, 20, long)
	if f := r.fault(rules.CodeLengthOver); f.State != vent.FaultOpen {
		t.Errorf("%+v", f)
	}
}

// A dryer that is gone takes its faults along; a stop stays until somebody releases it.
func TestReplacedDryerTakesItsFaultsAlong(t *testing.T) {
	r := newFaultRig(t, oneHome)
	r.record("2026-03-02", func(f *vent.Finding) {
		f.Parts = []vent.PartCheck{{Part: rules.DoorSwitch, Result: rules.Open}}
	})
	if got := r.open("2026-03-02"); got != rules.PartFailed {
		t.Fatalf("faults: %s", got)
	}
	next := vent.Appliance{UnitID: r.run.UnitID, Kind: vent.Dryer, Fuel: vent.Electric}
	err := r.store.Update(at("2026-04-01"), func(tx *store.Tx) error {
		next.ID = tx.NewID()
		if err := store.Appliances.Put(tx, next, "bought"); err != nil {
			return err
		}
		v := r.run.Current()
		v.From, v.DryerID = theDay("2026-04-01"), next.ID
		r.run.Versions = append(r.run.Versions, v)
		if err := store.Runs.Put(tx, r.run, "new dryer"); err != nil {
			return err
		}
		_, err := r.planRun(tx, r.run, vent.Subject{Kind: vent.KindRun, ID: r.run.ID})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if f := r.fault(rules.PartFailed); f.State != vent.FaultFixed || f.Closed != theDay("2026-04-01") {
		t.Errorf("%+v", f)
	}
}

// theDay reads a civil day; a wrong one is a mistake of the test.
func theDay(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

// The roof fan of a riser is off: every flat on it is stopped, each by a due of its own, and each is released by itself.
func TestRoofFanOffStopsEveryFlat(t *testing.T) {
	d := importDesk(t, vent.Buildings)
	mustImport(t, d, 0, `run_ref,site_name,address,zone,unit_name,run_name,run_shape,riser_ref,fuel,duct_length,duct_diameter,elbows_90,last_cleaned,cleaned_by
RIS,Tern Court,2 Quay Street,America/New_York,,Shaft,riser,,,60,8,,2026-01-10,us
B-1,Tern Court,2 Quay Street,America/New_York,1A,Branch,branch,RIS,electric,8,4,1,2026-01-10,us
B-2,Tern Court,2 Quay Street,America/New_York,2A,Branch,branch,RIS,electric,8,4,1,2026-01-10,us
`)
	id, err := d.FindRun("RIS")
	if err != nil {
		t.Fatal(err)
	}
	f := vent.Finding{RunID: id, Date: theDay("2026-03-02"), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Ines Moor"}, Outcome: vent.LookedOnly, Faults: []string{rules.RiserFanOff}}
	got, err := d.Record(at("2026-03-02"), f)
	if err != nil || len(got.Faults) != 3 {
		t.Fatalf("%d faults, %v", len(got.Faults), err)
	}
	list, err := d.Dues(at("2026-03-02"), DueQuery{})
	if err != nil {
		t.Fatal(err)
	}
	stopped := map[string]bool{}
	for _, v := range list.Dues {
		if v.Due.Severity == vent.Stop {
			stopped[v.Run.Ref] = true
		}
	}
	if len(stopped) != 3 || !stopped["B-1"] || !stopped["B-2"] {
		t.Errorf("stopped: %v", stopped)
	}
	if again, err := d.Record(at("2026-03-02"), f); err != nil || !again.Known || len(again.Faults) > 0 {
		t.Errorf("recorded twice: %+v %v", again, err)
	}
}

// Gas without a CO alarm follows from the record alone, and so does that one is there by now.
func TestGasWithoutCOAlarm(t *testing.T) {
	gas := strings.Replace(oneHome, ",electric,", ",gas,", 1)
	r := newFaultRig(t, gas)
	if f := r.fault(rules.GasNoCOAlarm); f.State != vent.FaultOpen || f.Subject.Kind != vent.KindAppliance || !f.ByTool {
		t.Errorf("%+v", f)
	}
	if _, ok := r.dues(vent.DueFault)[rules.GasNoCOAlarm]; !ok {
		t.Error("the dryer's fault is not due on its run")
	}
	header, row, _ := strings.Cut(gas, "\n")
	mustImport(t, r.Desk, 4, header+",co_alarm\n"+strings.TrimSuffix(row, "\n")+",yes\n")
	if f := r.fault(rules.GasNoCOAlarm); f.State != vent.FaultFixed || len(r.dues(vent.DueFault)) > 0 {
		t.Errorf("%+v", f)
	}
}

// A CO alarm asks for a licence: one of ours has it by their skills, whatever else was said.
func TestReleaseByLicence(t *testing.T) {
	r := newFaultRig(t, oneHome)
	taken, err := r.ReportSign(at("2026-03-02"), vent.Sign{RunID: r.run.ID, Kind: vent.COAlarmRang})
	if err != nil {
		t.Fatal(err)
	}
	person := func(name string, skills ...string) (id vent.ID) {
		if err := r.store.Update(at("2026-03-02"), func(tx *store.Tx) error {
			id = tx.NewID()
			return store.Persons.Put(tx, vent.Person{ID: id, Name: name, Role: vent.Technician, Skills: skills}, "added")
		}); err != nil {
			t.Fatal(err)
		}
		return id
	}
	for _, bad := range []Release{
		{Name: "Marlon Fay", As: "appliance technician", What: "no CO measured"},
		{Person: person("Ines Moor", "roof"), As: "technician", What: "no CO measured", Licensed: true},
	} {
		if _, err := r.ReleaseFault(at("2026-03-03"), taken.Fault.ID, bad); !errors.Is(err, vent.ErrInvalid) {
			t.Errorf("released by %+v: %v", bad, err)
		}
	}
	v, err := r.ReleaseFault(at("2026-03-03"), taken.Fault.ID, Release{Person: person("Marlon Fay", "Gas"), As: "gas fitter, licence 12345", What: "no CO measured"})
	if err != nil || v.Fault.ClosedBy != "Marlon Fay" || v.Fault.ReleasedAs != "gas fitter, licence 12345" || v.Stage != faults.StageReleased {
		t.Errorf("%+v %v", v.Fault, err)
	}
}
