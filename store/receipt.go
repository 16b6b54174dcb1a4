package store

import (
	"errors"
	"fmt"

	"ventdue/vent"
)

const (
	receiptBucket = "receipt"     // hash of the key: the receipt
	receiptAge    = "receipt.age" // moment, hash of the key: nothing
)

// Receipt is what a program's write was answered, kept for a day so that the same write sent again gets the same answer.
// Receipts belong to one installation: a dump has none.
type Receipt struct {
	At      vent.Instant `cbor:"1,keyasint"`
	Request []byte       `cbor:"2,keyasint"`                    // hash of what was asked
	Done    bool         `cbor:"3,keyasint,omitempty,omitzero"` // false: it was begun; whether it was finished is not known
	Status  int          `cbor:"4,keyasint,omitempty,omitzero"` // of the answer
	Kind    string       `cbor:"5,keyasint,omitempty,omitzero"` // Content-Type
	Place   string       `cbor:"6,keyasint,omitempty,omitzero"` // Location
	Body    []byte       `cbor:"7,keyasint,omitempty,omitzero"` // the answer
}

// ReceiptOf gives the receipt under the hash of a key; ErrNotFound where there is none.
func ReceiptOf(tx *Tx, hash [32]byte) (r Receipt, err error) {
	b := tx.get(receiptBucket, hash[:])
	if b == nil {
		return r, vent.ErrNotFound
	}
	if err := tx.codec.unmarshal(b, &r); err != nil {
		return r, fmt.Errorf("receipt %x: %w", hash, err)
	}
	return r, nil
}

// PutReceipt keeps a receipt under the hash of a key.
func PutReceipt(tx *Tx, hash [32]byte, r Receipt) error {
	if err := DropReceipt(tx, hash); err != nil {
		return err
	}
	data, err := tx.codec.marshal(&r)
	if err != nil {
		return fmt.Errorf("receipt %x: %w", hash, err)
	}
	if err := tx.put(receiptBucket, hash[:], data); err != nil {
		return err
	}
	return tx.put(receiptAge, receiptAgeKey(r.At, hash), nil)
}

// DropReceipt forgets a receipt; it is no error where there is none.
func DropReceipt(tx *Tx, hash [32]byte) error {
	r, err := ReceiptOf(tx, hash)
	if errors.Is(err, vent.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	if err := tx.delete(receiptAge, receiptAgeKey(r.At, hash)); err != nil {
		return err
	}
	return tx.delete(receiptBucket, hash[:])
}

// DropReceiptsBefore forgets at most max receipts older than the moment.
func DropReceiptsBefore(tx *Tx, at vent.Instant, max int) error {
	var old [][32]byte
	err := tx.scan(receiptAge, nil, key{}.instant(at), func(k, _ []byte) error {
		old = append(old, [32]byte(k[8:]))
		if len(old) == max {
			return errStop
		}
		return nil
	})
	if err := ignoreStop(err); err != nil {
		return err
	}
	for _, hash := range old {
		if err := DropReceipt(tx, hash); err != nil {
			return err
		}
	}
	return nil
}

func receiptAgeKey(at vent.Instant, hash [32]byte) key { return append(key{}.instant(at), hash[:]...) }
