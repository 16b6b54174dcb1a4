package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"go.etcd.io/bbolt"
)

// ErrNewer is returned when a data file was written by a newer program.
var ErrNewer = errors.New("data file is of a newer layout")

// history is the present layout of buckets, keys and indexes, and the way to it from every older one.
type history struct {
	layout uint64
	// steps turn a copy of a file of layout n (the key) into one of layout n+1, in one transaction.
	steps map[uint64]func(*bbolt.Tx) error
	// failAt is called at named points of an upgrade; tests end it there as a crash would. nil otherwise.
	failAt func(point string) error
}

// present is this program's history. A new layout raises the number, adds the step and puts a file of the former
// layout into testdata.
func present() history { return history{layout: 1} }

func (h history) fault(point string) error {
	if h.failAt == nil {
		return nil
	}
	return h.failAt(point)
}

// openPresent opens a file and brings it to the present layout, one step after the other.
func openPresent(path string, o Options, h history) (*bbolt.DB, error) {
	for {
		db, err := openFile(path, o)
		if err != nil {
			return nil, err
		}
		have, err := readLayout(db)
		switch {
		case err != nil:
			err = fmt.Errorf("open %s: %w", path, err)
		case have > h.layout:
			err = fmt.Errorf("open %s: %w: layout %d, this program knows %d; run the newer program", path, ErrNewer, have, h.layout)
		case have < h.layout && o.ReadOnly:
			err = fmt.Errorf("open %s: layout %d is older than %d: start the daemon once to bring it up to date", path, have, h.layout)
		case have < h.layout:
			if err = h.rebuild(path, db, have); err != nil {
				err = fmt.Errorf("bring %s from layout %d to %d: %w; the data is as it was", path, have, have+1, err)
			}
		default:
			return db, nil
		}
		if e := db.Close(); err == nil && e != nil {
			err = fmt.Errorf("open %s: %w", path, e)
		}
		if err != nil {
			return nil, err
		}
	}
}

// rebuild takes one step: on a copy beside the file, which then takes its name; the old file stays as NAME.layoutN. At
// every moment there is a whole file under the name, and the lock of the old one keeps others out.
func (h history) rebuild(path string, old *bbolt.DB, have uint64) error {
	step, ok := h.steps[have]
	if !ok {
		return errors.New("no step is known")
	}
	temp := path + ".upgrade"
	if err := os.Remove(temp); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := copyStep(temp, old, have+1, step); err != nil {
		return err
	}
	if err := h.fault("copied"); err != nil {
		return err
	}
	if _, err := keep(path, fmt.Sprintf("layout%d", have)); err != nil {
		return err
	}
	if err := h.fault("kept"); err != nil {
		return err
	}
	if err := os.Rename(temp, path); err != nil {
		return err
	}
	if err := h.fault("renamed"); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

// copyStep makes a dense copy of old, takes the step there and has it on disk when it returns.
func copyStep(to string, old *bbolt.DB, layout uint64, step func(*bbolt.Tx) error) (err error) {
	next, err := bbolt.Open(to, 0o600, &bbolt.Options{NoSync: true, FreelistType: bbolt.FreelistMapType})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, next.Close()) }()
	if err := bbolt.Compact(next, old, copyChunk); err != nil {
		return err
	}
	if err := next.Update(func(tx *bbolt.Tx) error {
		if err := step(tx); err != nil {
			return err
		}
		return setLayout(tx, layout)
	}); err != nil {
		return err
	}
	return next.Sync()
}

// copyChunk is how many bytes of a copy are written in one transaction.
const copyChunk = 8 << 20

const metaBucket = "meta"

var layoutKey = []byte("layout")

func readLayout(db *bbolt.DB) (n uint64, err error) {
	err = db.View(func(tx *bbolt.Tx) error {
		b := tx.Bucket([]byte(metaBucket))
		if b == nil {
			return errors.New("it is a bbolt file, but not a Ventdue data file")
		}
		v := b.Get(layoutKey)
		if len(v) != 8 {
			return errors.New("it does not say its layout: it is not a Ventdue data file")
		}
		n = binary.BigEndian.Uint64(v)
		return nil
	})
	return n, err
}

func setLayout(tx *bbolt.Tx, n uint64) error {
	return tx.Bucket([]byte(metaBucket)).Put(layoutKey, binary.BigEndian.AppendUint64(nil, n))
}
