package store

import (
	"errors"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
)

// whole opens what a crash left: it verifies, all that was answered is there, and there is no half of a pair.
func whole(t *testing.T, path string, answered []string) {
	t.Helper()
	s := openedAt(t, path, Options{})
	view(t, s, func(tx *Tx) error {
		persons := map[vent.ID]bool{}
		for p, err := range Persons.All(tx) {
			if err != nil {
				return err
			}
			persons[p.ID] = true
		}
		customers := map[string]bool{}
		for c, err := range Customers.All(tx) {
			if err != nil {
				return err
			}
			customers[c.ID.String()] = true
			trail, err := tx.Trail(vent.Subject{Kind: vent.KindCustomer, ID: c.ID})
			if len(trail) != 1 || len(c.Persons) != 1 || !persons[c.Persons[0]] {
				t.Errorf("%s is half there: %d audit lines, %v", c.ID, len(trail), err)
			}
		}
		if len(persons) != len(customers) {
			t.Errorf("%d persons, %d customers: a pair is half there", len(persons), len(customers))
		}
		for _, a := range answered {
			if !customers[a] {
				t.Errorf("%s was answered and is lost", a)
			}
		}
		return nil
	})
	verifiedClosed(t, s)
}

// ids are the lines that are whole IDs: the last one may have been cut by the kill.
func wholeIDs(lines []string) []string {
	return slices.DeleteFunc(lines, func(l string) bool { _, err := vent.ParseID(l); return err != nil })
}

func TestKilledAtRandom(t *testing.T) {
	times := 30
	if testing.Short() {
		times = 3
	}
	path := filepath.Join(t.TempDir(), "ventdue.db") // the same file, again and again
	var answered []string
	for n := range times {
		c := startChild(t, "write", path)
		for range rand.IntN(40) {
			if !c.out.Scan() {
				t.Fatal("the child ended by itself")
			}
			answered = append(answered, c.out.Text())
		}
		if err := c.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		answered = append(answered, wholeIDs(c.rest())...)
		if err := c.Wait(); err == nil {
			t.Fatal("the child was not killed")
		}
		whole(t, path, answered)
		if t.Failed() {
			t.Fatalf("after kill %d", n)
		}
	}
	if len(answered) < times {
		t.Errorf("only %d writes in %d lives", len(answered), times)
	}
}

func TestKilledAroundACommit(t *testing.T) {
	for job, want := range map[string]int{"die before commit": 9, "die after commit": 10} {
		path := filepath.Join(t.TempDir(), "ventdue.db")
		c := startChild(t, job, path)
		answered := c.rest()
		if err := c.Wait(); err == nil {
			t.Error("the child was not killed")
		}
		if len(answered) != 9 {
			t.Errorf("%s: %d answers", job, len(answered))
		}
		whole(t, path, answered)
		view(t, openedAt(t, path, Options{}), func(tx *Tx) error {
			all, err := Collect(Customers.All(tx))
			if len(all) != want {
				t.Errorf("%s: %d are stored, want %d", job, len(all), want)
			}
			return err
		})
	}
}

func TestTwoProcessesMakeOneFile(t *testing.T) {
	for range 5 {
		path := filepath.Join(t.TempDir(), "new", "ventdue.db")
		a, b := startChild(t, "write once", path), startChild(t, "write once", path)
		answered := append(a.rest(), b.rest()...)
		if err := errors.Join(a.Wait(), b.Wait()); err != nil || len(answered) != 2 {
			t.Fatalf("%v, %q", err, answered)
		}
		whole(t, path, answered)
	}
}

func TestAnotherProcessHoldsTheFile(t *testing.T) {
	path := stored(t, "Ida Lund")
	c := startChild(t, "hold", path)
	if !c.out.Scan() {
		t.Fatal("the child does not hold it")
	}
	if _, err := Open(path, Options{LockWait: time.Millisecond}); !errors.Is(err, ErrInUse) {
		t.Errorf("open: %v", err)
	}
	if _, err := Restore(stored(t, "Per Holm"), path); !errors.Is(err, ErrInUse) {
		t.Errorf("restore: %v", err)
	}
	if err := c.stdin.Close(); err != nil {
		t.Fatal(err)
	}
	if err := c.Wait(); err != nil {
		t.Fatal(err)
	}
	if got := names(t, openedAt(t, path, Options{})); got[0] != "Ida Lund" {
		t.Errorf("persons are %q", got)
	}
}

func TestAFullDiskRefusesAndLosesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ventdue.db")
	c := startChild(t, "fill the disk", path)
	said := c.rest()
	if err := c.Wait(); err != nil {
		t.Fatal(err)
	}
	refused := slices.DeleteFunc(slices.Clone(said), func(l string) bool { return !strings.HasPrefix(l, "refused: ") })
	if len(refused) != 3 {
		t.Fatalf("the child said %q", said)
	}
	for _, r := range refused {
		if !strings.Contains(r, path) || !strings.Contains(r, "file too large") {
			t.Errorf("%q does not say which file and why", r)
		}
	}
	answered := wholeIDs(said)
	if len(answered) < 2 { // some before, one after the limit was lifted
		t.Errorf("the child said %q", said)
	}
	whole(t, path, answered)
}
