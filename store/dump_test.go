package store

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
)

type line struct {
	kind vent.Kind
	json string
}

func dumped(t testing.TB, s *Store) (all []line) {
	t.Helper()
	view(t, s, func(tx *Tx) error {
		all = nil
		return Dump(tx, func(kind vent.Kind, data []byte) error {
			all = append(all, line{kind, string(data)})
			return nil
		})
	})
	return all
}

// loadedFrom loads lines in one transaction and says how many changed something.
func loadedFrom(t testing.TB, s *Store, all []line) (n int) {
	t.Helper()
	if err := s.Bulk(stamp(48*time.Hour), func(tx *Tx) error {
		n = 0
		for _, l := range all {
			changed, err := Load(tx, l.kind, []byte(l.json))
			if err != nil {
				return fmt.Errorf("%s: %w", l.json, err)
			}
			if changed {
				n++
			}
		}
		return Check(tx).Err()
	}); err != nil {
		t.Fatal(err)
	}
	return n
}

func TestADumpOfALoadOfADumpIsTheSame(t *testing.T) {
	old := opened(t)
	sample(t, old)
	first := dumped(t, old)
	if n := len(records()); len(first) != n+lines(first, vent.KindAudit) || first[0].kind != vent.KindOperator || first[n].kind != vent.KindAudit {
		t.Fatalf("the dump holds %d lines: %v", len(first), first)
	}
	moved := opened(t)
	if n := loadedFrom(t, moved, first); n != len(first) {
		t.Errorf("%d of %d lines changed something in an empty store", n, len(first))
	}
	equal(t, "the second dump", dumped(t, moved), first)
	equal(t, "records", getAll(t, moved), records())

	before := moved.Commits()
	if n := loadedFrom(t, moved, first); n != 0 || moved.Commits() != before {
		t.Errorf("loading it again changed %d lines and made %d commits", n, moved.Commits()-before)
	}
	if n := loadedFrom(t, old, first); n != 0 {
		t.Errorf("loading it where it came from changed %d lines", n)
	}
}

func lines(all []line, kind vent.Kind) (n int) {
	for _, l := range all {
		if l.kind == kind {
			n++
		}
	}
	return n
}

func TestWhatALoadBringsWithIt(t *testing.T) {
	old, moved := opened(t), opened(t)
	sample(t, old)
	loadedFrom(t, moved, dumped(t, old))
	view(t, moved, func(tx *Tx) error {
		now := vent.InstantOf(t0.Add(48 * time.Hour))
		if at := tx.WakeOf(WakeTell, id(1)); at != now {
			t.Errorf("the person is woken at %s", at)
		}
		for _, s := range []vent.Scope{vent.OperatorScope, {Kind: vent.KindSite, ID: id(20)}, {Kind: vent.KindCustomer, ID: id(10)}, {Kind: vent.KindPerson, ID: id(1)}} {
			equal(t, "revision of "+s.String(), tx.Revision(s), Revision{1, now})
		}
		if len(tx.Secret()) != 0 || tx.Horizon() != 0 {
			t.Error("what belongs to the old installation came along")
		}
		// No new message is born: the obligation is known by its key, and the message waits as it did.
		n := records()[14].(vent.Notice)
		got, err := NoticeByKey(tx, n.Key)
		equal(t, "notice", got, n)
		waiting, e := Collect(MessagesDue(tx, vent.ByMail, now))
		equal(t, "messages", waiting, []vent.Message{records()[15].(vent.Message)})
		feed, e2 := FeedByToken(tx, []byte("0123456789abcdef0123456789abcdef"))
		equal(t, "feed", feed, records()[16].(vent.Feed))
		return errors.Join(err, e, e2)
	})
}

func TestALoadIsRefused(t *testing.T) {
	const elm = `"id":"01000000-0000-7000-8000-000000000014"`
	for _, c := range []struct {
		why  string
		kind vent.Kind
		json string
		want error
		says string
	}{
		{"another record", vent.KindPerson, `{"id":"01000000-0000-7000-8000-000000000001","name":"Ida Holm","phone":"555-0142"}`, vent.ErrConflict,
			"channels, consents, email, language, name, ref, role, skills, zone"},
		{"a taken ref", vent.KindPerson, `{"id":"01000000-0000-7000-8000-000000000002","name":"Per Holm","ref":"P-1"}`, vent.ErrConflict, "ref"},
		{"an unknown field", vent.KindPerson, `{"id":"01000000-0000-7000-8000-000000000002","name":"Per Holm","shoe_size":44}`, vent.ErrInvalid, "shoe_size"},
		{"an unknown field deep inside", vent.KindUnit, `{"id":"01000000-0000-7000-8000-000000000002","occupancies":[{"shoe_size":44}]}`, vent.ErrInvalid, "shoe_size"},
		{"an unknown kind", "dishwasher", `{}`, vent.ErrInvalid, "dishwasher"},
		{"no id", vent.KindPerson, `{"name":"Per Holm"}`, vent.ErrInvalid, "id"},
		{"a wrong id", vent.KindPerson, `{"id":"7","name":"Per Holm"}`, vent.ErrInvalid, `"7"`},
		{"a day that is none", vent.KindCheck, `{"id":"01000000-0000-7000-8000-000000000002","anchor":"2026-02-30"}`, vent.ErrInvalid, "2026-02-30"},
		{"a value that cannot be", vent.KindSite, `{` + elm[:len(elm)-3] + `ff","name":"Elm Court","zone":"Mars/Base"}`, vent.ErrInvalid, "Mars/Base"},
		{"a finding of the day after tomorrow", vent.KindFinding,
			`{"id":"01000000-0000-7000-8000-000000000002","date":"2026-11-27","source":"visit","by":{"kind":"us"},"outcome":"full"}`, vent.ErrInvalid, "future"},
		{"a due without UID", vent.KindDue, `{"id":"01000000-0000-7000-8000-000000000002","kind":"clean","day":"2027-01-01","state":"open"}`, vent.ErrInvalid, "uid"},
		{"half a record", vent.KindPerson, `{"id":"01000000-0000-7000-8000-000000000002","na`, vent.ErrInvalid, ""},
		{"two records", vent.KindPerson, `{"id":"01000000-0000-7000-8000-000000000002","name":"Per Holm"}{}`, vent.ErrInvalid, "follows"},
		{"nothing", vent.KindPerson, ``, vent.ErrInvalid, ""},
		{"null", vent.KindPerson, `null`, vent.ErrInvalid, "name"},
		{"an audit line without id", vent.KindAudit, `{"at":"2026-11-25T08:30:00Z","actor":"x","subject":{"kind":"run","id":""},"what":"y"}`, vent.ErrInvalid, "id"},
	} {
		s := opened(t)
		sample(t, s)
		before := dumped(t, s)
		update(t, s, 0, func(tx *Tx) error { // the caller goes on after the refusal
			if _, err := Load(tx, c.kind, []byte(c.json)); !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s: %v", c.why, err)
			}
			return nil
		})
		equal(t, c.why, dumped(t, s), before)
	}
}

func TestAChangedAuditLineIsRefused(t *testing.T) {
	s := opened(t)
	sample(t, s)
	for _, l := range dumped(t, s) {
		if l.kind != vent.KindAudit {
			continue
		}
		err := s.Update(stamp(0), func(tx *Tx) error {
			_, err := Load(tx, l.kind, []byte(strings.Replace(l.json, `"actor":"office"`, `"actor":"nobody"`, 1)))
			return err
		})
		if !errors.Is(err, vent.ErrConflict) || !strings.Contains(err.Error(), "differs in actor") {
			t.Fatalf("got %v", err)
		}
	}
}

func TestACheckBeforeTheCommitFindsWhatIsMissing(t *testing.T) {
	s := opened(t)
	err := s.Update(stamp(0), func(tx *Tx) error {
		if _, err := Load(tx, vent.KindSite, []byte(`{"id":"01000000-0000-7000-8000-000000000014","customer_id":"01000000-0000-7000-8000-00000000000a","name":"Elm Court","zone":"UTC"}`)); err != nil {
			return err
		}
		return Check(tx).Err()
	})
	if err == nil || !strings.Contains(err.Error(), "names customer") {
		t.Errorf("got %v", err)
	}
	if got := dumped(t, s); len(got) != 0 {
		t.Errorf("left %v", got)
	}
}

func TestADumpStopsWhereItCannotBeWritten(t *testing.T) {
	s := opened(t)
	sample(t, s)
	full := errors.New("disk full")
	n := 0
	err := s.View(func(tx *Tx) error {
		return Dump(tx, func(vent.Kind, []byte) error {
			if n++; n == 3 {
				return full
			}
			return nil
		})
	})
	if !errors.Is(err, full) || n != 3 {
		t.Errorf("%v after %d lines", err, n)
	}
}
