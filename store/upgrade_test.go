package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.etcd.io/bbolt"
)

const layout1 = "testdata/layout1.db"

// TestGenerateLayout1 writes the file of layout 1. It ran once, before the first release; run it again only while no
// release has that layout.
func TestGenerateLayout1(t *testing.T) {
	if !*generate {
		t.Skip("only with -generate")
	}
	s := opened(t)
	sample(t, s)
	if err := os.Remove(layout1); err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	if err := s.Backup(layout1); err != nil {
		t.Fatal(err)
	}
}

// copied gives a fresh copy of the old data file.
func copied(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ventdue.db")
	if err := copyFile(layout1, path); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAFileOfLayout1IsOpened(t *testing.T) {
	s := openedAt(t, copied(t), Options{})
	equal(t, "records", getAll(t, s), firstRecords())
	view(t, s, func(tx *Tx) error {
		if tx.WakeOf(WakeTell, id(1)) != 1795595405 { // 2026-11-25T08:30:05Z, by date -d @1795595405
			t.Errorf("woken at %s", tx.WakeOf(WakeTell, id(1)))
		}
		if r := tx.Revision(scopes[1].Scope); r.N != 1 {
			t.Errorf("revision %v", r)
		}
		return nil
	})
}

// future is a history in which today's layout is the old one: persons move to a bucket of another name and back.
func future(failAt func(string) error) history {
	h := present()
	h.failAt = failAt
	old := h.layout
	h.layout += 2
	h.steps = map[uint64]func(*bbolt.Tx) error{
		old:     func(tx *bbolt.Tx) error { return moveBucket(tx, "person", "people") },
		old + 1: func(tx *bbolt.Tx) error { return moveBucket(tx, "people", "person") },
	}
	return h
}

func moveBucket(tx *bbolt.Tx, from, to string) error {
	b, err := tx.CreateBucketIfNotExists([]byte(to))
	if err != nil {
		return err
	}
	if err := tx.Bucket([]byte(from)).ForEach(b.Put); err != nil {
		return err
	}
	return tx.DeleteBucket([]byte(from))
}

func openFuture(t *testing.T, path string, h history) *Store {
	t.Helper()
	s, err := open(path, Options{NoSync: true}, h)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { verifiedClosed(t, s) })
	return s
}

func TestAnOlderFileIsBroughtUpToDateStepByStep(t *testing.T) {
	path := copied(t)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s := openFuture(t, path, future(nil))
	equal(t, "records", getAll(t, s), firstRecords())
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, person(2, "Per Holm"), "") })
	verifiedClosed(t, s)

	kept, err := os.ReadFile(path + ".layout1")
	if err != nil || string(kept) != string(before) {
		t.Errorf("the old file was not kept as it was: %v", err)
	}
	if got := names(t, openFuture(t, path, future(nil))); len(got) != 2 {
		t.Errorf("persons are %q", got)
	}
	if _, err := os.Stat(path + ".upgrade"); err == nil {
		t.Error("the working copy was left")
	}
}

// The process ends at any point of an upgrade: today's program or the future one finds a whole file.
func TestAnUpgradeThatEndsAnywhereCanBeRepeated(t *testing.T) {
	crash := errors.New("crash")
	for _, point := range []string{"copied", "kept", "renamed"} {
		for nth := 1; nth <= 2; nth++ { // in the first or in the second step
			path := copied(t)
			n := 0
			_, err := open(path, Options{}, future(func(at string) error {
				if at == point {
					if n++; n == nth {
						return crash
					}
				}
				return nil
			}))
			if !errors.Is(err, crash) {
				t.Fatalf("%s: %v", point, err)
			}
			s := openFuture(t, path, future(nil))
			equal(t, fmt.Sprintf("records after the end at %s, step %d", point, nth), getAll(t, s), firstRecords())
			if _, err := os.Stat(path + ".layout1"); err != nil {
				t.Errorf("%s: the old file is lost: %v", point, err)
			}
		}
	}
}

func TestAStepThatFailsLeavesTheFile(t *testing.T) {
	path := copied(t)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	h := future(nil)
	h.steps[1] = func(tx *bbolt.Tx) error {
		return errors.Join(moveBucket(tx, "person", "people"), errors.New("a record cannot be read"))
	}
	if _, err := open(path, Options{}, h); err == nil || !strings.Contains(err.Error(), "cannot be read") {
		t.Errorf("got %v", err)
	}
	delete(h.steps, 1)
	if _, err := open(path, Options{}, h); err == nil || !strings.Contains(err.Error(), "no step is known") {
		t.Errorf("got %v", err)
	}
	if after, _ := os.ReadFile(path); string(after) != string(before) {
		t.Error("the file was changed")
	}
	equal(t, "records", getAll(t, openedAt(t, path, Options{})), firstRecords())
}

func TestAReaderDoesNotBringUpToDate(t *testing.T) {
	path := copied(t)
	if _, err := open(path, Options{ReadOnly: true}, future(nil)); err == nil || !strings.Contains(err.Error(), "daemon") {
		t.Errorf("got %v", err)
	}
	openedAt(t, path, Options{ReadOnly: true})
}

func TestANewerFileIsRefused(t *testing.T) {
	path := copied(t)
	verifiedClosed(t, openFuture(t, path, future(nil)))
	for _, o := range []Options{{}, {ReadOnly: true}} {
		_, err := Open(path, o)
		if !errors.Is(err, ErrNewer) || !strings.Contains(err.Error(), "layout 3") || !strings.Contains(err.Error(), "newer program") {
			t.Errorf("got %v", err)
		}
	}
	if _, err := Restore(path, copied(t)); !errors.Is(err, ErrNewer) {
		t.Errorf("restoring it: %v", err)
	}
}

// A process waits for the old file while another one upgrades it. It must end up with the new file.
func TestWhoWaitedForTheOldFileGetsTheNewOne(t *testing.T) {
	path := copied(t)
	second := make(chan error)
	first, other := present(), present()
	first.layout, other.layout = 2, 2
	other.steps = map[uint64]func(*bbolt.Tx) error{1: func(*bbolt.Tx) error { return errors.New("upgraded a second time") }}
	first.steps = map[uint64]func(*bbolt.Tx) error{1: func(*bbolt.Tx) error {
		go func() {
			s, err := open(path, Options{LockWait: time.Minute}, other)
			if err == nil {
				err = errors.Join(s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(3, "Eva Berg"), "") }), s.Close())
			}
			second <- err
		}()
		return nil
	}}
	s := openFuture(t, path, first)
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, person(2, "Per Holm"), "") })
	verifiedClosed(t, s)
	if err := <-second; err != nil {
		t.Fatal(err)
	}
	if got := names(t, openFuture(t, path, other)); len(got) != 3 {
		t.Errorf("persons are %q: a write went to the file that was replaced", got)
	}
}

func TestRestoringAnOlderBackupBringsItUpToDate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ventdue.db")
	if _, err := Restore(layout1, path); err != nil {
		t.Fatal(err)
	}
	equal(t, "records", getAll(t, openedAt(t, path, Options{})), firstRecords())
}
