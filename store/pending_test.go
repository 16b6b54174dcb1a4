package store

import (
	"bytes"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestPendingIsAMap compares the list and map that hold writes with one plain map.
func TestPendingIsAMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := pending{bytes: new(arena)}
		want := map[string][]byte{}
		for range rapid.IntRange(0, 60).Draw(t, "writes") {
			k := rapid.OneOf(rapid.SliceOfN(rapid.ByteRange(0, 3), 0, 3), rapid.SliceOfN(rapid.ByteRange(0, 1), 1500, 1501)).Draw(t, "key")
			v := rapid.SampledFrom([][]byte{nil, {}, {1}, {2}}).Draw(t, "value")
			p.set(k, v)
			want[string(k)] = v
			for x, v := range want {
				if got, ok := p.get([]byte(x)); !ok || !bytes.Equal(got, v) || (got == nil) != (v == nil) {
					t.Fatalf("key %x: %v, want %v", x, got, v)
				}
			}
			if _, ok := p.get([]byte{9}); ok {
				t.Fatal("a key that was never set is there")
			}
		}
		var keys []string
		if err := p.each(func(k, _ []byte) error {
			keys = append(keys, string(k))
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		if !slices.IsSorted(keys) || len(keys) != len(want) || p.len() != len(want) {
			t.Fatalf("keys %x, want the %d that were set, in order", keys, len(want))
		}
		if p.clear(); p.len() != 0 {
			t.Fatal("something is left after clear")
		}
	})
}
