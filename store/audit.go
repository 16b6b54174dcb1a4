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
	line := vent.Audit{At: tx.now, Actor: tx.actor, Subject: s, What: what}
	if before != nil {
		old, err := json.Marshal(before)
		if err != nil {
			return fmt.Errorf("audit %s: %w", s, err)
		}
		line.Before = old
	}
	data, err := tx.codec.marshal(&line)
	if err != nil {
		return fmt.Errorf("audit %s: %w", s, err)
	}
	// The ID's counter orders lines of one second; its random part keeps two transactions apart.
	return tx.put(auditBucket, key{}.subject(s).instant(tx.now).id(tx.NewID()), data)
}

// Note adds a line to a subject's trail that belongs to no single record: a mail sent, an erasure.
func (tx *Tx) Note(s vent.Subject, what string) error { return tx.audit(s, what, nil) }

// Trail gives a subject's audit lines, oldest first.
func (tx *Tx) Trail(s vent.Subject) ([]vent.Audit, error) {
	var all []vent.Audit
	prefix := key{}.subject(s)
	err := tx.scan(auditBucket, prefix, end(prefix), func(_, b []byte) error {
		var a vent.Audit
		if err := tx.codec.unmarshal(b, &a); err != nil {
			return fmt.Errorf("audit of %s: %w", s, err)
		}
		all = append(all, a)
		return nil
	})
	return all, err
}
