package store

import (
	"bytes"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"

	"ventdue/vent"
)

// nothing is the value of a row that is a key alone.
var nothing = []byte{}

const (
	sheafRows = 4096 // rows that are handed over at once
	sheaves   = 64   // handed over, but not yet taken: their bytes are kept until the commit in any case
)

// Influx takes many new records on their way into one transaction. What is pure work, encoding them and making and sorting
// their rows, is done on one goroutine; another one hands the rows to bbolt meanwhile.
type Influx struct {
	codec codec
	now   vent.Instant
	actor string
	ids   idSource // of the audit lines

	rows    map[string]*sheaf // by bucket
	scratch bytes.Buffer
	line    []byte
	out     chan *sheaf
	stop    chan struct{}
	born    []func(*Tx) error // what else the new records bring about
	err     error
}

// sheaf is some rows of one bucket.
type sheaf struct {
	bucket string
	holder string // of a unique index: what its keys are of, "run ref"
	slots  []slot
	bytes  arena
	rising bool // the rows lie in key order
}

func (s *sheaf) add(k, v []byte) {
	if n := len(s.slots); n > 0 && s.rising {
		s.rising = bytes.Compare(s.bytes.key(s.slots[n-1]), k) < 0
	}
	s.slots = append(s.slots, s.bytes.keep(k, v))
}

// Admit stores the new records that feed adds with Table.Add. feed runs on another goroutine and must not use tx, or anything
// that others change; Admit returns when feed has, and all is handed to bbolt.
//
// An error of Admit, such as ErrConflict for a unique key that is taken, has left a part written: the transaction's function
// has to return it.
func (tx *Tx) Admit(feed func(*Influx) error) error {
	if !tx.write {
		return errors.New("add records: the transaction only reads")
	}
	if err := tx.flush(); err != nil {
		return err
	}
	in := &Influx{codec: tx.codec, now: tx.now, actor: tx.actor, ids: tx.ids, rows: map[string]*sheaf{},
		out: make(chan *sheaf, sheaves), stop: make(chan struct{})}
	go in.run(feed)
	err := tx.take(in)
	if err == nil {
		err = in.err
	}
	if err != nil {
		return err
	}
	tx.ids = in.ids
	for _, f := range in.born {
		if err := f(tx); err != nil {
			return err
		}
	}
	return nil
}

// run calls feed and hands over what is left at its end.
func (in *Influx) run(feed func(*Influx) error) {
	defer close(in.out)
	defer func() {
		if r := recover(); r != nil {
			in.err = fmt.Errorf("add records: panicked: %v\n%s", r, debug.Stack())
		}
	}()
	in.err = errUnfinished
	if in.err = feed(in); in.err != nil {
		return
	}
	for _, s := range in.rows {
		in.hand(s)
	}
}

// hand gives a sheaf to the transaction, or drops it when that has given up.
func (in *Influx) hand(s *sheaf) {
	if !s.rising {
		s.sort()
	}
	select {
	case in.out <- s:
	case <-in.stop:
	}
}

// sheaf gives the rows of a bucket that are not handed over yet.
func (in *Influx) sheaf(bucket string) *sheaf {
	s := in.rows[bucket]
	if s == nil {
		s = &sheaf{bucket: bucket, rising: true}
		in.rows[bucket] = s
	}
	return s
}

// row adds a row to a bucket whose rows come in key order, so that they can go on at once.
func (in *Influx) row(bucket string, k, v []byte) {
	s := in.sheaf(bucket)
	if s.add(k, v); len(s.slots) >= sheafRows {
		in.hand(s)
		in.rows[bucket] = &sheaf{bucket: bucket, rising: true, slots: make([]slot, 0, sheafRows)}
	}
}

// Add encodes a new record, whose ID this transaction minted, with its index rows and its line of the audit trail (see Put).
func (t *Table[T]) Add(in *Influx, v *T, what string) error {
	select {
	case <-in.stop:
		return errStop // its reason is told by who stopped
	default:
	}
	id := t.id(v)
	if !in.ids.minted(id) {
		return fmt.Errorf("add %s %s: its id is not new: %w", t.kind, id, vent.ErrInvalid)
	}
	if err := in.codec.marshalTo(&in.scratch, v); err != nil {
		return fmt.Errorf("add %s %s: %w", t.kind, id, err)
	}
	in.row(t.bucket(), id[:], in.scratch.Bytes())
	for _, ix := range t.indexes {
		ix.add(in, id, v)
	}
	if t.born != nil {
		in.born = append(in.born, func(tx *Tx) error { return t.born(tx, v) })
	}
	if t.subject == nil || what == "" {
		return nil
	}
	line := vent.Audit{ID: in.ids.next(), At: in.now, Actor: in.actor, Subject: t.subject(v), What: what}
	in.line = appendAudit(in.line[:0], &line)
	in.row(auditBucket, auditKey(line), in.line)
	return nil
}

func (ix *Index[T]) add(in *Influx, id vent.ID, v *T) {
	keys := ix.of(v)
	if len(keys) == 0 {
		return
	}
	s := in.sheaf(ix.bucket)
	for _, k := range keys {
		if ix.unique {
			s.holder = ix.bucket[len("ix."):]
			s.add(k, id[:])
		} else {
			s.add(append(k, id[:]...), nil) // keys have room for it
		}
	}
}

// Done says that no more records of the table come, so that its index rows can go on in key order. It is a matter of speed
// alone: what is left goes on at the end.
func (t *Table[T]) Done(in *Influx) {
	for _, ix := range t.indexes {
		if s := in.rows[ix.bucket]; s != nil {
			delete(in.rows, ix.bucket)
			in.hand(s)
		}
	}
}

// sort brings the rows into key order.
func (s *sheaf) sort() {
	slices.SortFunc(s.slots, func(a, b slot) int { return bytes.Compare(s.bytes.key(a), s.bytes.key(b)) })
	s.rising = true
}

// take hands to bbolt what comes in. It returns when nobody adds any more, whatever happens.
func (tx *Tx) take(in *Influx) error {
	defer func() {
		close(in.stop)
		for range in.out {
		}
	}()
	for s := range in.out {
		if err := tx.putSheaf(s); err != nil {
			return err
		}
	}
	return nil
}

func (tx *Tx) putSheaf(s *sheaf) error {
	b, err := tx.writeBucket(s.bucket)
	if err != nil {
		return err
	}
	for _, row := range s.slots {
		k, v := s.bytes.key(row), s.bytes.value(row)
		if s.holder != "" {
			if other := b.Get(k); other != nil {
				return fmt.Errorf("add records: %s of %s is already held by %s: %w", s.holder, vent.ID(v), vent.ID(other), vent.ErrConflict)
			}
		}
		if len(v) == 0 {
			v = nothing // lets go of the bytes that hold the key
		}
		if err := b.Put(k, v); err != nil {
			return fmt.Errorf("write %s: %w", s.bucket, err)
		}
	}
	return nil
}
