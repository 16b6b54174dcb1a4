package calendar

import (
	"errors"
	"fmt"
	"math"
	"net/url"
	"strings"
	"time"

	"ventdue/vent"
)

// Calendar is what one address serves.
type Calendar struct {
	Name        string // shown as the calendar's title; may be empty
	Description string // may be empty
	Color       string // a CSS3 colour name such as "teal" (RFC 7986 section 5.9), or empty
	Source      string // the https address it is read from, or empty

	// Refresh is how often readers are asked to come back; 0 asks for nothing.
	Refresh time.Duration

	// Zone is declared when no event uses a zone, so that a calendar without
	// events is still a valid one. Empty means UTC.
	Zone string

	// Anchor is the day that matters most, usually the one on which the events
	// were chosen: if not all of them fit, those nearest to it are kept.
	Anchor vent.Date

	Events []Event // in any order
}

// Event is one entry. Texts may hold anything; what a calendar cannot carry
// (control characters, invalid UTF-8) is left out of what is written.
type Event struct {
	UID      string    // stays for life; unique in the calendar; no control characters; at most 255 octets
	Sequence int       // revision, from 0
	Created  time.Time // may be zero
	Modified time.Time // last revision; written as LAST-MODIFIED and DTSTAMP

	Summary     string
	Description string
	Location    string
	Geo         *Geo     // nil if unknown
	URL         string   // absolute; may be empty
	Categories  []string // empty ones are left out
	Related     []string // UIDs of other events
	Priority    int      // 1 highest to 9 lowest, 0 not given
	Status      Status
	Transparent bool // does not block time

	Start vent.Date // first day; for a timed event the local day in Zone

	// AllDay events last Days days, of which 0 means one.
	AllDay bool
	Days   int

	// Other events begin Minute minutes after local midnight (0 to 1439) in
	// Zone, a name of the IANA database, and last Duration, which is positive.
	Minute   int
	Zone     string
	Duration time.Duration

	Alarms []Alarm // only where the subscriber asked for them

	// Task writes an all-day event once more as a task (VTODO) that is due on its day, for programs that keep lists of them. Its
	// UID is the event's with "-task" behind it.
	Task bool
}

// Geo is a place in degrees: latitude -90 to 90, longitude -180 to 180.
type Geo struct{ Lat, Lon float64 }

// Alarm shows a text on the reader's screen.
type Alarm struct {
	Offset time.Duration // from the event's start; negative is before it
	Text   string        // empty means the event's summary
}

// Status says whether an event takes place.
type Status uint8

// The statuses of an event (RFC 5545 section 3.8.1.11).
const (
	Confirmed Status = iota
	Tentative
	Cancelled
)

// String returns the value that the STATUS property has.
func (s Status) String() string {
	switch s {
	case Confirmed:
		return "CONFIRMED"
	case Tentative:
		return "TENTATIVE"
	case Cancelled:
		return "CANCELLED"
	}
	return fmt.Sprintf("Status(%d)", uint8(s))
}

// maxUID is the longest UID readers must keep (RFC 7986 section 5.3).
const maxUID = 255

// faults collects what is wrong with a calendar.
type faults []error

func (f *faults) add(format string, args ...any) { *f = append(*f, fmt.Errorf(format, args...)) }

// addErr adds err if it is one.
func (f *faults) addErr(err error) {
	if err != nil {
		*f = append(*f, err)
	}
}

// check adds everything that is wrong with the event by itself.
func (e *Event) check(f *faults, zones zoneCache) {
	f.addErr(checkUID(e.UID))
	for _, uid := range e.Related {
		if err := checkUID(uid); err != nil {
			f.add("related: %w", err)
		}
	}
	if e.Sequence < 0 {
		f.add("sequence %d is negative", e.Sequence)
	}
	if !validMoment(e.Modified) {
		f.add("modified %v: give the time of the last revision", e.Modified)
	}
	if !e.Created.IsZero() && !validMoment(e.Created) {
		f.add("created %v: give the time it was made, or none", e.Created)
	}
	if e.Priority < 0 || e.Priority > 9 {
		f.add("priority %d is not 0 to 9", e.Priority)
	}
	if e.Status > Cancelled {
		f.add("%v is no status", e.Status)
	}
	if g := e.Geo; g != nil && !(math.Abs(g.Lat) <= 90 && math.Abs(g.Lon) <= 180) { // also NaN
		f.add("geo %v, %v is no latitude and longitude in degrees", g.Lat, g.Lon)
	}
	if e.URL != "" {
		f.addErr(checkURL(e.URL))
	}
	e.checkTimes(f, zones)
}

// maxSpan is the longest an event may last.
const maxSpan = 366 * 24 * time.Hour

// checkTimes adds what is wrong with the event's beginning and end.
func (e *Event) checkTimes(f *faults, zones zoneCache) {
	if !inRange(e.Start) {
		f.add("start %q is no date from %d to %d", e.Start, firstYear, lastYear)
	}
	if e.Task && (!e.AllDay || len(e.UID)+len(taskMark) > maxUID) {
		f.add("a task is an all-day event with a UID of at most %d octets", maxUID-len(taskMark))
	}
	if e.AllDay {
		if e.Days < 0 {
			f.add("ends before it starts: %d days", e.Days)
		} else if e.Days > int(maxSpan.Hours()/24) {
			f.add("lasts %d days, more than a year", e.Days)
		}
		return
	}
	if e.Minute < 0 || e.Minute >= 24*60 {
		f.add("minute %d of the day is not 0 to 1439", e.Minute)
	}
	if e.Duration < time.Second {
		f.add("ends before it starts or at once: lasts %v", e.Duration)
	} else if e.Duration > maxSpan {
		f.add("lasts %v, more than a year", e.Duration)
	}
	_, err := zones.load(e.Zone)
	f.addErr(err)
}

// firstYear and lastYear bound the days a calendar may hold. Outside of them a
// date is a slip of somebody's pen, and the list of time zone changes between
// two such dates would be longer than the calendar itself.
const (
	firstYear = 1980
	lastYear  = 2199
)

func inRange(d vent.Date) bool {
	return d.Valid() && d.Year() >= firstYear && d.Year() <= lastYear
}

// validMoment reports whether t can be written with four digits of the year.
func validMoment(t time.Time) bool {
	y := t.UTC().Year()
	return !t.IsZero() && y >= 1970 && y <= 9999
}

func checkUID(uid string) error {
	switch {
	case strings.TrimSpace(uid) == "":
		return errors.New("UID is empty: give each event one for life")
	case len(uid) > maxUID:
		return fmt.Errorf("UID is %d octets long, at most %d are safe", len(uid), maxUID)
	case clean(uid) != uid, strings.Contains(uid, "\n"):
		return errors.New("UID has control characters or invalid UTF-8: use letters, digits and hyphens")
	}
	return nil
}

// checkURL accepts an absolute address that can stand in a calendar as it is.
func checkURL(s string) error {
	u, err := url.Parse(s)
	if err != nil || u.Scheme == "" || (u.Host == "" && u.Opaque == "") ||
		strings.ContainsFunc(s, func(r rune) bool { return r <= ' ' || r >= 0x7f || strings.ContainsRune("\"<>\\^`{|}", r) }) {
		return fmt.Errorf("address %q is not an absolute URL in ASCII: use the form https://host/path, percent-encoded", s)
	}
	return nil
}
