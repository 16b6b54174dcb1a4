package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"ventdue/vent"
)

// Emit takes one record of a dump as JSON. It must not keep the bytes, nor write to a network: the
// snapshot stays open while it works.
type Emit func(kind vent.Kind, data []byte) error

// Dump gives every record as JSON: what is named comes before what names it, the audit trail last. With Load it moves
// an installation: IDs, UIDs, sequences, notices with their keys, messages and feeds (their hashed tokens) are
// all there. What belongs to one installation only is not: the key that signs links, the feeds' horizon,
// revisions, waking rows.
func Dump(tx *Tx, emit Emit) error {
	for _, t := range tables() {
		if err := t.dump(tx, emit); err != nil {
			return fmt.Errorf("dump: %w", err)
		}
	}
	return tx.scanAudit(nil, nil, func(_ []byte, a vent.Audit) error {
		data, err := json.Marshal(a)
		if err != nil {
			return fmt.Errorf("dump audit of %s: %w", a.Subject, err)
		}
		return emit(vent.KindAudit, data)
	})
}

func (t *Table[T]) dump(tx *Tx, emit Emit) error {
	for v, err := range t.All(tx) {
		if err != nil {
			return err
		}
		data, err := json.Marshal(v)
		if err != nil {
			return fmt.Errorf("%s %s: %w", t.kind, t.id(&v), err)
		}
		if err := emit(t.kind, data); err != nil {
			return err
		}
	}
	return nil
}

// Load puts one record of a dump exactly as it is and reports whether that changed anything: a record that is already
// there changes nothing, another one under its ID is refused with ErrConflict, naming what differs; a field that
// is not known, or a value that cannot be, with ErrInvalid. It adds no line to the audit trail.
//
// A dump is loaded in one transaction, or while no clock runs: a person whose notices are not loaded yet would
// be told again. Persons are woken, so that reminding goes on. Named records may come later; see Check.
//
// Messages keep their state. One that is claimed stays so: its answer is as lost as after a crash, and whoever
// delivers treats it the same way, one more try under the same Message-ID.
func Load(tx *Tx, kind vent.Kind, data []byte) (changed bool, err error) {
	if kind == vent.KindAudit {
		return loadAudit(tx, data)
	}
	for _, t := range tables() {
		if t.is() == kind {
			return t.load(tx, data)
		}
	}
	return false, fmt.Errorf("load: kind %q is not known: %w", kind, vent.ErrInvalid)
}

func (t *Table[T]) load(tx *Tx, data []byte) (changed bool, err error) {
	var v T
	if err := decodeStrict(data, &v); err != nil {
		return false, fmt.Errorf("load %s: %w", t.kind, err)
	}
	id := t.id(&v)
	old, err := t.Get(tx, id)
	if err == nil {
		return false, same(vent.Subject{Kind: t.kind, ID: id}, old, v)
	}
	if !errors.Is(err, vent.ErrNotFound) {
		return false, err
	}
	if err := validity(tx, v).Err(); err != nil {
		return false, fmt.Errorf("load %s %s: %w", t.kind, id, err)
	}
	if err := t.Put(tx, v, ""); err != nil {
		return false, err
	}
	return true, loaded(tx, v)
}

// validity asks the record's own rules.
func validity(tx *Tx, v any) vent.Problems {
	switch x := v.(type) {
	case vent.Finding: // the day at the site is at most the day where it is latest
		return x.Valid(vent.DateOf(tx.now.Time().Add(14 * time.Hour)))
	case interface{ Valid() vent.Problems }:
		return x.Valid()
	}
	return nil
}

// loaded does what else a new record brings with it.
func loaded(tx *Tx, v any) error {
	switch x := v.(type) {
	case vent.Person:
		return tx.WakeBy(WakeTell, x.ID, tx.now)
	case vent.Due:
		return tx.BumpPlace(x.SiteID, x.CustomerID)
	case vent.Visit:
		return bumpVisit(tx, x)
	case vent.Appointment:
		return tx.BumpPlace(vent.ID{}, x.CustomerID)
	}
	return nil
}

func loadAudit(tx *Tx, data []byte) (changed bool, err error) {
	var line vent.Audit
	if err := decodeStrict(data, &line); err != nil {
		return false, fmt.Errorf("load audit: %w", err)
	}
	if line.ID.IsZero() {
		return false, fmt.Errorf("load audit of %s: it has no id: %w", line.Subject, vent.ErrInvalid)
	}
	if b := tx.get(auditBucket, auditKey(line)); b != nil {
		var old vent.Audit
		if err := tx.codec.unmarshal(b, &old); err != nil {
			return false, err
		}
		return false, same(vent.Subject{Kind: vent.KindAudit, ID: line.ID}, old, line)
	}
	return true, tx.putAudit(line)
}

// decodeStrict reads one JSON value whose every field must be known.
func decodeStrict(data []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return fmt.Errorf("%w: %w", vent.ErrInvalid, err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fmt.Errorf("%w: something follows the record", vent.ErrInvalid)
	}
	return nil
}

// same gives nil when two records say the same, else ErrConflict with the names of the fields that differ.
func same(s vent.Subject, is, want any) error {
	a, err := json.Marshal(is)
	if err != nil {
		return err
	}
	b, err := json.Marshal(want)
	if err != nil || bytes.Equal(a, b) {
		return err
	}
	var have, given map[string]json.RawMessage
	if err := errors.Join(json.Unmarshal(a, &have), json.Unmarshal(b, &given)); err != nil {
		return err
	}
	var differ []string
	for name := range have {
		if !bytes.Equal(have[name], given[name]) {
			differ = append(differ, name)
		}
	}
	for name := range given {
		if _, known := have[name]; !known {
			differ = append(differ, name)
		}
	}
	slices.Sort(differ)
	return fmt.Errorf("load %s: another record is stored under this id, it differs in %s: %w", s, strings.Join(differ, ", "), vent.ErrConflict)
}
