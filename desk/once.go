package desk

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// onceFor is how long the answer to a write is kept. A day outlasts whoever sends again after a lost answer. Ours.
const onceFor = 24 * time.Hour

// Once is one write of a program under a key of its own choice.
type Once struct {
	hash    [32]byte
	request []byte
}

// ErrSameKey is returned when a key comes with another write than the one it was first sent with.
var ErrSameKey = fmt.Errorf("the key was sent before with another request: use a key of its own for each write: %w", vent.ErrInvalid)

// ErrUnderWay is returned when the first write of a key has not been answered yet, or its answer was lost with the process.
var ErrUnderWay = fmt.Errorf("a write with this key was begun and not answered: look whether it was done before sending it with a new key: %w", vent.ErrConflict)

// BeginOnce takes down that a write under a key begins. Who tells apart programs that chose the same key. Where the same
// write was answered within a day, that answer is given and done is true.
func (d *Desk) BeginOnce(by By, who, key string, request []byte) (o Once, r store.Receipt, done bool, err error) {
	sum := sha256.Sum256(request)
	o = Once{hash: sha256.Sum256([]byte(who + "\x00" + key)), request: sum[:]}
	var refused error
	err = d.store.Update(by, func(tx *store.Tx) error {
		refused = nil
		if err := store.DropReceiptsBefore(tx, tx.Now().Add(-onceFor), 100); err != nil {
			return err
		}
		r, err = store.ReceiptOf(tx, o.hash)
		switch {
		case errors.Is(err, vent.ErrNotFound):
			return store.PutReceipt(tx, o.hash, store.Receipt{At: tx.Now(), Request: o.request})
		case err != nil:
			return err
		case !bytes.Equal(r.Request, o.request):
			refused = ErrSameKey
		case !r.Done:
			refused = ErrUnderWay
		}
		return nil
	})
	if err == nil {
		err = refused
	}
	return o, r, err == nil && r.Done, err
}

// EndOnce keeps the answer to a write, or forgets that it began where nothing was done.
func (d *Desk) EndOnce(by By, o Once, done bool, r store.Receipt) error {
	return d.store.Update(by, func(tx *store.Tx) error {
		if !done {
			return store.DropReceipt(tx, o.hash)
		}
		r.At, r.Request, r.Done = tx.Now(), o.request, true
		return store.PutReceipt(tx, o.hash, r)
	})
}
