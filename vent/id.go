package vent

import (
	"encoding/hex"
	"fmt"
	"time"
)

// ID names one stored record. It is a UUID (RFC 9562, version 7 where this program makes it: ordered by time
// of birth). The zero ID means "none".
type ID [16]byte

// IsZero reports whether the ID is "none".
func (id ID) IsZero() bool { return id == ID{} }

// String gives the usual form, 8-4-4-4-12 hexadecimal digits, and "" for none.
func (id ID) String() string {
	if id.IsZero() {
		return ""
	}
	var b [36]byte
	hex.Encode(b[0:8], id[0:4])
	b[8] = '-'
	hex.Encode(b[9:13], id[4:6])
	b[13] = '-'
	hex.Encode(b[14:18], id[6:8])
	b[18] = '-'
	hex.Encode(b[19:23], id[8:10])
	b[23] = '-'
	hex.Encode(b[24:36], id[10:16])
	return string(b[:])
}

// ParseID reads the form that String writes.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return ID{}, fmt.Errorf("id %q is not a UUID of the form xxxxxxxx-xxxx-xxxx-xxxx-xxxxxxxxxxxx", s)
	}
	plain := s[0:8] + s[9:13] + s[14:18] + s[19:23] + s[24:36]
	if _, err := hex.Decode(id[:], []byte(plain)); err != nil {
		return ID{}, fmt.Errorf("id %q is not a UUID: %w", s, err)
	}
	return id, nil
}

// IDFrom gives the lowest ID that can have been made at a moment: a place to begin from in the order of birth.
func IDFrom(t time.Time) (id ID) {
	ms := uint64(max(0, t.UnixMilli())) // RFC 9562 section 5.7: the first 48 bits
	for i := range 6 {
		id[i] = byte(ms >> (40 - 8*i))
	}
	return id
}

// MarshalText gives the String form.
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText reads the String form; empty text is none.
func (id *ID) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*id = ID{}
		return nil
	}
	v, err := ParseID(string(b))
	*id = v
	return err
}

// Kind is the kind of a record: what an ID names.
type Kind string

// The kinds of records, in the order in which an export writes them: what is named comes before what names it.
const (
	KindOperator    Kind = "operator"
	KindPerson      Kind = "person"
	KindCustomer    Kind = "customer"
	KindSite        Kind = "site"
	KindUnit        Kind = "unit"
	KindAppliance   Kind = "appliance"
	KindRun         Kind = "run"
	KindFinding     Kind = "finding"
	KindSign        Kind = "sign"
	KindFault       Kind = "fault"
	KindCheck       Kind = "check"
	KindDue         Kind = "due"
	KindVisit       Kind = "visit"
	KindAppointment Kind = "appointment"
	KindNotice      Kind = "notice"
	KindMessage     Kind = "message"
	KindFeed        Kind = "feed"
	KindAccount     Kind = "account"
	KindToken       Kind = "token"
	KindAudit       Kind = "audit" // a line of the trail; no subject is of this kind
)

// Subject is something that work can be due on or that a record can be about.
type Subject struct {
	Kind Kind `json:"kind" cbor:"1,keyasint"`
	ID   ID   `json:"id" cbor:"2,keyasint"`
}

// String gives "run 0197…", for logs and the audit trail.
func (s Subject) String() string { return string(s.Kind) + " " + s.ID.String() }

// OperatorSubject stands for the installation itself, where an event belongs to no record.
var OperatorSubject = Subject{Kind: KindOperator}
