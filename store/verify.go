package store

import (
	"errors"
	"fmt"
	"strings"

	"go.etcd.io/bbolt"

	"ventdue/vent"
)

// maxReported is how many problems a verification lists; it goes on counting.
const maxReported = 100

// Report is what a verification found.
type Report struct {
	Records  map[vent.Kind]int
	Problems []string
	More     int // problems beyond those listed
}

func (r *Report) add(format string, args ...any) {
	if len(r.Problems) >= maxReported {
		r.More++
		return
	}
	r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
}

// Err gives the problems as one error, or nil.
func (r Report) Err() error {
	if len(r.Problems) == 0 {
		return nil
	}
	return errors.New(strings.Join(r.Problems, "\n"))
}

// Verify reads the whole file: bbolt's own pages, every record, that each index holds exactly the rows its
// records ask for, and that every named record exists.
func (s *Store) Verify() Report {
	r := Report{Records: map[vent.Kind]int{}}
	err := s.bolt.View(func(b *bbolt.Tx) error {
		for err := range b.Check() {
			r.add("pages: %v", err)
		}
		return nil
	})
	if err == nil {
		err = s.View(func(tx *Tx) error {
			for _, t := range tables() {
				if err := t.verify(tx, &r); err != nil {
					return err
				}
			}
			return verifyWakes(tx, &r)
		})
	}
	if err != nil {
		r.add("read: %v", err)
	}
	return r
}

// anyTable is a table whose record type does not matter.
type anyTable interface {
	buckets() []string
	verify(tx *Tx, r *Report) error
}

// tables lists all tables in the order of an export: what is named comes before what names it.
func tables() []anyTable {
	return []anyTable{Operators, Persons, Customers, Sites, Units, Appliances, Runs, Findings, Signs, Faults, Checks,
		Dues, Visits, Appointments, Notices, Messages, Feeds}
}

func (t *Table[T]) buckets() []string {
	names := []string{t.bucket()}
	for _, ix := range t.indexes {
		names = append(names, ix.bucket)
	}
	return names
}

func (t *Table[T]) verify(tx *Tx, r *Report) error {
	want := make([]int, len(t.indexes))
	err := tx.scan(t.bucket(), nil, nil, func(k, b []byte) error {
		var v T
		if err := tx.codec.unmarshal(b, &v); err != nil {
			r.add("%s %x: %v", t.kind, k, err)
			return nil
		}
		r.Records[t.kind]++
		id := t.id(&v)
		if len(k) != 16 || vent.ID(k) != id {
			r.add("%s %x: lies under another key than its id %s", t.kind, k, id)
		}
		for i, ix := range t.indexes {
			for _, ik := range ix.keys(&v) {
				want[i]++
				if row := tx.get(ix.bucket, ix.row(ik, id)); row == nil || ix.unique && vent.ID(row) != id {
					r.add("%s %s: its row in index %s is missing", t.kind, id, ix.name)
				}
			}
		}
		for _, ref := range named(&v) {
			if !ref.ID.IsZero() && tx.get(string(ref.Kind), ref.ID[:]) == nil {
				r.add("%s %s: names %s, which does not exist", t.kind, id, ref)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for i, ix := range t.indexes {
		have := 0
		if err := tx.scan(ix.bucket, nil, nil, func(_, _ []byte) error { have++; return nil }); err != nil {
			return err
		}
		if have != want[i] {
			r.add("%s: index %s has %d rows, its records ask for %d", t.kind, ix.name, have, want[i])
		}
	}
	return nil
}

func verifyWakes(tx *Tx, r *Report) error {
	rows, of := 0, 0
	if err := tx.scan(wakeBucket, nil, nil, func(_, _ []byte) error { rows++; return nil }); err != nil {
		return err
	}
	if err := tx.scan(wakeOfBucket, nil, nil, func(_, _ []byte) error { of++; return nil }); err != nil {
		return err
	}
	if rows != of {
		r.add("waking rows: %d by moment, %d by subject", rows, of)
	}
	return nil
}

// named lists the records that a record names.
func named(v any) []vent.Subject {
	is := func(k vent.Kind, ids ...vent.ID) (all []vent.Subject) {
		for _, id := range ids {
			all = append(all, vent.Subject{Kind: k, ID: id})
		}
		return all
	}
	switch x := v.(type) {
	case *vent.Customer:
		return is(vent.KindPerson, x.Persons...)
	case *vent.Site:
		return is(vent.KindCustomer, x.CustomerID)
	case *vent.Unit:
		refs := is(vent.KindSite, x.SiteID)
		for _, o := range x.Occupancies {
			refs = append(refs, is(vent.KindPerson, o.PersonID)...)
		}
		return refs
	case *vent.Appliance:
		return is(vent.KindUnit, x.UnitID)
	case *vent.Run:
		refs := append(is(vent.KindSite, x.SiteID), is(vent.KindUnit, x.UnitID)...)
		refs = append(refs, is(vent.KindRun, x.ParentID)...)
		for _, ver := range x.Versions {
			refs = append(refs, is(vent.KindAppliance, append(ver.InLine, ver.DryerID)...)...)
		}
		return refs
	case *vent.Finding:
		return append(is(vent.KindRun, x.RunID), is(vent.KindFinding, x.Corrects, x.Replaced)...)
	case *vent.Sign:
		return is(vent.KindRun, x.RunID)
	case *vent.Fault:
		return []vent.Subject{x.Subject}
	case *vent.Check:
		return []vent.Subject{x.Subject}
	case *vent.Due:
		return append([]vent.Subject{x.Subject}, append(is(vent.KindSite, x.SiteID), is(vent.KindCustomer, x.CustomerID)...)...)
	case *vent.Visit:
		return append(is(vent.KindSite, x.SiteID), is(vent.KindPerson, x.TechnicianID)...)
	case *vent.Appointment:
		return append(is(vent.KindVisit, x.VisitID), is(vent.KindCustomer, x.CustomerID)...)
	case *vent.Notice:
		return append(is(vent.KindPerson, x.Key.PersonID), is(vent.KindMessage, x.MessageID)...)
	case *vent.Message:
		return append(is(vent.KindPerson, x.PersonID), is(vent.KindNotice, x.Notices...)...)
	case *vent.Feed:
		return is(vent.KindPerson, x.PersonID)
	}
	return nil
}
