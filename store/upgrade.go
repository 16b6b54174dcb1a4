package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"
)

// layout is the number of the present layout of buckets, keys and indexes.
const layout = 1

// ErrNewer is returned when a data file was written by a newer program.
var ErrNewer = errors.New("data file is of a newer layout")

const metaBucket = "meta"

var layoutKey = []byte("layout")

// steps turn a file of layout n (the key) into one of layout n+1. A step gets the old file read-only and an empty
// new one with all present buckets; what it does not copy is lost.
var steps = map[uint64]func(old, new *bbolt.Tx) error{}

// upgrade brings an older file up to date: copied to a new file beside it, which then takes its name; the old
// one stays as NAME.layoutN.
func upgrade(path string, db *bbolt.DB, o Options) (*bbolt.DB, error) {
	have, err := readLayout(db)
	switch {
	case err != nil:
		_ = db.Close()
		return nil, fmt.Errorf("open %s: %w", path, err)
	case have > layout:
		_ = db.Close()
		return nil, fmt.Errorf("open %s: %w: layout %d, this program knows %d; run the newer program", path, ErrNewer, have, layout)
	case have == layout && o.ReadOnly:
		return db, nil
	case have == layout:
		if err := db.Update(makeBuckets); err != nil {
			_ = db.Close()
			return nil, fmt.Errorf("open %s: %w", path, err)
		}
		return db, nil
	case o.ReadOnly:
		_ = db.Close()
		return nil, fmt.Errorf("open %s: layout %d is older than %d: start the daemon once to bring it up to date", path, have, layout)
	}
	return rebuild(path, db, have, o)
}

func rebuild(path string, old *bbolt.DB, have uint64, o Options) (*bbolt.DB, error) {
	fail := func(err error) (*bbolt.DB, error) {
		_ = old.Close()
		return nil, fmt.Errorf("bring %s from layout %d to %d: %w; the file is unchanged", path, have, layout, err)
	}
	step, ok := steps[have]
	if !ok {
		return fail(fmt.Errorf("no step is known"))
	}
	temp := fmt.Sprintf("%s.to%d", path, have+1)
	if err := os.Remove(temp); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fail(err)
	}
	next, err := bbolt.Open(temp, 0o600, &bbolt.Options{Timeout: o.LockWait})
	if err != nil {
		return fail(err)
	}
	err = old.View(func(from *bbolt.Tx) error {
		return next.Update(func(to *bbolt.Tx) error {
			if err := makeBuckets(to); err != nil {
				return err
			}
			if err := step(from, to); err != nil {
				return err
			}
			return setLayout(to, have+1)
		})
	})
	if err != nil {
		_ = next.Close()
		return fail(err)
	}
	// The old file keeps its lock until the new one, locked as well, has its name.
	kept := fmt.Sprintf("%s.layout%d", path, have)
	if err := os.Link(path, kept); err != nil && !errors.Is(err, os.ErrExist) {
		_ = next.Close()
		return fail(err)
	}
	if err := os.Rename(temp, path); err != nil {
		_ = next.Close()
		return fail(err)
	}
	if err := syncDir(filepath.Dir(path)); err != nil {
		_ = next.Close()
		return fail(err)
	}
	if err := old.Close(); err != nil {
		_ = next.Close()
		return nil, err
	}
	return upgrade(path, next, o)
}

func readLayout(db *bbolt.DB) (uint64, error) {
	var n uint64
	err := db.View(func(tx *bbolt.Tx) error {
		b := tx.Bucket([]byte(metaBucket))
		if b == nil {
			return errors.New("it is a bbolt file, but not a Ventdue data file")
		}
		v := b.Get(layoutKey)
		if len(v) != 8 {
			return errors.New("it does not say its layout")
		}
		n = binary.BigEndian.Uint64(v)
		return nil
	})
	return n, err
}

func setLayout(tx *bbolt.Tx, n uint64) error {
	return tx.Bucket([]byte(metaBucket)).Put(layoutKey, binary.BigEndian.AppendUint64(nil, n))
}

// makeBuckets makes what is missing; it writes nothing where all is there.
func makeBuckets(tx *bbolt.Tx) error {
	for _, name := range allBuckets() {
		if tx.Bucket([]byte(name)) != nil {
			continue
		}
		if _, err := tx.CreateBucket([]byte(name)); err != nil {
			return fmt.Errorf("make bucket %s: %w", name, err)
		}
	}
	return nil
}

func allBuckets() []string {
	names := []string{metaBucket, auditBucket, wakeBucket, wakeOfBucket, revBucket, replanBucket}
	for _, t := range tables() {
		names = append(names, t.buckets()...)
	}
	return names
}
