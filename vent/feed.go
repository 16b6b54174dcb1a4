package vent

import "slices"

// Scope is whose dues and visits a feed shows: a customer's, a site's, a technician's, or the operator's (zero ID).
type Scope struct {
	Kind Kind `json:"kind" cbor:"1,keyasint"`
	ID   ID   `json:"id,omitzero" cbor:"2,keyasint,omitempty,omitzero"`
}

// OperatorScope is everything.
var OperatorScope = Scope{Kind: KindOperator}

// String gives "site 0197…" and "operator".
func (s Scope) String() string {
	if s.ID.IsZero() {
		return string(s.Kind)
	}
	return string(s.Kind) + " " + s.ID.String()
}

// Feed is a secret calendar address for one person and purpose. The secret itself is shown once and kept
// only as a hash.
type Feed struct {
	ID        ID      `json:"id" cbor:"1,keyasint"`
	TokenHash []byte  `json:"token_hash" cbor:"2,keyasint"` // SHA-256 of the token
	Scope     Scope   `json:"scope" cbor:"3,keyasint"`
	PersonID  ID      `json:"person_id,omitzero" cbor:"4,keyasint,omitempty,omitzero"`
	Name      string  `json:"name" cbor:"5,keyasint"`
	Created   Instant `json:"created" cbor:"6,keyasint"`
	Revoked   Instant `json:"revoked,omitzero" cbor:"7,keyasint,omitempty,omitzero"`
	Fetched   Instant `json:"last_fetched,omitzero" cbor:"8,keyasint,omitempty,omitzero"`
	FetchedBy string  `json:"last_fetched_by,omitempty" cbor:"9,keyasint,omitempty,omitzero"`
	Alarms    bool    `json:"alarms,omitempty" cbor:"10,keyasint,omitempty,omitzero"`
	// Replaced is the feed that took this one's place when its address was changed.
	Replaced ID `json:"replaced_by,omitzero" cbor:"11,keyasint,omitempty,omitzero"`
	// Shows is what of the scope is shown; empty is everything.
	Shows []FeedPart `json:"shows,omitempty" cbor:"12,keyasint,omitempty,omitzero"`
	// Tasks adds each due as a task (VTODO) as well, for programs that keep lists of them.
	Tasks bool `json:"tasks,omitempty" cbor:"13,keyasint,omitempty,omitzero"`
}

// FeedPart is a kind of entries.
type FeedPart string

// The kinds of entries.
const (
	FeedDues   FeedPart = "dues"   // looks, cleanings, faults and signs
	FeedChecks FeedPart = "checks" // recurring checks
	FeedVisits FeedPart = "visits" // booked visits
)

// FeedParts lists the kinds of entries.
func FeedParts() []FeedPart { return []FeedPart{FeedDues, FeedChecks, FeedVisits} }

// Has reports whether the feed shows a kind of entries.
func (f Feed) Has(p FeedPart) bool { return len(f.Shows) == 0 || slices.Contains(f.Shows, p) }

// Valid lists what is wrong with the feed.
func (f Feed) Valid() Problems {
	var p Problems
	oneOf(&p, "scope", f.Scope.Kind, KindOperator, KindCustomer, KindSite, KindPerson)
	required(&p, "name", f.Name)
	for _, x := range f.Shows {
		oneOf(&p, "shows", x, FeedParts()...)
	}
	return p
}

// Audit is one line of the trail: who did what to which subject, when.
type Audit struct {
	ID      ID      `json:"id" cbor:"6,keyasint"`
	At      Instant `json:"at" cbor:"1,keyasint"`
	Actor   string  `json:"actor" cbor:"2,keyasint"`
	Subject Subject `json:"subject" cbor:"3,keyasint"`
	What    string  `json:"what" cbor:"4,keyasint"`
	Before  []byte  `json:"before,omitempty" cbor:"5,keyasint,omitempty,omitzero"` // the record as it was, in JSON; empty when new
}
