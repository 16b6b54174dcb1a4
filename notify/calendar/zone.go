package calendar

import (
	"fmt"
	"time"

	"ventdue/vent"
)

// shownTwice reports whether the clocks of t's location show its local time
// twice, because they are put back between the one and the other.
func shownTwice(t time.Time) bool {
	_, offset := t.Zone()
	start, end := t.ZoneBounds()
	if !start.IsZero() {
		_, before := start.Add(-time.Second).Zone()
		if t.Sub(start) < time.Duration(before-offset)*time.Second {
			return true
		}
	}
	if end.IsZero() {
		return false
	}
	_, after := end.Zone()
	return end.Sub(t) <= time.Duration(offset-after)*time.Second
}

// loadZone finds a zone of the IANA database. Unlike [time.LoadLocation] it
// refuses "" and "Local", which mean another zone on another machine.
func loadZone(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, fmt.Errorf("time zone %q: give a name of the IANA database, such as America/New_York", name)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("time zone %q is not in the IANA database, which has names such as America/New_York", name)
	}
	return loc, nil
}

// observance is a stretch of time during which a zone keeps one offset.
type observance struct {
	onset    time.Time // local time of the change, as the old offset shows it, written as UTC
	from, to int       // offset before and after the change, seconds east of UTC
	name     string    // abbreviation: EST, EDT, -03
	daylight bool
}

// observances lists what a zone does between two moments, beginning with what
// is in force at the first of them.
func observances(loc *time.Location, from, to time.Time) []observance {
	var list []observance
	at := from.In(loc)
	for {
		start, end := at.ZoneBounds()
		name, offset := at.Zone()
		o := observance{from: offset, to: offset, name: name, daylight: at.IsDST()}
		if start.Year() < 1970 {
			// In force since before anything in a calendar: the usual "always".
			o.onset = time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
		} else {
			_, o.from = start.Add(-time.Second).Zone()
			o.onset = start.UTC().Add(time.Duration(o.from) * time.Second)
		}
		list = append(list, o)
		if end.IsZero() || !end.Before(to) {
			return list
		}
		at = end
	}
}

// writeZone writes a VTIMEZONE with the zone's changes from the start of the
// year before from's to the end of the year after to's. Whole years keep it the
// same while events come and go; each change is a component of its own with a
// plain DTSTART, since readers are known that take one date of an RDATE list.
func (w *writer) writeZone(name string, loc *time.Location, from, to vent.Date) {
	w.line("BEGIN", "VTIMEZONE")
	w.text("TZID", name)
	begin := time.Date(from.Year()-1, 1, 1, 0, 0, 0, 0, time.UTC)
	end := time.Date(to.Year()+2, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, o := range observances(loc, begin, end) {
		kind := "STANDARD"
		if o.daylight {
			kind = "DAYLIGHT"
		}
		w.line("BEGIN", kind)
		w.begin("DTSTART")
		w.value()
		w.dateTime(o.onset)
		w.end()
		w.line("TZOFFSETFROM", offset(o.from))
		w.line("TZOFFSETTO", offset(o.to))
		w.text("TZNAME", o.name)
		w.line("END", kind)
	}
	w.line("END", "VTIMEZONE")
}
