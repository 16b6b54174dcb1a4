package vent

// VisitState is where a visit or an appointment stands.
type VisitState string

// The states. A proposed one is the planner's, who may move or drop it; nobody outside has seen it. A held one waits for
// somebody's yes until its Until. A booked one is agreed. The others are over.
const (
	Proposed   VisitState = "proposed"
	Held       VisitState = "held"
	Booked     VisitState = "booked"
	VisitDone  VisitState = "done"
	PartDone   VisitState = "part_done"   // some doors were shut or some work is left
	NobodyHome VisitState = "nobody_home" // nothing could be done: nobody opened
	Refused    VisitState = "refused"     // nothing could be done: somebody did not let it be done
	Cancelled  VisitState = "cancelled"   // called off before it took place
)

// Ahead reports whether it is still to take place: it was agreed or offered and is not over.
func (s VisitState) Ahead() bool { return s == Held || s == Booked }

// Live reports whether it is still to take place or proposed.
func (s VisitState) Live() bool { return s == Proposed || s.Ahead() }

// Over reports whether somebody went, whatever came of it.
func (s VisitState) Over() bool {
	return s == VisitDone || s == PartDone || s == NobodyHome || s == Refused
}

func checkState(p *Problems, s VisitState) {
	oneOf(p, "state", s, Proposed, Held, Booked, VisitDone, PartDone, NobodyHome, Refused, Cancelled)
}

// Spot is where a visit stood before it was moved: with whom, on which day, at what time.
type Spot struct {
	TechnicianID ID   `json:"technician_id,omitzero" cbor:"1,keyasint,omitempty,omitzero"`
	On           Date `json:"on" cbor:"2,keyasint"`
	Start        int  `json:"start_minutes" cbor:"3,keyasint"` // minutes after midnight at the site
}

// Visit is one technician at one site on one day. Its time is local: date, minutes after midnight, zone; the
// instant is derived with Date.At. One without a site is a block of the technician's own time: an office hour, a repair of the van.
type Visit struct {
	ID           ID         `json:"id" cbor:"1,keyasint"`
	SiteID       ID         `json:"site_id,omitzero" cbor:"2,keyasint"`
	TechnicianID ID         `json:"technician_id,omitzero" cbor:"3,keyasint,omitempty,omitzero"`
	On           Date       `json:"on" cbor:"4,keyasint"`
	Start        int        `json:"start_minutes" cbor:"5,keyasint"`
	Minutes      int        `json:"minutes" cbor:"6,keyasint"`
	Zone         string     `json:"zone" cbor:"7,keyasint"`
	State        VisitState `json:"state" cbor:"8,keyasint"`
	UID          string     `json:"uid" cbor:"9,keyasint"`
	Sequence     int        `json:"sequence" cbor:"10,keyasint"`
	Created      Instant    `json:"created" cbor:"11,keyasint"`
	Modified     Instant    `json:"modified" cbor:"12,keyasint"`
	Frozen       bool       `json:"frozen,omitempty" cbor:"13,keyasint,omitempty,omitzero"` // not moved by planning
	Note         string     `json:"note,omitempty" cbor:"14,keyasint,omitempty,omitzero"`
	// Until ends a held one: from then on it blocks nothing.
	Until Instant `json:"until,omitzero" cbor:"15,keyasint,omitempty,omitzero"`
	// Drive is the minutes on the road from the stop before, reckoned when it was last placed.
	Drive int `json:"drive_minutes,omitempty" cbor:"16,keyasint,omitempty,omitzero"`
	// Told is when somebody outside was last told of the visit as it stands; a told one is not moved by planning.
	Told Instant `json:"told,omitzero" cbor:"17,keyasint,omitempty,omitzero"`
	// Why says why it was moved, cancelled or came to nothing.
	Why string `json:"why,omitempty" cbor:"18,keyasint,omitempty,omitzero"`
	// Was is where it stood before it was last moved; none: it was never moved.
	Was Spot `json:"was,omitzero" cbor:"19,keyasint,omitempty,omitzero"`
	// Closed is when and ClosedBy by whom it was written down what came of it.
	Closed   Instant `json:"closed,omitzero" cbor:"20,keyasint,omitempty,omitzero"`
	ClosedBy string  `json:"closed_by,omitempty" cbor:"21,keyasint,omitempty,omitzero"`
}

// Fixed reports whether planning leaves the visit where it is.
func (v Visit) Fixed() bool { return v.State.Ahead() || v.Frozen || !v.Told.IsZero() }

// Blocks reports whether the visit takes its technician's time at the moment: no proposed one does, and no hold that ran out.
func (v Visit) Blocks(now Instant) bool {
	return v.State == Booked || v.State == Held && now < v.Until
}

// Valid lists what is wrong with the visit.
func (v Visit) Valid() Problems {
	var p Problems
	day(&p, "on", v.On, true)
	between(&p, "start_minutes", float64(v.Start), 0, 24*60-1)
	between(&p, "minutes", float64(v.Minutes), 1, 24*60)
	between(&p, "drive_minutes", float64(v.Drive), 0, 24*60)
	zone(&p, "zone", v.Zone, true)
	checkState(&p, v.State)
	line(&p, "uid", v.UID)
	text(&p, "note", v.Note)
	text(&p, "why", v.Why)
	if (v.State == Held) != !v.Until.IsZero() {
		p.Add("until", v.Until.String(), "belongs to a held visit, and a held visit has one")
	}
	return p
}

// Appointment is one door's part of a visit. It has its own UID: one door can be cancelled while the
// trip lives, or go to another trip.
type Appointment struct {
	ID         ID         `json:"id" cbor:"1,keyasint"`
	VisitID    ID         `json:"visit_id" cbor:"2,keyasint"`
	CustomerID ID         `json:"customer_id" cbor:"3,keyasint"`
	UnitID     ID         `json:"unit_id,omitzero" cbor:"4,keyasint,omitempty,omitzero"` // none: what belongs to no door, such as a common riser
	Dues       []ID       `json:"dues,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Start      int        `json:"start_minutes" cbor:"6,keyasint"`
	Minutes    int        `json:"minutes" cbor:"7,keyasint"`
	State      VisitState `json:"state" cbor:"8,keyasint"`
	UID        string     `json:"uid" cbor:"9,keyasint"`
	Sequence   int        `json:"sequence" cbor:"10,keyasint"`
	Created    Instant    `json:"created" cbor:"11,keyasint"`
	Modified   Instant    `json:"modified" cbor:"12,keyasint"`
	// Why says why it was cancelled or came to nothing.
	Why string `json:"why,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
	// Left are those of its dues that were not done.
	Left []ID `json:"left,omitempty" cbor:"14,keyasint,omitempty,omitzero"`
}

// Valid lists what is wrong with the appointment.
func (a Appointment) Valid() Problems {
	var p Problems
	between(&p, "start_minutes", float64(a.Start), 0, 24*60-1)
	between(&p, "minutes", float64(a.Minutes), 1, 24*60)
	checkState(&p, a.State)
	line(&p, "uid", a.UID)
	text(&p, "why", a.Why)
	return p
}
