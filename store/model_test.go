package store

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"iter"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ventdue/vent"
)

// model is the store as plain maps.
type model struct {
	persons  map[vent.ID]vent.Person
	messages map[vent.ID]vent.Message
	wakes    map[vent.ID]vent.Instant
}

func (m model) clone() model {
	return model{maps.Clone(m.persons), maps.Clone(m.messages), maps.Clone(m.wakes)}
}

// TestStoreAgainstMaps does the same random things to a store and to maps, in transactions of which some are
// refused at the end, and compares after each.
func TestStoreAgainstMaps(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(rt *rapid.T) {
		n++
		s, err := Open(filepath.Join(dir, fmt.Sprint(n)+".db"), Options{NoSync: true})
		if err != nil {
			rt.Fatal(err)
		}
		defer s.Close()
		m := model{map[vent.ID]vent.Person{}, map[vent.ID]vent.Message{}, map[vent.ID]vent.Instant{}}
		for range rapid.IntRange(1, 12).Draw(rt, "transactions") {
			next, refuse := m.clone(), rapid.IntRange(0, 3).Draw(rt, "refused") == 0
			steps := rapid.SliceOfN(rapid.Custom(drawStep), 1, 12).Draw(rt, "steps")
			err := s.Update(stamp(0), func(tx *Tx) error {
				next = m.clone() // may be run again
				for _, step := range steps {
					step.do(rt, tx, next)
				}
				if refuse {
					return errRefused
				}
				return nil
			})
			switch {
			case refuse && !errors.Is(err, errRefused), !refuse && err != nil:
				rt.Fatal(err)
			case !refuse:
				m = next
			}
			if err := s.View(func(tx *Tx) error { compare(rt, tx, m); return nil }); err != nil {
				rt.Fatal(err)
			}
		}
		if err := s.Verify().Err(); err != nil {
			rt.Fatal(err)
		}
	})
}

var errRefused = errors.New("refused")

// step is one change; few IDs, refs and moments, so that they meet.
type step struct {
	What string
	ID   vent.ID
	Ref  string
	Mail string
	At   vent.Instant
	By   bool
	Msg  vent.Message
}

func drawStep(rt *rapid.T) step {
	return step{
		What: rapid.SampledFrom([]string{"put", "put", "delete", "walk", "wake", "message", "message", "drop message"}).Draw(rt, "what"),
		ID:   id(rapid.ByteRange(1, 8).Draw(rt, "id")),
		Ref:  rapid.SampledFrom([]string{"", "", "a", "b", "ab", "a b"}).Draw(rt, "ref"),
		Mail: rapid.SampledFrom([]string{"", "Ida@example.com", "ida@example.com", "per@example.com"}).Draw(rt, "mail"),
		At:   vent.Instant(rapid.SampledFrom([]int64{-5, -1, 0, 1, 2, 1 << 40}).Draw(rt, "at")),
		By:   rapid.Bool().Draw(rt, "by"),
		Msg: vent.Message{
			On: vent.NewDate(2026, 11, 25), Channel: vent.ByMail, Class: "reminder",
			State:    rapid.SampledFrom([]vent.MessageState{vent.MessagePending, vent.MessageDeferred, vent.MessageAccepted}).Draw(rt, "state"),
			Attempts: rapid.IntRange(0, 1).Draw(rt, "attempts"),
		},
	}
}

func (x step) do(rt *rapid.T, tx *Tx, m model) {
	var err error
	switch x.What {
	case "put":
		p := vent.Person{ID: x.ID, Name: "Ida Lund", Ref: x.Ref, Email: x.Mail}
		taken := false
		for _, other := range m.persons {
			taken = taken || x.Ref != "" && other.Ref == x.Ref && other.ID != x.ID
		}
		err = Persons.Put(tx, p, "put")
		if taken != errors.Is(err, vent.ErrConflict) {
			rt.Fatalf("ref %q taken: %v, put says %v", x.Ref, taken, err)
		}
		if taken {
			return
		}
		if was, known := m.persons[x.ID]; known && was.Email != p.Email { // they may be reachable now
			if at, has := m.wakes[x.ID]; !has || at > tx.Now() {
				m.wakes[x.ID] = tx.Now()
			}
		}
		m.persons[x.ID] = p
	case "delete":
		err = Persons.Delete(tx, x.ID, "deleted")
		delete(m.persons, x.ID)
	case "walk":
		compare(rt, tx, m)
	case "wake":
		if old, has := m.wakes[x.ID]; x.By {
			err = tx.WakeBy(WakeTell, x.ID, x.At)
			if has && old <= x.At {
				return
			}
		} else {
			err = tx.SetWake(WakeTell, x.ID, x.At)
		}
		delete(m.wakes, x.ID)
		if x.At != 0 {
			m.wakes[x.ID] = x.At
		}
	case "message":
		v := x.Msg
		v.ID, v.PersonID, v.NotFor = x.ID, x.ID, x.At
		if _, has := m.persons[x.ID]; !has {
			return // it would name nobody
		}
		err = Messages.Put(tx, v, "")
		m.messages[x.ID] = v
	case "drop message":
		err = Messages.Delete(tx, x.ID, "")
		delete(m.messages, x.ID)
	}
	if err != nil {
		rt.Fatal(err)
	}
	if x.What == "delete" { // nothing may name who is gone
		if err := Messages.Delete(tx, x.ID, ""); err != nil {
			rt.Fatal(err)
		}
		delete(m.messages, x.ID)
	}
}

func compare(rt *rapid.T, tx *Tx, m model) {
	byID := func(a, b vent.Person) int { return bytes.Compare(a.ID[:], b.ID[:]) }
	want := slices.SortedFunc(maps.Values(m.persons), byID)
	equal(rt, "all persons", collect(rt, tx, Persons.All), want)
	equal(rt, "persons after 4", collect(rt, tx, func(tx *Tx) iter.Seq2[vent.Person, error] { return Persons.After(tx, id(4)) }),
		slices.DeleteFunc(slices.Clone(want), func(p vent.Person) bool { return p.ID[15] <= 4 }))
	equal(rt, "persons by mail", collect(rt, tx, func(tx *Tx) iter.Seq2[vent.Person, error] { return PersonsByMail(tx, "IDA@example.com") }),
		slices.DeleteFunc(slices.Clone(want), func(p vent.Person) bool { return !strings.EqualFold(p.Email, "ida@example.com") }))
	for _, p := range want {
		if p.Ref == "" {
			continue
		}
		if got, err := PersonByRef(tx, p.Ref); err != nil || got.ID != p.ID {
			rt.Fatalf("person by ref %q: %v, %v", p.Ref, got.ID, err)
		}
	}

	waiting := slices.SortedFunc(maps.Values(m.messages), func(a, b vent.Message) int {
		return cmp.Or(cmp.Compare(a.NotFor, b.NotFor), bytes.Compare(a.ID[:], b.ID[:]))
	})
	waiting = slices.DeleteFunc(waiting, func(v vent.Message) bool { return v.State.Settled() || v.NotFor > 1 })
	var gotIDs, wantIDs []vent.ID
	for _, v := range collect(rt, tx, func(tx *Tx) iter.Seq2[vent.Message, error] { return MessagesDue(tx, vent.ByMail, 1) }) {
		gotIDs = append(gotIDs, v.ID)
	}
	for _, v := range waiting {
		wantIDs = append(wantIDs, v.ID)
	}
	equal(rt, "messages due", gotIDs, wantIDs)
	woken := slices.SortedFunc(maps.Keys(m.wakes), func(a, b vent.ID) int {
		return cmp.Or(cmp.Compare(m.wakes[a], m.wakes[b]), bytes.Compare(a[:], b[:]))
	})
	first, err := tx.NextWake(WakeTell)
	if len(woken) > 0 && first != m.wakes[woken[0]] || err != nil {
		rt.Fatalf("next wake %d, %v", first, err)
	}
	for _, max := range []int{1, 100} {
		due := slices.DeleteFunc(slices.Clone(woken), func(x vent.ID) bool { return m.wakes[x] > 1 })
		got, err := tx.Waking(WakeTell, 1, max)
		if err != nil {
			rt.Fatal(err)
		}
		equal(rt, "waking", got, due[:min(max, len(due))])
	}
}

func collect[T any](rt *rapid.T, tx *Tx, walk func(*Tx) iter.Seq2[T, error]) (all []T) {
	for v, err := range walk(tx) {
		if err != nil {
			rt.Fatal(err)
		}
		all = append(all, v)
	}
	return all
}
