package desk

import (
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"ventdue/store"
	"ventdue/vent"
)

// BenchmarkImport imports 100 000 rows into an empty file and reports how its time, dates left aside, stands to a floor:
// encoding/csv over the same file, then a bbolt load of the very keys and values that the import left (FillPercent 0.95, in key
// order, 10 000 a commit: the fastest way known). Each pair is measured back to back; the ratio is the median's.
func BenchmarkImport(b *testing.B) {
	const rows = 100_000
	data := asCSV(b, fleet(rows))
	b.SetBytes(int64(len(data)))
	var ratios []float64
	var own, floor time.Duration
	for b.Loop() {
		path := filepath.Join(b.TempDir(), "ventdue.db")
		o := importFacts(b, path, data, rows)
		f := floorOnce(b, path, data)
		ratios = append(ratios, f.Seconds()/o.Seconds())
		own, floor = own+o, floor+f
	}
	slices.Sort(ratios)
	b.ReportMetric(ratios[len(ratios)/2], "ratio")
	b.ReportMetric(own.Seconds()*1000/float64(b.N), "facts-ms")
	b.ReportMetric(floor.Seconds()*1000/float64(b.N), "floor-ms")
}

// BenchmarkImportPlanned is the whole import of 10 000 rows, dates included.
func BenchmarkImportPlanned(b *testing.B) {
	data := asCSV(b, fleet(10_000))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		d := benchDesk(b, filepath.Join(b.TempDir(), "ventdue.db"))
		r, err := d.Import(context.Background(), on(0), Source{Name: "fleet.csv", Reader: bytes.NewReader(data)}, ImportOptions{})
		if err != nil || r.Planned != 10_000 {
			b.Fatal(err, r.Problems.Listed)
		}
		if err := d.Store().Close(); err != nil {
			b.Fatal(err)
		}
	}
}

func benchDesk(b *testing.B, path string) *Desk {
	s, err := store.Open(path, store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	d := New(s, DefaultPolicy(), nil)
	if err := d.SetOperator(on(0), vent.Operator{Kind: vent.Customers, Name: "Larkspur", Zone: "America/New_York", Units: vent.US}); err != nil {
		b.Fatal(err)
	}
	return d
}

// importFacts does what Import does but for planning, and gives the time that it took until all was on disk.
func importFacts(b *testing.B, path string, data []byte, rows int) time.Duration {
	d := benchDesk(b, path)
	defer d.Store().Close()
	runtime.GC()
	start := time.Now()
	f, err := d.file(on(0), "fleet.csv", ImportOptions{})
	if err != nil {
		b.Fatal(err)
	}
	if err := f.read(context.Background(), Source{Reader: bytes.NewReader(data)}); err != nil {
		b.Fatal(err)
	}
	var report ImportReport
	err = d.Store().Bulk(on(0), func(tx *store.Tx) error {
		m, err := f.match(context.Background(), d, tx)
		if err != nil {
			return err
		}
		m.tally()
		report = m.report
		return m.writeFacts()
	})
	took := time.Since(start)
	if err != nil || report.Records[vent.KindRun].New != rows {
		b.Fatal(err, report.Problems.Listed)
	}
	return took
}

// floorOnce reads the same csv, then loads what the import left.
func floorOnce(b *testing.B, path string, data []byte) time.Duration {
	type pair struct{ k, v []byte }
	buckets := map[string][]pair{}
	from, err := bbolt.Open(path, 0o600, &bbolt.Options{ReadOnly: true})
	if err != nil {
		b.Fatal(err)
	}
	err = from.View(func(tx *bbolt.Tx) error {
		return tx.ForEach(func(name []byte, bucket *bbolt.Bucket) error {
			return bucket.ForEach(func(k, v []byte) error {
				buckets[string(name)] = append(buckets[string(name)], pair{bytes.Clone(k), bytes.Clone(v)})
				return nil
			})
		})
	})
	if err != nil {
		b.Fatal(err)
	}
	if err := from.Close(); err != nil {
		b.Fatal(err)
	}
	runtime.GC()
	start := time.Now()
	c := csv.NewReader(bytes.NewReader(data))
	for {
		if _, err := c.Read(); err == io.EOF {
			break
		} else if err != nil {
			b.Fatal(err)
		}
	}
	to, err := bbolt.Open(path+".floor", 0o600, &bbolt.Options{InitialMmapSize: 64 << 20, FreelistType: bbolt.FreelistMapType, NoStatistics: true})
	if err != nil {
		b.Fatal(err)
	}
	for name, pairs := range buckets {
		for part := range slices.Chunk(pairs, 10_000) {
			err = to.Update(func(tx *bbolt.Tx) error {
				bucket, err := tx.CreateBucketIfNotExists([]byte(name))
				if err != nil {
					return err
				}
				bucket.FillPercent = 0.95
				for _, p := range part {
					if err := bucket.Put(p.k, p.v); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil {
				b.Fatal(err)
			}
		}
	}
	took := time.Since(start)
	if err := to.Close(); err != nil {
		b.Fatal(err)
	}
	return took
}
