package calendar

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"ventdue/vent"
)

// placed is an event with its place in time.
type placed struct {
	*Event
	loc        *time.Location // nil for an all-day event
	start, end time.Time      // of an all-day event: midnights in UTC
}

// order places events and sorts them by start, then UID.
func order(events []Event, zones zoneCache) []placed {
	list := make([]placed, len(events))
	for i := range events {
		e := &events[i]
		p := placed{Event: e, start: e.Start.At(0, time.UTC)}
		if e.AllDay {
			p.end = e.Start.AddDays(max(e.Days, 1)).At(0, time.UTC)
		} else {
			p.loc = zones[e.Zone]
			p.start = e.Start.At(e.Minute, p.loc)
			p.end = p.start.Add(e.Duration)
		}
		list[i] = p
	}
	slices.SortFunc(list, func(a, b placed) int {
		if d := a.start.Compare(b.start); d != 0 {
			return d
		}
		return strings.Compare(a.UID, b.UID)
	})
	return list
}

// write writes the event as a VEVENT.
func (e *placed) write(w *writer) {
	w.line("BEGIN", "VEVENT")
	w.text("UID", e.UID)
	w.utc("DTSTAMP", e.Modified)
	if e.AllDay {
		e.writeDay(w, "DTSTART", e.Start)
		e.writeDay(w, "DTEND", vent.DateOf(e.end))
	} else {
		e.writeMoment(w, "DTSTART", e.start)
		e.writeMoment(w, "DTEND", e.end)
	}
	if !e.Created.IsZero() {
		w.utc("CREATED", e.Created)
	}
	w.utc("LAST-MODIFIED", e.Modified)
	w.integer("SEQUENCE", e.Sequence)
	w.line("STATUS", e.Status.String())
	if e.Transparent {
		w.line("TRANSP", "TRANSPARENT")
	} else {
		w.line("TRANSP", "OPAQUE")
	}
	w.text("SUMMARY", e.Summary)
	w.text("DESCRIPTION", e.Description)
	w.text("LOCATION", e.Location)
	if e.Geo != nil {
		e.Geo.write(w)
	}
	if e.URL != "" {
		w.line("URL", e.URL)
	}
	if e.Priority != 0 {
		w.integer("PRIORITY", e.Priority)
	}
	e.writeCategories(w)
	for _, uid := range e.Related {
		w.text("RELATED-TO", uid)
	}
	for _, a := range e.Alarms {
		e.writeAlarm(w, a)
	}
	w.line("END", "VEVENT")
	if e.Task {
		e.writeTask(w)
	}
}

// taskMark tells a task's UID from its event's.
const taskMark = "-task"

// writeTask writes the event as a task (RFC 5545 section 3.6.2). It is there as long as it is to be done.
func (e *placed) writeTask(w *writer) {
	w.line("BEGIN", "VTODO")
	w.text("UID", e.UID+taskMark)
	w.utc("DTSTAMP", e.Modified)
	e.writeDay(w, "DUE", e.Start)
	if !e.Created.IsZero() {
		w.utc("CREATED", e.Created)
	}
	w.utc("LAST-MODIFIED", e.Modified)
	w.integer("SEQUENCE", e.Sequence)
	w.line("STATUS", "NEEDS-ACTION")
	w.text("SUMMARY", e.Summary)
	w.text("DESCRIPTION", e.Description)
	w.text("LOCATION", e.Location)
	if e.URL != "" {
		w.line("URL", e.URL)
	}
	if e.Priority != 0 {
		w.integer("PRIORITY", e.Priority)
	}
	w.text("RELATED-TO", e.UID)
	w.line("END", "VTODO")
}

func (e *placed) writeDay(w *writer, name string, d vent.Date) {
	w.begin(name)
	w.raw(";VALUE=DATE:")
	w.date(d.Split())
	w.end()
}

// writeMoment writes t as the event's zone shows it, unless the clocks show that
// time twice. Then it is written in UTC: RFC 5545 section 3.3.5 means the first
// by such a time, but readers take the second.
func (e *placed) writeMoment(w *writer, name string, t time.Time) {
	t = t.In(e.loc)
	if shownTwice(t) {
		w.utc(name, t)
		return
	}
	w.begin(name)
	w.param("TZID", e.Zone)
	w.value()
	w.dateTime(t)
	w.end()
}

func (g *Geo) write(w *writer) {
	w.begin("GEO")
	w.value()
	w.buf = strconv.AppendFloat(w.buf, g.Lat, 'f', 6, 64) // a tenth of a metre
	w.raw(";")
	w.buf = strconv.AppendFloat(w.buf, g.Lon, 'f', 6, 64)
	w.end()
}

func (e *placed) writeCategories(w *writer) {
	written := false
	for _, c := range e.Categories {
		if c == "" {
			continue
		}
		if written {
			w.raw(",")
		} else {
			w.begin("CATEGORIES")
			w.value()
			written = true
		}
		w.escaped(c)
	}
	if written {
		w.end()
	}
}

func (e *placed) writeAlarm(w *writer, a Alarm) {
	text := a.Text
	if text == "" {
		text = e.Summary
	}
	w.line("BEGIN", "VALARM")
	w.line("ACTION", "DISPLAY")
	w.line("TRIGGER", duration(a.Offset))
	w.begin("DESCRIPTION") // required, even if there is nothing to say
	w.value()
	w.escaped(text)
	w.end()
	w.line("END", "VALARM")
}
