package calendar

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"ventdue/notify/calendar/strict"
	"ventdue/vent"
)

func date(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func utc(s string) time.Time {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		panic(err)
	}
	return t
}

// sample is what testdata/golden.ics shows.
func sample() Calendar {
	return Calendar{
		Name:        "Maple Court, dryer vents",
		Description: "What is due at 12 Maple Court; visits too",
		Color:       "Teal",
		Source:      "https://vents.example.com/c/k3n9.ics",
		Refresh:     6 * time.Hour,
		Zone:        "Europe/Lisbon",
		Anchor:      date("2026-03-01"),
		Events: []Event{{
			UID:      "0f1d-visit-2",
			Sequence: 1,
			Modified: utc("2026-02-02T12:00:00Z"),
			Summary:  "Cancelled: Lagoon Road 7",
			Status:   Cancelled,
			Start:    date("2026-04-04"), Minute: 23*60 + 30, Zone: "Australia/Lord_Howe",
			// The clocks go back by half an hour meanwhile.
			Duration: 4 * time.Hour,
		}, {
			UID:      "0f1d-visit-1",
			Modified: utc("2026-02-01T07:00:00-05:00"),
			Summary:  "Visit: 12 Maple Court",
			Status:   Tentative,
			Start:    date("2026-03-09"), Minute: 9 * 60, Zone: "America/New_York",
			Duration: 90 * time.Minute,
			Related:  []string{"0f1d-due-3b"},
			Alarms:   []Alarm{{Offset: -25 * time.Hour}},
		}, {
			UID:      "0f1d-due-3b",
			Sequence: 2,
			Created:  utc("2025-03-02T16:00:00Z"),
			Modified: utc("2026-01-10T08:09:10Z"),
			Summary:  "Open the vent run: flat 3B",
			Description: "Air speed 4.1 m/s, was 7.9 m/s when clean; likely choked by March.\r\n" +
				"Unplug the dryer first. “Größe” of the tool: C:\\brush\\4in",
			Location:    "12 Maple Court, flat 3B",
			Geo:         &Geo{40.1, -75.2},
			URL:         "https://vents.example.com/runs/3b",
			Priority:    5,
			Categories:  []string{"due", "", "roof, high"},
			Transparent: true,
			AllDay:      true,
			Start:       date("2026-03-02"),
		}},
	}
}

// The golden file was written by hand from RFC 5545 and RFC 7986, its zone
// changes from the rules in force: New York second Sunday of March and first of
// November at 2:00 (15 U.S.C. 260a); Lord Howe first Sunday of October and of
// April at 2:00, by half an hour (Standard Time Act 1987, New South Wales).
func TestGolden(t *testing.T) {
	want, err := os.ReadFile("testdata/golden.ics")
	if err != nil {
		t.Fatal(err)
	}
	got := mustRender(t, sample())
	if !bytes.Equal(got, want) {
		t.Errorf("rendered calendar differs from testdata/golden.ics; got:\n%s", got)
	}
}

// renderSound renders a calendar in which the strict checker finds nothing.
func renderSound(t testing.TB, c Calendar) Rendered {
	t.Helper()
	r, err := Render(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range strict.Check(r.Body) {
		t.Errorf("%v\n%.2000s", p, r.Body)
	}
	return r
}

func mustRender(t testing.TB, c Calendar) []byte {
	t.Helper()
	return renderSound(t, c).Body
}

func TestRenderIsPure(t *testing.T) {
	a := sample()
	want := mustRender(t, a)
	if a.Events[0].UID != "0f1d-visit-2" {
		t.Error("Render reordered the caller's events")
	}
	b := sample()
	b.Events[0], b.Events[2] = b.Events[2], b.Events[0]
	if got := mustRender(t, b); !bytes.Equal(got, want) {
		t.Error("the order of the events changed the bytes")
	}
	// One changed event changes its own lines and no other.
	b.Events[0].Sequence++
	got := mustRender(t, b)
	if n := differingLines(want, got); n != 1 {
		t.Errorf("a raised SEQUENCE changed %d lines", n)
	}
}

func differingLines(a, b []byte) (n int) {
	x, y := strings.Split(string(a), "\r\n"), strings.Split(string(b), "\r\n")
	if len(x) != len(y) {
		return len(x) + len(y)
	}
	for i := range x {
		if x[i] != y[i] {
			n++
		}
	}
	return n
}

func TestEmptyCalendarIsValid(t *testing.T) {
	for zone, want := range map[string]string{"": "TZID:UTC", "America/Phoenix": "TZID:America/Phoenix"} {
		body := string(mustRender(t, Calendar{Zone: zone, Anchor: date("2026-03-01")}))
		if !strings.Contains(body, want+"\r\n") {
			t.Errorf("zone %q: no %s in\n%s", zone, want, body)
		}
	}
}

func allDay(uid, day string) Event {
	return Event{UID: uid, Modified: utc("2026-01-01T00:00:00Z"), Summary: uid, AllDay: true, Start: date(day)}
}

func TestAllDayEnds(t *testing.T) {
	// RFC 5545 section 3.6.1: DTEND is the day after the last.
	for _, tc := range []struct {
		start string
		days  int
		want  string
	}{
		{"2026-12-31", 0, "20270101"},
		{"2028-02-28", 1, "20280229"}, // leap year
		{"2026-02-28", 1, "20260301"},
		{"2026-03-01", 31, "20260401"},
	} {
		e := allDay("a", tc.start)
		e.Days = tc.days
		body := mustRender(t, Calendar{Anchor: date("2026-01-01"), Events: []Event{e}})
		if want := "DTEND;VALUE=DATE:" + tc.want + "\r\n"; !bytes.Contains(body, []byte(want)) {
			t.Errorf("%s for %d days: want %q in\n%s", tc.start, tc.days, want, body)
		}
	}
}

func TestRenderNamesEveryFault(t *testing.T) {
	timed := func(change func(*Event)) Event {
		e := Event{UID: "x", Modified: utc("2026-01-01T00:00:00Z"), Start: date("2026-03-09"),
			Minute: 540, Zone: "America/New_York", Duration: time.Hour}
		change(&e)
		return e
	}
	for name, tc := range map[string]struct {
		event Event
		want  string
	}{
		"empty UID":         {timed(func(e *Event) { e.UID = " " }), "UID is empty"},
		"control in UID":    {timed(func(e *Event) { e.UID = "a\x01" }), "control characters"},
		"newline in UID":    {timed(func(e *Event) { e.UID = "a\nATTENDEE:b" }), "control characters"},
		"UID not UTF-8":     {timed(func(e *Event) { e.UID = "a\xff" }), "invalid UTF-8"},
		"long UID":          {timed(func(e *Event) { e.UID = strings.Repeat("a", 256) }), "256 octets"},
		"related":           {timed(func(e *Event) { e.Related = []string{""} }), "related: UID is empty"},
		"negative sequence": {timed(func(e *Event) { e.Sequence = -1 }), "sequence -1"},
		"no modified":       {timed(func(e *Event) { e.Modified = time.Time{} }), "last revision"},
		"created in 12026":  {timed(func(e *Event) { e.Created = time.Date(12026, 1, 1, 0, 0, 0, 0, time.UTC) }), "created"},
		"priority":          {timed(func(e *Event) { e.Priority = 10 }), "priority 10"},
		"status":            {timed(func(e *Event) { e.Status = 9 }), "Status(9)"},
		"geo":               {timed(func(e *Event) { e.Geo = &Geo{91, 0} }), "latitude"},
		"relative URL":      {timed(func(e *Event) { e.URL = "/runs/3b" }), "absolute URL"},
		"URL with newline":  {timed(func(e *Event) { e.URL = "https://example.com/\r\nX:y" }), "absolute URL"},
		"URL with quote":    {timed(func(e *Event) { e.URL = `https://example.com/"` }), "absolute URL"},
		"URL with umlaut":   {timed(func(e *Event) { e.URL = "https://example.com/ü" }), "absolute URL"},
		"URL with space":    {timed(func(e *Event) { e.URL = "https://example.com/a b" }), "absolute URL"},
		"no start":          {timed(func(e *Event) { e.Start = 0 }), "start"},
		"start in 1066":     {timed(func(e *Event) { e.Start = date("1066-10-14") }), "from 1980"},
		"no duration":       {timed(func(e *Event) { e.Duration = 0 }), "ends before it starts"},
		"negative duration": {timed(func(e *Event) { e.Duration = -time.Hour }), "ends before it starts"},
		"two years":         {timed(func(e *Event) { e.Duration = 2 * 366 * 24 * time.Hour }), "more than a year"},
		"negative days":     {timed(func(e *Event) { e.AllDay = true; e.Days = -1 }), "ends before it starts"},
		"a thousand days":   {timed(func(e *Event) { e.AllDay = true; e.Days = 1000 }), "more than a year"},
		"minute":            {timed(func(e *Event) { e.Minute = 1440 }), "minute 1440"},
		"no zone":           {timed(func(e *Event) { e.Zone = "" }), "IANA"},
		"this machine's":    {timed(func(e *Event) { e.Zone = "Local" }), "IANA"},
		"unknown zone":      {timed(func(e *Event) { e.Zone = "America/Springfield" }), `"America/Springfield" is not in`},
		"path as zone":      {timed(func(e *Event) { e.Zone = "../../etc/passwd" }), "not in the IANA"},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := Render(Calendar{Anchor: date("2026-03-01"), Events: []Event{allDay("fine", "2026-03-01"), tc.event}})
			if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), "event 2, UID") {
				t.Errorf("want an error about event 2 with %q, got %v", tc.want, err)
			}
			if r.Body != nil {
				t.Errorf("a body beside the error: %q", r.Body)
			}
		})
	}
}

func TestRenderNamesFaultsOfTheCalendar(t *testing.T) {
	anchor := date("2026-03-01")
	for want, c := range map[string]Calendar{
		"same UID":     {Anchor: anchor, Events: []Event{allDay("a", "2026-03-01"), allDay("a", "2026-03-02")}},
		"colour name":  {Anchor: anchor, Color: "#008080"},
		"absolute URL": {Anchor: anchor, Source: "c.ics"},
		"refresh -1h":  {Anchor: anchor, Refresh: -time.Hour},
		"IANA":         {Anchor: anchor, Zone: "Local"},
		"anchor":       {},
	} {
		if _, err := Render(c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error with %q, got %v", want, err)
		}
	}
	_, err := Render(Calendar{Color: "1", Source: "2", Anchor: anchor, Events: []Event{{}, {}}})
	if err == nil || strings.Count(err.Error(), "\n") < 4 {
		t.Errorf("several faults are told together, got: %v", err)
	}
}
