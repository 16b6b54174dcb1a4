package estimate

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"
)

// benchLines are lines as a fleet has them: every run with a history of up to six cleanings.
func benchLines(n int) []byte {
	var b bytes.Buffer
	for i := range n {
		fmt.Fprintf(&b, `{"id":"V-%d","run":{"duct_length":"%d ft","elbows_90":%d,"transition_length":"4 ft"},"dryer":{"fuel":"electric"},"use":%d,"findings":[`, i, 8+i%25, i%4, 2+i%7)
		for k := range i % 7 {
			if k > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(&b, `{"date":"%d-03-02","outcome":"full","reach":"through","before":{"air_speed":"%d fpm","conditions":["same_point","flap_open"]},"after":{"air_speed":"%d fpm"}}`, 2020+k, 1150+10*k, 1450+i%50)
		}
		b.WriteString("]}\n")
	}
	return b.Bytes()
}

// BenchmarkStream is the whole way of a line, beside its floor: decoding the same lines as plain JSON. What lies between is
// the model's work.
func BenchmarkStream(b *testing.B) {
	lines := benchLines(700)
	n := bytes.Count(lines, []byte("\n"))
	rate := func(b *testing.B) { b.ReportMetric(float64(n*b.N)/b.Elapsed().Seconds(), "lines/s") }
	b.Run("estimate", func(b *testing.B) {
		b.SetBytes(int64(len(lines)))
		for b.Loop() {
			c, err := Stream(context.Background(), *options(), bytes.NewReader(lines), io.Discard, false, func(LineError) {})
			if err != nil || c.Bad > 0 || c.Lines != n {
				b.Fatal(c, err)
			}
		}
		rate(b)
	})
	each := func(b *testing.B, f func([]byte) error) {
		all := strings.Split(strings.TrimSpace(string(lines)), "\n")
		b.SetBytes(int64(len(lines)))
		b.ReportAllocs()
		for b.Loop() {
			for _, l := range all {
				if err := f([]byte(l)); err != nil {
					b.Fatal(err)
				}
			}
		}
		rate(b)
	}
	o := options()
	b.Run("read-only", func(b *testing.B) {
		each(b, func(l []byte) error { _, _, err := read(o, l); return err })
	})
	b.Run("floor-json-any", func(b *testing.B) {
		each(b, func(l []byte) error { var v any; return json.Unmarshal(l, &v) })
	})
}
