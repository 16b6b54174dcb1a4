package store

import (
	"bytes"
	"errors"
	"fmt"
	"iter"
	"slices"

	"ventdue/vent"
)

// errStop ends a scan early; it never leaves this package.
var errStop = errors.New("stop")

// Table is one noun's records and indexes.
type Table[T any] struct {
	kind    vent.Kind
	id      func(*T) vent.ID
	subject func(*T) vent.Subject // whose audit trail a change belongs to; nil: not audited
	indexes []*Index[T]
	born    func(tx *Tx, v *T) error             // what else a new record brings about
	changed func(tx *Tx, before, after *T) error // what else a written change brings about
}

// Index is one ordered way into a table. keys gives the keys under which a record is found, without its ID;
// none when it does not belong in this index.
type Index[T any] struct {
	name    string
	unique  bool
	keys    func(*T) []key
	bucket  string // set by the table, as is missing
	missing error  // what a look-up says that finds nothing: there are many
}

func newTable[T any](kind vent.Kind, id func(*T) vent.ID, audited bool, indexes ...*Index[T]) *Table[T] {
	t := &Table[T]{kind: kind, id: id, indexes: indexes}
	if audited {
		t.subject = func(v *T) vent.Subject { return vent.Subject{Kind: kind, ID: id(v)} }
	}
	for _, ix := range indexes {
		ix.bucket = "ix." + string(kind) + "." + ix.name
		ix.missing = fmt.Errorf("%s by %s: %w", kind, ix.name, vent.ErrNotFound)
	}
	return t
}

// under attaches a table's audit lines to another subject than the record itself.
func (t *Table[T]) under(subject func(*T) vent.Subject) *Table[T] {
	t.subject = subject
	return t
}

// first has f called after a record was put for the first time.
func (t *Table[T]) first(f func(tx *Tx, v *T) error) *Table[T] {
	t.born = f
	return t
}

// then has f called after every Put that changed a record.
func (t *Table[T]) then(f func(tx *Tx, before, after *T) error) *Table[T] {
	t.changed = f
	return t
}

func (t *Table[T]) bucket() string { return string(t.kind) }

// Get gives one record; ErrNotFound when there is none.
func (t *Table[T]) Get(tx *Tx, id vent.ID) (T, error) {
	var v T
	b := tx.get(t.bucket(), id[:])
	if b == nil {
		return v, fmt.Errorf("%s %s: %w", t.kind, id, vent.ErrNotFound)
	}
	if err := tx.codec.unmarshal(b, &v); err != nil {
		return v, fmt.Errorf("%s %s: %w", t.kind, id, err)
	}
	return v, nil
}

// Has reports whether the record exists.
func (t *Table[T]) Has(tx *Tx, id vent.ID) bool { return tx.get(t.bucket(), id[:]) != nil }

// Put writes a record with its index rows and, where the table is audited, one line of the trail that says what
// was done (none where what is empty). Writing a record as it already is changes nothing. A unique key that another record
// holds is refused with ErrConflict. What calendars and reminders owe to the change follows by itself: see republish.go.
func (t *Table[T]) Put(tx *Tx, v T, what string) error {
	id := t.id(&v)
	if id.IsZero() && t.kind != vent.KindOperator {
		return fmt.Errorf("put %s: it has no id: %w", t.kind, vent.ErrInvalid)
	}
	data, err := tx.codec.marshal(&v)
	if err != nil {
		return fmt.Errorf("put %s %s: %w", t.kind, id, err)
	}
	old := tx.get(t.bucket(), id[:])
	if bytes.Equal(old, data) {
		return nil
	}
	var before *T
	if old != nil {
		before = new(T)
		if err := tx.codec.unmarshal(old, before); err != nil {
			return fmt.Errorf("put %s %s: %w", t.kind, id, err)
		}
	}
	if err := t.reindex(tx, id, before, &v); err != nil {
		return err
	}
	if t.subject != nil {
		if err := tx.audit(t.subject(&v), what, orNil(before)); err != nil {
			return err
		}
	}
	err = tx.put(t.bucket(), id[:], data)
	switch {
	case err != nil:
		return err
	case before == nil && t.born != nil:
		return t.born(tx, &v)
	case before != nil && t.changed != nil:
		return t.changed(tx, before, &v)
	}
	return nil
}

// Delete removes a record and its index rows; removing what is not there is no error.
func (t *Table[T]) Delete(tx *Tx, id vent.ID, what string) error {
	v, err := t.Get(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return nil
	}
	if err != nil {
		return err
	}
	if err := t.reindex(tx, id, &v, nil); err != nil {
		return err
	}
	if t.subject != nil {
		if err := tx.audit(t.subject(&v), what, &v); err != nil {
			return err
		}
	}
	return tx.delete(t.bucket(), id[:])
}

// All walks the table in the order of the IDs: the order of birth.
func (t *Table[T]) All(tx *Tx) iter.Seq2[T, error] { return t.from(tx, nil, nil) }

// After walks the table from the first record behind id on.
func (t *Table[T]) After(tx *Tx, id vent.ID) iter.Seq2[T, error] {
	return t.from(tx, append(id[:], 0), nil)
}

func (t *Table[T]) from(tx *Tx, lo, hi []byte) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		err := tx.scan(t.bucket(), lo, hi, func(k, b []byte) error {
			var v T
			err := tx.codec.unmarshal(b, &v)
			if err != nil {
				err = fmt.Errorf("%s %x: %w", t.kind, k, err)
			}
			if !yield(v, err) {
				return errStop
			}
			return nil
		})
		if err != nil && !errors.Is(err, errStop) {
			var none T
			yield(none, err)
		}
	}
}

// find walks the records whose key in the index starts with prefix, in the order of the keys.
func (t *Table[T]) find(tx *Tx, ix *Index[T], prefix key) iter.Seq2[T, error] {
	return t.between(tx, ix, prefix, end(prefix))
}

// between walks the records whose key in the index lies in [lo, hi).
func (t *Table[T]) between(tx *Tx, ix *Index[T], lo, hi key) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for id, err := range ix.ids(tx, lo, hi) {
			var v T
			if err == nil {
				v, err = t.Get(tx, id)
			}
			if !yield(v, err) || err != nil {
				return
			}
		}
	}
}

// one gives the record that holds the unique key; ErrNotFound when none does.
func (t *Table[T]) one(tx *Tx, ix *Index[T], k key) (T, error) {
	if b := tx.get(ix.bucket, k); len(b) == 16 {
		return t.Get(tx, vent.ID(b))
	}
	var none T
	return none, ix.missing
}

// ids walks the IDs whose key lies in [lo, hi).
func (ix *Index[T]) ids(tx *Tx, lo, hi key) iter.Seq2[vent.ID, error] {
	return func(yield func(vent.ID, error) bool) {
		err := tx.scan(ix.bucket, lo, hi, func(k, b []byte) error {
			if !ix.unique {
				b = k[len(k)-16:]
			}
			if !yield(vent.ID(b), nil) {
				return errStop
			}
			return nil
		})
		if err != nil && !errors.Is(err, errStop) {
			yield(vent.ID{}, err)
		}
	}
}

// reindex takes away the old record's index rows and writes the new one's. Either may be nil. A refusal comes before
// the first write, so that the caller can go on with something else.
func (t *Table[T]) reindex(tx *Tx, id vent.ID, before, after *T) error {
	if after != nil {
		for _, ix := range t.indexes {
			if err := ix.free(tx, id, ix.of(after)); err != nil {
				return fmt.Errorf("%s %s: %w", t.kind, id, err)
			}
		}
	}
	for _, ix := range t.indexes {
		var was, is []key
		if before != nil {
			was = ix.of(before)
		}
		if after != nil {
			is = ix.of(after)
		}
		if err := ix.move(tx, id, was, is); err != nil {
			return fmt.Errorf("%s %s: %w", t.kind, id, err)
		}
	}
	return nil
}

// of gives a record's keys, each once: somebody may have lived behind a door twice.
func (ix *Index[T]) of(v *T) []key {
	keys := ix.keys(v)
	if len(keys) < 2 {
		return keys
	}
	slices.SortFunc(keys, func(a, b key) int { return bytes.Compare(a, b) })
	return slices.CompactFunc(keys, func(a, b key) bool { return bytes.Equal(a, b) })
}

// free gives ErrConflict where another record holds one of the unique keys.
func (ix *Index[T]) free(tx *Tx, id vent.ID, keys []key) error {
	if !ix.unique {
		return nil
	}
	for _, k := range keys {
		if other := tx.get(ix.bucket, k); len(other) == len(id) && vent.ID(other) != id {
			return fmt.Errorf("%s is already held by %s: %w", ix.name, vent.ID(other), vent.ErrConflict)
		}
	}
	return nil
}

func (ix *Index[T]) move(tx *Tx, id vent.ID, was, is []key) error {
	for _, k := range was {
		if !holds(is, k) {
			if err := tx.delete(ix.bucket, ix.row(k, id)); err != nil {
				return err
			}
		}
	}
	var value []byte
	if ix.unique {
		value = id[:]
	}
	for _, k := range is {
		if !holds(was, k) {
			if err := tx.put(ix.bucket, ix.row(k, id), value); err != nil {
				return err
			}
		}
	}
	return nil
}

func (ix *Index[T]) row(k key, id vent.ID) []byte {
	if ix.unique {
		return k
	}
	return append(append(make([]byte, 0, len(k)+16), k...), id[:]...)
}

// orNil keeps a nil pointer nil when it becomes an interface.
func orNil[T any](p *T) any {
	if p == nil {
		return nil
	}
	return p
}

func holds(keys []key, k key) bool {
	return slices.ContainsFunc(keys, func(x key) bool { return bytes.Equal(x, k) })
}
