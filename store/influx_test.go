package store

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"go.etcd.io/bbolt"
	"pgregory.net/rapid"

	"ventdue/vent"
)

// TestAuditLineIsPlainCBOR compares the hand-written encoding with that of github.com/fxamacker/cbor.
func TestAuditLineIsPlainCBOR(t *testing.T) {
	c, err := newCodec()
	if err != nil {
		t.Fatal(err)
	}
	text := rapid.OneOf(rapid.String(), rapid.StringN(0, 300, 70_000))
	rapid.Check(t, func(t *rapid.T) {
		line := vent.Audit{
			ID: vent.ID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "id")), At: vent.Instant(rapid.Int64().Draw(t, "at")),
			Actor: text.Draw(t, "actor"), What: text.Draw(t, "what"),
			Subject: vent.Subject{Kind: vent.Kind(text.Draw(t, "kind")), ID: vent.ID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "subject"))},
			Before:  rapid.OneOf(rapid.Just([]byte(nil)), rapid.SliceOfN(rapid.Byte(), 0, 70_000)).Draw(t, "before"),
		}
		want, err := c.marshal(&line)
		if err != nil {
			t.Fatal(err)
		}
		if got := appendAudit(nil, &line); !bytes.Equal(got, want) {
			t.Fatalf("%+v:\n got %x\nwant %x", line, got, want)
		}
	})
}

// fleet is some new records that name each other: a customer with a contact, and homes with a run and two findings each.
type fleet struct {
	person   vent.Person
	customer vent.Customer
	site     vent.Site
	runs     []vent.Run
	findings []vent.Finding
}

// drawFleet draws records that are new in the transaction.
func drawFleet(t *rapid.T, tx *Tx) (f fleet) {
	ref := func(what string) string { return rapid.StringMatching(`[a-z]{0,8}`).Draw(t, what) }
	f.person = vent.Person{ID: tx.NewID(), Ref: ref("person"), Name: "Ida Lund", Email: "ida@example.com"}
	f.customer = vent.Customer{ID: tx.NewID(), Ref: ref("customer"), Name: "Lund Dry Care", Persons: []vent.ID{f.person.ID}}
	f.site = vent.Site{ID: tx.NewID(), Ref: ref("site"), CustomerID: f.customer.ID, Name: "Heron House", Zone: "America/New_York"}
	refs := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z]{1,8}`), 0, 40, rapid.ID).Draw(t, "runs")
	for _, ref := range refs {
		r := vent.Run{ID: tx.NewID(), Ref: ref, SiteID: f.site.ID, Name: "Dryer vent", Shape: vent.Single, Versions: []vent.Version{{}}}
		f.runs = append(f.runs, r)
		for n := range 2 {
			x := benchFinding(tx.NewID(), n)
			x.RunID = r.ID
			f.findings = append(f.findings, x)
		}
	}
	return f
}

func (f *fleet) put(tx *Tx) error {
	err := errors.Join(Persons.Put(tx, f.person, "put"), Customers.Put(tx, f.customer, "put"), Sites.Put(tx, f.site, ""))
	for _, r := range f.runs {
		err = errors.Join(err, Runs.Put(tx, r, "put"))
	}
	for _, x := range f.findings {
		err = errors.Join(err, Findings.Put(tx, x, "put"))
	}
	return err
}

func (f *fleet) add(in *Influx) error {
	err := errors.Join(Persons.Add(in, &f.person, "put"), Customers.Add(in, &f.customer, "put"), Sites.Add(in, &f.site, ""))
	for i := range f.runs {
		err = errors.Join(err, Runs.Add(in, &f.runs[i], "put"))
	}
	Runs.Done(in)
	for i := range f.findings {
		err = errors.Join(err, Findings.Add(in, &f.findings[i], "put"))
	}
	return err
}

// contents gives all rows of a store's file by bucket and key.
func contents(t fataler, s *Store) map[string]string {
	all := map[string]string{}
	if err := s.view(func(b *bbolt.Tx) error {
		return b.ForEach(func(name []byte, bucket *bbolt.Bucket) error {
			return bucket.ForEach(func(k, v []byte) error {
				all[fmt.Sprintf("%s %x", name, k)] = fmt.Sprintf("%x", v)
				return nil
			})
		})
	}); err != nil {
		t.Fatalf("read all: %v", err)
	}
	return all
}

// TestAddIsPut puts the same new records one by one into one file and adds them to another: both hold the same rows.
func TestAddIsPut(t *testing.T) {
	dir, n := t.TempDir(), 0
	rapid.Check(t, func(rt *rapid.T) {
		n++
		var got [2]map[string]string
		var drawn *fleet
		var ids idSource
		for i := range got {
			s, err := Open(filepath.Join(dir, fmt.Sprint(n, "-", i)+".db"), Options{NoSync: true})
			if err != nil {
				rt.Fatal(err)
			}
			err = s.Bulk(stamp(0), func(tx *Tx) error {
				if drawn == nil {
					f := drawFleet(rt, tx)
					drawn, ids = &f, tx.ids
				}
				if tx.ids = ids; i == 0 { // both mint the same IDs
					return drawn.put(tx)
				}
				return tx.Admit(drawn.add)
			})
			if err != nil {
				rt.Fatal(err)
			}
			got[i] = contents(rt, s)
			if err := errors.Join(s.Verify().Err(), s.Close()); err != nil {
				rt.Fatal(err)
			}
		}
		if len(got[0]) < 8 {
			rt.Fatalf("only %d rows were put", len(got[0]))
		}
		equal(rt, "rows", got[1], got[0])
	})
}

func TestAdmitRefuses(t *testing.T) {
	held := vent.Person{ID: id(1), Ref: "P-1", Name: "Ida Lund"}
	ida := func(id vent.ID, ref string) *vent.Person { return &vent.Person{ID: id, Ref: ref, Name: "Ida Lund"} }
	many := func(in *Influx, a vent.ID) error { // more than are handed over and kept waiting
		for range sheafRows * (sheaves + 2) {
			if err := Persons.Add(in, ida(a, ""), ""); err != nil {
				return err
			}
		}
		return nil
	}
	for _, x := range []struct {
		name string
		feed func(in *Influx, a, b vent.ID) error
		want error
		says string
	}{
		{"a key that is stored", func(in *Influx, a, _ vent.ID) error { return Persons.Add(in, ida(a, "P-1"), "") }, vent.ErrConflict, "person.ref"},
		{"a key twice", func(in *Influx, a, b vent.ID) error {
			return errors.Join(Persons.Add(in, ida(a, "P-2"), ""), Persons.Add(in, ida(b, "P-2"), ""))
		}, vent.ErrConflict, "person.ref"},
		{"a key that is stored, while much is on its way", func(in *Influx, a, b vent.ID) error {
			if err := Persons.Add(in, ida(a, "P-1"), ""); err != nil {
				return err
			}
			Persons.Done(in)
			return many(in, b)
		}, vent.ErrConflict, "person.ref"},
		{"an id of another transaction", func(in *Influx, _, _ vent.ID) error { return Persons.Add(in, ida(id(9), "P-9"), "") }, vent.ErrInvalid, "not new"},
		{"no id", func(in *Influx, _, _ vent.ID) error { return Persons.Add(in, ida(vent.ID{}, "P-9"), "") }, vent.ErrInvalid, "not new"},
		{"a feed that gives up", func(in *Influx, a, _ vent.ID) error {
			return errors.Join(Persons.Add(in, ida(a, "P-3"), ""), errRefused)
		}, errRefused, ""},
		{"a feed that panics", func(in *Influx, a, _ vent.ID) error { panic("no such drawer") }, nil, "no such drawer"},
		{"a feed that ends its goroutine", func(*Influx, vent.ID, vent.ID) error { runtime.Goexit(); return nil }, errUnfinished, ""},
		{"a record that is too large", func(in *Influx, a, _ vent.ID) error {
			return Persons.Add(in, ida(a, strings.Repeat("P", maxRecord)), "")
		}, nil, "at most"},
	} {
		t.Run(x.name, func(t *testing.T) {
			s := opened(t)
			update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, held, "put") })
			before := contents(t, s)
			err := s.Bulk(stamp(0), func(tx *Tx) error {
				a, b := tx.NewID(), tx.NewID()
				return tx.Admit(func(in *Influx) error { return x.feed(in, a, b) })
			})
			if err == nil || x.want != nil && !errors.Is(err, x.want) || !strings.Contains(err.Error(), x.says) {
				t.Fatalf("%v, want %v saying %q", err, x.want, x.says)
			}
			equal(t, "rows after a refusal", contents(t, s), before)
		})
	}
}

// TestAdmitSeesEarlierWrites takes a key that was given up, and refuses one that was taken, in the same transaction.
func TestAdmitSeesEarlierWrites(t *testing.T) {
	s := opened(t)
	ida := vent.Person{ID: id(1), Ref: "P-1", Name: "Ida Lund"}
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, ida, "put") })
	add := func(ref string) error {
		return s.Bulk(stamp(0), func(tx *Tx) error {
			moved, next := ida, ida
			moved.Ref, next.ID, next.Ref = "P-2", tx.NewID(), ref
			if err := Persons.Put(tx, moved, "put"); err != nil {
				return err
			}
			if err := tx.Admit(func(in *Influx) error { return Persons.Add(in, &next, "put") }); err != nil {
				return err
			}
			if got, err := PersonByRef(tx, ref); err != nil || got.ID != next.ID {
				t.Errorf("%s is %s (%v), want %s", ref, got.ID, err, next.ID)
			}
			if trail, err := tx.Trail(vent.Subject{Kind: vent.KindPerson, ID: next.ID}); err != nil || len(trail) != 1 || trail[0].What != "put" {
				t.Errorf("trail %+v, %v", trail, err)
			}
			return nil
		})
	}
	if err := add("P-2"); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("a key that was just taken: %v", err)
	}
	if err := add("P-1"); err != nil {
		t.Error(err)
	}
}

func TestAdmitOnlyWrites(t *testing.T) {
	s := opened(t)
	err := s.View(func(tx *Tx) error { return tx.Admit(func(*Influx) error { return nil }) })
	if err == nil || !strings.Contains(err.Error(), "only reads") {
		t.Errorf("%v", err)
	}
}
