package calendar

import (
	"errors"
	"fmt"
	"slices"
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
		if seen[e.UID] || e.Task && seen[e.UID+taskMark] {
			f.add("an event before it has the same UID")
		}
		seen[e.UID] = true
		if e.Task {
			seen[e.UID+taskMark] = true
		}
		for k := before; k < len(f); k++ {
			f[k] = fmt.Errorf("event %d, UID %q: %w", i+1, e.UID, f[k])
		}
	}
	if err := errors.Join(f...); err != nil {
		return fmt.Errorf("render calendar %q: %w", c.Name, err)
	}
	return nil
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
