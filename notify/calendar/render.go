package calendar

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ventdue/vent"
)

// MaxEvents and MaxBytes are how much [Render] puts into one calendar: hosted
// calendar services are known to refuse files of a megabyte and more.
const (
	MaxEvents = 1000
	MaxBytes  = 900_000
)

const productID = "-//Ventdue//Ventdue calendar//EN"

// Rendered is a calendar as it is served.
type Rendered struct {
	Body    []byte // text/calendar in UTF-8
	Kept    int    // events in Body
	LeftOut int    // events that did not fit, those farthest from the anchor
}

// Render writes a calendar. Events stand in the order of their start, then of
// their UID, whatever their order in c.Events, which is left as it is.
//
// It returns an error that names every fault of every event, and nothing else,
// when a UID is missing, doubled or unfit, an event ends before it starts, a
// zone is unknown, or another field is out of the range that [Event] states;
// also when not even one of the events fits.
func Render(c Calendar) (Rendered, error) {
	zones := zoneCache{}
	if err := c.check(zones); err != nil {
		return Rendered{}, err
	}
	events := order(c.Events, zones)
	kept := nearest(events, c.Anchor, MaxEvents)

	size := 8 << 10 // head and zones
	for i := range kept {
		size += 640 + len(kept[i].Description)
	}
	w := &writer{buf: make([]byte, 0, size)}
	c.writeHead(w, kept, zones)
	kept, err := fitting(w, kept, c.Anchor, MaxBytes-len(footer))
	if err != nil {
		return Rendered{}, err
	}
	w.raw(footer)
	return Rendered{Body: w.buf, Kept: len(kept), LeftOut: len(events) - len(kept)}, nil
}

const footer = "END:VCALENDAR\r\n"

// zoneCache keeps the zones that one rendering needs: finding one reads a file.
type zoneCache map[string]*time.Location

func (z zoneCache) load(name string) (*time.Location, error) {
	if loc, ok := z[name]; ok {
		return loc, nil
	}
	loc, err := loadZone(name)
	if err == nil {
		z[name] = loc
	}
	return loc, err
}

// check returns one error that names every fault.
func (c *Calendar) check(zones zoneCache) error {
	var f faults
	if c.Color != "" && strings.ContainsFunc(c.Color, func(r rune) bool { return r|0x20 < 'a' || r|0x20 > 'z' }) {
		f.add("color %q is not a CSS3 colour name such as teal", c.Color)
	}
	if c.Source != "" {
		if err := checkURL(c.Source); err != nil {
			f.add("source: %w", err)
		}
	}
	if c.Refresh != 0 && c.Refresh < time.Second {
		f.add("refresh %v is not a second or more", c.Refresh)
	}
	if c.Zone != "" {
		_, err := zones.load(c.Zone)
		f.addErr(err)
	}
	if !inRange(c.Anchor) {
		f.add("anchor %q is no date from %d to %d", c.Anchor, firstYear, lastYear)
	}
	seen := make(map[string]bool, len(c.Events))
	for i := range c.Events {
		e := &c.Events[i]
		before := len(f)
		e.check(&f, zones)
		if seen[e.UID] {
			f.add("an event before it has the same UID")
		}
		seen[e.UID] = true
		for k := before; k < len(f); k++ {
			f[k] = fmt.Errorf("event %d, UID %q: %w", i+1, e.UID, f[k])
		}
	}
	if err := errors.Join(f...); err != nil {
		return fmt.Errorf("render calendar %q: %w", c.Name, err)
	}
	return nil
}

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

// byNearness returns the indexes of events, those nearest to the anchor first,
// of two equally near the later.
func byNearness(events []placed, anchor vent.Date) []int {
	index := make([]int, len(events))
	for i := range index {
		index[i] = i
	}
	away := func(i int) int {
		d := anchor.DaysUntil(events[i].Start)
		return max(2*d, -2*d+1)
	}
	slices.SortStableFunc(index, func(a, b int) int { return away(a) - away(b) })
	return index
}

// nearest returns the n events nearest to the anchor, in their own order.
func nearest(events []placed, anchor vent.Date, n int) []placed {
	if len(events) <= n {
		return events
	}
	index := byNearness(events, anchor)[:n]
	slices.Sort(index)
	return pick(events, index)
}

func pick(events []placed, index []int) []placed {
	kept := make([]placed, len(index))
	for i, at := range index {
		kept[i] = events[at]
	}
	return kept
}

// fitting writes events until the buffer holds limit octets and returns those
// it wrote. If they do not all fit, each is tried from the anchor outwards, so
// that one with an endless text is left out alone.
func fitting(w *writer, events []placed, anchor vent.Date, limit int) ([]placed, error) {
	head := len(w.buf)
	sizes := make([]int, len(events))
	for i := range events {
		before := len(w.buf)
		events[i].write(w)
		sizes[i] = len(w.buf) - before
	}
	if len(w.buf) <= limit {
		return events, nil
	}
	room := limit - head
	var index []int
	for _, i := range byNearness(events, anchor) {
		if sizes[i] <= room {
			room -= sizes[i]
			index = append(index, i)
		}
	}
	if len(index) == 0 {
		return nil, fmt.Errorf("render calendar: none of %d events fits into %d octets: shorten their texts", len(events), MaxBytes)
	}
	slices.Sort(index)
	w.buf = w.buf[:head]
	kept := pick(events, index)
	for i := range kept {
		kept[i].write(w)
	}
	return kept, nil
}

// writeHead writes all that stands before the events.
func (c *Calendar) writeHead(w *writer, events []placed, zones zoneCache) {
	w.line("BEGIN", "VCALENDAR")
	w.line("VERSION", "2.0")
	w.line("PRODID", productID)
	w.line("CALSCALE", "GREGORIAN")
	// Each of these has an older unregistered twin that some readers know alone.
	w.text("NAME", c.Name)
	w.text("X-WR-CALNAME", c.Name)
	w.text("DESCRIPTION", c.Description)
	w.text("X-WR-CALDESC", c.Description)
	if c.Color != "" {
		w.line("COLOR", strings.ToLower(c.Color))
	}
	if c.Source != "" {
		w.line("SOURCE;VALUE=URI", c.Source)
	}
	if c.Refresh != 0 {
		w.line("REFRESH-INTERVAL;VALUE=DURATION", duration(c.Refresh))
		w.line("X-PUBLISHED-TTL", duration(c.Refresh))
	}
	c.writeZones(w, events, zones)
}

// writeZones declares the zones that events use, or the calendar's own if they
// use none.
func (c *Calendar) writeZones(w *writer, events []placed, zones zoneCache) {
	first, last := c.Anchor, c.Anchor // of a calendar without events
	used := map[string]*time.Location{}
	for i := range events {
		e := &events[i]
		if i == 0 || e.Start < first {
			first = e.Start
		}
		if end := vent.DateOf(e.end); i == 0 || end > last {
			last = end
		}
		if e.loc != nil {
			used[e.Zone] = e.loc
		}
	}
	if len(used) == 0 {
		name := c.Zone
		if name == "" {
			name = "UTC"
		}
		loc, _ := zones.load(name) // checked before, and UTC is always there
		used[name] = loc
	}
	names := make([]string, 0, len(used))
	for name := range used {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		w.writeZone(name, used[name], first, last)
	}
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
