// Package calendar writes and reads iCalendar files (RFC 5545, RFC 7986), as
// real calendar programs want them: concrete events without recurrence rules,
// local times with the time zone's own transitions beside them, stable bytes.
// It knows nothing of what the events are about.
//
// # Writing
//
// [Render] is a pure function: the same [Calendar] (and the same time zone
// database) gives the same bytes. It never asks for the present time: DTSTAMP
// is the event's last revision, which RFC 5545 section 3.8.7.2 prescribes for a
// calendar without METHOD, so that an unchanged calendar stays unchanged to the
// last byte and may be served with one ETag.
//
// It appends properties by hand rather than through emersion/go-ical, which is
// a dependency all the same, as the reader. That library's encoder (2025-03-29)
// does not fold lines, writes no VTIMEZONE, lets control characters and invalid
// UTF-8 through, refuses a calendar without components and leaves VALUE=DURATION
// off REFRESH-INTERVAL; all of that would have to be done around it, and its
// property maps cost some twenty times the time of appending. BenchmarkRender
// shows our own cost beside a bare floor.
//
// # Reading
//
// [Decode] is go-ical's decoder behind limits, because by itself it panics on
// some broken lines, overflows the stack on deep nesting and takes quadratic
// time on long parameters.
//
// # Time zones
//
// Zones are names of the IANA database, found through [time.LoadLocation]. A
// program that must run where no such database is installed imports
// time/tzdata.
package calendar
