package strict_test

import (
	"slices"
	"strings"
	"testing"

	"ventdue/notify/calendar/strict"
)

// sound is a calendar written by hand from RFC 5545 and RFC 7986. The tests
// break one thing of it each.
const sound = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//Example Co//Test//EN
NAME:Maple Court
REFRESH-INTERVAL;VALUE=DURATION:PT6H
SOURCE;VALUE=URI:https://example.com/c.ics
BEGIN:VTIMEZONE
TZID:America/New_York
BEGIN:STANDARD
DTSTART:20251102T020000
TZOFFSETFROM:-0400
TZOFFSETTO:-0500
TZNAME:EST
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:20260308T020000
TZOFFSETFROM:-0500
TZOFFSETTO:-0400
TZNAME:EDT
END:DAYLIGHT
END:VTIMEZONE
BEGIN:VEVENT
UID:a1
DTSTAMP:20260101T120000Z
DTSTART;VALUE=DATE:20260302
DTEND;VALUE=DATE:20260303
LAST-MODIFIED:20260101T120000Z
SEQUENCE:0
STATUS:CONFIRMED
TRANSP:TRANSPARENT
SUMMARY:Open the run\, flat 3B\; bring the ladder
CATEGORIES:due,roof
GEO:40.100000;-75.200000
BEGIN:VALARM
ACTION:DISPLAY
TRIGGER:-PT1H
DESCRIPTION:Soon
END:VALARM
END:VEVENT
BEGIN:VEVENT
UID:b2
DTSTAMP:20260101T120000Z
DTSTART;TZID=America/New_York:20260309T090000
DTEND;TZID=America/New_York:20260309T100000
DESCRIPTION:A text long enough that it has to be folded over two lines o
 f the file\nand that has a second line
END:VEVENT
END:VCALENDAR
`

func crlf(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }

func TestSoundCalendar(t *testing.T) {
	if p := strict.Check([]byte(crlf(sound))); len(p) > 0 {
		t.Errorf("a sound calendar has problems: %v", p)
	}
}

// Each case replaces old by new in the sound calendar and names a part of the
// problem that must be found. Sources: the RFC section named, or, marked
// "house", a rule of the package comment.
func TestProblems(t *testing.T) {
	long := strings.Repeat("x", 76-len("SUMMARY:"))
	for _, tc := range []struct{ name, old, new, want string }{
		{"76 octets, 5545 3.1", "SUMMARY:Open the run\\, flat 3B\\; bring the ladder", "SUMMARY:" + long, "76 octets"},
		{"bare LF, 5545 3.1", "UID:a1\r\n", "UID:a1\n", "bare LF"},
		{"bare CR, 5545 3.1", "UID:a1", "UID:a\r1", "bare CR"},
		{"no final CRLF", "END:VCALENDAR\r\n", "END:VCALENDAR", "last line"},
		{"final LF only", "END:VCALENDAR\r\n", "END:VCALENDAR\n", "last line"},
		{"byte order mark", "BEGIN:VCALENDAR", "\ufeffBEGIN:VCALENDAR", "byte order mark"},
		{"empty line", "UID:a1", "\r\nUID:a1", "empty line"},
		{"NUL, 5545 3.1", "UID:a1", "UID:a\x001", "control character U+0000"},
		{"DEL, 5545 3.1", "UID:a1", "UID:a\x7f1", "control character U+007F"},
		{"NEL, house", "UID:a1", "UID:a\u00851", "control character U+0085"},
		{"line separator, house", "UID:a1", "UID:a\u20281", "line separator"},
		{"not UTF-8", "UID:a1", "UID:a\xff1", "invalid UTF-8"},
		{"fold inside a character", "lines o\r\n f the", "lines \xc3\r\n \xb6f the", "cut by folding"},
		{"continues nothing", "BEGIN:VCALENDAR", " BEGIN:VCALENDAR", "continues nothing"},
		{"no name", "UID:a1", ":a1", "no property name"},
		{"no colon", "SEQUENCE:0", "SEQUENCE", "no colon"},
		{"broken parameter", "DTSTART;VALUE=DATE:", "DTSTART;VALUE:", "broken parameter"},
		{"open quote", "DTSTART;VALUE=DATE:", "DTSTART;VALUE=\"DATE:", "broken value"},
		{"quote inside", "DTSTART;VALUE=DATE:", "DTSTART;VALUE=DA\"TE:", "broken value"},
		{"parameter twice", "DTSTART;VALUE=DATE:", "DTSTART;VALUE=DATE;VALUE=DATE:", "twice"},
		{"no VERSION, 5545 3.6", "VERSION:2.0\r\n", "", "has 0 VERSION"},
		{"VERSION twice", "VERSION:2.0\r\n", "VERSION:2.0\r\nVERSION:2.0\r\n", "has 2 VERSION"},
		{"other VERSION", "VERSION:2.0", "VERSION:1.0", "is not 2.0"},
		{"no PRODID, 5545 3.6", "PRODID:-//Example Co//Test//EN\r\n", "", "has 0 PRODID"},
		{"other scale", "NAME:Maple Court", "CALSCALE:JULIAN", "is not GREGORIAN"},
		{"NAME twice", "NAME:Maple Court", "NAME:Maple Court\r\nNAME:b", "has 2 NAME"},
		{"METHOD, house", "NAME:Maple Court", "METHOD:PUBLISH", "METHOD"},
		{"RRULE, house", "SEQUENCE:0", "RRULE:FREQ=YEARLY", "RRULE"},
		{"refresh without type, 7986 5.7", "REFRESH-INTERVAL;VALUE=DURATION", "REFRESH-INTERVAL", "lacks VALUE=DURATION"},
		{"refresh no duration", ":PT6H", ":6 hours", "is no positive duration"},
		{"refresh PT6H5S, 5545 3.3.6", ":PT6H", ":PT6H5S", "is no positive duration"},
		{"source without type, 7986 5.8", "SOURCE;VALUE=URI", "SOURCE", "lacks VALUE=URI"},
		{"relative source", "https://example.com/c.ics", "/c.ics", "no absolute URL"},
		{"unbalanced", "END:VALARM\r\n", "", "ends nothing that is open"},
		{"never ended", "END:VCALENDAR\r\n", "", "BEGIN:VCALENDAR has no END"},
		{"ended twice", "END:VCALENDAR\r\n", "END:VCALENDAR\r\nEND:VCALENDAR\r\n", "ends nothing"},
		{"two calendars", "END:VCALENDAR\r\n", "END:VCALENDAR\r\nBEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", "second component"},
		{"property outside", "END:VCALENDAR\r\n", "END:VCALENDAR\r\nNAME:x\r\n", "outside of VCALENDAR"},
		{"no VCALENDAR", "VCALENDAR", "VCARD", "not VCALENDAR"},
		{"misplaced", "BEGIN:VALARM", "BEGIN:VEVENT", "may not stand in VEVENT"},
		{"no UID, 5545 3.6.1", "UID:a1\r\n", "", "has 0 UID"},
		{"empty UID", "UID:a1", "UID:", "UID is empty"},
		{"same UID", "UID:b2", "UID:a1", "is that of line 23 too"},
		{"no DTSTAMP, 5545 3.6.1", "UID:b2\r\nDTSTAMP:20260101T120000Z", "UID:b2", "has 0 DTSTAMP"},
		{"local DTSTAMP, 5545 3.8.7.2", "UID:b2\r\nDTSTAMP:20260101T120000Z", "UID:b2\r\nDTSTAMP:20260101T120000", "not a UTC time"},
		{"fraction of a second", "UID:b2\r\nDTSTAMP:20260101T120000Z", "UID:b2\r\nDTSTAMP:20260101T120000.5Z", "not a UTC time"},
		{"DTSTAMP is now, 5545 3.8.7.2", "LAST-MODIFIED:20260101T120000Z", "LAST-MODIFIED:20260101T120001Z", "not LAST-MODIFIED"},
		{"no DTSTART", "DTSTART;VALUE=DATE:20260302\r\n", "", "has 0 DTSTART"},
		{"no such date", "DATE:20260302", "DATE:20260230", "no plain date"},
		{"zone on a date, 5545 3.2.19", "DTEND;VALUE=DATE:", "DTEND;TZID=America/New_York;VALUE=DATE:", "no plain date"},
		{"types differ, 5545 3.8.2.2", "DTEND;VALUE=DATE:20260303", "DTEND;TZID=America/New_York:20260303T100000", "not of DTSTART's value type"},
		{"other value type", "DTEND;VALUE=DATE:20260303", "DTEND;VALUE=PERIOD:20260303", "unknown value type"},
		{"ends at once, 5545 3.8.2.2", "DATE:20260303", "DATE:20260302", "not after DTSTART"},
		{"ends before", "20260309T100000", "20260309T080000", "not after DTSTART"},
		{"ends before, by offset", "DTEND;TZID=America/New_York:20260309T100000", "DTEND:20260309T130000Z", "not after DTSTART"},
		{"both ends, 5545 3.6.1", "SEQUENCE:0", "DURATION:P1D", "DURATION beside DTEND"},
		{"negative length", "DTEND;VALUE=DATE:20260303", "DURATION:-P1D", "is negative"},
		{"undeclared zone, 5545 3.2.19", "DTSTART;TZID=America/New_York", "DTSTART;TZID=America/Toronto", "no VTIMEZONE declares"},
		{"floats, house", "DTSTART;TZID=America/New_York:", "DTSTART:", "floats"},
		{"zone on UTC, 5545 3.2.19", "20260309T100000", "20260309T100000Z", "no UTC time without a zone"},
		{"skipped time, house", "20260309T090000", "20260308T023000", "does not exist in its time zone"},
		{"before the zone's first", "DTSTART;TZID=America/New_York:2026", "DTSTART;TZID=America/New_York:2024", "before what that declares"},
		{"no time", "20260309T090000", "20260309T09", "neither a date nor a time"},
		{"zone without TZID, 5545 3.6.5", "TZID:America/New_York\r\n", "", "has 0 TZID"},
		{"empty zone", "END:DAYLIGHT\r\nEND:VTIMEZONE", "END:DAYLIGHT\r\nEND:VTIMEZONE\r\nBEGIN:VTIMEZONE\r\nTZID:x\r\nEND:VTIMEZONE", "without STANDARD"},
		{"zone twice", "END:DAYLIGHT\r\nEND:VTIMEZONE", "END:DAYLIGHT\r\nEND:VTIMEZONE\r\nBEGIN:VTIMEZONE\r\nTZID:America/New_York\r\nEND:VTIMEZONE", "declared twice"},
		{"no offset", "TZOFFSETTO:-0500\r\n", "", "has 0 TZOFFSETTO"},
		{"offset +0560, 5545 3.3.14", "TZOFFSETTO:-0500", "TZOFFSETTO:-0560", "no UTC offset"},
		{"offset -0000, 5545 3.3.14", "TZOFFSETTO:-0500", "TZOFFSETTO:-0000", "no UTC offset"},
		{"offsets do not meet", "DTSTART:20260308T020000\r\nTZOFFSETFROM:-0500", "DTSTART:20260308T020000\r\nTZOFFSETFROM:-0600", "not from the offset of the one before"},
		{"UTC onset, 5545 3.6.5", "DTSTART:20260308T020000", "DTSTART:20260308T020000Z", "not a plain local time"},
		{"SEQUENCE", "SEQUENCE:0", "SEQUENCE:-1", "is not a number"},
		{"SEQUENCE twice", "SEQUENCE:0", "SEQUENCE:0\r\nSEQUENCE:0", "has 2 SEQUENCE"},
		{"PRIORITY, 5545 3.8.1.9", "SEQUENCE:0", "PRIORITY:10", "is not 0 to 9"},
		{"STATUS, 5545 3.8.1.11", "STATUS:CONFIRMED", "STATUS:DONE", "no status"},
		{"TRANSP, 5545 3.8.2.7", "TRANSP:TRANSPARENT", "TRANSP:YES", "neither OPAQUE"},
		{"GEO, 5545 3.8.1.6", "GEO:40.100000;", "GEO:140.100000;", "no latitude"},
		{"GEO NaN", "GEO:40.100000;", "GEO:NaN;", "no latitude"},
		{"bare semicolon, 5545 3.3.11", `3B\;`, `3B;`, "bare semicolon"},
		{"bare comma, 5545 3.3.11", `run\,`, `run,`, "bare comma"},
		{"other escape, 5545 3.3.11", `run\,`, `run\t`, "backslash"},
		{"backslash at the end", "the ladder", `the ladder\`, "backslash"},
		{"alarm without TRIGGER, 5545 3.6.6", "TRIGGER:-PT1H\r\n", "", "has 0 TRIGGER"},
		{"alarm trigger", "TRIGGER:-PT1H", "TRIGGER:-1H", "no duration"},
		{"alarm trigger at a local time", "TRIGGER:-PT1H", "TRIGGER;VALUE=DATE-TIME:20260101T120000", "not a UTC time"},
		{"alarm without DESCRIPTION, 5545 3.6.6", "DESCRIPTION:Soon\r\n", "", "has 0 DESCRIPTION"},
		{"alarm by mail, house", "ACTION:DISPLAY", "ACTION:EMAIL", "is not DISPLAY"},
		{"alarm repeats without DURATION", "DESCRIPTION:Soon", "DESCRIPTION:Soon\r\nREPEAT:3", "only one of DURATION and REPEAT"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			text := crlf(sound)
			if !strings.Contains(text, tc.old) {
				t.Fatalf("the sound calendar has no %q", tc.old)
			}
			problems := strict.Check([]byte(strings.Replace(text, tc.old, tc.new, 1)))
			if !slices.ContainsFunc(problems, func(p strict.Problem) bool { return strings.Contains(p.String(), tc.want) }) {
				t.Errorf("want a problem with %q, got %v", tc.want, problems)
			}
		})
	}
}

func TestEmptyCalendars(t *testing.T) {
	if p := strict.Check(nil); len(p) != 1 {
		t.Errorf("no octets at all: %v", p)
	}
	// RFC 5545 section 3.6 wants at least one component.
	p := strict.Check([]byte("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n"))
	if len(p) != 1 || !strings.Contains(p[0].Text, "without a component") {
		t.Errorf("a calendar without a component: %v", p)
	}
}

func TestProblemsNameTheLine(t *testing.T) {
	problems := strict.Check([]byte(crlf(strings.Replace(sound, "SEQUENCE:0", "SEQUENCE:none", 1))))
	if len(problems) != 1 || problems[0].Line != 28 { // counted by hand
		t.Errorf("want one problem in line 28, got %v", problems)
	}
}

func FuzzCheck(f *testing.F) {
	f.Add([]byte(crlf(sound)))
	f.Add([]byte("BEGIN:VEVENT\r\nX;A=b"))
	f.Fuzz(func(t *testing.T, data []byte) { strict.Check(data) }) // must not panic
}
