package intake

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"ventdue/vent"
)

// readDate reads an ISO date. Any other form is refused with the ISO forms that it might stand for, since
// 03/04/2026 is two days.
func readDate(s string) (vent.Date, error) {
	if d, ok := isoDate(s); ok {
		return d, nil
	}
	readings := likely(s)
	remedy := "write it as YYYY-MM-DD, for example 2026-11-25"
	if len(readings) > 0 {
		remedy = "write " + strings.Join(readings, " or ")
		if len(readings) > 1 {
			remedy += ", whichever is meant"
		}
	}
	return 0, &wrong{"is not a date of the form YYYY-MM-DD", remedy}
}

// isoDate reads YYYY-MM-DD; the common case, so without time.Parse.
func isoDate(s string) (vent.Date, bool) {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' {
		return 0, false
	}
	n := [3]int{}
	for i, part := range [3]string{s[:4], s[5:7], s[8:]} {
		for _, c := range []byte(part) {
			if c < '0' || c > '9' {
				return 0, false
			}
			n[i] = n[i]*10 + int(c-'0')
		}
	}
	d := vent.NewDate(n[0], time.Month(n[1]), n[2])
	if n[0] < 1 || n[1] < 1 || n[1] > 12 || n[2] < 1 {
		return 0, false
	}
	if y, m, day := d.Split(); y != n[0] || int(m) != n[1] || day != n[2] {
		return 0, false // NewDate clamps 31 June
	}
	return d, true
}

// forms are ways in which people write days; which of 1/2 and 2/1 is meant is not for us to say.
var forms = []string{
	"1/2/2006", "2/1/2006", "1/2/06", "2/1/06", "2.1.2006", "2.1.06", "1-2-2006", "2-1-2006", "2006/1/2", "2006.1.2",
	"2006-1-2", "20060102", "Jan 2 2006", "Jan 2, 2006", "January 2 2006", "January 2, 2006", "2 Jan 2006", "2 January 2006",
	"2-Jan-2006", "2-Jan-06", "02Jan2006", "2006-01-02 15:04:05", "2006-01-02T15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05Z07:00",
	"1/2/2006 15:04", "2/1/2006 15:04", "1/2/2006 15:04:05", "2/1/2006 15:04:05", "1/2/2006 3:04 PM", "1/2/2006 3:04:05 PM",
}

// likely gives the ISO dates that a text may stand for, each once.
func likely(s string) []string {
	if len(s) > 40 {
		return nil
	}
	var all []string
	add := func(t time.Time) {
		if iso := t.Format("2006-01-02"); t.Year() >= 1950 && t.Year() < 2200 && !slices.Contains(all, iso) {
			all = append(all, iso)
		}
	}
	for _, f := range forms {
		if t, err := time.Parse(f, s); err == nil {
			add(t)
		}
	}
	if n, err := strconv.Atoi(s); err == nil && len(all) == 0 && n > 18264 && n < 109575 {
		add(serialDay(n)) // a spreadsheet's day count that lost its date format: 1950 to 2199
	}
	return all
}

// serialDay gives the day of a spreadsheet's serial number: day 60 is the 29 February 1900 that never was, so from
// day 61 on the count runs from 30 December 1899 (ECMA-376 part 1, 18.17.4.1).
func serialDay(n int) time.Time {
	return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n)
}
