package calendar

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
)

func holidays(lines ...string) string {
	return strings.Join(append(append([]string{"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:test"}, lines...), "END:VCALENDAR", ""), "\r\n")
}

// The days are those that the calendars say, by hand: the fourth Thursday of November is 26 November 2026 and 25 November
// 2027; a stretch of all-day event ends before its DTEND (RFC 5545 section 3.6.1).
func TestDays(t *testing.T) {
	got, err := Days(strings.NewReader(holidays(
		"BEGIN:VEVENT", "UID:1", "DTSTAMP:20260101T000000Z", "SUMMARY:Harvest day", "DTSTART;VALUE=DATE:20201126", "RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=4TH", "END:VEVENT",
		"BEGIN:VEVENT", "UID:2", "DTSTAMP:20260101T000000Z", "SUMMARY:Winter break", "DTSTART;VALUE=DATE:20261224", "DTEND;VALUE=DATE:20261227", "END:VEVENT",
		"BEGIN:VEVENT", "UID:3", "DTSTAMP:20260101T000000Z", "SUMMARY:Called off", "STATUS:CANCELLED", "DTSTART;VALUE=DATE:20261201", "END:VEVENT",
		"BEGIN:VEVENT", "UID:4", "DTSTAMP:20260101T000000Z", "SUMMARY:An evening", "DTSTART:20261231T200000", "DTEND:20270101T020000", "END:VEVENT",
	)), vent.NewDate(2026, 11, 1), vent.NewDate(2028, 1, 1))
	if err != nil {
		t.Fatal(err)
	}
	var want []vent.Date
	for _, s := range []string{"2026-11-26", "2026-12-24", "2026-12-25", "2026-12-26", "2026-12-31", "2027-01-01", "2027-11-25"} {
		d, err := vent.ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, d)
	}
	if !slices.Equal(got, want) {
		t.Errorf("days %v, want %v", got, want)
	}
}

func TestDaysRefusesWhatNamesNoDays(t *testing.T) {
	from, to := vent.NewDate(2026, 1, 1), vent.NewDate(2036, 1, 1)
	for name, lines := range map[string][]string{
		"every second": {"BEGIN:VEVENT", "UID:1", "DTSTAMP:20260101T000000Z", "DTSTART:20260101T000000Z", "RRULE:FREQ=SECONDLY", "END:VEVENT"},
		"no start":     {"BEGIN:VEVENT", "UID:1", "DTSTAMP:20260101T000000Z", "END:VEVENT"},
		"ten years":    {"BEGIN:VEVENT", "UID:1", "DTSTAMP:20260101T000000Z", "DTSTART;VALUE=DATE:20260101", "DTEND;VALUE=DATE:20360101", "END:VEVENT"},
	} {
		if days, err := Days(strings.NewReader(holidays(lines...)), from, to); err == nil {
			t.Errorf("%s: %d days and no error", name, len(days))
		}
	}
	var many []string
	for range 4 {
		many = append(many, "BEGIN:VEVENT", "UID:1", "DTSTAMP:20260101T000000Z", "DTSTART;VALUE=DATE:20260101", "RRULE:FREQ=DAILY", "END:VEVENT")
	}
	if _, err := Days(strings.NewReader(holidays(many...)), from, to); !errors.Is(err, ErrTooLarge) {
		t.Errorf("four times every day of ten years: %v", err)
	}
}
