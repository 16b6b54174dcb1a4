package vent

import "math"

// DueKind is what must be done.
type DueKind string

// The kinds of dues. Looking and cleaning are two dues.
const (
	DueLook  DueKind = "look"  // a reading, the flap, or a full opening
	DueClean DueKind = "clean" // open and clean the run
	DueFault DueKind = "fault" // put a fault right by its deadline
	DueSign  DueKind = "sign"  // look into what somebody noticed
	DueCheck DueKind = "check" // a recurring look
)

// Bound names what set a date where the computed one did not stand.
type Bound string

// The bounds.
const (
	BoundNone         Bound = ""              // the computed day itself
	BoundShortest     Bound = "shortest"      // not sooner after a full cleaning
	BoundLook         Bound = "look_interval" // a look never later than this
	BoundNoEvidence   Bound = "no_evidence"   // no cleaning later than this without measured cycles
	BoundLongest      Bound = "longest"       // never later, evidence or not
	BoundCeiling      Bound = "ceiling"       // an outside interval
	BoundUnknown      Bound = "never_cleaned" // last cleaning not known
	BoundPastLimit    Bound = "past_limit"    // a reading or an eye found the run past the limit: at once
	BoundWinter       Bound = "before_winter" // pulled forward from deep winter
	BoundCorrective   Bound = "corrective"    // a sign or fault asks for it
	BoundNotToldLater Bound = "told"          // somebody was told the earlier date
	BoundInterval     Bound = "interval"      // a recurring check's own interval
	BoundWaived       Bound = "waived"        // a fault that was put off comes back on that day
)

// LimitKind names which limit the run is expected to pass first.
type LimitKind string

// The limits.
const (
	LimitFlow   LimitKind = "flow"       // flow below a share of the clean flow
	LimitStatic LimitKind = "pressure"   // the maker's static pressure
	LimitSpeed  LimitKind = "lint_speed" // 1 200 ft/min for lint transport
	// LimitLint is half of the lint at which the flow's limit is passed. It stands in for a maker's limit at or past which the
	// clean run stands already: no day is the day of reaching that.
	LimitLint LimitKind = "lint_share"
)

// Reason carries the numbers behind a due, enough to say it in a sentence, in a picture or in JSON without
// asking the model again.
type Reason struct {
	Bound   Bound     `json:"bound,omitempty" cbor:"1,keyasint,omitempty,omitzero"`
	Limit   LimitKind `json:"limit,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	Risk    float64   `json:"risk,omitempty" cbor:"3,keyasint,omitempty,omitzero"`    // chance at which it must be opened
	Chance  float64   `json:"chance,omitempty" cbor:"4,keyasint,omitempty,omitzero"`  // chance of being past the limit on the due day
	Since   Date      `json:"since,omitzero" cbor:"5,keyasint,omitempty,omitzero"`    // last cleaning, or the day it was first known; none where neither dates the due
	ByModel Date      `json:"by_model,omitzero" cbor:"6,keyasint,omitempty,omitzero"` // day the model alone gives; none: not within ten years
	Median  Date      `json:"median,omitzero" cbor:"7,keyasint,omitempty,omitzero"`   // day by which half of such runs are past
	// LoadsPerWeek and LoadsFrom say how much use was reckoned with and who said so.
	LoadsPerWeek float64   `json:"loads_per_week,omitempty" cbor:"8,keyasint,omitempty,omitzero"`
	LoadsFrom    UseSource `json:"loads_from,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	// GrowthPer100 is the median share of the bore radius lost per hundred loads, GrowthDoubt the factor
	// within which it lies two times out of three.
	GrowthPer100 float64 `json:"growth_per_100_loads,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	GrowthDoubt  float64 `json:"growth_doubt,omitempty" cbor:"11,keyasint,omitempty,omitzero"`
	Cycles       int     `json:"cycles,omitempty" cbor:"12,keyasint,omitempty,omitzero"`   // measured cycles of this version
	Readings     int     `json:"readings,omitempty" cbor:"13,keyasint,omitempty,omitzero"` // readings used; of recurring checks how many are done together
	// NoGeometry says that the run was never described, or only as OutsideModel says, so that the prior is wide.
	NoGeometry bool `json:"no_geometry,omitempty" cbor:"14,keyasint,omitempty,omitzero"`
	// OutsideModel says that the formulas of air flow do not hold for the run, as it was described or as Boosted says.
	OutsideModel bool `json:"outside_model,omitempty" cbor:"24,keyasint,omitempty,omitzero"`
	// Boosted says that this is because a booster is in the run.
	Boosted bool `json:"boosted,omitempty" cbor:"25,keyasint,omitempty,omitzero"`
	// Worst ranks never-cleaned runs: 0 harmless to 1 first.
	Worst float64 `json:"worst,omitempty" cbor:"15,keyasint,omitempty,omitzero"`
	// Months and Source belong to the bound: how long, who says so.
	Months int    `json:"months,omitempty" cbor:"16,keyasint,omitempty,omitzero"`
	Source string `json:"source,omitempty" cbor:"17,keyasint,omitempty,omitzero"`
	Rule   string `json:"rule,omitempty" cbor:"18,keyasint,omitempty,omitzero"` // fault or check rule, sign kind
	// LastFlow is the newest reading as a share of the clean value; 0: none.
	LastFlow   float64 `json:"last_flow_share,omitempty" cbor:"19,keyasint,omitempty,omitzero"`
	LastFlowOn Date    `json:"last_flow_on,omitzero" cbor:"20,keyasint,omitempty,omitzero"`
	// Also names the other check rules that stand on the same line, joined by commas.
	Also string `json:"also,omitempty" cbor:"21,keyasint,omitempty,omitzero"`
	// Seen is the lint that an eye saw, where that put the run past its limit, and SeenOn the day; none where a reading did.
	Seen   Grade `json:"seen,omitempty" cbor:"22,keyasint,omitempty,omitzero"`
	SeenOn Date  `json:"seen_on,omitzero" cbor:"23,keyasint,omitempty,omitzero"`
}

// Wanted is a due as the rules want it: what, when and why. Its key is (subject, Kind, Opener).
type Wanted struct {
	Kind     DueKind  `json:"kind" cbor:"1,keyasint"`
	Opener   ID       `json:"opener" cbor:"2,keyasint"` // event that opened the cycle: finding, installation, import
	Day      Date     `json:"day" cbor:"3,keyasint"`
	Earliest Date     `json:"earliest" cbor:"4,keyasint"`                              // not sensible before
	Latest   Date     `json:"latest" cbor:"5,keyasint"`                                // must not be later
	Severity Severity `json:"severity,omitempty" cbor:"6,keyasint,omitempty,omitzero"` // of the fault behind it
	Unknown  bool     `json:"unknown,omitempty" cbor:"7,keyasint,omitempty,omitzero"`  // the last cleaning is not known: due in turn
	Reason   Reason   `json:"reason" cbor:"8,keyasint"`
}

// DueState is where a due stands.
type DueState string

// The states. "Overdue" is not one: it follows from the day and today.
const (
	DueOpen      DueState = "open"
	DueDone      DueState = "done"      // the work was recorded
	DueWithdrawn DueState = "withdrawn" // the rules no longer want it
)

// Due is what must be done on one subject, as it is stored and published.
type Due struct {
	ID      ID      `json:"id" cbor:"1,keyasint"`
	Subject Subject `json:"subject" cbor:"2,keyasint"`
	SiteID  ID      `json:"site_id" cbor:"3,keyasint"`
	Wanted  `cbor:"4,keyasint"`
	// CustomerID is the site's customer, kept here so that one customer's dues lie together.
	CustomerID ID       `json:"customer_id" cbor:"14,keyasint"`
	State      DueState `json:"state" cbor:"5,keyasint"`
	// UID, Sequence and Modified are the calendar's: minted once, raised only where published fields change.
	UID      string  `json:"uid" cbor:"6,keyasint"`
	Sequence int     `json:"sequence" cbor:"7,keyasint"`
	Created  Instant `json:"created" cbor:"8,keyasint"`
	Modified Instant `json:"modified" cbor:"9,keyasint"`
	// ClosedBy is the event that closed it; none while open.
	ClosedBy ID      `json:"closed_by,omitzero" cbor:"10,keyasint,omitempty,omitzero"`
	Closed   Instant `json:"closed,omitzero" cbor:"11,keyasint,omitempty,omitzero"`
	// ToldDay is the day that somebody was last told; none: nobody was told yet. A told day moves later only on
	// the run's own evidence.
	ToldDay Date `json:"told_day,omitzero" cbor:"12,keyasint,omitempty,omitzero"`
	// Arm counts how often a told day moved later by over two weeks: the person is told again.
	Arm int `json:"arm,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
}

// Valid lists what is wrong with the due.
func (d Due) Valid() Problems {
	var p Problems
	oneOf(&p, "kind", d.Kind, DueLook, DueClean, DueFault, DueSign, DueCheck)
	day(&p, "day", d.Day, true)
	day(&p, "earliest", d.Earliest, false)
	day(&p, "latest", d.Latest, false)
	oneOf(&p, "severity", d.Severity, "", Stop, Fix, Note)
	oneOf(&p, "state", d.State, DueOpen, DueDone, DueWithdrawn)
	line(&p, "uid", d.UID)
	between(&p, "sequence", float64(d.Sequence), 0, math.MaxInt32) // RFC 5545 section 3.3.8: an integer of 32 bits
	return p
}

// Published is the part of a due that calendars and people see; when it changes, Sequence rises.
type Published struct {
	Day, Earliest, Latest Date
	Severity              Severity
	Unknown               bool
	State                 DueState
	Reason                Reason
}

// Published gives what calendars and people see of the due.
func (d Due) Published() Published {
	return Published{d.Day, d.Earliest, d.Latest, d.Severity, d.Unknown, d.State, d.Reason}
}
