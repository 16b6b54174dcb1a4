package calendar

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// uids returns the UIDs of a calendar in their order.
func uids(body []byte) (list []string) {
	for line := range strings.Lines(string(body)) {
		if uid, ok := strings.CutPrefix(line, "UID:"); ok {
			list = append(list, strings.TrimSpace(uid))
		}
	}
	return list
}

// daily returns n all-day events, one on each day from 2026-01-01 on.
func daily(n int) []Event {
	events := make([]Event, n)
	for i := range events {
		events[i] = allDay(fmt.Sprintf("day-%05d", i), date("2026-01-01").AddDays(i).String())
	}
	return events
}

func TestMostEventsNearestToTheAnchor(t *testing.T) {
	c := Calendar{Anchor: date("2026-01-01").AddDays(900), Events: daily(1800)}
	r := renderSound(t, c)
	if r.Kept != 1000 || r.LeftOut != 800 {
		t.Errorf("kept %d, left out %d; want 1000 and 800", r.Kept, r.LeftOut)
	}
	// 1000 days around day 900: itself, 499 before and 500 after, since of two
	// equally near days the later is kept.
	got := uids(r.Body)
	if got[0] != "day-00401" || got[999] != "day-01400" || !slices.IsSorted(got) {
		t.Errorf("kept %d events from %s to %s", len(got), got[0], got[len(got)-1])
	}
}

func TestMostBytesNearestToTheAnchor(t *testing.T) {
	events := daily(900)
	for i := range events {
		events[i].Description = strings.Repeat("é", 1000) // 2000 octets: about 1.8 MB in all
	}
	r := renderSound(t, Calendar{Anchor: date("2026-01-01").AddDays(450), Events: events})
	if len(r.Body) > MaxBytes || len(r.Body) < MaxBytes-5000 {
		t.Errorf("%d octets, want nearly %d", len(r.Body), MaxBytes)
	}
	got := uids(r.Body)
	if r.Kept != len(got) || r.Kept+r.LeftOut != 900 {
		t.Errorf("kept %d (counted %d), left out %d of 900", r.Kept, len(got), r.LeftOut)
	}
	middle := (len(got) - 1) / 2 // as many before as after, or one less
	if got[middle] != "day-00450" {
		t.Errorf("the middle is %s, want the anchor's day-00450", got[middle])
	}
	if !bytes.HasSuffix(r.Body, []byte("END:VEVENT\r\nEND:VCALENDAR\r\n")) {
		t.Errorf("ends with %q", r.Body[len(r.Body)-50:])
	}
}

func TestOneEndlessTextIsLeftOutAlone(t *testing.T) {
	events := daily(3)
	events[1].Description = strings.Repeat("x", MaxBytes)
	r := renderSound(t, Calendar{Anchor: date("2026-01-02"), Events: events})
	if got := uids(r.Body); !slices.Equal(got, []string{"day-00000", "day-00002"}) || r.LeftOut != 1 {
		t.Errorf("kept %v, left out %d", got, r.LeftOut)
	}
	if _, err := Render(Calendar{Anchor: date("2026-01-02"), Events: events[1:2]}); err == nil {
		t.Error("no error, though an empty calendar would clear the subscriber's")
	}
}
