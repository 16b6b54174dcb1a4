package store

import (
	"encoding/binary"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"ventdue/vent"
)

// Absolute times differ by machine and hour; so each benchmark runs a floor, or its own smallest case, and the
// case in question by turns, and reports the median of the pairs' ratios.

func median(xs []float64) float64 {
	slices.Sort(xs)
	return xs[len(xs)/2]
}

func timed(f func()) float64 {
	start := time.Now()
	f()
	return time.Since(start).Seconds()
}

// benchFinding is a usual finding: a cleaning with two readings.
func benchFinding(id vent.ID, n int) vent.Finding {
	return vent.Finding{ID: id, RunID: vent.ID{1}, Date: vent.NewDate(2000, 1, 1).AddDays(n), Source: "visit",
		By: vent.Doer{Kind: vent.ByUs, Name: "Ida Lund"}, Outcome: vent.Full, Reach: vent.ReachThrough, LintBefore: vent.Fuzz, LintAfter: vent.Bare,
		Before:   []vent.Reading{{Quantity: vent.AirSpeed, Value: 5.08, Given: "1000 fpm"}},
		After:    []vent.Reading{{Quantity: vent.AirSpeed, Value: 7.62, Given: "1500 fpm"}},
		Recorded: vent.InstantOf(t0), Recorder: "office"}
}

// BenchmarkDurableRecord puts one finding, with its index rows and its audit line, beside one bbolt Update that puts as
// many bytes into one bucket. ratio 1 would be no cost at all; the goal is 0.75 at least, 0.9 hoped for.
func BenchmarkDurableRecord(b *testing.B) {
	s, err := Open(filepath.Join(b.TempDir(), "ours.db"), Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	floor, err := bbolt.Open(filepath.Join(b.TempDir(), "floor.db"), 0o600, &bbolt.Options{FreelistType: bbolt.FreelistMapType, InitialMmapSize: initialMap, NoStatistics: true})
	if err != nil {
		b.Fatal(err)
	}
	defer floor.Close()
	floor.AllocSize = growBy
	if err := floor.Update(func(tx *bbolt.Tx) error { _, err := tx.CreateBucket([]byte("t")); return err }); err != nil {
		b.Fatal(err)
	}
	n := 0
	ours := func() {
		n++
		if err := s.Update(stamp(0), func(tx *Tx) error { return Findings.Put(tx, benchFinding(tx.NewID(), n), "recorded") }); err != nil {
			b.Fatal(err)
		}
	}
	value := make([]byte, bytesOf(b, s))
	plain := func() {
		n++
		if err := floor.Update(func(tx *bbolt.Tx) error {
			return tx.Bucket([]byte("t")).Put(binary.BigEndian.AppendUint64(nil, uint64(n)), value)
		}); err != nil {
			b.Fatal(err)
		}
	}
	for range 200 { // both have some pages
		ours()
		plain()
	}
	ratios := make([]float64, 0, b.N)
	for b.Loop() {
		var t, f float64
		if len(ratios)%2 == 0 {
			t, f = timed(ours), timed(plain)
		} else {
			f, t = timed(plain), timed(ours)
		}
		ratios = append(ratios, f/t)
	}
	b.ReportMetric(median(ratios), "ratio")
}

// bytesOf counts the bytes, keys and values, that putting one finding hands to bbolt.
func bytesOf(b *testing.B, s *Store) (n int) {
	if err := s.Update(stamp(0), func(tx *Tx) error {
		n = 0
		if err := Findings.Put(tx, benchFinding(tx.NewID(), 0), "recorded"); err != nil {
			return err
		}
		for _, rows := range tx.pending {
			if err := rows.each(func(k, v []byte) error { n += len(k) + len(v); return nil }); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		b.Fatal(err)
	}
	return n
}

// BenchmarkWriters lets many writers share commits beside one writer alone, both through Update. ratio is how many
// times as many records are stored in a time; the goal is 4 at 64 writers, 7 hoped for.
func BenchmarkWriters(b *testing.B) {
	for _, writers := range []int{2, 8, 64} {
		b.Run(fmt.Sprint(writers), func(b *testing.B) {
			s, err := Open(filepath.Join(b.TempDir(), "ventdue.db"), Options{})
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			put := func() {
				if err := s.Update(stamp(0), func(tx *Tx) error {
					id := tx.NewID()
					f := benchFinding(id, 0)
					f.RunID = id
					return Findings.Put(tx, f, "recorded")
				}); err != nil {
					b.Error(err)
				}
			}
			const each = 32
			alone := func() {
				for range each {
					put()
				}
			}
			together := func() {
				var wg sync.WaitGroup
				for range writers {
					wg.Go(alone)
				}
				wg.Wait()
			}
			var ratios []float64
			for b.Loop() {
				one, many := timed(alone), timed(together)
				ratios = append(ratios, one/many*float64(writers))
			}
			b.ReportMetric(median(ratios), "ratio")
		})
	}
}

// BenchmarkWaking finds 10 due rows among a thousand to a million. growth is the time at that size over the time at a
// thousand; the goal is 4 at most, 2 hoped for.
func BenchmarkWaking(b *testing.B) {
	sizes := []int{1e3, 1e4, 1e5, 1e6}
	stores := make([]*Store, len(sizes))
	for i, n := range sizes {
		stores[i] = withWakes(b, n)
		defer stores[i].Close()
	}
	scan := func(s *Store) float64 {
		return timed(func() {
			for range 20 {
				if err := s.View(func(tx *Tx) error {
					due, err := tx.Waking(WakeTell, tx.Mark("now"), 100)
					if len(due) != 10 {
						b.Fatalf("%d are due", len(due))
					}
					return err
				}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	growth := make([][]float64, len(sizes))
	for b.Loop() {
		base := scan(stores[0])
		for i, s := range stores {
			growth[i] = append(growth[i], scan(s)/base)
		}
	}
	for i, n := range sizes[1:] {
		b.ReportMetric(median(growth[i+1]), fmt.Sprintf("growth-%d", n))
	}
}

// withWakes stores n waking rows of which 10 are due at the mark "now".
func withWakes(b *testing.B, n int) *Store {
	s, err := Open(filepath.Join(b.TempDir(), "ventdue.db"), Options{NoSync: true})
	if err != nil {
		b.Fatal(err)
	}
	now := vent.InstantOf(t0)
	for from := 0; from < n; from += 50_000 {
		if err := s.Bulk(stamp(0), func(tx *Tx) error {
			for i := from; i < min(n, from+50_000); i++ {
				at := now - 5
				if i >= 10 {
					at = now + vent.Instant(i)
				}
				if err := tx.SetWake(WakeTell, tx.NewID(), at); err != nil {
					return err
				}
			}
			return tx.SetMark("now", now)
		}); err != nil {
			b.Fatal(err)
		}
	}
	return s
}
