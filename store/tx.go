package store

import (
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"time"

	"go.etcd.io/bbolt"

	"ventdue/vent"
)

// Stamp says when and by whom a transaction is made. It is taken once, outside the transaction, so that running
// the function again gives the same records.
type Stamp struct {
	Now   time.Time
	Actor string // "office", "import fleet.csv", "uid 1000", "clock"
}

// Tx is one transaction. Records it returns are copies; it must not be used after its function returned, nor by
// two goroutines. A walk must be collected before the same table is written to.
type Tx struct {
	bolt  *bbolt.Tx
	codec codec
	now   vent.Instant
	actor string
	ids   idSource
	write bool
	bulk  bool
	// pending holds writes not yet handed to bbolt, per bucket (a nil value deletes), so that a transaction
	// that writes much does so in key order, and one that is refused has mostly written nothing.
	pending map[string]*pending
	bytes   arena // of pending
	flushed bool  // something was handed to bbolt
	renamed bool  // of a table by whose names people find things
	bumped  map[vent.Scope]bool
	raised  map[vent.ID]bool // visits and appointments whose SEQUENCE has risen
}

// Now gives the transaction's one instant.
func (tx *Tx) Now() vent.Instant { return tx.now }

// Actor gives who makes the change.
func (tx *Tx) Actor() string { return tx.actor }

// NewID mints an ID: a version 7 UUID of the transaction's instant.
func (tx *Tx) NewID() vent.ID { return tx.ids.next() }

func (tx *Tx) get(bucket string, k []byte) []byte {
	if p := tx.pending[bucket]; p != nil {
		if v, ok := p.get(k); ok {
			return v
		}
	}
	if b := tx.bolt.Bucket([]byte(bucket)); b != nil {
		return b.Get(k)
	}
	return nil
}

func (tx *Tx) put(bucket string, k, v []byte) error {
	if v == nil {
		v = []byte{} // nil deletes
	}
	return tx.set(bucket, k, v)
}

func (tx *Tx) delete(bucket string, k []byte) error { return tx.set(bucket, k, nil) }

func (tx *Tx) set(bucket string, k, v []byte) error {
	if !tx.write {
		return fmt.Errorf("change %s: the transaction only reads", bucket)
	}
	p := tx.pending[bucket]
	if p == nil {
		if tx.pending == nil {
			tx.pending = make(map[string]*pending)
		}
		p = &pending{bytes: &tx.bytes}
		tx.pending[bucket] = p
	}
	p.set(k, v)
	return nil
}

// scan calls f for every row with lo <= key < hi, in order; a nil hi is the bucket's end.
func (tx *Tx) scan(bucket string, lo, hi []byte, f func(k, v []byte) error) error {
	if err := tx.flushBucket(bucket); err != nil {
		return err
	}
	b := tx.bolt.Bucket([]byte(bucket))
	if b == nil {
		return nil
	}
	c := b.Cursor()
	for k, v := c.Seek(lo); k != nil && (hi == nil || string(k) < string(hi)); k, v = c.Next() {
		if err := f(k, v); err != nil {
			return err
		}
	}
	return nil
}

// flush hands all pending writes to bbolt.
func (tx *Tx) flush() error {
	for b := range tx.pending {
		if err := tx.flushBucket(b); err != nil {
			return err
		}
	}
	return nil
}

func (tx *Tx) flushBucket(bucket string) error {
	p := tx.pending[bucket]
	if p == nil || p.len() == 0 {
		return nil
	}
	b, err := tx.writeBucket(bucket)
	if err != nil {
		return err
	}
	err = p.each(func(k, v []byte) error {
		if v == nil {
			return b.Delete(k)
		}
		return b.Put(k, v)
	})
	if err != nil {
		return fmt.Errorf("write %s: %w", bucket, err)
	}
	p.clear()
	tx.renamed = tx.renamed || namedTables[bucket]
	return nil
}

// namedTables are those by whose names, keys and addresses people find things.
var namedTables = map[string]bool{string(vent.KindPerson): true, string(vent.KindCustomer): true, string(vent.KindSite): true, string(vent.KindUnit): true,
	string(vent.KindAppliance): true, string(vent.KindRun): true}

// writeBucket gives the bucket to write to, made where there is none.
func (tx *Tx) writeBucket(name string) (*bbolt.Bucket, error) {
	tx.flushed = true
	b, err := tx.bolt.CreateBucketIfNotExists([]byte(name))
	if err != nil {
		return nil, fmt.Errorf("make bucket %s: %w", name, err)
	}
	if tx.bulk {
		b.FillPercent = 0.95
	}
	return b, nil
}

// idSource mints the IDs of one transaction: RFC 9562 version 7, the instant's milliseconds first, then a random
// part drawn once and a counter, so that IDs are unique, ordered by birth, and the same when
// the transaction's function is run again.
type idSource struct {
	base [16]byte
	n    uint32
}

// maxIDs is how many IDs one transaction can mint: the counter's 24 bits.
const maxIDs = 1 << 24

func newIDSource(now time.Time) idSource {
	var s idSource
	rand.Read(s.base[:]) // never fails: crypto/rand ends the program instead
	binary.BigEndian.PutUint64(s.base[:8], uint64(now.UnixMilli())<<16|uint64(binary.BigEndian.Uint16(s.base[6:8])))
	s.base[6] = s.base[6]&0x0f | 0x70
	s.base[8] = s.base[8]&0x3f | 0x80
	return s
}

func (s *idSource) next() vent.ID {
	if s.n++; s.n >= maxIDs {
		panic("store: one transaction minted over sixteen million ids")
	}
	id := vent.ID(s.base)
	id[9], id[10], id[11] = byte(s.n>>16), byte(s.n>>8), byte(s.n)
	return id
}

// minted reports whether the ID is one of those that were given so far.
func (s *idSource) minted(id vent.ID) bool {
	n := uint32(id[9])<<16 | uint32(id[10])<<8 | uint32(id[11])
	id[9], id[10], id[11] = s.base[9], s.base[10], s.base[11]
	return id == vent.ID(s.base) && n > 0 && n <= s.n
}
