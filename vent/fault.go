package vent

// SignKind is what somebody noticed between visits.
type SignKind string

// The signs. The last two call for the emergency number, not for a date.
const (
	TwoCycles    SignKind = "two_cycles"
	HotTop       SignKind = "hot_top"
	DampRoom     SignKind = "damp_room"
	WeakFlap     SignKind = "weak_flap"
	BurningSmell SignKind = "burning_smell"
	COAlarmRang  SignKind = "co_alarm_rang"
)

// Sign is what somebody noticed between visits.
type Sign struct {
	ID    ID       `json:"id" cbor:"1,keyasint"`
	RunID ID       `json:"run_id" cbor:"2,keyasint"`
	At    Instant  `json:"at" cbor:"3,keyasint"`
	On    Date     `json:"on" cbor:"4,keyasint"` // day at the site
	Kind  SignKind `json:"kind" cbor:"5,keyasint"`
	By    string   `json:"by,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	Note  string   `json:"note,omitempty" cbor:"7,keyasint,omitempty,omitzero"`
	// Answered is the finding that looked into it; none while open.
	Answered ID `json:"answered_by,omitzero" cbor:"8,keyasint,omitempty,omitzero"`
	// Released is the stop fault that it raised and that a qualified person released since; none otherwise.
	Released ID `json:"released_with,omitzero" cbor:"9,keyasint,omitempty,omitzero"`
}

// Open reports whether nobody has looked into the sign yet.
func (s Sign) Open() bool { return s.Answered.IsZero() && s.Released.IsZero() }

// Valid lists what is wrong with the sign.
func (s Sign) Valid() Problems {
	var p Problems
	oneOf(&p, "kind", s.Kind, TwoCycles, HotTop, DampRoom, WeakFlap, BurningSmell, COAlarmRang)
	day(&p, "on", s.On, true)
	text(&p, "note", s.Note)
	return p
}

// Severity says what a fault forbids.
type Severity string

// The severities.
const (
	Stop Severity = "stop" // nobody uses the dryer
	Fix  Severity = "fix"  // by a date
	Note Severity = "note" // remembered
)

// FaultState is where a fault stands. There is no "deleted".
type FaultState string

// The states.
const (
	FaultOpen   FaultState = "open"
	FaultFixed  FaultState = "fixed"
	FaultWaived FaultState = "waived" // declined by somebody, until a day
)

// Fault is a condition that must not be forgotten.
type Fault struct {
	ID        ID         `json:"id" cbor:"1,keyasint"`
	Subject   Subject    `json:"subject" cbor:"2,keyasint"`
	Rule      string     `json:"rule" cbor:"3,keyasint"` // id of the fault rule
	Severity  Severity   `json:"severity" cbor:"4,keyasint"`
	Found     Date       `json:"found" cbor:"5,keyasint"`
	FindingID ID         `json:"finding_id,omitzero" cbor:"6,keyasint,omitempty,omitzero"`
	Deadline  Date       `json:"deadline,omitzero" cbor:"7,keyasint,omitempty,omitzero"`
	State     FaultState `json:"state" cbor:"8,keyasint"`
	Closed    Date       `json:"closed,omitzero" cbor:"9,keyasint,omitempty,omitzero"` // fixed or waived on
	ClosedBy  string     `json:"closed_by,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	Why       string     `json:"why,omitempty" cbor:"11,keyasint,omitempty,omitzero"`
	Until     Date       `json:"until,omitzero" cbor:"12,keyasint,omitempty,omitzero"` // a waiver's end
	Note      string     `json:"note,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	Tagged    bool       `json:"tagged,omitempty" cbor:"14,keyasint,omitempty,omitzero"` // a tag hangs on the dryer
	Told      []Call     `json:"told,omitempty" cbor:"15,keyasint,omitempty,omitzero"`   // call list of a stop fault
	// Again holds the days on which it was found again after it had been put right, in order. Found stays the first day.
	Again []Date `json:"again,omitempty" cbor:"16,keyasint,omitempty,omitzero"`
	// SignID is the sign that raised it; none where a finding or the tool did.
	SignID ID `json:"sign_id,omitzero" cbor:"17,keyasint,omitempty,omitzero"`
	// ReleasedAs says by what right ClosedBy released a stop fault: licence, trade, authority.
	ReleasedAs string `json:"released_as,omitempty" cbor:"18,keyasint,omitempty,omitzero"`
	// ByTool says that it follows from what is recorded, so that it is put right when the record no longer shows it.
	ByTool bool `json:"by_tool,omitempty" cbor:"19,keyasint,omitempty,omitzero"`
	// ClosedWith is the finding that put it right; none where somebody said so otherwise, or the record did.
	ClosedWith ID `json:"closed_with_finding,omitzero" cbor:"20,keyasint,omitempty,omitzero"`
}

// Since is the day on which the fault's present spell began: when it was found, or last found again.
func (f Fault) Since() Date {
	if len(f.Again) > 0 {
		return f.Again[len(f.Again)-1]
	}
	return f.Found
}

// CallRole is in what capacity somebody on a call list was told.
type CallRole string

// Who must be told of a stop fault.
const (
	ToldOccupant CallRole = "occupant"
	ToldCustomer CallRole = "customer"
	ToldOperator CallRole = "operator"
)

// Call is one line of a stop fault's call list.
type Call struct {
	At   Instant `json:"at" cbor:"1,keyasint"`
	Who  string  `json:"who" cbor:"2,keyasint"`
	How  string  `json:"how" cbor:"3,keyasint"`
	Ackd bool    `json:"acknowledged,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	// Role is the capacity in which they were told; "" for anybody else, such as a neighbour or the landlord's agent.
	Role CallRole `json:"role,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
}

// Valid lists what is wrong with the fault. A stop fault is closed by who says by what right they release it.
func (f Fault) Valid() Problems {
	var p Problems
	required(&p, "rule", f.Rule)
	oneOf(&p, "severity", f.Severity, Stop, Fix, Note)
	oneOf(&p, "state", f.State, FaultOpen, FaultFixed, FaultWaived)
	day(&p, "found", f.Found, true)
	if f.State != FaultOpen {
		required(&p, "closed_by", f.ClosedBy)
		day(&p, "closed", f.Closed, true)
	}
	if f.State == FaultWaived {
		day(&p, "until", f.Until, true)
		required(&p, "why", f.Why)
	}
	if f.Severity == Stop && f.State == FaultFixed {
		required(&p, "released_as", f.ReleasedAs)
	}
	if f.Severity == Stop && f.State == FaultWaived {
		p.Add("state", string(f.State), "a stop fault cannot be put off: a named qualified person releases it")
	}
	for _, c := range f.Told {
		oneOf(&p, "told.role", c.Role, "", ToldOccupant, ToldCustomer, ToldOperator)
	}
	return p
}

// Check is a recurring look that needs no model, on one subject.
type Check struct {
	ID       ID      `json:"id" cbor:"1,keyasint"`
	Subject  Subject `json:"subject" cbor:"2,keyasint"`
	Rule     string  `json:"rule" cbor:"3,keyasint"` // id of the check rule
	Months   int     `json:"months" cbor:"4,keyasint"`
	Anchor   Date    `json:"anchor" cbor:"5,keyasint"`                                // first day of the series: keeps the day of the month
	LastDone Date    `json:"last_done,omitzero" cbor:"6,keyasint,omitempty,omitzero"` // starts the next interval
	Snoozed  Date    `json:"put_off_until,omitzero" cbor:"7,keyasint,omitempty,omitzero"`
	Why      string  `json:"why,omitempty" cbor:"8,keyasint,omitempty,omitzero"` // of a skip or of putting it off
	Off      bool    `json:"off,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	DoneBy   string  `json:"done_by,omitempty" cbor:"10,keyasint,omitempty,omitzero"` // who did it last
	// Round is the errand to which the next time belongs: checks that are done together share it, and their due is opened by
	// it. None until they are planned again.
	Round ID `json:"round,omitzero" cbor:"11,keyasint,omitempty,omitzero"`
	// Finding is the visit that carried it out last; none where a person said that it was done.
	Finding ID `json:"finding,omitzero" cbor:"12,keyasint,omitempty,omitzero"`
	// Kept is where it stood before Finding, which may have to be taken back.
	Kept Standing `json:"kept,omitzero" cbor:"13,keyasint,omitempty,omitzero"`
	Who  string   `json:"who,omitempty" cbor:"14,keyasint,omitempty,omitzero"` // who skipped it, put it off, or turned it off
}

// Standing is where a recurring check stands: what moves when it is done, skipped or put off.
type Standing struct {
	Anchor   Date   `json:"anchor" cbor:"1,keyasint"`
	LastDone Date   `json:"last_done,omitzero" cbor:"2,keyasint,omitempty,omitzero"`
	DoneBy   string `json:"done_by,omitempty" cbor:"3,keyasint,omitempty,omitzero"`
	Snoozed  Date   `json:"put_off_until,omitzero" cbor:"4,keyasint,omitempty,omitzero"`
	Why      string `json:"why,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Who      string `json:"who,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	Finding  ID     `json:"finding,omitzero" cbor:"7,keyasint,omitempty,omitzero"`
	Round    ID     `json:"round,omitzero" cbor:"8,keyasint,omitempty,omitzero"`
}

// Standing gives where the check stands.
func (c Check) Standing() Standing {
	return Standing{c.Anchor, c.LastDone, c.DoneBy, c.Snoozed, c.Why, c.Who, c.Finding, c.Round}
}

// At gives the check as it stood.
func (c Check) At(s Standing) Check {
	c.Anchor, c.LastDone, c.DoneBy, c.Snoozed, c.Why, c.Who = s.Anchor, s.LastDone, s.DoneBy, s.Snoozed, s.Why, s.Who
	c.Finding, c.Round = s.Finding, s.Round
	return c
}

// Valid lists what is wrong with the check.
func (c Check) Valid() Problems {
	var p Problems
	required(&p, "rule", c.Rule)
	between(&p, "months", float64(c.Months), 1, 240)
	day(&p, "anchor", c.Anchor, true)
	day(&p, "last_done", c.LastDone, false)
	day(&p, "put_off_until", c.Snoozed, false)
	text(&p, "why", c.Why)
	text(&p, "who", c.Who)
	text(&p, "done_by", c.DoneBy)
	return p
}
