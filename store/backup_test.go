package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

func TestBackupWhileWriting(t *testing.T) {
	s := opened(t)
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
				}
				// Two records that are only right together.
				if err := s.Update(stamp(0), func(tx *Tx) error {
					c, p := tx.NewID(), person(0, "Ida Lund")
					p.ID = tx.NewID()
					return errors.Join(Persons.Put(tx, p, "made"), Customers.Put(tx, customer(c, p.ID), "made"))
				}); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	dir := t.TempDir()
	for _, name := range []string{"one.db", "two.db", "three.db"} {
		to := filepath.Join(dir, "backups", name)
		if err := s.Backup(to); err != nil {
			t.Fatal(err)
		}
		openedAt(t, to, Options{ReadOnly: true}) // verified at the end: every customer's person is there
	}
	close(stop)
	wg.Wait()
	if err := s.Backup(filepath.Join(dir, "backups", "one.db")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a backup in the place of another: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "backups", ".*")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

// stored makes a data file with one person and gives its path.
func stored(t *testing.T, name string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ventdue.db")
	s := openedAt(t, path, Options{})
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, person(1, name), "made") })
	verifiedClosed(t, s)
	return path
}

func TestRestoreKeepsTheFormerFile(t *testing.T) {
	backup, path := stored(t, "Ida Lund"), stored(t, "Per Holm")
	for _, was := range []string{"Per Holm", "Ida Lund"} { // the second time the first kept file is not lost
		kept, err := Restore(backup, path)
		if err != nil {
			t.Fatal(err)
		}
		if got := names(t, openedAt(t, kept, Options{ReadOnly: true})); got[0] != was {
			t.Errorf("kept %s holds %q, want %s", kept, got, was)
		}
	}
	if got := names(t, openedAt(t, path, Options{})); got[0] != "Ida Lund" {
		t.Errorf("restored %q", got)
	}
	left, _ := os.ReadDir(filepath.Dir(path))
	if len(left) != 3 { // the data file and two kept ones
		t.Errorf("the folder holds %v", left)
	}
}

func TestRestoreWhereNothingWas(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "ventdue.db")
	kept, err := Restore(stored(t, "Ida Lund"), path)
	if err != nil || kept != "" {
		t.Fatalf("kept %q, %v", kept, err)
	}
	if got := names(t, openedAt(t, path, Options{})); got[0] != "Ida Lund" {
		t.Errorf("restored %q", got)
	}
}

func TestRestoreInPlaceOfADamagedFile(t *testing.T) {
	backup := stored(t, "Ida Lund")
	for name, damaged := range map[string]string{"empty": "", "text": "not a database", "zeros": strings.Repeat("\x00", 1<<15)} {
		path := filepath.Join(t.TempDir(), "ventdue.db")
		if err := os.WriteFile(path, []byte(damaged), 0o600); err != nil {
			t.Fatal(err)
		}
		kept, err := Restore(backup, path)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got, _ := os.ReadFile(kept); name != "empty" && string(got) != damaged {
			t.Errorf("%s: the damaged file was not kept as it was", name)
		}
		openedAt(t, path, Options{})
	}
}

func TestRestoreIsRefused(t *testing.T) {
	backup := stored(t, "Ida Lund")
	whole, err := os.ReadFile(backup)
	if err != nil {
		t.Fatal(err)
	}
	short := filepath.Join(t.TempDir(), "short.db")
	if err := os.WriteFile(short, whole[:len(whole)/4], 0o600); err != nil {
		t.Fatal(err)
	}
	inUse := opened(t)
	free := stored(t, "Per Holm")
	for name, c := range map[string]struct {
		from, to string
		want     error
	}{
		"while the data file is in use": {backup, inUse.Path(), ErrInUse},
		"from a file in use":            {inUse.Path(), free, ErrInUse},
		"from a missing file":           {filepath.Join(t.TempDir(), "none.db"), free, fs.ErrNotExist},
		"from half a file":              {short, free, errShort},
	} {
		if _, err := Restore(c.from, c.to); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	if got := names(t, openedAt(t, free, Options{})); got[0] != "Per Holm" {
		t.Errorf("a refused restore left %q", got)
	}
	left, _ := os.ReadDir(filepath.Dir(free))
	if len(left) != 1 {
		t.Errorf("a refused restore left %v", left)
	}
}

// A copy whose pages are whole but whose records contradict each other is not put into place.
func TestRestoreVerifies(t *testing.T) {
	bad := stored(t, "Ida Lund")
	s := openedAt(t, bad, Options{})
	update(t, s, 0, func(tx *Tx) error { return tx.delete("person", key{}.id(id(1))) })
	if err := s.Close(); err != nil { // unverified: it is meant to be wrong
		t.Fatal(err)
	}
	s = openedAt(t, bad, Options{})
	update(t, s, 0, func(tx *Tx) error { return tx.put(personMail.bucket, []byte("stray row of nobody"), nil) })
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	path := stored(t, "Per Holm")
	if _, err := Restore(bad, path); err == nil || !strings.Contains(err.Error(), "index mail") {
		t.Errorf("got %v", err)
	}
	if got := names(t, openedAt(t, path, Options{})); got[0] != "Per Holm" {
		t.Errorf("a refused restore left %q", got)
	}
}
