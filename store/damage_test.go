package store

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ventdue/vent"
)

// filled makes a data file of many pages and gives its bytes.
func filled(t *testing.T, n int) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ventdue.db")
	s := openedAt(t, path, Options{NoSync: true})
	fill(t, s, n)
	verifiedClosed(t, s)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return whole[:usedBytes(t, path)]
}

// written puts bytes into a file of their own.
func written(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ventdue.db")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// overwritten gives a copy with random bytes at a place.
func overwritten(data []byte, at, n int) []byte {
	random := rand.NewChaCha8([32]byte{byte(at), byte(at >> 8), byte(at >> 16)})
	damaged := append([]byte(nil), data...)
	_, _ = random.Read(damaged[at:min(at+n, len(damaged))])
	return damaged
}

// Whatever page is overwritten, whole or behind its head, nothing panics and no record is lost without a word.
func TestNoDamageEndsTheProcess(t *testing.T) {
	const persons = 1500
	whole, page, found := filled(t, persons), os.Getpagesize(), 0
	for at := 2 * page; at < len(whole); at += page {
		for name, where := range map[string]int{"head": at, "elements": at + 16, "counts": at + 10} {
			n := 3000
			if name == "counts" {
				n = 6
			}
			path := written(t, overwritten(whole, where, n))
			s, err := Open(path, Options{NoSync: true})
			if err != nil {
				if found++; !errors.Is(err, ErrDamaged) && !strings.Contains(err.Error(), "restore a backup") {
					t.Errorf("%s of page %d: open says %v", name, at/page, err)
				}
				continue
			}
			seen := 0
			err = s.View(func(tx *Tx) error {
				seen = 0
				for _, err := range Persons.All(tx) {
					if err != nil {
						return err
					}
					seen++
				}
				return nil
			})
			r := s.Verify()
			if (err != nil || seen != persons) && len(r.Problems) == 0 {
				t.Errorf("%s of page %d: %d persons, %v, and the file is called whole", name, at/page, seen, err)
			}
			if len(r.Problems) > 0 {
				found++
			}
			updated := s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(1, "Per Holm"), "made") })
			backedUp := s.Backup(filepath.Join(t.TempDir(), "copy.db"))
			if s.Damaged() != nil && (!errors.Is(updated, ErrDamaged) || !errors.Is(backedUp, ErrDamaged)) {
				t.Errorf("%s of page %d: damaged, but update says %v and backup %v", name, at/page, updated, backedUp)
			}
			_ = s.Close()
		}
	}
	if found == 0 {
		t.Error("no damage was found at all")
	}
}

func TestADamagedFileIsNamedAndRemembered(t *testing.T) {
	whole := filled(t, 3000)
	at := bytes.Index(whole, []byte("Ida Lund")) // in a page of records
	path := written(t, overwritten(whole, at-at%os.Getpagesize(), 3000))
	s, err := Open(path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	read := func() error {
		return s.View(func(tx *Tx) error {
			for _, err := range Persons.All(tx) {
				if err != nil {
					return err
				}
			}
			return nil
		})
	}
	for name, err := range map[string]error{"view": read(), "verify": s.Verify().Err(), "damaged": s.Damaged(),
		"update": s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(1, "Per Holm"), "made") }),
		"backup": s.Backup(filepath.Join(t.TempDir(), "copy.db"))} {
		if err == nil || !strings.Contains(err.Error(), "restore a backup with `ventdue restore`") || strings.Contains(err.Error(), "goroutine") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := s.View(func(tx *Tx) error { _, err := Persons.Get(tx, id(99)); return err }); errors.Is(err, ErrClosed) {
		t.Errorf("what is whole cannot be read: %v", err)
	}
}

func TestADamagedBackupIsNotRestored(t *testing.T) {
	from, path := written(t, overwritten(filled(t, 3000), 200_000, 3000)), stored(t, "Per Holm")
	_, err := Restore(from, path)
	if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "take an older one") {
		t.Errorf("got %v", err)
	}
	if got := names(t, openedAt(t, path, Options{})); got[0] != "Per Holm" {
		t.Errorf("a refused restore left %q", got)
	}
}

// A page number that lies inside the mapping, but behind the file's end, is a fault of the machine and no Go panic.
func TestAPageBehindTheEndIsDamage(t *testing.T) {
	whole, page := filled(t, 3000), os.Getpagesize()
	for at := 2 * page; at < len(whole); at += page {
		if whole[at+8] != branchPage {
			continue
		}
		whole[at+16+8+2] = 1 // the first element's page is at least 65 536 now: 256 MiB, of 1 GiB mapped
	}
	s, err := Open(written(t, whole), Options{})
	if err == nil {
		err = s.View(func(tx *Tx) error { _, err := Persons.Get(tx, vent.ID{1}); return err })
		if got := s.Verify(); len(got.Problems) == 0 || s.Damaged() == nil {
			t.Errorf("verify found %v", got.Problems)
		}
		defer s.Close()
	}
	if !errors.Is(err, ErrDamaged) {
		t.Errorf("got %v", err)
	}
}

// A caller's own mistake is no damage.
func TestACallersPanicIsNotCalledDamage(t *testing.T) {
	s := opened(t)
	func() {
		defer func() {
			if r := recover(); r == nil || !strings.Contains(fmt.Sprint(r), "nil pointer") {
				t.Errorf("the panic became %v", r)
			}
		}()
		_ = s.View(func(*Tx) error { var p *vent.Person; p.Name = "x"; return nil })
	}()
	if err := s.Damaged(); err != nil {
		t.Error(err)
	}
}
