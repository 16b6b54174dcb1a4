package calendar

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// typical returns a calendar of n events like those of a real one: all-day
// entries, every fourth a timed one, each with a text of some lines.
func typical(n int) Calendar {
	events := daily(n)
	for i := range events {
		e := &events[i]
		e.Created = e.Modified
		e.Summary = fmt.Sprintf("Open the vent run: %d Maple Court, flat %dB", i, i%40)
		e.Description = "Air speed 4.1 m/s, was 7.9 m/s when clean; likely choked by March.\nUnplug the dryer first, or switch off its breaker."
		e.Location = "12 Maple Court, Springfield"
		e.URL = "https://vents.example.com/runs/0f1d2c3b"
		if i%4 == 0 {
			e.AllDay, e.Minute, e.Zone, e.Duration = false, 540, "America/New_York", time.Hour
		}
	}
	return Calendar{Name: "Maple Court", Zone: "America/New_York", Anchor: date("2026-01-01"), Events: events}
}

// floorLine is what the floor is given: a line of the calendar, all but folded.
type floorLine struct{ name, value string }

// floor appends lines whose values are there already, escaped and formatted, and
// folds them without regard to characters: the least that any writer does.
func floor(buf []byte, lines []floorLine) []byte {
	for _, l := range lines {
		start := len(buf)
		buf = append(buf, l.name...)
		buf = append(buf, l.value...)
		if len(buf)-start <= maxLine {
			buf = append(buf, "\r\n"...)
			continue
		}
		rest := l.value[maxLine-len(l.name):]
		buf = append(buf[:start+maxLine], "\r\n "...)
		for len(rest) > maxLine-1 {
			buf = append(buf, rest[:maxLine-1]...)
			buf = append(buf, "\r\n "...)
			rest = rest[maxLine-1:]
		}
		buf = append(buf, rest...)
		buf = append(buf, "\r\n"...)
	}
	return buf
}

// BenchmarkRender renders 1000 events and appends the same bytes by the floor,
// in turns, and reports the median of floor/ours.
func BenchmarkRender(b *testing.B) {
	c := typical(1000)
	want := mustRender(b, c)
	var lines []floorLine
	unfolded := strings.ReplaceAll(string(want), "\r\n ", "")
	for line := range strings.SplitSeq(strings.TrimSuffix(unfolded, "\r\n"), "\r\n") {
		at := strings.Index(line, ":")
		lines = append(lines, floorLine{line[:at], line[at:]})
	}
	if !bytes.Equal(floor(nil, lines), want) {
		b.Fatal("the floor does not write the same bytes")
	}
	b.ReportAllocs()
	var ratios []float64
	var ours, theirs time.Duration
	for b.Loop() {
		start := time.Now()
		if _, err := Render(c); err != nil {
			b.Fatal(err)
		}
		middle := time.Now()
		floor(make([]byte, 0, len(want)), lines)
		end := time.Now()
		ours += middle.Sub(start)
		theirs += end.Sub(middle)
		ratios = append(ratios, end.Sub(middle).Seconds()/middle.Sub(start).Seconds())
	}
	slices.Sort(ratios)
	b.ReportMetric(ratios[len(ratios)/2], "floor/ours")
	b.ReportMetric(float64(ours.Nanoseconds())/float64(b.N)/1000, "ns/event")
	b.ReportMetric(float64(theirs.Nanoseconds())/float64(b.N)/1000, "floor-ns/event")
}

// A rendering may allocate for its buffer, its order and its zones, but for each
// event only once, to check its URL.
func TestRenderAllocations(t *testing.T) {
	small, large := typical(100), typical(900)
	allocs := func(c Calendar) float64 {
		return testing.AllocsPerRun(10, func() {
			if _, err := Render(c); err != nil {
				t.Error(err)
			}
		})
	}
	if a, b := allocs(small), allocs(large); b-a > 800+80 {
		t.Errorf("100 events take %.0f allocations, 900 take %.0f", a, b)
	}
}
