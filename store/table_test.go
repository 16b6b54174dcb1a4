package store

import (
	"bytes"
	"cmp"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"

	"ventdue/vent"
)

func TestARefusedPutChangesNothing(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error {
		ida, per := person(1, "Ida Lund"), person(2, "Per Holm")
		ida.Ref, per.Ref = "a", "b"
		if err := errors.Join(Persons.Put(tx, ida, ""), Persons.Put(tx, per, "")); err != nil {
			return err
		}
		taken := ida
		taken.Ref, taken.Email = "b", "ida@example.com"
		err := Persons.Put(tx, taken, "renamed")
		if !errors.Is(err, vent.ErrConflict) || !strings.Contains(err.Error(), id(2).String()) {
			t.Errorf("got %v, want a conflict that names the holder", err)
		}
		// The caller goes on, as an import that keeps the good rows does.
		got, err := PersonByRef(tx, "a")
		equal(t, "still under a", got, ida)
		return err
	})
}

func TestAReleasedKeyCanBeTaken(t *testing.T) {
	s := opened(t)
	update(t, s, 0, func(tx *Tx) error {
		ida, per := person(1, "Ida Lund"), person(2, "Per Holm")
		ida.Ref, per.Ref = "a", "a"
		if err := Persons.Put(tx, ida, ""); err != nil {
			return err
		}
		ida.Ref = "b"
		return errors.Join(Persons.Put(tx, ida, ""), Persons.Put(tx, per, ""))
	})
}

func TestACorrectedFindingTakesThePlace(t *testing.T) {
	s := opened(t)
	on := vent.NewDate(2026, 11, 25)
	first := vent.Finding{ID: id(60), RunID: id(30), Date: on, Source: "visit", Outcome: vent.Full}
	second := first
	second.ID, second.Corrects, second.Outcome = id(61), id(60), vent.Failed
	later := vent.Finding{ID: id(59), RunID: id(30), Date: on.AddDays(1), Source: "visit"}
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(errors.Join(places(tx)...), Findings.Put(tx, first, "recorded"), Findings.Put(tx, later, "recorded"))
	})
	if err := s.Update(stamp(0), func(tx *Tx) error { return Findings.Put(tx, second, "corrected") }); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("two findings of one run, day and source: %v", err)
	}
	replaced := first
	replaced.Replaced = second.ID
	update(t, s, 0, func(tx *Tx) error {
		return errors.Join(Findings.Put(tx, replaced, ""), Findings.Put(tx, second, "corrected"))
	})
	view(t, s, func(tx *Tx) error {
		all, err := Collect(FindingsOf(tx, id(30)))
		equal(t, "findings", all, []vent.Finding{second, replaced, later})
		got, e := FindingByKey(tx, id(30), on, "visit")
		equal(t, "what counts", got, second)
		_, none := FindingByKey(tx, id(30), on, "import")
		if !errors.Is(none, vent.ErrNotFound) {
			t.Errorf("got %v", none)
		}
		return errors.Join(err, e)
	})
}

func TestWhoLivedThereTwiceIsFoundOnce(t *testing.T) {
	s := opened(t)
	on := vent.NewDate(2024, 1, 1)
	update(t, s, 0, func(tx *Tx) error {
		unit := vent.Unit{ID: id(9), SiteID: id(8), Name: "3B", Kind: vent.Flat, Occupancies: []vent.Occupancy{
			{PersonID: id(1), From: on, To: on.AddDays(30)}, {From: on.AddDays(30)}, {PersonID: id(1), From: on.AddDays(60)}}}
		return errors.Join(
			Persons.Put(tx, person(1, "Ida Lund"), ""), Customers.Put(tx, customer(id(7), id(1), id(1)), ""),
			Sites.Put(tx, vent.Site{ID: id(8), CustomerID: id(7), Name: "Elm Court", Zone: "America/New_York"}, ""),
			Units.Put(tx, unit, ""))
	})
	view(t, s, func(tx *Tx) error {
		units, err := Collect(UnitsOccupiedBy(tx, id(1)))
		if len(units) != 1 || err != nil {
			t.Errorf("found %d units, %v", len(units), err)
		}
		return err
	})
}

func TestFiguresThatCannotBeSaidAreRefused(t *testing.T) {
	s := opened(t)
	for _, bad := range []float64{math.NaN(), math.Inf(1)} {
		err := s.Update(stamp(0), func(tx *Tx) error {
			return Units.Put(tx, vent.Unit{ID: id(1), WasherVolume: bad}, "made")
		})
		if err == nil {
			t.Errorf("%v was stored", bad)
		}
	}
}

func TestARecordThatIsTooLargeOrHasNoIDIsRefused(t *testing.T) {
	s := opened(t)
	huge := person(1, strings.Repeat("x", maxRecord))
	for name, p := range map[string]vent.Person{"huge": huge, "no id": {Name: "Ida Lund"}} {
		if err := s.Update(stamp(0), func(tx *Tx) error { return Persons.Put(tx, p, "") }); err == nil {
			t.Errorf("%s: stored", name)
		}
	}
}

func TestARecordOfANewerProgramIsNotRead(t *testing.T) {
	c, err := newCodec()
	if err != nil {
		t.Fatal(err)
	}
	whole, err := c.marshal(person(1, "Ida Lund"))
	if err != nil {
		t.Fatal(err)
	}
	more, err := cbor.Marshal(map[int]any{1: id(1), 3: "Ida Lund", 99: "a field of tomorrow"})
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{
		"a later version": append([]byte{recordVersion + 1}, whole[1:]...),
		"a later field":   append([]byte{recordVersion}, more...),
	} {
		var p vent.Person
		if err := c.unmarshal(b, &p); err == nil || !strings.Contains(err.Error(), "newer program") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Whatever bytes a damaged page holds, reading a record gives an error and not a crash.
func FuzzUnmarshal(f *testing.F) {
	c, err := newCodec()
	if err != nil {
		f.Fatal(err)
	}
	for _, v := range []any{person(1, "Ida Lund"), vent.Run{ID: id(2), Versions: []vent.Version{{DryerID: id(3)}}}} {
		b, err := c.marshal(v)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, b []byte) {
		var run vent.Run
		if err := c.unmarshal(b, &run); err != nil {
			return
		}
		again, err := c.marshal(run)
		if err != nil {
			return // a figure that is not kept
		}
		var same vent.Run
		if err := c.unmarshal(again, &same); err != nil {
			t.Fatal(err)
		}
	})
}

func TestKeysOrderAsTheirParts(t *testing.T) {
	text := rapid.StringMatching("[a-c \x00é]{0,4}")
	rapid.Check(t, func(rt *rapid.T) {
		draw := func() (string, vent.Instant, vent.Date, int) {
			return text.Draw(rt, "text"), vent.Instant(rapid.Int64().Draw(rt, "at")),
				vent.Date(rapid.Int32Range(0, 3652059).Draw(rt, "day")), rapid.IntRange(0, math.MaxInt32).Draw(rt, "n")
		}
		s1, t1, d1, n1 := draw()
		s2, t2, d2, n2 := draw()
		if rapid.Bool().Draw(rt, "same text") {
			s2 = s1
		}
		k1 := key{}.text(s1).instant(t1).date(d1).int(n1)
		k2 := key{}.text(s2).instant(t2).date(d2).int(n2)
		noZero := func(s string) string { return strings.ReplaceAll(s, "\x00", " ") }
		want := cmp.Or(cmp.Compare(noZero(s1), noZero(s2)), cmp.Compare(t1, t2), cmp.Compare(d1, d2), cmp.Compare(n1, n2))
		if got := bytes.Compare(k1, k2); got != want {
			rt.Fatalf("keys compare %d, parts %d", got, want)
		}
		if got := instantOf(key{}.instant(t1)); got != t1 {
			rt.Fatalf("instant %d reads %d", t1, got)
		}
	})
}

func TestEndIsTheFirstKeyBehindAPrefix(t *testing.T) {
	for _, c := range []struct{ prefix, want string }{
		{"a", "b"}, {"a\xff", "b"}, {"\xff\xff", ""}, {"", ""}, {"a\x00", "a\x01"},
	} {
		if got := end([]byte(c.prefix)); string(got) != c.want {
			t.Errorf("end of %q is %q, want %q", c.prefix, got, c.want)
		}
	}
}

func TestTheTrailSaysWhoWhenWhat(t *testing.T) {
	s := opened(t)
	ida := person(1, "Ida Lund")
	subject := vent.Subject{Kind: vent.KindPerson, ID: id(1)}
	update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, ida, "made") })
	update(t, s, time.Hour, func(tx *Tx) error { return Persons.Put(tx, ida, "not changed") })
	ida.Phone = "555-0142"
	update(t, s, 2*time.Hour, func(tx *Tx) error {
		return errors.Join(Persons.Put(tx, ida, "telephone"), tx.Note(subject, "mail sent"))
	})
	ida.Undeliverable = "no such box"
	update(t, s, 3*time.Hour, func(tx *Tx) error { return Persons.Put(tx, ida, "") })
	update(t, s, 4*time.Hour, func(tx *Tx) error { return Persons.Delete(tx, ida.ID, "erased") })
	update(t, s, 4*time.Hour, func(tx *Tx) error { return Persons.Delete(tx, ida.ID, "erased twice") })

	view(t, s, func(tx *Tx) error {
		trail, err := tx.Trail(subject)
		var got []string
		for _, a := range trail {
			got = append(got, a.At.String()+" "+a.Actor+" "+a.What+" "+string(a.Before))
		}
		equal(t, "trail", got, []string{
			`2026-11-25T08:30:00Z office made `,
			`2026-11-25T10:30:00Z office telephone {"id":"01000000-0000-7000-8000-000000000001","name":"Ida Lund"}`,
			`2026-11-25T10:30:00Z office mail sent `,
			`2026-11-25T12:30:00Z office erased {"id":"01000000-0000-7000-8000-000000000001","name":"Ida Lund","phone":"555-0142","undeliverable":"no such box"}`,
		})
		return err
	})
}

func TestWalksStopWhenTold(t *testing.T) {
	s := opened(t)
	fill(t, s, 10)
	view(t, s, func(tx *Tx) error {
		n := 0
		for _, err := range Persons.All(tx) {
			if err != nil {
				return err
			}
			if n++; n == 3 {
				break
			}
		}
		if n != 3 {
			t.Errorf("walked %d", n)
		}
		return nil
	})
}

func TestCollectStopsAtTheFirstError(t *testing.T) {
	bad := errors.New("bad page")
	got, err := Collect(func(yield func(int, error) bool) {
		if yield(1, nil) && yield(0, bad) {
			t.Error("went on after the error")
		}
	})
	if got != nil || !errors.Is(err, bad) {
		t.Errorf("got %v, %v", got, err)
	}
}

// What a verification must notice, each made by writing behind the tables' back.
func TestVerifyNotices(t *testing.T) {
	ida := person(1, "Ida Lund")
	ida.Email, ida.Ref = "ida@example.com", "a"
	for want, spoil := range map[string]func(tx *Tx) error{
		"index mail is missing": func(tx *Tx) error { return tx.delete(personMail.bucket, personMail.row(key{}.text(ida.Email), id(1))) },
		"index mail has 2 rows": func(tx *Tx) error { return tx.put(personMail.bucket, []byte("stray"), nil) },
		"index ref is missing":  func(tx *Tx) error { return tx.put(personRef.bucket, key{}.text("a"), key{}.id(id(2))) },
		"cannot be read":        func(tx *Tx) error { return tx.put("person", key{}.id(id(2)), []byte{recordVersion, 0xff}) },
		"it is empty":           func(tx *Tx) error { return tx.put("person", key{}.id(id(2)), nil) },
		"another key than its id": func(tx *Tx) error {
			return tx.put("person", key{}.id(id(2)), slices.Clone(tx.get("person", key{}.id(id(1)))))
		},
		"which does not exist": func(tx *Tx) error { return Customers.Put(tx, customer(id(7), id(5)), "") },
		"names nonsense": func(tx *Tx) error {
			return Checks.Put(tx, vent.Check{ID: id(3), Subject: vent.Subject{Kind: "nonsense", ID: id(1)}}, "")
		},
		"missing by moment":         func(tx *Tx) error { return tx.put(wakeOfBucket, key{}.text("tell").id(id(1)), key{}.instant(5)) },
		"1 by moment, 0 by subject": func(tx *Tx) error { return tx.put(wakeBucket, wakeKey(WakeTell, 5, id(1)), nil) },
		"audit line":                func(tx *Tx) error { return tx.put(auditBucket, []byte("line"), []byte{recordVersion}) },
		"another key than its own":  func(tx *Tx) error { return tx.put(auditBucket, []byte("line"), auditLine(tx)) },
	} {
		s, err := Open(t.TempDir()+"/ventdue.db", Options{NoSync: true})
		if err != nil {
			t.Fatal(err)
		}
		update(t, s, 0, func(tx *Tx) error { return Persons.Put(tx, ida, "made") })
		if err := s.Verify().Err(); err != nil {
			t.Fatal(err)
		}
		update(t, s, 0, spoil)
		if want == "cannot be read" {
			want = "decode record"
		}
		if err := s.Verify().Err(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want a problem with %q, got %v", want, err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}

func auditLine(tx *Tx) []byte {
	b, err := tx.codec.marshal(&vent.Audit{ID: id(1), What: "line"})
	if err != nil {
		panic(err)
	}
	return b
}

func TestAReportListsSomeAndCountsTheRest(t *testing.T) {
	r := Report{}
	for range maxReported + 7 {
		r.add("broken")
	}
	if len(r.Problems) != maxReported || r.More != 7 || !strings.Contains(r.Err().Error(), "and 7 more") {
		t.Errorf("lists %d, %d more", len(r.Problems), r.More)
	}
}
