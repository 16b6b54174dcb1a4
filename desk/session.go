package desk

import (
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"fmt"

	"ventdue/store"
	"ventdue/vent"
)

// Key gives 32 bytes for one purpose, derived from the installation's own secret (RFC 5869); the secret is made where there
// is none yet. Keys of different purposes tell nothing of each other.
func (d *Desk) Key(by By, purpose string) ([]byte, error) {
	var secret []byte
	read := func(tx *store.Tx) error {
		secret = tx.Secret()
		return nil
	}
	if err := d.store.View(read); err != nil {
		return nil, fmt.Errorf("read the installation's secret: %w", err)
	}
	if len(secret) == 0 {
		fresh := make([]byte, 32)
		rand.Read(fresh) // never fails
		err := d.store.Update(by, func(tx *store.Tx) error {
			if secret = tx.Secret(); len(secret) > 0 {
				return nil
			}
			secret = fresh
			return tx.SetSecret(fresh)
		})
		if err != nil {
			return nil, fmt.Errorf("make the installation's secret: %w", err)
		}
	}
	key, err := hkdf.Key(sha256.New, secret, nil, "ventdue "+purpose, 32)
	if err != nil {
		return nil, fmt.Errorf("derive the key for %s: %w", purpose, err)
	}
	return key, nil
}

// sessionsMark moves on when all sign-ins end.
const sessionsMark = "sessions"

// SessionEpoch gives the mark that a sign-in must carry to be valid: it changes when all sign-ins are ended.
func (d *Desk) SessionEpoch() (at vent.Instant, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		at = tx.Mark(sessionsMark)
		return nil
	})
	return at, err
}

// EndSessions ends every sign-in, everywhere.
func (d *Desk) EndSessions(by By) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		if err := tx.SetMark(sessionsMark, max(tx.Now(), tx.Mark(sessionsMark)+1)); err != nil {
			return err
		}
		return tx.Note(vent.OperatorSubject, "everybody signed out")
	})
}
