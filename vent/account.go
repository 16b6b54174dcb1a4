package vent

import "strings"

// Account is somebody who signs in: by a name and a password, which is kept only as a hash. Customers and occupants never
// need one.
type Account struct {
	ID   ID     `json:"id" cbor:"1,keyasint"`
	Name string `json:"name" cbor:"2,keyasint"` // typed to sign in, and written into the audit trail; unique, see AccountName
	Role Role   `json:"role" cbor:"3,keyasint"`
	// Password is a bcrypt hash.
	Password string `json:"password_hash" cbor:"4,keyasint"`
	// PersonID is the technician whose visits this account works on.
	PersonID ID      `json:"person_id,omitzero" cbor:"5,keyasint,omitempty,omitzero"`
	Language string  `json:"language,omitempty" cbor:"6,keyasint,omitempty,omitzero"` // of the pages, BCP 47; "" is the operator's
	Created  Instant `json:"created" cbor:"7,keyasint"`
	// Epoch is the mark that a sign-in must carry: it moves on when the account is signed out everywhere.
	Epoch Instant `json:"epoch" cbor:"8,keyasint"`
	Seen  Instant `json:"last_seen,omitzero" cbor:"9,keyasint,omitempty,omitzero"` // within minutes
}

// Valid lists what is wrong with the account.
func (a Account) Valid() Problems {
	var p Problems
	required(&p, "name", a.Name)
	if len(a.Name) > MaxAccountName {
		p.Add("name", a.Name, "is longer than %d bytes", MaxAccountName)
	}
	oneOf(&p, "role", a.Role, Owner, Office, Technician)
	required(&p, "password_hash", a.Password)
	if a.Role == Technician && a.PersonID.IsZero() {
		p.Add("person_id", "", "is missing: a technician's account belongs to a person, whose visits it shows")
	}
	text(&p, "language", a.Language)
	return p
}

// MaxAccountName bounds an account's name, in bytes. Ours.
const MaxAccountName = 80

// AccountName gives the form in which names of accounts are compared: lower case, blanks joined.
func AccountName(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// May reports whether somebody of the role may do what asks for another: an owner may all that the office may, the office
// all that a technician may.
func (r Role) May(needed Role) bool { return r.rank() >= needed.rank() }

func (r Role) rank() int {
	switch r {
	case Owner:
		return 3
	case Office:
		return 2
	case Technician:
		return 1
	}
	return 0
}

// TokenScope is what a program may do with its token.
type TokenScope string

// The scopes, each holding the ones before it.
const (
	TokenRead   TokenScope = "read"   // look at everything of the day
	TokenRecord TokenScope = "record" // and write down findings, with their photos
	TokenAll    TokenScope = "all"    // all that the office may do
)

// Holds reports whether the scope lets a program do what asks for another.
func (s TokenScope) Holds(needed TokenScope) bool { return s.rank() >= needed.rank() && s.rank() > 0 }

func (s TokenScope) rank() int {
	switch s {
	case TokenRead:
		return 1
	case TokenRecord:
		return 2
	case TokenAll:
		return 3
	}
	return 0
}

// Token lets a program use the JSON API. The secret is shown once and kept only as a hash.
type Token struct {
	ID      ID         `json:"id" cbor:"1,keyasint"`
	Hash    []byte     `json:"token_hash" cbor:"2,keyasint"` // SHA-256 of the token
	Name    string     `json:"name" cbor:"3,keyasint"`       // which program, for lists and the audit trail
	Scope   TokenScope `json:"scope" cbor:"4,keyasint"`
	Created Instant    `json:"created" cbor:"5,keyasint"`
	Revoked Instant    `json:"revoked,omitzero" cbor:"6,keyasint,omitempty,omitzero"`
	Used    Instant    `json:"last_used,omitzero" cbor:"7,keyasint,omitempty,omitzero"` // within minutes
}

// Valid lists what is wrong with the token.
func (t Token) Valid() Problems {
	var p Problems
	required(&p, "name", t.Name)
	if len(t.Name) > MaxAccountName {
		p.Add("name", t.Name, "is longer than %d bytes", MaxAccountName)
	}
	oneOf(&p, "scope", t.Scope, TokenRead, TokenRecord, TokenAll)
	return p
}
