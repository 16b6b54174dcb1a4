package store

import (
	"encoding/binary"

	"ventdue/vent"
)

const revBucket = "revision"

// Revision is how often what a scope publishes has changed, and when it last did. It is the ETag's heart:
// a feed whose revision stands still is not rendered again.
type Revision struct {
	N  uint64
	At vent.Instant
}

// Revision gives a scope's revision; zero where nothing was ever published.
func (tx *Tx) Revision(s vent.Scope) Revision {
	b := tx.get(revBucket, key{}.scope(s))
	if len(b) != 16 {
		return Revision{}
	}
	return Revision{binary.BigEndian.Uint64(b), instantOf(b[8:])}
}

// Bump raises a scope's revision, once per transaction. Its moment always rises by a second at least, since
// Last-Modified and LAST-MODIFIED count seconds.
func (tx *Tx) Bump(s vent.Scope) error {
	if tx.bumped[s] {
		return nil
	}
	if tx.bumped == nil {
		tx.bumped = make(map[vent.Scope]bool)
	}
	tx.bumped[s] = true
	old := tx.Revision(s)
	at := max(tx.now, old.At+1)
	return tx.put(revBucket, key{}.scope(s), key(binary.BigEndian.AppendUint64(nil, old.N+1)).instant(at))
}

// BumpPlace raises the scopes in which something at a site is published: the operator's, the site's, and its
// customer's.
func (tx *Tx) BumpPlace(site, customer vent.ID) error {
	for _, s := range []vent.Scope{vent.OperatorScope, {Kind: vent.KindSite, ID: site}, {Kind: vent.KindCustomer, ID: customer}} {
		if s.Kind != vent.KindOperator && s.ID.IsZero() {
			continue
		}
		if err := tx.Bump(s); err != nil {
			return err
		}
	}
	return nil
}

var horizonKey = []byte("horizon")

// Horizon gives the day around which feeds are cut. It is stored, and moved by the clock's daily work, so that
// rendering a feed needs no clock.
func (tx *Tx) Horizon() vent.Date {
	b := tx.get(metaBucket, horizonKey)
	if len(b) != 4 {
		return 0
	}
	return vent.Date(binary.BigEndian.Uint32(b))
}

// SetHorizon moves the day around which feeds are cut.
func (tx *Tx) SetHorizon(d vent.Date) error {
	if tx.Horizon() == d {
		return nil
	}
	return tx.put(metaBucket, horizonKey, key{}.date(d))
}

// Mark gives a stored moment of house-keeping, such as the last tick or the last backup; never when unset.
func (tx *Tx) Mark(name string) vent.Instant {
	b := tx.get(metaBucket, []byte("mark."+name))
	if len(b) != 8 {
		return 0
	}
	return instantOf(b)
}

// SetMark stores a moment of house-keeping.
func (tx *Tx) SetMark(name string, at vent.Instant) error {
	return tx.put(metaBucket, []byte("mark."+name), key{}.instant(at))
}

// Tally gives how often something was counted on a day; 0 once another day was counted.
func (tx *Tx) Tally(name string, on vent.Date) int {
	b := tx.get(metaBucket, []byte("tally."+name))
	if len(b) != 12 || vent.Date(binary.BigEndian.Uint32(b)) != on {
		return 0
	}
	return int(binary.BigEndian.Uint64(b[4:]))
}

// Count counts something once more on a day. Another day begins at one.
func (tx *Tx) Count(name string, on vent.Date) error {
	n := tx.Tally(name, on) + 1
	return tx.put(metaBucket, []byte("tally."+name), binary.BigEndian.AppendUint64(key{}.date(on), uint64(n)))
}

var secretKey = []byte("secret")

// Secret gives the installation's own key for signing links; nil until SetSecret.
func (tx *Tx) Secret() []byte { return append([]byte(nil), tx.get(metaBucket, secretKey)...) }

// SetSecret stores the installation's key; links signed with an older one stop working.
func (tx *Tx) SetSecret(b []byte) error { return tx.put(metaBucket, secretKey, b) }
