package store

import (
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"go.uber.org/goleak"

	"ventdue/vent"
)

var generate = flag.Bool("generate", false, "write testdata/layout1.db anew")

func TestMain(m *testing.M) {
	if job := os.Getenv(childJob); job != "" {
		os.Exit(runChild(job))
	}
	flag.Parse()
	goleak.VerifyTestMain(m)
}

// t0 is when the tests' stories begin; no test asks the real clock.
var t0 = time.Date(2026, 11, 25, 8, 30, 0, 0, time.UTC)

func stamp(after time.Duration) Stamp { return Stamp{Now: t0.Add(after), Actor: "office"} }

// opened gives an empty store that is verified and closed when the test ends.
func opened(t testing.TB) *Store {
	t.Helper()
	return openedAt(t, filepath.Join(t.TempDir(), "ventdue.db"), Options{NoSync: true})
}

func openedAt(t testing.TB, path string, o Options) *Store {
	t.Helper()
	s, err := Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { verifiedClosed(t, s) })
	return s
}

// verifiedClosed is what every test's store must pass at the end; a test that closed it itself verified it then.
func verifiedClosed(t testing.TB, s *Store) {
	t.Helper()
	if s.queue.closed {
		return
	}
	if err := s.Verify().Err(); err != nil {
		t.Errorf("verify: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

// update runs f and ends the test where that fails.
func update(t testing.TB, s *Store, after time.Duration, f func(*Tx) error) {
	t.Helper()
	if err := s.Update(stamp(after), f); err != nil {
		t.Fatal(err)
	}
}

func view(t testing.TB, s *Store, f func(*Tx) error) {
	t.Helper()
	if err := s.View(f); err != nil {
		t.Fatal(err)
	}
}

// id gives a fixed ID, so that stories can name their records.
func id(n byte) vent.ID { return vent.ID{0: 0x01, 6: 0x70, 8: 0x80, 15: n} }

func person(n byte, name string) vent.Person { return vent.Person{ID: id(n), Name: name} }

func customer(id vent.ID, persons ...vent.ID) vent.Customer {
	return vent.Customer{ID: id, Name: "Lund Dry Care", Persons: persons}
}

// fataler is a *testing.T or a *rapid.T.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// equal compares two values by all that is in them; a nil slice equals an empty one.
func equal[T any](t fataler, what string, got, want T) {
	t.Helper()
	if g, w := reflect.ValueOf(got), reflect.ValueOf(want); g.Kind() == reflect.Slice && g.Len() == 0 && w.Len() == 0 {
		return
	}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("%s:\n got %+v\nwant %+v", what, got, want)
	}
}
