package calendar

import (
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"
)

func secondsOf(n int64) time.Duration { return time.Duration(n) * time.Second }

func TestDecodeGolden(t *testing.T) {
	f, err := os.Open("testdata/golden.ics")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cal, err := Decode(f, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	events := cal.Events()
	if len(events) != 3 {
		t.Fatalf("%d events, want 3", len(events))
	}
	if got, err := events[0].Props.Text("DESCRIPTION"); err != nil || !strings.HasSuffix(got, "first. “Größe” of the tool: C:\\brush\\4in") {
		t.Errorf("description %q, %v", got, err)
	}
	start, err := events[1].DateTimeStart(nil)
	if want := utc("2026-03-09T13:00:00Z"); err != nil || !start.Equal(want) { // 9:00 EDT
		t.Errorf("start %v, want %v (%v)", start, want, err)
	}
}

// calendarWith is a minimal calendar with some lines in it.
func calendarWith(lines string) string {
	return "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n" + lines + "END:VCALENDAR\r\n"
}

func TestDecodeAccepts(t *testing.T) {
	for name, text := range map[string]string{
		"bare LF":             strings.ReplaceAll(calendarWith("X-A:b\r\n"), "\r\n", "\n"),
		"byte order mark":     "\ufeff" + calendarWith(""),
		"blank lines":         "\r\n\r\n" + calendarWith("\r\n") + "\r\n\r\n",
		"folded by a tab":     calendarWith("X-A:b\r\n\tc\r\n"),
		"folded in a name":    calendarWith("SUM\r\n MARY:b\r\n"),
		"parameters":          calendarWith("X-A;P=1,2;Q=\"a;b:c\",\"\";R=:v:w\r\n"),
		"without a last CRLF": strings.TrimSpace(calendarWith("")),
		"lower case":          strings.ToLower(calendarWith("begin:vevent\r\nend:vevent\r\n")),
	} {
		if _, err := Decode(strings.NewReader(text), Limits{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestDecodeRefuses(t *testing.T) {
	nested := strings.Repeat("BEGIN:X\r\n", 1_000_000)
	for name, tc := range map[string]struct {
		text string
		want string
	}{
		"nothing":                {"", "ends in the middle"},
		"no calendar":            {"BEGIN:VCARD\r\nEND:VCARD\r\n", "invalid toplevel"},
		"parameter at the end":   {"X;A=b", "not of the form"},
		"the same inside":        {calendarWith("X;A=b\r\n"), "line 4 (unfolded)"},
		"no value at the end":    {"X;A=", "not of the form"},
		"open quote at the end":  {`X;A="`, "not of the form"},
		"quoted to the end":      {`X;A="b"`, "not of the form"},
		"after the quote":        {calendarWith(`X;A="b"c:d` + "\r\n"), "not of the form"},
		"quote inside":           {calendarWith(`X;A=b"c":d` + "\r\n"), "not of the form"},
		"parameter without name": {calendarWith("X;=b:c\r\n"), "not of the form"},
		"colon in the name":      {calendarWith(`X;::="long":c` + "\r\n"), "not of the form"},
		"cut off":                {"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n", "ends in the middle"},
		"cut off, nested":        {"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nEND:VEVENT\r\n", "ends in the middle"},
		"wrong END":              {"BEGIN:VCALENDAR\r\nEND:VEVENT\r\n", "expected END"},
		"only END":               {"END:VCALENDAR\r\n", "expected BEGIN"},
		"two calendars":          {calendarWith("") + calendarWith(""), "something follows"},
		"web page":               {"<!DOCTYPE html>\n<html>", "not of the form"},
		"Latin-1":                {calendarWith("SUMMARY:Gr\xfc\xdfe\r\n"), "not UTF-8"},
	} {
		cal, err := Decode(strings.NewReader(tc.text), Limits{})
		if err == nil || !strings.Contains(err.Error(), tc.want) || cal != nil {
			t.Errorf("%s: want an error with %q, got %v, %v", name, tc.want, cal, err)
		}
	}
	for name, text := range map[string]string{
		"deep":                  calendarWith(strings.Repeat("BEGIN:X\r\n", 9)),
		"very deep":             nested[:4<<20-9],
		"deep by Unicode case":  strings.Repeat("BEG\u0131N:X\r\n", 9), // upper case of dotless i is I
		"10 MB":                 calendarWith(strings.Repeat("X-A:b\r\n", 10<<20/7)),
		"10 MB in a line":       calendarWith("X-A:" + strings.Repeat("b", 10<<20) + "\r\n"),
		"1 MB folded":           calendarWith("X-A:" + strings.Repeat("\r\n bbbbbbbbb", 100_000) + "\r\n"),
		"1 MB in a line":        calendarWith("X-A:" + strings.Repeat("b", 1<<20) + "\r\n"),
		"2 KB of parameters":    calendarWith("X-A;B=" + strings.Repeat("b", 2048) + ":c\r\n"),
		"2 KB in quotes":        calendarWith("X-A;B=\"" + strings.Repeat(":", 2048) + "\":c\r\n"),
		"200 000 lines":         calendarWith(strings.Repeat("X:\r\n", 200_000)),
		"200 000 blank lines":   calendarWith(strings.Repeat("\r\n", 200_000)),
		"an endless first line": "BEGIN" + strings.Repeat("N", 10<<20),
	} {
		if _, err := Decode(strings.NewReader(text), Limits{}); !errors.Is(err, ErrTooLarge) {
			t.Errorf("%s: want ErrTooLarge, got %.200v", name, err)
		}
	}
}

func TestDecodeLimitsAreTheCallers(t *testing.T) {
	text := calendarWith("BEGIN:VEVENT\r\nX-A;B=c:d\r\nEND:VEVENT\r\n")
	for _, l := range []Limits{{Bytes: len(text) - 1}, {Lines: 6}, {Line: 14}, {Params: 6}, {Depth: 1}} {
		if _, err := Decode(strings.NewReader(text), l); !errors.Is(err, ErrTooLarge) {
			t.Errorf("%+v: want ErrTooLarge, got %v", l, err)
		}
	}
	if _, err := Decode(strings.NewReader(text), Limits{Bytes: len(text), Lines: 7, Line: 15, Params: 9, Depth: 2}); err != nil {
		t.Errorf("limits that just suffice: %v", err)
	}
}

func TestDecodeReadError(t *testing.T) {
	if _, err := Decode(iotest.ErrReader(io.ErrClosedPipe), Limits{}); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("got %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	golden, err := os.ReadFile("testdata/golden.ics")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(golden))
	for _, text := range []string{"X;A=b", "X;A=", `X;A="b"`, "BEGIN:VCALENDAR\r\nBEGIN:X\r\n", calendarWith("X:\\\r\n"), ":", ";", "\n ", "BEG\u0131N:X\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		cal, err := Decode(strings.NewReader(text), Limits{})
		if (cal == nil) == (err == nil) {
			t.Errorf("calendar %v beside error %v", cal, err)
		}
		if err != nil && strings.Contains(err.Error(), "runtime error") {
			t.Errorf("a panic got as far as recover: %v", err)
		}
	})
}
