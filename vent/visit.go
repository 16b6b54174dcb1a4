package vent

// VisitState is where a visit or an appointment stands.
type VisitState string

// The states.
const (
	Proposed  VisitState = "proposed"
	Booked    VisitState = "booked"
	VisitDone VisitState = "done"
	Cancelled VisitState = "cancelled"
)

// Visit is one technician at one site on one day. Its time is local: date, minutes after midnight, zone; the
// instant is derived with Date.At.
type Visit struct {
	ID           ID         `json:"id" cbor:"1,keyasint"`
	SiteID       ID         `json:"site_id" cbor:"2,keyasint"`
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
}

// Valid lists what is wrong with the visit.
func (v Visit) Valid() Problems {
	var p Problems
	day(&p, "on", v.On, true)
	between(&p, "start_minutes", float64(v.Start), 0, 24*60-1)
	between(&p, "minutes", float64(v.Minutes), 1, 24*60)
	zone(&p, "zone", v.Zone, true)
	oneOf(&p, "state", v.State, Proposed, Booked, VisitDone, Cancelled)
	line(&p, "uid", v.UID)
	text(&p, "note", v.Note)
	return p
}

// Appointment is one customer's part of a visit. It has its own UID: one door can be cancelled while the
// trip lives.
type Appointment struct {
	ID         ID         `json:"id" cbor:"1,keyasint"`
	VisitID    ID         `json:"visit_id" cbor:"2,keyasint"`
	CustomerID ID         `json:"customer_id" cbor:"3,keyasint"`
	UnitID     ID         `json:"unit_id,omitzero" cbor:"4,keyasint,omitempty,omitzero"`
	Dues       []ID       `json:"dues,omitempty" cbor:"5,keyasint,omitempty,omitzero"`
	Start      int        `json:"start_minutes" cbor:"6,keyasint"`
	Minutes    int        `json:"minutes" cbor:"7,keyasint"`
	State      VisitState `json:"state" cbor:"8,keyasint"`
	UID        string     `json:"uid" cbor:"9,keyasint"`
	Sequence   int        `json:"sequence" cbor:"10,keyasint"`
	Created    Instant    `json:"created" cbor:"11,keyasint"`
	Modified   Instant    `json:"modified" cbor:"12,keyasint"`
}

// Valid lists what is wrong with the appointment.
func (a Appointment) Valid() Problems {
	var p Problems
	between(&p, "start_minutes", float64(a.Start), 0, 24*60-1)
	between(&p, "minutes", float64(a.Minutes), 1, 24*60)
	oneOf(&p, "state", a.State, Proposed, Booked, VisitDone, Cancelled)
	line(&p, "uid", a.UID)
	return p
}
