package faults

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
	"ventdue/vent/rules"
)

var onRun = vent.Subject{Kind: vent.KindRun, ID: theRun}

func foil(on string) Sight {
	return Sight{Kind: Found, Rule: rules.FoilTransition, Subject: onRun, On: day(on), Finding: id(50), By: "Ines Moor"}
}

func mended(on string) Sight {
	s := foil(on)
	s.Kind = Mended
	return s
}

// shelf keeps faults as a store would: ids for new ones, changed ones in place.
type shelf struct {
	t      *testing.T
	faults []vent.Fault
}

func (s *shelf) raise(gas bool, sights ...Sight) []vent.Fault {
	s.t.Helper()
	out, err := Raise(s.faults, sights, gas, false)
	if err != nil {
		s.t.Fatal(err)
	}
	for i, f := range out {
		s.put(&out[i], f)
	}
	return out
}

func (s *shelf) put(back *vent.Fault, f vent.Fault) {
	if f.ID.IsZero() {
		f.ID = id(1000 + len(s.faults))
		s.faults = append(s.faults, f)
		*back = f
		return
	}
	for i := range s.faults {
		if s.faults[i].ID == f.ID {
			s.faults[i] = f
		}
	}
}

func (s *shelf) one(rule string) vent.Fault {
	s.t.Helper()
	var found []vent.Fault
	for _, f := range s.faults {
		if f.Rule == rule {
			found = append(found, f)
		}
	}
	if len(found) != 1 {
		s.t.Fatalf("%d faults of %s: %+v", len(found), rule, found)
	}
	return found[0]
}

// Foil has 30 days. Each step: what is said, and what the fault is then.
func TestLifeOfAFault(t *testing.T) {
	s := &shelf{t: t}
	for _, step := range []struct {
		what            string
		sights          []Sight
		found, deadline string
		state           vent.FaultState
		again           int
		changed         bool
	}{
		{"found", []Sight{foil("2026-03-31")}, "2026-03-31", "2026-04-30", vent.FaultOpen, 0, true},
		{"found again while open: the deadline stays", []Sight{foil("2026-04-20")}, "2026-03-31", "2026-04-30", vent.FaultOpen, 0, false},
		{"a finding recorded late: found earlier, deadline earlier", []Sight{foil("2026-03-01")}, "2026-03-01", "2026-03-31", vent.FaultOpen, 0, true},
		{"put right before it was found says nothing", []Sight{mended("2026-02-01")}, "2026-03-01", "2026-03-31", vent.FaultOpen, 0, false},
		{"put right", []Sight{mended("2026-05-02")}, "2026-03-01", "2026-03-31", vent.FaultFixed, 0, true},
		{"an older finding comes in: still put right", []Sight{foil("2026-04-01")}, "2026-03-01", "2026-03-31", vent.FaultFixed, 0, false},
		{"found again: open, a new deadline", []Sight{foil("2026-09-01")}, "2026-03-01", "2026-10-01", vent.FaultOpen, 1, true},
		{"seen and put right in one visit", []Sight{mended("2026-09-20"), foil("2026-09-20")}, "2026-03-01", "2026-10-01", vent.FaultFixed, 1, true},
		{"the same visit told once more", []Sight{mended("2026-09-20"), foil("2026-09-20")}, "2026-03-01", "2026-10-01", vent.FaultFixed, 1, false},
		{"found again on the very day", []Sight{foil("2026-09-20")}, "2026-03-01", "2026-10-20", vent.FaultOpen, 2, true},
	} {
		out := s.raise(false, step.sights...)
		f := s.one(rules.FoilTransition)
		if f.Found != day(step.found) || f.Deadline != day(step.deadline) || f.State != step.state || len(f.Again) != step.again || (len(out) > 0) != step.changed {
			t.Errorf("%s: %+v (%d changed)", step.what, f, len(out))
		}
		if p := f.Valid(); len(p) > 0 {
			t.Errorf("%s: %v", step.what, p)
		}
	}
}

func TestPutRightInTheVisitThatFoundItIsRecorded(t *testing.T) {
	s := &shelf{t: t}
	s.raise(false, foil("2026-03-31"), mended("2026-03-31"))
	if f := s.one(rules.FoilTransition); f.State != vent.FaultFixed || f.ClosedBy != "Ines Moor" || f.Closed != f.Found {
		t.Errorf("%+v", f)
	}
	s = &shelf{t: t}
	s.raise(false, mended("2026-03-31")) // found by nobody before
	if f := s.one(rules.FoilTransition); f.State != vent.FaultFixed {
		t.Errorf("%+v", f)
	}
}

func TestWaivedComesBack(t *testing.T) {
	s := &shelf{t: t}
	s.raise(false, foil("2026-03-31"))
	f, err := Waive(s.one(rules.FoilTransition), day("2026-04-02"), "Ida Lund", day("2026-08-01"), "kitchen is rebuilt in July")
	if err != nil || f.State != vent.FaultWaived || len(f.Valid()) > 0 {
		t.Fatalf("%+v %v", f, err)
	}
	s.put(&f, f)
	if out := s.raise(false, foil("2026-05-01")); len(out) > 0 {
		t.Errorf("seen before the waiver ended: %+v", out)
	}
	if w, ok := FaultDue(f); !ok || w.Day != day("2026-08-01") || w.Reason.Bound != vent.BoundWaived {
		t.Errorf("due %+v", w)
	}
	if _, ok := Back(f, day("2026-07-31")); ok {
		t.Error("back a day too soon")
	}
	back, ok := Back(f, day("2026-08-01"))
	if !ok || back.State != vent.FaultOpen || back.Deadline != day("2026-08-01") || back.Until != 0 || back.ClosedBy != "" {
		t.Errorf("%+v", back)
	}
	// A finding after its end opens it as well.
	s.raise(false, foil("2026-08-03"))
	if f := s.one(rules.FoilTransition); f.State != vent.FaultOpen || f.Deadline != day("2026-08-01") {
		t.Errorf("%+v", f)
	}
}

func TestWhatIsRecordedOpensAndCloses(t *testing.T) {
	s := &shelf{t: t}
	long := func(change func(*Facts)) []Sight { return raisesTool(facts(change)) }
	withFoil := func(f *Facts) { f.Run.Versions[0].Route.Transition.Material = "foil_flex" }
	s.raise(false, long(withFoil)...)
	f := s.one(rules.FoilTransition)
	if !f.ByTool || f.Found != day("2025-01-10") { // known here since then, however old the duct
		t.Errorf("%+v", f)
	}
	if out := s.raise(false, long(withFoil)...); len(out) > 0 {
		t.Errorf("the same facts changed %+v", out)
	}
	s.raise(false, long(nil)...)
	if f = s.one(rules.FoilTransition); f.State != vent.FaultFixed || f.ClosedBy != TheRecord || f.Why == "" || f.Closed != visitDay {
		t.Errorf("%+v", f)
	}
	s.raise(false, long(withFoil)...)
	if f = s.one(rules.FoilTransition); f.State != vent.FaultOpen || len(f.Again) != 1 {
		t.Errorf("the record shows it again: %+v", f)
	}
	// What a person saw is not closed by a description; what a person put right is not opened by an old one.
	s.raise(false, foil("2026-04-10"))
	s.raise(false, long(nil)...)
	if f = s.one(rules.FoilTransition); f.State != vent.FaultOpen {
		t.Errorf("%+v", f)
	}
	s.raise(false, mended("2026-04-12"))
	s.raise(false, long(withFoil)...)
	if f = s.one(rules.FoilTransition); f.State != vent.FaultFixed {
		t.Errorf("%+v", f)
	}
}

// A stop that follows from readings is not closed by later ones; a fix is, by a later full cleaning that was measured.
func TestTroublesEndWithLaterReadings(t *testing.T) {
	far := func(f *Facts) {
		f.Troubles = []Trouble{{Rule: rules.AfterFarBelow, On: day("2026-01-05"), Finding: id(60), Value: 0.6, Against: 0.75}}
	}
	later := func(f *Facts) {
		f.Findings = []vent.Finding{finding(61, day("2026-02-05"), func(f *vent.Finding) {
			f.Outcome, f.After = vent.Full, []vent.Reading{{Quantity: vent.AirSpeed, Value: 7}}
		})}
	}
	s := &shelf{t: t}
	s.raise(false, raisesTool(facts(far))...)
	f := s.one(rules.AfterFarBelow)
	if f.Deadline != day("2026-01-19") || !strings.Contains(f.Note, "60 %") { // 14 days
		t.Errorf("%+v", f)
	}
	if s.raise(false, raisesTool(facts(nil))...); s.one(rules.AfterFarBelow).State != vent.FaultOpen {
		t.Error("gone without a reading")
	}
	s.raise(false, raisesTool(facts(later))...)
	if f = s.one(rules.AfterFarBelow); f.State != vent.FaultFixed || f.Closed != day("2026-02-05") {
		t.Errorf("%+v", f)
	}
	low := func(f *Facts) {
		f.Dryer = gas
		f.Troubles = []Trouble{{Rule: rules.LowStaticFlow, On: day("2026-01-05"), Finding: id(60)}}
	}
	s = &shelf{t: t}
	s.raise(true, raisesTool(facts(low))...)
	s.raise(true, raisesTool(facts(later))...)
	if f := s.one(rules.LowStaticFlow); f.State != vent.FaultOpen || f.Severity != vent.Stop {
		t.Errorf("a stop was closed by a reading: %+v", f)
	}
}

func TestCorrectedFindingTakesItsFaultsBack(t *testing.T) {
	s := &shelf{t: t}
	s.raise(false, foil("2026-03-31"))
	now := []Sight{}
	s.raise(false, append(now, Unsaid(s.faults, id(50), day("2026-04-01"), now)...)...)
	if f := s.one(rules.FoilTransition); f.State != vent.FaultFixed || f.ClosedBy != TheRecord || !strings.Contains(f.Why, "corrected") {
		t.Errorf("%+v", f)
	}
	s = &shelf{t: t}
	s.raise(false, foil("2026-03-31"))
	now = []Sight{foil("2026-03-31")}
	if out := s.raise(false, append(now, Unsaid(s.faults, id(50), day("2026-04-01"), now)...)...); len(out) > 0 {
		t.Errorf("%+v", out)
	}
}

func TestGasMakesAnOpenFaultGraver(t *testing.T) {
	s := &shelf{t: t}
	fallen := foil("2026-03-31")
	fallen.Rule = "duct_fallen_off"
	s.raise(false, fallen)
	if f := s.one("duct_fallen_off"); f.Severity != vent.Fix {
		t.Errorf("%+v", f)
	}
	s.raise(true, fallen)
	if f := s.one("duct_fallen_off"); f.Severity != vent.Stop || f.Deadline != f.Found {
		t.Errorf("%+v", f)
	}
	s.raise(false, fallen)
	if f := s.one("duct_fallen_off"); f.Severity != vent.Stop {
		t.Error("a stop became milder by itself")
	}
}

// The fan of a riser is off: every flat on it stops.
func TestRiserFanStopsEveryFlat(t *testing.T) {
	at := Setting{Run: theRun, Shared: true, Branches: []vent.ID{id(71), id(72)}}
	f := finding(70, visitDay, func(f *vent.Finding) { f.Faults = []string{rules.RiserFanOff} })
	out, err := Raise(nil, FromFinding(f, at), false, true)
	if err != nil || len(out) != 3 {
		t.Fatalf("%+v %v", out, err)
	}
	for i, want := range []vent.ID{theRun, id(71), id(72)} {
		if out[i].Subject.ID != want || out[i].Severity != vent.Stop {
			t.Errorf("%+v", out[i])
		}
	}
}

func TestStopIsReleasedByAQualifiedPersonOnly(t *testing.T) {
	s := &shelf{t: t}
	scorch := foil("2026-03-31")
	scorch.Rule = "scorch_marks" // for licensed people
	s.raise(false, scorch)
	f := s.one("scorch_marks")
	roles := []vent.CallRole{vent.ToldOccupant, vent.ToldCustomer, vent.ToldOperator}
	if StageOf(f, roles) != StageOpen || len(Untold(f, roles)) != 3 {
		t.Error("a new stop")
	}
	if f, err := Tag(f, true); err != nil || StageOf(f, roles) != StageTagged {
		t.Error("tagged", err)
	}
	at := vent.InstantOf(time.Date(2026, 3, 31, 14, 5, 0, 0, time.UTC))
	if next, ok := NextCall(f, vent.ToldOccupant, at); !ok || next != at {
		t.Errorf("first call %s", next)
	}
	var err error
	for _, c := range []vent.Call{
		{At: at.Add(10 * time.Minute), Who: "Olu Brandt", How: "at the door", Role: vent.ToldOccupant, Ackd: true},
		{At: at.Add(20 * time.Minute), Who: "Ida Lund", How: "telephone", Role: vent.ToldCustomer},
		{At: at, Who: "Ines Moor", How: "in person", Role: vent.ToldOperator, Ackd: true},
	} {
		if f, err = Tell(f, c); err != nil {
			t.Fatal(err)
		}
	}
	if f.Told[0].Who != "Ines Moor" || len(Untold(f, roles)) != 0 || StageOf(f, roles) == StageAcknowledged {
		t.Errorf("%+v", f.Told)
	}
	if again, _ := Tell(f, f.Told[0]); !reflect.DeepEqual(again, f) {
		t.Error("the same call told twice stands twice")
	}
	if next, ok := NextCall(f, vent.ToldCustomer, at); !ok || next != at.Add(20*time.Minute+24*time.Hour) {
		t.Errorf("the customer did not acknowledge: next %s", next)
	}
	if _, ok := NextCall(f, vent.ToldOccupant, at); ok {
		t.Error("the occupant acknowledged and is called again")
	}
	f, _ = Tell(f, vent.Call{At: at.Add(26 * time.Hour), Who: "Ida Lund", How: "telephone", Role: vent.ToldCustomer, Ackd: true})
	if StageOf(f, roles) != StageAcknowledged {
		t.Error("all acknowledged")
	}
	for field, r := range map[string]Releaser{
		"closed_by":   {Name: "  ", As: "electrician, licence 4711", Licensed: true},
		"released_as": {Name: "Ines Moor", As: "electrician", Licensed: false},
	} {
		refused(t, field, func() error { _, err := Release(f, day("2026-04-02"), r, "rewired"); return err })
	}
	refused(t, "why", func() error {
		_, err := Release(f, day("2026-04-02"), Releaser{"Ines Moor", "electrician, licence 4711", true}, " ")
		return err
	})
	refused(t, "closed", func() error {
		_, err := Release(f, day("2026-03-30"), Releaser{"Ines Moor", "electrician, licence 4711", true}, "rewired")
		return err
	})
	refused(t, "severity", func() error { _, err := Fix(f, day("2026-04-02"), "Ines Moor", "rewired"); return err })
	refused(t, "severity", func() error {
		_, err := Waive(f, day("2026-04-02"), "Ida Lund", day("2026-05-02"), "later")
		return err
	})
	if out := s.raise(false, Sight{Kind: Mended, Rule: f.Rule, Subject: f.Subject, On: day("2026-04-02"), By: "Ines Moor"}); len(out) != 1 || out[0].State != vent.FaultOpen || !strings.Contains(out[0].Note, "not yet released") {
		t.Errorf("%+v", out)
	}
	f, err = Release(f, day("2026-04-02"), Releaser{"Ines Moor", "electrician, licence 4711", true}, "socket and cord replaced")
	if err != nil || StageOf(f, roles) != StageReleased || f.ReleasedAs == "" || len(f.Valid()) > 0 {
		t.Errorf("%+v %v", f, err)
	}
	if _, ok := FaultDue(f); ok {
		t.Error("a released fault is due")
	}
	// Found again: nobody has been told of it this time.
	s.put(&f, f)
	scorch.On = day("2026-06-01")
	s.raise(false, scorch)
	if f := s.one("scorch_marks"); f.State != vent.FaultOpen || f.Tagged || len(f.Told) != 0 || f.ReleasedAs != "" {
		t.Errorf("%+v", f)
	}
}

// refused fails unless an error is a refusal that names the field, and nothing else.
func refused(t *testing.T, field string, try func() error) {
	t.Helper()
	err := try()
	var p vent.Problems
	if !errors.Is(err, vent.ErrInvalid) || !errors.As(err, &p) || len(p) != 1 || p[0].Field != field || p[0].Text == "" {
		t.Errorf("want a refusal of %s, got %v", field, err)
	}
}

func TestRefusals(t *testing.T) {
	open := vent.Fault{Rule: rules.FoilTransition, Severity: vent.Fix, State: vent.FaultOpen, Found: visitDay, Subject: onRun}
	try := func(s Sight) func() error {
		return func() error { _, err := Raise(nil, []Sight{s}, false, false); return err }
	}
	for field, s := range map[string]Sight{
		"faults":  {Kind: Found, Rule: "gremlins", Subject: onRun, On: visitDay},
		"on":      {Kind: Found, Rule: rules.FoilTransition, Subject: onRun},
		"subject": {Kind: Found, Rule: rules.FoilTransition, On: visitDay},
		"by":      {Kind: Mended, Rule: rules.FoilTransition, Subject: onRun, On: visitDay},
		"kind":    {Kind: "rumour", Rule: rules.FoilTransition, Subject: onRun, On: visitDay},
	} {
		refused(t, field, try(s))
	}
	for field, w := range map[string]struct {
		on, until vent.Date
		by, why   string
	}{
		"closed_by": {visitDay, visitDay + 30, "", "later"},
		"closed":    {0, visitDay + 30, "Ida Lund", "later"},
		"until":     {visitDay, day("2027-04-01"), "Ida Lund", "later"}, // a day over twelve months
		"why":       {visitDay, visitDay + 30, "Ida Lund", "\t"},
	} {
		refused(t, field, func() error {
			_, err := Waive(open, w.on, w.by, w.until, w.why)
			return err
		})
	}
	refused(t, "until", func() error { _, err := Waive(open, visitDay, "Ida Lund", visitDay, "later"); return err })
	refused(t, "closed_by", func() error { _, err := Fix(open, visitDay, "x\n1", ""); return err })
	done, err := Fix(open, visitDay, "Ida Lund", "metal now")
	if err != nil {
		t.Fatal(err)
	}
	refused(t, "state", func() error { _, err := Fix(done, visitDay, "Ida Lund", ""); return err })
	refused(t, "severity", func() error { _, err := Tag(open, true); return err })
	stop := open
	stop.Severity = vent.Stop
	call := vent.Call{At: 1, Who: "Olu Brandt", How: "telephone"}
	for field, spoil := range map[string]func(*vent.Call){
		"told.at": func(c *vent.Call) { c.At = 0 }, "told.who": func(c *vent.Call) { c.Who = "?" },
		"told.how": func(c *vent.Call) { c.How = "" }, "told.role": func(c *vent.Call) { c.Role = "dog" },
	} {
		c := call
		spoil(&c)
		refused(t, field, func() error { _, err := Tell(stop, c); return err })
	}
}
