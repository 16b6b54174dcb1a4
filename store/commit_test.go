package store

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"ventdue/vent"
)

func names(t *testing.T, s *Store) (all []string) {
	t.Helper()
	view(t, s, func(tx *Tx) error {
		all = nil
		for p, err := range Persons.All(tx) {
			if err != nil {
				return err
			}
			all = append(all, p.Name)
		}
		return nil
	})
	return all
}

func TestAnErrorOrPanicLeavesNoTrace(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, person(1, "Ida Lund"), "made") })
	before := s.Commits()
	refused := errors.New("no")
	change := func(tx *Tx) error {
		p := person(1, "Changed")
		p.Ref = "r1"
		if err := Persons.Put(tx, p, "changed"); err != nil {
			return err
		}
		if err := tx.SetWake(WakeTell, id(1), tx.Now()); err != nil {
			return err
		}
		return tx.Bump(vent.OperatorScope)
	}
	for name, f := range map[string]func(*Tx) error{
		"error":            func(tx *Tx) error { return errors.Join(change(tx), refused) },
		"error after walk": func(tx *Tx) error { return errors.Join(change(tx), walked(tx), refused) },
		"panic":            func(tx *Tx) error { change(tx); panic("oops") },
		"panic after walk": func(tx *Tx) error { change(tx); walked(tx); panic("oops") },
	} {
		err := s.Update(stamp(0), f)
		switch {
		case err == nil:
			t.Errorf("%s: want an error", name)
		case strings.HasPrefix(name, "error") && !errors.Is(err, refused):
			t.Errorf("%s: got %v", name, err)
		case strings.HasPrefix(name, "panic") && !strings.Contains(err.Error(), "oops"):
			t.Errorf("%s: got %v", name, err)
		}
	}
	if got := names(t, s); len(got) != 1 || got[0] != "Ida Lund" {
		t.Errorf("persons are %q", got)
	}
	view(t, s, func(tx *Tx) error {
		if _, err := PersonByRef(tx, "r1"); !errors.Is(err, vent.ErrNotFound) {
			t.Errorf("index row was left: %v", err)
		}
		if trail, err := tx.Trail(vent.Subject{Kind: vent.KindPerson, ID: id(1)}); err != nil || len(trail) != 1 {
			t.Errorf("trail is %v, %v", trail, err)
		}
		if at, err := tx.NextWake(WakeTell); at != 0 || err != nil {
			t.Errorf("waking row was left: %v %v", at, err)
		}
		if r := tx.Revision(vent.OperatorScope); r.N != 0 {
			t.Errorf("revision was raised: %v", r)
		}
		return nil
	})
	if s.Commits() != before {
		t.Errorf("%d commits were made", s.Commits()-before)
	}
}

// walked makes the transaction hand its writes to bbolt before it ends.
func walked(tx *Tx) error {
	_, err := Collect(Persons.All(tx))
	return err
}

// shared runs functions that all wait when the leader takes them, so that they share one commit.
func shared(s *Store, fs ...func(*Tx) error) []error {
	errs := make([]error, len(fs))
	block, leading := make(chan struct{}), make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		_ = s.Update(stamp(0), func(*Tx) error { close(leading); <-block; return nil })
	})
	<-leading
	for i, f := range fs {
		j := &job{stamp: stamp(0), ids: newIDSource(t0), f: f, turn: make(chan bool, 1)}
		if lead, err := s.queue.join(j); lead || err != nil {
			panic("somebody leads already")
		}
		wg.Go(func() {
			if <-j.turn {
				s.lead()
			}
			errs[i] = j.err
		})
	}
	close(block)
	wg.Wait()
	return errs
}

func TestCallersShareACommitButNotTheirErrors(t *testing.T) {
	s := opened(t)
	put := func(n byte, name string) func(*Tx) error {
		return func(tx *Tx) error { return Persons.Put(tx, person(n, name), "made") }
	}
	refused := errors.New("no")
	errs := shared(s,
		put(1, "Ida Lund"),
		func(tx *Tx) error { return errors.Join(put(2, "Nobody")(tx), refused) },
		put(3, "Per Holm"),
		func(tx *Tx) error { return errors.Join(put(4, "Nobody")(tx), walked(tx), refused) },
		func(tx *Tx) error { put(5, "Nobody")(tx); panic("oops") },
		func(tx *Tx) error { put(6, "Nobody")(tx); walked(tx); panic("oops") },
		put(7, "Eva Berg"),
	)
	for i, err := range errs {
		if failed := i == 1 || i == 3 || i == 4 || i == 5; (err != nil) != failed {
			t.Errorf("caller %d: %v", i, err)
		}
	}
	if got := fmt.Sprint(names(t, s)); got != "[Ida Lund Per Holm Eva Berg]" {
		t.Errorf("persons are %s", got)
	}
	if n := s.Commits(); n != 1 {
		t.Errorf("%d commits, want one shared", n)
	}
}

func TestTheLaterOfTwoInOneCommitIsRefused(t *testing.T) {
	s := opened(t)
	take := func(n byte) func(*Tx) error {
		return func(tx *Tx) error {
			p := person(n, "Ida Lund")
			p.Ref = "slot"
			return Persons.Put(tx, p, "")
		}
	}
	errs := shared(s, take(1), take(2))
	if errs[0] != nil || !errors.Is(errs[1], vent.ErrConflict) {
		t.Errorf("got %v", errs)
	}
}

// A caller who was refused because of what another wrote must not hear so when that was never stored.
func TestWhenTheCommitFailsNobodyIsAnsweredFromIt(t *testing.T) {
	s := opened(t)
	full := errors.New("disk full")
	s.failAt = func(point string) error {
		if point == "before commit" {
			return full
		}
		return nil
	}
	take := func(n byte) func(*Tx) error {
		return func(tx *Tx) error {
			p := person(n, "Ida Lund")
			p.Ref = "slot"
			return Persons.Put(tx, p, "")
		}
	}
	for i, err := range shared(s, take(1), take(2)) {
		if !errors.Is(err, full) || errors.Is(err, vent.ErrConflict) {
			t.Errorf("caller %d: %v", i, err)
		}
	}
	s.failAt = nil
	if err := s.Update(stamp(0), take(2)); err != nil {
		t.Errorf("the slot was not taken: %v", err)
	}
}

func TestACommitWhoseAnswerIsLostIsThere(t *testing.T) {
	s := opened(t)
	s.failAt = func(point string) error {
		if point == "after commit" {
			return errors.New("answer lost")
		}
		return nil
	}
	if err := s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(1, "Ida Lund"), "") }); err == nil {
		t.Error("want an error")
	}
	if got := names(t, s); len(got) != 1 {
		t.Errorf("persons are %q", got)
	}
}

func TestASnapshotDoesNotSeeLaterCommits(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, person(1, "Ida Lund"), "") })
	view(t, s, func(tx *Tx) error {
		done := make(chan error)
		go func() {
			done <- s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, person(1, "Changed"), "") })
		}()
		if err := <-done; err != nil {
			return err
		}
		p, err := Persons.Get(tx, id(1))
		if p.Name != "Ida Lund" {
			t.Errorf("the snapshot sees %q", p.Name)
		}
		return err
	})
	if got := names(t, s); got[0] != "Changed" {
		t.Errorf("a new snapshot sees %q", got)
	}
}

func TestATransactionSeesItsOwnWrites(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error {
		p := person(1, "Ida Lund")
		p.Ref = "a"
		if err := Persons.Put(tx, p, ""); err != nil {
			return err
		}
		if got, err := PersonByRef(tx, "a"); err != nil || got.Name != "Ida Lund" {
			t.Errorf("got %v, %v", got, err)
		}
		if err := Persons.Delete(tx, id(1), ""); err != nil {
			return err
		}
		if Persons.Has(tx, id(1)) {
			t.Error("a deleted record is there")
		}
		if all, err := Collect(Persons.All(tx)); err != nil || len(all) != 0 {
			t.Errorf("walk gives %v, %v", all, err)
		}
		return Persons.Put(tx, p, "")
	})
	if got := names(t, s); len(got) != 1 {
		t.Errorf("persons are %q", got)
	}
}

func TestClosed(t *testing.T) {
	s := opened(t)
	verifiedClosed(t, s)
	none := func(*Tx) error { return nil }
	for name, err := range map[string]error{
		"view": s.View(none), "update": s.Update(stamp(0), none), "bulk": s.Bulk(stamp(0), none), "backup": s.Backup(t.TempDir() + "/b.db"),
	} {
		if !errors.Is(err, ErrClosed) {
			t.Errorf("%s: %v, want ErrClosed", name, err)
		}
	}
	if err := s.Close(); err != nil {
		t.Errorf("closing again: %v", err)
	}
	if s.Verify().Err() == nil {
		t.Error("verifying a closed store finds no problem")
	}
}

func TestCloseWhileManyWrite(t *testing.T) {
	path := t.TempDir() + "/ventdue.db"
	s, err := Open(path, Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	var mu sync.Mutex
	stored := map[vent.ID]bool{}
	for range 16 {
		wg.Go(func() {
			for {
				var made vent.ID
				err := s.Update(stamp(0), func(tx *Tx) error {
					made = tx.NewID()
					return Persons.Put(tx, vent.Person{ID: made, Name: "Ida Lund"}, "")
				})
				if errors.Is(err, ErrClosed) {
					return
				}
				if err != nil {
					t.Error(err)
					return
				}
				mu.Lock()
				stored[made] = true
				n := len(stored)
				mu.Unlock()
				if n == 200 {
					go s.Close()
				}
			}
		})
	}
	wg.Wait()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	view(t, openedAt(t, path, Options{NoSync: true, LockWait: time.Minute}), func(tx *Tx) error { // another Close may still be at it
		for made := range stored {
			if !Persons.Has(tx, made) {
				t.Errorf("%s was answered and is lost", made)
			}
		}
		return nil
	})
}

// A test's Fatal inside a transaction ends the goroutine that leads.
func TestAFunctionThatEndsItsGoroutineBlocksNobody(t *testing.T) {
	s := opened(t)
	put := func(tx *Tx) error { return Persons.Put(tx, person(1, "Ida Lund"), "") }
	errs := shared(s, func(tx *Tx) error { runtime.Goexit(); return nil }, put)
	if !errors.Is(errs[1], errUnfinished) {
		t.Errorf("who shared the commit was told %v", errs[1])
	}
	if got := names(t, s); len(got) != 0 {
		t.Errorf("half a commit was made: %q", got)
	}
	update(t, s, 0, put)
}

func TestAStampMustSayWhen(t *testing.T) {
	s := opened(t)
	if err := s.Update(Stamp{Actor: "office"}, func(*Tx) error { return nil }); err == nil {
		t.Error("want an error")
	}
}

func TestIDsAreUniqueOrderedAndRepeatable(t *testing.T) {
	s := newIDSource(t0)
	again := s
	var last vent.ID
	for i := range 70000 { // past two bytes of the counter
		v := s.next()
		if string(v[:]) <= string(last[:]) {
			t.Fatalf("id %d, %s, does not come after %s", i, v, last)
		}
		if v != again.next() {
			t.Fatal("a second run mints other ids")
		}
		last = v
	}
	// RFC 9562 section 5.7: 48 bits of Unix milliseconds, version 7, variant 10.
	text := last.String()
	if text[14] != '7' || !strings.ContainsRune("89ab", rune(text[19])) {
		t.Errorf("%s is not a version 7 UUID", text)
	}
	ms := int64(0)
	for _, b := range last[:6] {
		ms = ms<<8 | int64(b)
	}
	if ms != t0.UnixMilli() {
		t.Errorf("%s says %d ms, want %d", text, ms, t0.UnixMilli())
	}
	if other := newIDSource(t0); other.next() == func() vent.ID { x := newIDSource(t0); return x.next() }() {
		t.Error("two transactions of one moment mint the same id")
	}
}
