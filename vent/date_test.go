package vent

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestNewDateClamps(t *testing.T) {
	for _, c := range []struct {
		y    int
		m    time.Month
		d    int
		want string
	}{
		{2026, 11, 25, "2026-11-25"},
		{2026, 2, 31, "2026-02-28"}, // not carried into March
		{2024, 2, 31, "2024-02-29"}, // divisible by 4
		{1900, 2, 29, "1900-02-28"}, // by 100, not by 400
		{2000, 2, 29, "2000-02-29"}, // by 400
		{2026, 4, 0, "2026-04-01"},
		{2026, 13, 5, "2027-01-05"},
		{2026, 0, 31, "2025-12-31"},
		{1, 1, 1, "0001-01-01"},
		{9999, 12, 31, "9999-12-31"},
	} {
		if got := NewDate(c.y, c.m, c.d).String(); got != c.want {
			t.Errorf("NewDate(%d, %d, %d) is %s, want %s", c.y, c.m, c.d, got, c.want)
		}
	}
}

// Serial numbers and days of the week that the calendar fixes: ISO 8601 counts 1 January of year 1 as the first day; 1970-01-01, the
// Unix epoch, was a Thursday; 2000-01-01 a Saturday, 10 957 days later (30 years of 365 days and 7 leap days).
func TestKnownDays(t *testing.T) {
	if d := NewDate(1, 1, 1); d != 1 {
		t.Errorf("0001-01-01 is day %d", d)
	}
	if n := NewDate(1970, 1, 1).DaysUntil(NewDate(2000, 1, 1)); n != 30*365+7 {
		t.Errorf("1970 to 2000 are %d days", n)
	}
	if d := NewDate(9999, 12, 31); d != lastDate || !d.Valid() || (d + 1).Valid() || Date(0).Valid() || Date(-1).Valid() {
		t.Errorf("the last day is %d", d)
	}
	for s, want := range map[string]time.Weekday{"1970-01-01": time.Thursday, "2000-01-01": time.Saturday, "2026-11-25": time.Wednesday} {
		d, err := ParseDate(s)
		if err != nil || d.Weekday() != want {
			t.Errorf("%s is a %s, %v", s, d.Weekday(), err)
		}
	}
}

func TestParseDateTakesISOOnly(t *testing.T) {
	for _, s := range []string{"2026-11-25", "2024-02-29", "0001-01-01", "9999-12-31"} {
		d, err := ParseDate(s)
		if err != nil || d.String() != s {
			t.Errorf("%s reads %s, %v", s, d, err)
		}
	}
	for _, s := range []string{
		"", " ", "2026", "2026-11", "11/25/2026", "25.11.2026", "03/04/2026", "2026/11/25", "20261125", "2026-1-5", "26-11-25",
		"2026-02-29", "2026-02-30", "2026-13-01", "2026-00-10", "2026-11-31", "2026-11-00", "0000-01-01", "-001-01-01", "10000-01-01",
		"2026-11-25 ", " 2026-11-25", "2026-11-25T08:30:00Z", "２０２６-11-25", "2026–11–25", "2026-11-2x", "\x002026-11-25",
	} {
		d, err := ParseDate(s)
		if err == nil || d != 0 {
			t.Errorf("%q reads %s, want a refusal", s, d)
		} else if !strings.Contains(err.Error(), "YYYY-MM-DD") {
			t.Errorf("%q: %q does not say how to write it", s, err)
		}
	}
}

// A series keeps its anchor: month ends come back to the 31st, 29 February comes back in leap years (RFC 5545's
// RRULE would skip those months instead).
func TestSeriesKeepTheirAnchor(t *testing.T) {
	for _, c := range []struct {
		anchor string
		every  int
		want   string
	}{
		{"2026-01-31", 1, "2026-01-31 2026-02-28 2026-03-31 2026-04-30 2026-05-31"},
		{"2024-02-29", 12, "2024-02-29 2025-02-28 2026-02-28 2027-02-28 2028-02-29"},
		{"2026-08-31", 6, "2026-08-31 2027-02-28 2027-08-31 2028-02-29 2028-08-31"},
		{"2026-11-30", 3, "2026-11-30 2027-02-28 2027-05-30 2027-08-30 2027-11-30"},
		{"2026-12-15", 1, "2026-12-15 2027-01-15 2027-02-15 2027-03-15 2027-04-15"},
	} {
		anchor, err := ParseDate(c.anchor)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for n := range 5 {
			got = append(got, anchor.Nth(n, c.every).String())
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("every %d months from %s:\n got %s\nwant %s", c.every, c.anchor, s, c.want)
		}
	}
}

func TestMonthsBackAndAtTheEnds(t *testing.T) {
	for _, c := range []struct {
		from string
		n    int
		want string
	}{
		{"2026-03-31", -1, "2026-02-28"}, {"2026-01-15", -1, "2025-12-15"}, {"2026-05-31", -25, "2024-04-30"},
		{"0001-01-15", -1, "0001-01-01"}, {"9999-12-01", 1, "9999-12-31"}, {"2026-01-01", 1 << 40, "9999-12-31"}, {"2026-01-01", -1 << 40, "0001-01-01"},
	} {
		d, err := ParseDate(c.from)
		if err != nil {
			t.Fatal(err)
		}
		if got := d.AddMonths(c.n).String(); got != c.want {
			t.Errorf("%s and %d months is %s, want %s", c.from, c.n, got, c.want)
		}
	}
	if Date(0).AddMonths(5) != 0 || Date(0).AddDays(5) != 0 || Date(0).String() != "" {
		t.Error("no date became one")
	}
	if lastDate.AddDays(1) != lastDate || Date(1).AddDays(-1) != 1 || Date(1).AddDays(1<<40) != lastDate {
		t.Error("days leave the calendar")
	}
}

func loc(t testing.TB, name string) *time.Location {
	t.Helper()
	l, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Local to instant as RFC 5545 section 3.3.5 reads it: a skipped time takes the offset before the gap, a repeated
// one is the first. The transitions are those of the IANA time zone database (zdump -v):
//
//	America/New_York     2026-03-08 07:00Z -05 to -04, 2026-11-01 06:00Z -04 to -05
//	Australia/Lord_Howe  2026-04-04 15:00Z +11 to +10:30, 2026-10-03 15:30Z +10:30 to +11
//	America/Santiago     2024-04-07 03:00Z -03 to -04, 2024-09-08 04:00Z -04 to -03 (midnight to 01:00)
//	Pacific/Apia         2011-12-30 10:00Z -10 to +14: 30 December was skipped
func TestAt(t *testing.T) {
	for _, c := range []struct {
		zone, local, want string
	}{
		{"America/New_York", "2026-03-08 01:59", "2026-03-08T06:59:00Z"},
		{"America/New_York", "2026-03-08 02:30", "2026-03-08T07:30:00Z"}, // skipped: at -05
		{"America/New_York", "2026-03-08 03:00", "2026-03-08T07:00:00Z"},
		{"America/New_York", "2026-11-01 00:59", "2026-11-01T04:59:00Z"},
		{"America/New_York", "2026-11-01 01:30", "2026-11-01T05:30:00Z"}, // twice: the first, at -04
		{"America/New_York", "2026-11-01 02:00", "2026-11-01T07:00:00Z"},
		{"America/New_York", "2026-07-04 09:00", "2026-07-04T13:00:00Z"},
		{"Australia/Lord_Howe", "2026-04-05 01:29", "2026-04-04T14:29:00Z"},
		{"Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-04T14:45:00Z"}, // twice, half an hour
		{"Australia/Lord_Howe", "2026-04-05 02:00", "2026-04-04T15:30:00Z"},
		{"Australia/Lord_Howe", "2026-10-04 02:15", "2026-10-03T15:45:00Z"}, // skipped, half an hour
		{"Australia/Lord_Howe", "2026-10-04 02:30", "2026-10-03T15:30:00Z"},
		{"America/Santiago", "2024-09-07 23:59", "2024-09-08T03:59:00Z"},
		{"America/Santiago", "2024-09-08 00:00", "2024-09-08T04:00:00Z"}, // skipped midnight: at -04, shown as 01:00
		{"America/Santiago", "2024-09-08 00:30", "2024-09-08T04:30:00Z"},
		{"America/Santiago", "2024-09-08 01:00", "2024-09-08T04:00:00Z"},
		{"America/Santiago", "2024-04-06 23:30", "2024-04-07T02:30:00Z"}, // twice, on the evening before
		{"America/Santiago", "2024-04-07 00:00", "2024-04-07T04:00:00Z"},
		{"Pacific/Apia", "2011-12-29 23:59", "2011-12-30T09:59:00Z"},
		{"Pacific/Apia", "2011-12-30 09:00", "2011-12-30T19:00:00Z"}, // no such day: at -10, shown as the 31st
		{"Pacific/Apia", "2011-12-31 00:00", "2011-12-30T10:00:00Z"},
		{"Pacific/Apia", "2011-12-31 09:00", "2011-12-30T19:00:00Z"},
		{"UTC", "2026-11-25 08:30", "2026-11-25T08:30:00Z"},
	} {
		wall, err := time.Parse("2006-01-02 15:04", c.local)
		if err != nil {
			t.Fatal(err)
		}
		got := DateOf(wall).At(wall.Hour()*60+wall.Minute(), loc(t, c.zone))
		if s := got.UTC().Format(time.RFC3339); s != c.want {
			t.Errorf("%s in %s is %s, want %s", c.local, c.zone, s, c.want)
		}
		if got.Location().String() != c.zone {
			t.Errorf("%s in %s is told in %s", c.local, c.zone, got.Location())
		}
	}
}

// TestAtAgainstSearch looks for the first minute at which a clock in the zone shows the wanted time.
func TestAtAgainstSearch(t *testing.T) {
	zones := []string{"America/New_York", "Australia/Lord_Howe", "America/Santiago", "Pacific/Apia", "Africa/Casablanca", "Asia/Kathmandu",
		"America/St_Johns", "Antarctica/Troll", "Pacific/Kiritimati", "Asia/Gaza", "Europe/London"}
	rapid.Check(t, func(rt *rapid.T) {
		l := loc(t, rapid.SampledFrom(zones).Draw(rt, "zone"))
		d := NewDate(2011, 1, 1).AddDays(rapid.IntRange(0, 20*365).Draw(rt, "day"))
		if rapid.Bool().Draw(rt, "near a change") {
			d = nearChange(l, d)
		}
		minutes := rapid.IntRange(0, 24*60-1).Draw(rt, "minutes")
		got := d.At(minutes, l)
		want, ok := search(d, minutes, l)
		if ok && !got.Equal(want) {
			rt.Fatalf("%s %d in %s is %s, want %s", d, minutes, l, got, want)
		}
		if !ok { // skipped: later than the clock says, by as much as is skipped
			shown := time.Date(got.Year(), got.Month(), got.Day(), got.Hour(), got.Minute(), 0, 0, time.UTC)
			wall := d.time().Add(time.Duration(minutes) * time.Minute)
			if gap := shown.Sub(wall); gap <= 0 || gap > 24*time.Hour {
				rt.Fatalf("skipped %s %d in %s is shown as %s", d, minutes, l, got)
			}
		}
	})
}

// nearChange gives the day of the first change of offset from d on, at most a year later.
func nearChange(l *time.Location, d Date) Date {
	for n := range 366 {
		at := d.AddDays(n).time()
		if _, before := at.In(l).Zone(); true {
			if _, after := at.Add(24 * time.Hour).In(l).Zone(); before != after {
				return d.AddDays(n)
			}
		}
	}
	return d
}

func search(d Date, minutes int, l *time.Location) (time.Time, bool) {
	wall := d.time().Add(time.Duration(minutes) * time.Minute)
	for at := wall.Add(-15 * time.Hour); at.Before(wall.Add(15 * time.Hour)); at = at.Add(time.Minute) {
		local := at.In(l)
		if DateOf(local) == d && local.Hour()*60+local.Minute() == minutes {
			return at, true
		}
	}
	return time.Time{}, false
}

func TestDateOfIsWhatTheClockShows(t *testing.T) {
	at := time.Date(2026, 11, 25, 3, 0, 0, 0, time.UTC) // the evening before in New York
	if d := DateOf(at.In(loc(t, "America/New_York"))); d.String() != "2026-11-24" {
		t.Errorf("got %s", d)
	}
	if d := InstantOf(at).DateIn(loc(t, "Pacific/Kiritimati")); d.String() != "2026-11-25" { // +14: 17:00
		t.Errorf("got %s", d)
	}
}

func TestDatesCountAndComeBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		d := Date(rapid.Int32Range(1, int32(lastDate)).Draw(rt, "day"))
		y, m, day := d.Split()
		if NewDate(y, m, day) != d || d.Year() != y || d.Month() != m || d.Day() != day {
			rt.Fatalf("%d splits into %d-%d-%d", d, y, m, day)
		}
		if back, err := ParseDate(d.String()); err != nil || back != d {
			rt.Fatalf("%s reads %d, %v", d, back, err)
		}
		n := rapid.IntRange(-1000, 1000).Draw(rt, "months")
		moved := d.AddMonths(n)
		if !moved.Valid() || moved.Day() > day && moved != lastDate && moved != 1 {
			rt.Fatalf("%s and %d months is %s", d, n, moved)
		}
		if n > 0 && moved < d || n < 0 && moved > d {
			rt.Fatalf("%s and %d months goes the wrong way to %s", d, n, moved)
		}
	})
}

func TestDatesInJSON(t *testing.T) {
	type record struct {
		A Date `json:"a"`
		B Date `json:"b,omitzero"`
	}
	got, err := json.Marshal(record{A: NewDate(2026, 11, 25)})
	if err != nil || string(got) != `{"a":"2026-11-25"}` {
		t.Errorf("%s, %v", got, err)
	}
	var r record
	if err := json.Unmarshal([]byte(`{"a":"","b":"2024-02-29"}`), &r); err != nil || r.A != 0 || r.B != NewDate(2024, 2, 29) {
		t.Errorf("%v, %v", r, err)
	}
	for _, bad := range []string{`{"a":"2026-02-30"}`, `{"a":20261125}`, `{"a":"25.11.2026"}`} {
		if err := json.Unmarshal([]byte(bad), &r); err == nil {
			t.Errorf("%s was read", bad)
		}
	}
}

func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"2026-11-25", "2024-02-29", "2023-02-29", "0000-00-00", "9999-12-31", "2026-1-1", "٢٠٢٦-11-25"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDate(s)
		if err != nil {
			if d != 0 {
				t.Fatalf("%q is refused and reads %s", s, d)
			}
			return
		}
		if d.String() != s || !d.Valid() {
			t.Fatalf("%q reads %s", s, d)
		}
	})
}

func TestInstants(t *testing.T) {
	at := time.Date(2026, 11, 25, 8, 30, 0, 999, loc(t, "America/New_York"))
	i := InstantOf(at)
	if i.String() != "2026-11-25T13:30:00Z" || i.Add(90*time.Second).String() != "2026-11-25T13:31:30Z" {
		t.Errorf("got %s", i)
	}
	if InstantOf(time.Time{}) != 0 || !Instant(0).Time().IsZero() || Instant(0).String() != "" || !Instant(0).IsZero() {
		t.Error("never is a moment")
	}
	var back Instant
	if err := back.UnmarshalText([]byte("2026-11-25T08:30:00-05:00")); err != nil || back != i {
		t.Errorf("read %s, %v", back, err)
	}
	if err := back.UnmarshalText(nil); err != nil || back != 0 {
		t.Errorf("nothing reads %s, %v", back, err)
	}
	if err := back.UnmarshalText([]byte("2026-11-25 08:30")); err == nil || !strings.Contains(err.Error(), "2026-11-25T08:30:00Z") {
		t.Errorf("got %v", err)
	}
}

func TestIDs(t *testing.T) {
	const text = "0199aabb-ccdd-7eef-8011-223344556677"
	id, err := ParseID(text)
	if err != nil || id.String() != text || id[0] != 0x01 || id[15] != 0x77 || id.IsZero() {
		t.Errorf("read %s, %v", id, err)
	}
	for _, bad := range []string{"", "7", text[:35], text + "0", strings.ReplaceAll(text, "-", ""), strings.Replace(text, "a", "g", 1),
		strings.Replace(text, "-", "0", 1), "{" + text[1:35] + "}"} {
		if id, err := ParseID(bad); err == nil || id != (ID{}) {
			t.Errorf("%q reads %s", bad, id)
		}
	}
	var none ID
	if err := none.UnmarshalText(nil); err != nil || !none.IsZero() || none.String() != "" {
		t.Errorf("nothing reads %s, %v", none, err)
	}
}

func FuzzParseID(f *testing.F) {
	f.Add("0199aabb-ccdd-7eef-8011-223344556677")
	f.Fuzz(func(t *testing.T, s string) {
		id, err := ParseID(s)
		if err == nil && !id.IsZero() && !strings.EqualFold(id.String(), s) {
			t.Fatalf("%q reads %s", s, id)
		}
	})
}

func TestProblemsSayFieldValueAndRemedy(t *testing.T) {
	var p Problems
	if p.Err() != nil {
		t.Error("no problems are an error")
	}
	p.Add("last_cleaned", "03/04/2026", "is not a calendar date: write it as YYYY-MM-DD")
	var inner Problems
	inner.Add("value", "", "is missing")
	p.Under("before", inner)
	if got, want := p.Err().Error(), `last_cleaned "03/04/2026": is not a calendar date: write it as YYYY-MM-DD; before.value: is missing`; got != want {
		t.Errorf("got %s", got)
	}
	if !errors.Is(p.Err(), ErrInvalid) || errors.Is(p.Err(), ErrNotFound) {
		t.Error("problems are not ErrInvalid")
	}
	long := Problem{Field: "note", Value: strings.Repeat("é", 500), Text: "is too long"}
	if n := len([]rune(long.String())); n > 100 {
		t.Errorf("a hostile value makes a message of %d runes", n)
	}
}
