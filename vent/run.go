package vent

import "ventdue/vent/airflow"

// RunShape says how a run hangs together with others.
type RunShape string

// The shapes.
const (
	Single RunShape = "single" // one dryer, one outlet
	Riser  RunShape = "riser"  // common shaft; its branches name it as parent
	Branch RunShape = "branch" // from one dryer into a riser
)

// UsualRunName is what a run is called where nobody gave it a name: a unit's only one. It adds nothing to the unit's
// own name, so places are shown without it.
const UsualRunName = "Dryer vent"

// Version is a run as it was built from one day on. A changed dryer, route, outlet, booster or
// measuring point starts a new version with a new clean value; history stays.
type Version struct {
	From     Date   `json:"from,omitzero" cbor:"1,keyasint,omitempty,omitzero"` // none: as far back as known
	DryerID  ID     `json:"dryer_id,omitzero" cbor:"2,keyasint,omitempty,omitzero"`
	InLine   []ID   `json:"in_line,omitempty" cbor:"3,keyasint,omitempty,omitzero"` // boosters and traps
	Why      string `json:"why,omitempty" cbor:"4,keyasint,omitempty,omitzero"`
	Measured bool   `json:"measured,omitempty" cbor:"5,keyasint,omitempty,omitzero"` // route was measured, not guessed
	// Route is the geometry; nil where nobody described it: the run still gets a date, from a wide prior.
	Route       *airflow.Duct `json:"route,omitempty" cbor:"6,keyasint,omitempty,omitzero"`
	Uninsulated bool          `json:"uninsulated,omitempty" cbor:"7,keyasint,omitempty,omitzero"` // parts in cold space: condensation binds lint
	RoofOutlet  bool          `json:"roof_outlet,omitempty" cbor:"8,keyasint,omitempty,omitzero"`
	Edition     string        `json:"edition,omitempty" cbor:"9,keyasint,omitempty,omitzero"`   // rule for code length; "" is the policy's
	Labelled    bool          `json:"labelled,omitempty" cbor:"10,keyasint,omitempty,omitzero"` // code-length label is up
}

// UseSource says where a count of loads comes from, and so how much it is trusted.
type UseSource string

// The sources of a load count, the most trusted first.
const (
	UseCounter   UseSource = "counter"   // the machine counts
	UseTold      UseSource = "told"      // somebody who lives there said so
	UseHousehold UseSource = "household" // estimated from bedrooms or people
	UseDefault   UseSource = "default"   // nothing known: 283 a year (10 CFR 430 subpart B appendix D2)
	UseEmpty     UseSource = "empty"     // nobody lives there
)

// Use is how many loads a week pass through a run from one day on.
type Use struct {
	From         Date      `json:"from,omitzero" cbor:"1,keyasint,omitempty,omitzero"`
	LoadsPerWeek float64   `json:"loads_per_week" cbor:"2,keyasint"`
	Source       UseSource `json:"source" cbor:"3,keyasint"`
}

// Ceiling is an interval from outside that no computed date may pass: maker, insurer, lease, fire marshal.
type Ceiling struct {
	Months int    `json:"months" cbor:"1,keyasint"`
	Source string `json:"source" cbor:"2,keyasint"`
}

// Run is an exhaust vent run: transition duct, ducts, fittings and outlet; or a common riser.
type Run struct {
	ID       ID        `json:"id" cbor:"1,keyasint"`
	Ref      string    `json:"ref,omitempty" cbor:"2,keyasint,omitempty,omitzero"`
	SiteID   ID        `json:"site_id" cbor:"3,keyasint"`
	UnitID   ID        `json:"unit_id,omitzero" cbor:"4,keyasint,omitempty,omitzero"` // none for a common riser
	Name     string    `json:"name" cbor:"5,keyasint"`
	Shape    RunShape  `json:"shape" cbor:"6,keyasint"`
	ParentID ID        `json:"parent_id,omitzero" cbor:"7,keyasint,omitempty,omitzero"` // a branch's riser
	Known    Date      `json:"known" cbor:"8,keyasint"`                                 // day on which this installation learned of it
	Versions []Version `json:"versions" cbor:"9,keyasint"`                              // oldest first, never empty
	Use      []Use     `json:"use,omitempty" cbor:"10,keyasint,omitempty,omitzero"`     // oldest first
	Ceilings []Ceiling `json:"ceilings,omitempty" cbor:"11,keyasint,omitempty,omitzero"`
	Ended    Date      `json:"ended,omitzero" cbor:"12,keyasint,omitempty,omitzero"` // no longer kept from this day on
	Note     string    `json:"note,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	PastFuse bool      `json:"past_fuse,omitempty" cbor:"14,keyasint,omitempty,omitzero"` // a one-shot fuse opened here once, no date known
}

// VersionOn gives the version that stood on the day: the last that started on or before it, else the first.
func (r Run) VersionOn(d Date) Version {
	if len(r.Versions) == 0 {
		return Version{}
	}
	v := r.Versions[0]
	for _, x := range r.Versions[1:] {
		if x.From <= d {
			v = x
		}
	}
	return v
}

// Current gives the newest version.
func (r Run) Current() Version {
	if len(r.Versions) == 0 {
		return Version{}
	}
	return r.Versions[len(r.Versions)-1]
}

// Shared reports whether more than one dryer depends on the run.
func (r Run) Shared() bool { return r.Shape != Single }

// Valid lists what is wrong with the run.
func (r Run) Valid() Problems {
	var p Problems
	ref(&p, r.Ref)
	required(&p, "name", r.Name)
	text(&p, "note", r.Note)
	oneOf(&p, "shape", r.Shape, Single, Riser, Branch)
	day(&p, "known", r.Known, true)
	day(&p, "ended", r.Ended, false)
	if r.Shape == Branch && r.ParentID.IsZero() {
		p.Add("parent_id", "", "is missing: a branch names its riser")
	}
	if len(r.Versions) == 0 {
		p.Add("versions", "", "is empty: a run has at least one version")
	}
	for i, v := range r.Versions {
		if i > 0 && v.From <= r.Versions[i-1].From {
			p.Add("versions.from", v.From.String(), "is not after the version before it")
		}
		if v.Route != nil {
			if err := v.Route.Validate(); err != nil {
				p.Add("versions.route", "", "%v", err)
			}
		}
	}
	for i, u := range r.Use {
		between(&p, "use.loads_per_week", u.LoadsPerWeek, 0, 1000)
		oneOf(&p, "use.source", u.Source, UseCounter, UseTold, UseHousehold, UseDefault, UseEmpty)
		if i > 0 && u.From <= r.Use[i-1].From {
			p.Add("use.from", u.From.String(), "is not after the entry before it")
		}
	}
	for _, c := range r.Ceilings {
		between(&p, "ceilings.months", float64(c.Months), 1, 120)
		required(&p, "ceilings.source", c.Source)
	}
	return p
}
