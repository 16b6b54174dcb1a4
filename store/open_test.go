package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"go.etcd.io/bbolt"
)

func TestASecondOpenIsRefusedWithAdvice(t *testing.T) {
	s := opened(t)
	for name, o := range map[string]Options{"writer": {}, "reader": {ReadOnly: true}} {
		o.LockWait = time.Millisecond
		_, err := Open(s.Path(), o)
		if !errors.Is(err, ErrInUse) {
			t.Errorf("%s: %v, want ErrInUse", name, err)
			continue
		}
		for _, word := range []string{s.Path(), "daemon", "--data"} {
			if !strings.Contains(err.Error(), word) {
				t.Errorf("%s: %q does not say %q", name, err, word)
			}
		}
	}
}

func TestAMissingFileIsMadeWithItsFolder(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a", "b", "ventdue.db")
	openedAt(t, path, Options{})
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm() != 0o600 {
		t.Errorf("mode is %v: others can read it", info.Mode())
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".*")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

func TestReadOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ventdue.db")
	if _, err := Open(path, Options{ReadOnly: true}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing file: %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a reader made the file")
	}
	s := openedAt(t, path, Options{})
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, person(1, "Ida Lund"), "") })
	verifiedClosed(t, s)

	r := openedAt(t, path, Options{ReadOnly: true})
	if got := names(t, r); len(got) != 1 {
		t.Errorf("persons are %q", got)
	}
	err := r.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(2, "Per Holm"), "") })
	if err == nil || !strings.Contains(err.Error(), "reading only") {
		t.Errorf("a reader's update: %v", err)
	}
	if err := r.View(func(tx *Tx) error { return Persons.Put(tx, person(2, "Per Holm"), "") }); err == nil {
		t.Error("a snapshot can be written to")
	}
}

func TestOpeningAgainWritesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ventdue.db")
	verifiedClosed(t, openedAt(t, path, Options{}))
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	verifiedClosed(t, openedAt(t, path, Options{}))
	if after, _ := os.ReadFile(path); string(after) != string(before) {
		t.Error("opening changed the file")
	}
}

func TestWhatIsNoDataFileIsRefusedAndNotTouched(t *testing.T) {
	good := filepath.Join(t.TempDir(), "good.db")
	s := openedAt(t, good, Options{})
	fill(t, s, 500)
	verifiedClosed(t, s)
	whole, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	foreign := filepath.Join(t.TempDir(), "foreign.db")
	db, err := bbolt.Open(foreign, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	other, err := os.ReadFile(foreign)
	if err != nil {
		t.Fatal(err)
	}
	page := os.Getpagesize()
	for name, data := range map[string]string{
		"empty":         "",
		"one byte":      "x",
		"text":          strings.Repeat("run_ref,site\n", 5000),
		"zeros":         strings.Repeat("\x00", 1<<16),
		"foreign bbolt": string(other),
		"first page":    string(whole[:page]),
		"two pages":     string(whole[:2*page]),
		"half":          string(whole[:usedBytes(t, good)/2]),
		"one page less": string(whole[:usedBytes(t, good)-page]),
		"torn metas":    strings.Repeat("\xff", 2*page) + string(whole[2*page:]),
	} {
		path := filepath.Join(t.TempDir(), "ventdue.db")
		if err := os.WriteFile(path, []byte(data), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, o := range []Options{{}, {ReadOnly: true}} {
			s, err := Open(path, o)
			if err == nil {
				s.Close()
				t.Errorf("%s: opened", name)
				continue
			}
			if !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "not a Ventdue data file") {
				t.Errorf("%s: %q does not say which file and what is wrong", name, err)
			}
		}
		if after, _ := os.ReadFile(path); string(after) != data {
			t.Errorf("%s: the file was changed", name)
		}
		if err := os.Remove(path); err != nil { // held open and locked by nobody
			t.Error(err)
		}
	}
	if err := os.Mkdir(filepath.Join(t.TempDir(), "folder.db"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.TempDir(), Options{}); err == nil {
		t.Error("a folder was opened")
	}
}

// usedBytes asks bbolt how long a file has to be.
func usedBytes(t *testing.T, path string) (n int) {
	t.Helper()
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.View(func(tx *bbolt.Tx) error { n = int(tx.Size()); return nil }); err != nil {
		t.Fatal(err)
	}
	return n
}

// fill stores n persons.
func fill(t testing.TB, s *Store, n int) {
	t.Helper()
	update(t, s, 0, func(tx *Tx) error {
		for range n {
			p := person(0, "Ida Lund")
			p.ID = tx.NewID()
			if err := Persons.Put(tx, p, "made"); err != nil {
				return err
			}
		}
		return nil
	})
}

func TestOneTornMetaPageIsSurvived(t *testing.T) {
	for which := range 2 {
		path := filepath.Join(t.TempDir(), "ventdue.db")
		s := openedAt(t, path, Options{})
		fill(t, s, 10)
		verifiedClosed(t, s)
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.WriteAt([]byte("torn"), int64(which*os.Getpagesize()+40)); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		openedAt(t, path, Options{}) // bbolt takes the other one: the commit before, or the same
	}
}

func TestManyOpenAtOnceMakeOneFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ventdue.db")
	var wg sync.WaitGroup
	for n := range byte(8) {
		wg.Go(func() {
			s, err := Open(path, Options{LockWait: time.Minute, NoSync: true})
			if err != nil {
				t.Error(err)
				return
			}
			defer s.Close()
			if err := s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(n+1, "Ida Lund"), "") }); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	s := openedAt(t, path, Options{})
	if got := names(t, s); len(got) != 8 {
		t.Errorf("%d of 8 writes are there", len(got))
	}
}

// Where a file system knows no links, the name is taken first.
func TestPlacingWithoutLinks(t *testing.T) {
	dir := t.TempDir()
	temp, path := filepath.Join(dir, "temp"), filepath.Join(dir, "path")
	if err := os.WriteFile(temp, []byte("new"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := renameNew(temp, path); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(temp, []byte("newer"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := renameNew(temp, path); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a taken name: %v", err)
	}
	if err := copyNew(temp, path); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a taken name: %v", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "new" {
		t.Errorf("the file under the name is %q", got)
	}
}

func TestKeepTakesAFreeName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ventdue.db")
	for _, want := range []string{"first", "second"} {
		if err := os.WriteFile(path, []byte(want), 0o600); err != nil {
			t.Fatal(err)
		}
		kept, err := keep(path, "layout1")
		if err != nil {
			t.Fatal(err)
		}
		if again, err := keep(path, "layout1"); err != nil || again != kept {
			t.Errorf("kept twice: %s, %v", again, err)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		if got, _ := os.ReadFile(kept); string(got) != want {
			t.Errorf("%s holds %q, want %q", kept, got, want)
		}
	}
}
