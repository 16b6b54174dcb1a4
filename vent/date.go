package vent

import (
	"fmt"
	"time"
)

// Date is a civil day: no time of day, no zone. The zero Date means "no date".
//
// It counts days from the day before 1 January of year 1, so that dates order and subtract as integers; it is
// valid from 0001-01-01 to 9999-12-31.
type Date int32

// unixEpoch is 1970-01-01 as a Date.
const unixEpoch = 719163

// lastDate is 9999-12-31, the last day that ISO 8601 writes with four digits.
const lastDate Date = 3652059

// NewDate gives the day y-m-d. A day past the end of its month is clamped to the month's last day, never
// carried into the next month; a month outside 1..12 is carried into the year.
func NewDate(y int, m time.Month, d int) Date {
	first := time.Date(y, m, 1, 0, 0, 0, 0, time.UTC)
	if last := daysIn(first.Year(), first.Month()); d > last {
		d = last
	}
	if d < 1 {
		d = 1
	}
	return DateOf(first.AddDate(0, 0, d-1))
}

// DateOf gives the day that t's wall clock shows, in t's own location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()/86400 + unixEpoch)
}

// ParseDate reads an ISO 8601 calendar date, 2026-11-25. Other forms are refused, because 03/04/2026 is two
// different days for two different readers.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse("2006-01-02", s)
	if err != nil || len(s) != 10 || t.Year() < 1 {
		return 0, fmt.Errorf("date %q is not a calendar date: write it as YYYY-MM-DD, for example 2026-11-25", s)
	}
	return DateOf(t), nil
}

func (d Date) time() time.Time { return time.Unix((int64(d)-unixEpoch)*86400, 0).UTC() }

// Valid reports whether d is a day that can be written in four-digit ISO form.
func (d Date) Valid() bool { return d > 0 && d <= lastDate }

// IsZero reports whether d is "no date".
func (d Date) IsZero() bool { return d == 0 }

// Split gives year, month and day of the month.
func (d Date) Split() (int, time.Month, int) { return d.time().Date() }

// Year gives the year.
func (d Date) Year() int { return d.time().Year() }

// Month gives the month.
func (d Date) Month() time.Month { return d.time().Month() }

// Day gives the day of the month, from 1.
func (d Date) Day() int { return d.time().Day() }

// Weekday gives the day of the week.
func (d Date) Weekday() time.Weekday { return d.time().Weekday() }

// AddDays gives the day n days later (earlier when n is negative). "No date" stays "no date"; the result is
// held inside the valid range.
func (d Date) AddDays(n int) Date {
	if d == 0 {
		return 0
	}
	return clampDate(int64(d) + int64(n))
}

// AddMonths gives the same day of the month n months later, clamped to that month's end.
// A series that must return to its own day (31 January, 28 February, 31 March; 29 February in leap years)
// has to be counted from its anchor: use Nth, not AddMonths on the result of AddMonths.
func (d Date) AddMonths(n int) Date {
	if d == 0 {
		return 0
	}
	y, m, day := d.Split()
	months := int64(y)*12 + int64(m) - 1 + int64(n)
	switch {
	case months < 12:
		return 1
	case months >= 12*10000:
		return lastDate
	}
	return NewDate(int(months/12), time.Month(months%12+1), day)
}

// Nth gives the n-th day of a series that repeats every `every` months and started on d, which keeps d's day of
// the month as its anchor: Nth(1, 1) of 31 January is 28 or 29 February, Nth(2, 1) is 31 March.
func (d Date) Nth(n, every int) Date { return d.AddMonths(n * every) }

// DaysUntil gives the number of days from d to e, negative when e is earlier.
func (d Date) DaysUntil(e Date) int { return int(e) - int(d) }

// String gives the ISO form, 2026-11-25, and "" for no date.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.time().Format("2006-01-02")
}

// MarshalText gives the ISO form, so that a Date reads naturally in JSON.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads the ISO form; empty text is no date.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := ParseDate(string(b))
	*d = v
	return err
}

// At gives the instant at which a clock in loc shows minute `minutes` after midnight of d, as RFC 5545
// section 3.3.5 reads a local time: a time that the clock skips is taken with the offset before the
// gap, a time that it shows twice is the first of the two.
func (d Date) At(minutes int, loc *time.Location) time.Time {
	wall := d.time().Add(time.Duration(minutes) * time.Minute)
	// With the offset that holds well before and after the wanted instant, the two candidate readings.
	early := offsetAt(wall.Add(-26*time.Hour), loc)
	late := offsetAt(wall.Add(26*time.Hour), loc)
	first := wall.Add(-time.Duration(early) * time.Second)
	if shows(first, wall, loc) {
		return first.In(loc)
	}
	second := wall.Add(-time.Duration(late) * time.Second)
	if shows(second, wall, loc) {
		return second.In(loc)
	}
	return first.In(loc) // in the gap: the offset before it
}

// offsetAt gives loc's offset from UTC, in seconds, at the instant that `wall` would be if it were UTC.
func offsetAt(wall time.Time, loc *time.Location) int {
	_, off := wall.In(loc).Zone()
	return off
}

// shows reports whether a clock in loc shows the wall reading (kept as UTC fields) at instant t.
func shows(t, wall time.Time, loc *time.Location) bool {
	l := t.In(loc)
	_, off := l.Zone()
	return t.Add(time.Duration(off) * time.Second).Equal(wall)
}

func daysIn(y int, m time.Month) int { return time.Date(y, m+1, 0, 0, 0, 0, 0, time.UTC).Day() }

func clampDate(n int64) Date {
	switch {
	case n < 1:
		return 1
	case n > int64(lastDate):
		return lastDate
	}
	return Date(n)
}
