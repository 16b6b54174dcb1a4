package vent

// DoerKind says who did the work that a finding tells of.
type DoerKind string

// Who can have done it. Work of others is believed to have happened, but not to have left the run clean.
const (
	ByUs        DoerKind = "us"
	ByCustomer  DoerKind = "customer"
	ByOtherFirm DoerKind = "other_firm"
	ByUnknown   DoerKind = "unknown"
)

// Doer is who did it.
type Doer struct {
	Kind     DoerKind `json:"kind" cbor:"1,keyasint"`
	Name     string   `json:"name,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	PersonID ID       `json:"person_id,omitzero" cbor:"3,keyasint,omitempty,omitzero"`
}

// Outcome is what became of the run on that day.
type Outcome string

// The outcomes.
const (
	LookedOnly Outcome = "looked"  // nothing was taken out
	Full       Outcome = "full"    // the whole run was cleaned
	Partial    Outcome = "partial" // part of it
	OneEnd     Outcome = "one_end" // from one end, the other not seen
	Failed     Outcome = "failed"  // tried, not done: shut door, nest, blocked
)

// Reach is how far the brush or the eye got.
type Reach string

// How far.
const (
	ReachUnknown Reach = ""
	ReachThrough Reach = "through"    // seen through from end to end
	ReachDryer   Reach = "dryer_side" // from the dryer's end only
	ReachHood    Reach = "hood_side"  // from the outlet only
	ReachNone    Reach = "none"
)

// Grade is lint by sight, at the worst place.
type Grade string

// The grades.
const (
	NotGraded Grade = ""
	Bare      Grade = "bare"    // metal everywhere
	Film      Grade = "film"    // a grey film, metal shows through
	Fuzz      Grade = "fuzz"    // loose fuzz, bore clearly open
	Mat       Grade = "mat"     // a mat that narrows the bore
	Plugged   Grade = "plugged" // no or hardly any way through
)

// Symptom is how a dryer fails.
type Symptom string

// The symptoms.
const (
	NoSymptom     Symptom = ""
	NoStart       Symptom = "no_start"            // the drum does not turn
	NoHeat        Symptom = "no_heat"             // it runs without heat
	NoHeatSetting Symptom = "no_heat_one_setting" // one heat setting stays cold
	Overheats     Symptom = "overheats"           // clothes or cabinet too hot, shuts off hot
)

// PartCheck is what a check of one part of the dryer gave.
type PartCheck struct {
	Part     string   `json:"part" cbor:"1,keyasint"`
	Result   string   `json:"result" cbor:"2,keyasint"` // "good", "open", "stuck_closed", "shorted_to_case", "out_of_range", "not_checked"
	Reading  *Reading `json:"reading,omitempty" cbor:"3,keyasint,omitempty,omitzero"`
	Replaced bool     `json:"replaced,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	Note     string   `json:"note,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
}

// Photo names one picture; the file lies beside the data file under its hash.
type Photo struct {
	SHA256 string `json:"sha256" cbor:"1,keyasint"`
	Name   string `json:"name" cbor:"2,keyasint"`
	Type   string `json:"type" cbor:"3,keyasint"`
	Bytes  int64  `json:"bytes" cbor:"4,keyasint"`
}

// Finding is what one look found and did on one run. It is never overwritten: a correction is a new finding
// that names the old one.
type Finding struct {
	ID      ID      `json:"id" cbor:"1,keyasint"`
	RunID   ID      `json:"run_id" cbor:"2,keyasint"`
	Date    Date    `json:"date" cbor:"3,keyasint"`
	Source  string  `json:"source" cbor:"4,keyasint"` // with run and date, its key: "visit", "import", "customer", …
	By      Doer    `json:"by" cbor:"5,keyasint"`
	Outcome Outcome `json:"outcome" cbor:"6,keyasint"`
	Reach   Reach   `json:"reach,omitempty" cbor:"7,keyasint,omitempty,omitzero"`

	LintBefore Grade     `json:"lint_before,omitempty" cbor:"8,keyasint,omitempty,omitzero"`
	LintAfter  Grade     `json:"lint_after,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	Before     []Reading `json:"before,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	After      []Reading `json:"after,omitempty" cbor:"11,keyasint,omitempty,omitzero"`

	Faults   []string    `json:"faults,omitempty" cbor:"12,keyasint,omitempty,omitzero"` // ids of fault rules that were seen
	Parts    []PartCheck `json:"parts,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	CloseOut []string    `json:"close_out,omitempty" cbor:"14,keyasint,omitempty,omitzero"` // lines of the close-out list that were done
	Photos   []Photo     `json:"photos,omitempty" cbor:"15,keyasint,omitempty,omitzero"`
	Note     string      `json:"note,omitempty" cbor:"16,keyasint,omitempty,omitzero"`

	Corrects ID      `json:"corrects,omitzero" cbor:"17,keyasint,omitempty,omitzero"` // the finding that this one replaces
	Replaced ID      `json:"replaced_by,omitzero" cbor:"18,keyasint,omitempty,omitzero"`
	Recorded Instant `json:"recorded" cbor:"19,keyasint"`
	Recorder string  `json:"recorder,omitempty" cbor:"20,keyasint,omitempty,omitzero"` // actor who wrote it down
	// Sudden says that what was found came at once (nest, crushed elbow) and is not growth of lint.
	Sudden bool `json:"sudden,omitempty" cbor:"21,keyasint,omitempty,omitzero"`
	// LoadCounter is the dryer's own cycle count on that day, where it has one; 0: not read.
	LoadCounter int64 `json:"load_counter,omitempty" cbor:"22,keyasint,omitempty,omitzero"`
	// Fixed holds the ids of fault rules that were put right on that day, seen on it or long before.
	Fixed []string `json:"fixed,omitempty" cbor:"23,keyasint,omitempty,omitzero"`
	// Symptom is what was wrong with the dryer itself; "" where it ran as it should.
	Symptom Symptom `json:"symptom,omitempty" cbor:"24,keyasint,omitempty,omitzero"`
}

// Cleaned reports whether lint was taken out: fully, or as far as it went.
func (f Finding) Cleaned() bool {
	return f.Outcome == Full || f.Outcome == Partial || f.Outcome == OneEnd
}

// CleanedFully reports whether the whole run was cleaned.
func (f Finding) CleanedFully() bool { return f.Outcome == Full }

// Choked reports lint that narrows the bore or closes it.
func (g Grade) Choked() bool { return g == Mat || g == Plugged }

// LeftAs is the lint that the finding left in the run: as graded after a cleaning, else as it was found.
func (f Finding) LeftAs() Grade {
	if f.LintAfter != NotGraded || f.Cleaned() {
		return f.LintAfter
	}
	return f.LintBefore
}

// Counts reports whether the finding is the valid word on its day: it was not replaced by a correction.
func (f Finding) Counts() bool { return f.Replaced.IsZero() }

// Looked reports whether somebody saw the state of the run: any outcome but a failed one.
func (f Finding) Looked() bool { return f.Outcome != Failed }

// Valid lists what is wrong with the finding. today is the day at the site: a finding cannot be from the future.
func (f Finding) Valid(today Date) Problems {
	var p Problems
	day(&p, "date", f.Date, true)
	if f.Date > today {
		p.Add("date", f.Date.String(), "is in the future: today is %s", today)
	}
	required(&p, "source", f.Source)
	oneOf(&p, "by", f.By.Kind, ByUs, ByCustomer, ByOtherFirm, ByUnknown)
	text(&p, "by_name", f.By.Name)
	oneOf(&p, "outcome", f.Outcome, LookedOnly, Full, Partial, OneEnd, Failed)
	oneOf(&p, "reach", f.Reach, ReachUnknown, ReachThrough, ReachDryer, ReachHood, ReachNone)
	oneOf(&p, "lint_before", f.LintBefore, NotGraded, Bare, Film, Fuzz, Mat, Plugged)
	oneOf(&p, "lint_after", f.LintAfter, NotGraded, Bare, Film, Fuzz, Mat, Plugged)
	for _, r := range f.Before {
		p.Under("before", r.Valid())
	}
	for _, r := range f.After {
		p.Under("after", r.Valid())
	}
	if len(f.After) > 0 && !f.Cleaned() {
		p.Add("after", "", "has readings after a cleaning, but outcome %q cleaned nothing: give them as before", f.Outcome)
	}
	if f.Outcome == Full && f.Reach == ReachNone {
		p.Add("reach", string(f.Reach), "a full cleaning reached somewhere: say through, dryer_side or hood_side")
	}
	oneOf(&p, "symptom", f.Symptom, NoSymptom, NoStart, NoHeat, NoHeatSetting, Overheats)
	text(&p, "note", f.Note)
	return p
}
