package store

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"ventdue/vent"
)

// maxReported is how many problems a verification lists; it goes on counting.
const maxReported = 100

// Report is what a verification found.
type Report struct {
	Records  map[vent.Kind]int
	Problems []string
	More     int // problems beyond those listed
}

func (r *Report) add(format string, args ...any) {
	if len(r.Problems) >= maxReported {
		r.More++
		return
	}
	r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
}

// Err gives the problems as one error, or nil.
func (r Report) Err() error {
	if len(r.Problems) == 0 {
		return nil
	}
	text := strings.Join(r.Problems, "\n")
	if r.More > 0 {
		text += fmt.Sprintf("\nand %d more", r.More)
	}
	return errors.New(text)
}

// Verify reads the whole file: bbolt's own pages, and all that Check reads.
func (s *Store) Verify() Report {
	r := Report{Records: map[vent.Kind]int{}}
	err := s.View(func(tx *Tx) error {
		if err := s.checkPages(tx.bolt); err != nil {
			return err // bbolt's own check would not survive them
		}
		for err := range tx.bolt.Check() {
			r.add("pages: %v", err)
		}
		return tx.check(&r)
	})
	if err != nil {
		r.add("read: %v", err)
	}
	return r
}

// Check reads all records: that each can be read and lies under its ID, that each index holds exactly the rows its
// records ask for, that every named record exists, and that waking rows and audit lines are in order. An
// import calls it before it is committed.
func Check(tx *Tx) Report {
	r := Report{Records: map[vent.Kind]int{}}
	if err := tx.check(&r); err != nil {
		r.add("read: %v", err)
	}
	return r
}

func (tx *Tx) check(r *Report) error {
	for _, t := range tables() {
		if err := t.verify(tx, r); err != nil {
			return err
		}
	}
	if err := verifyWakes(tx, r); err != nil {
		return err
	}
	if err := verifyWorkdays(tx, r); err != nil {
		return err
	}
	return verifyAudit(tx, r)
}

// anyTable is a table whose record type does not matter.
type anyTable interface {
	is() vent.Kind
	verify(tx *Tx, r *Report) error
	dump(tx *Tx, emit Emit) error
	load(tx *Tx, data []byte) (changed bool, err error)
}

// tables lists all tables in the order of an export: what is named comes before what names it.
func tables() []anyTable {
	return []anyTable{Operators, Persons, Customers, Sites, Units, Appliances, Runs, Findings, Signs, Faults, Checks,
		Dues, Visits, Appointments, Notices, Messages, Feeds, Accounts, Tokens}
}

func (t *Table[T]) is() vent.Kind { return t.kind }

func (t *Table[T]) verify(tx *Tx, r *Report) error {
	want := make([]int, len(t.indexes))
	err := tx.scan(t.bucket(), nil, nil, func(k, b []byte) error {
		var v T
		if err := tx.codec.unmarshal(b, &v); err != nil {
			r.add("%s %x: %v", t.kind, k, err)
			return nil
		}
		r.Records[t.kind]++
		id := t.id(&v)
		if len(k) != 16 || vent.ID(k) != id {
			r.add("%s %x: lies under another key than its id %s", t.kind, k, id)
		}
		for i, ix := range t.indexes {
			for _, ik := range ix.of(&v) {
				want[i]++
				if row := tx.get(ix.bucket, ix.row(ik, id)); row == nil || ix.unique && string(row) != string(id[:]) {
					r.add("%s %s: its row in index %s is missing", t.kind, id, ix.name)
				}
			}
		}
		for _, ref := range named(&v) {
			if !ref.ID.IsZero() && tx.get(string(ref.Kind), ref.ID[:]) == nil {
				r.add("%s %s: names %s, which does not exist", t.kind, id, ref)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for i, ix := range t.indexes {
		have := 0
		if err := tx.scan(ix.bucket, nil, nil, func(_, _ []byte) error { have++; return nil }); err != nil {
			return err
		}
		if have != want[i] {
			r.add("%s: index %s has %d rows, its records ask for %d", t.kind, ix.name, have, want[i])
		}
	}
	return nil
}

// verifyWakes checks that the rows by moment and those by subject say the same.
func verifyWakes(tx *Tx, r *Report) error {
	rows, of := 0, 0
	err := tx.scan(wakeOfBucket, nil, nil, func(k, v []byte) error {
		of++
		name, id := k[:len(k)-16], k[len(k)-16:]
		if len(v) != 8 || tx.get(wakeBucket, slices.Concat(name, v, id)) == nil {
			r.add("waking row %x: it is missing by moment", k)
		}
		return nil
	})
	if err != nil {
		return err
	}
	err = tx.scan(wakeBucket, nil, nil, func(_, _ []byte) error { rows++; return nil })
	if rows != of {
		r.add("waking rows: %d by moment, %d by subject", rows, of)
	}
	return err
}

func verifyAudit(tx *Tx, r *Report) error {
	return tx.scan(auditBucket, nil, nil, func(k, b []byte) error {
		var a vent.Audit
		if err := tx.codec.unmarshal(b, &a); err != nil {
			r.add("audit line %x: %v", k, err)
		} else if string(k) != string(auditKey(a)) {
			r.add("audit line %x: lies under another key than its own", k)
		}
		return nil
	})
}
