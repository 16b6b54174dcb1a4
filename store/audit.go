package store

import (
	"encoding/json"
	"fmt"

	"ventdue/vent"
)

const auditBucket = "audit"

// audit adds one line to a subject's trail. before is the record as it was, nil when it is new.
func (tx *Tx) audit(s vent.Subject, what string, before any) error {
	if what == "" {
		return nil // house-keeping, such as when a feed was last fetched
	}
	line := vent.Audit{ID: tx.NewID(), At: tx.now, Actor: tx.actor, Subject: s, What: what}
	if before != nil {
		old, err := json.Marshal(before)
		if err != nil {
			return fmt.Errorf("audit %s: %w", s, err)
		}
		line.Before = old
	}
	return tx.putAudit(line)
}

func (tx *Tx) putAudit(line vent.Audit) error {
	data := appendAudit(make([]byte, 0, usualRecord), &line)
	if len(data) > maxRecord {
		return fmt.Errorf("audit %s: %d bytes, at most %d are kept", line.Subject, len(data), maxRecord)
	}
	return tx.put(auditBucket, auditKey(line), data)
}

// appendAudit encodes a line as the codec would: there is one beside every record that is written, and of all records it
// is the simplest. The numbers are those of vent.Audit and vent.Subject.
func appendAudit(b []byte, a *vent.Audit) []byte {
	const fields, ofSubject = 5, 2
	b = append(b, recordVersion)
	if len(a.Before) == 0 {
		b = cborHead(b, cborMap, fields)
	} else {
		b = cborHead(b, cborMap, fields+1)
	}
	b = cborBytes(append(b, 6), a.ID[:])
	b = cborInt(append(b, 1), int64(a.At))
	b = cborText(append(b, 2), a.Actor)
	b = cborHead(append(b, 3), cborMap, ofSubject)
	b = cborText(append(b, 1), string(a.Subject.Kind))
	b = cborBytes(append(b, 2), a.Subject.ID[:])
	b = cborText(append(b, 4), a.What)
	if len(a.Before) > 0 {
		b = cborBytes(append(b, 5), a.Before)
	}
	return b
}

// auditKey orders a subject's lines by time; the ID's counter orders those of one transaction.
func auditKey(a vent.Audit) key { return key{}.subject(a.Subject).instant(a.At).id(a.ID) }

// Note adds a line to a subject's trail that belongs to no single record: a mail sent, an erasure.
func (tx *Tx) Note(s vent.Subject, what string) error { return tx.audit(s, what, nil) }

// Trail gives a subject's audit lines, oldest first.
func (tx *Tx) Trail(s vent.Subject) (all []vent.Audit, err error) {
	prefix := key{}.subject(s)
	err = tx.scanAudit(prefix, end(prefix), func(_ []byte, a vent.Audit) error {
		all = append(all, a)
		return nil
	})
	return all, err
}

func (tx *Tx) scanAudit(lo, hi []byte, f func(k []byte, a vent.Audit) error) error {
	return tx.scan(auditBucket, lo, hi, func(k, b []byte) error {
		var a vent.Audit
		if err := tx.codec.unmarshal(b, &a); err != nil {
			return fmt.Errorf("audit line %x: %w", k, err)
		}
		return f(k, a)
	})
}

// RewriteTrail hands every line of a subject's trail to f and keeps those that f has changed, for the erasure of a
// person's data. It gives how many there were. f must leave ID, At and Subject, under which the line lies.
func (tx *Tx) RewriteTrail(s vent.Subject, f func(*vent.Audit) bool) (n int, err error) {
	all, err := tx.Trail(s)
	if err != nil {
		return 0, err
	}
	for _, a := range all {
		if !f(&a) {
			continue
		}
		n++
		if err := tx.putAudit(a); err != nil {
			return n, err
		}
	}
	return n, nil
}

// EraseTrail removes a subject's audit lines, for the erasure of a person's data, and gives how many there were.
func (tx *Tx) EraseTrail(s vent.Subject) (n int, err error) {
	var rows [][]byte
	prefix := key{}.subject(s)
	err = tx.scan(auditBucket, prefix, end(prefix), func(k, _ []byte) error {
		rows = append(rows, append([]byte(nil), k...))
		return nil
	})
	for _, k := range rows {
		if err == nil {
			err = tx.delete(auditBucket, k)
		}
	}
	return len(rows), err
}
