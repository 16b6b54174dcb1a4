package clockwork

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// maxEvery bounds @every: a job nobody will live to see run is a slip of the pen.
const maxEvery = 366 * 24 * time.Hour

// parser reads the five classic fields and the @ descriptors. Without a seconds field nothing fires
// more often than once a minute, @every apart.
var parser = cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow | cron.Descriptor)

// CheckSpec reads a cron spec as the settings give it and returns when it fires first after now, read in zone (nil is
// UTC) unless the spec itself begins with "TZ=Area/City " or "CRON_TZ=Area/City ".
//
// It refuses what cannot be read, a date that never comes (31 February), and anything more frequent than once a minute.
func CheckSpec(spec string, zone *time.Location, now time.Time) (next time.Time, err error) {
	if zone == nil {
		zone = time.UTC
	}
	s, err := parse(spec, zone)
	if err != nil {
		return time.Time{}, err
	}
	next = s.next(now)
	if next.IsZero() {
		return time.Time{}, fmt.Errorf("cron spec %q never fires: no such date in the next five years", spec)
	}
	return next, nil
}

// schedule is a parsed spec. A nil schedule never fires.
type schedule struct {
	every time.Duration      // for @every, else 0
	spec  *cron.SpecSchedule // for all others
	zone  *time.Location
}

// parseOptional is parse with "" allowed, which gives nil.
func parseOptional(spec string, zone *time.Location) (*schedule, error) {
	if spec == "" {
		return nil, nil
	}
	if _, err := CheckSpec(spec, zone, time.Unix(0, 0)); err != nil {
		return nil, err
	}
	return parse(spec, zone)
}

// parse takes the zone prefix off itself: the library's own reading panics where the space after it is missing.
func parse(text string, zone *time.Location) (*schedule, error) {
	fields := strings.Fields(text)
	if len(fields) == 0 {
		return nil, errors.New(`cron spec is empty; write five fields such as "30 3 * * *", or "@hourly"`)
	}
	if name, ok := cutZone(fields[0]); ok {
		loc, err := time.LoadLocation(name)
		if err != nil || name == "" || name == "Local" {
			return nil, fmt.Errorf(`cron spec %q: unknown time zone %q; write it as "TZ=America/New_York 30 3 * * *"`, text, name)
		}
		zone, fields = loc, fields[1:]
		if len(fields) == 0 {
			return nil, fmt.Errorf("cron spec %q names a zone but no time; add the five fields after a space", text)
		}
	}
	if fields[0] == "@every" {
		return parseEvery(text, fields[1:])
	}
	sched, err := parser.Parse(strings.Join(fields, " "))
	if err != nil {
		return nil, fmt.Errorf(`cron spec %q: %w; write minute, hour, day of month, month, day of week, as in "30 3 * * *"`, text, err)
	}
	spec, ok := sched.(*cron.SpecSchedule)
	if !ok {
		return nil, fmt.Errorf("cron spec %q: not supported", text)
	}
	return &schedule{spec: spec, zone: zone}, nil
}

func cutZone(field string) (name string, ok bool) {
	if name, ok = strings.CutPrefix(field, "TZ="); ok {
		return name, true
	}
	return strings.CutPrefix(field, "CRON_TZ=")
}

// parseEvery reads "@every 90m". The library would turn a negative delay into one second.
func parseEvery(text string, args []string) (*schedule, error) {
	if len(args) != 1 {
		return nil, fmt.Errorf(`cron spec %q: write one duration after @every, as in "@every 90m"`, text)
	}
	d, err := time.ParseDuration(args[0])
	switch {
	case err != nil:
		return nil, fmt.Errorf(`cron spec %q: %q is not a duration; write it with a unit, as in "@every 90m"`, text, args[0])
	case d < time.Minute:
		return nil, fmt.Errorf("cron spec %q: more often than once a minute; the least is @every 1m", text)
	case d > maxEvery:
		return nil, fmt.Errorf("cron spec %q: less often than once a year; the most is @every 8784h", text)
	}
	return &schedule{every: d.Truncate(time.Second)}, nil
}

// next returns the first firing after now in UTC, zero if there is none within five years.
//
// The calendar is asked in one fixed offset after the other, never across a change of the clocks, where the library
// skips hours and, in zones that change at midnight or by half an hour, whole days. A time that spring takes
// away is read with the offset before the change (RFC 5545 3.3.5). A time that autumn repeats fires once, at its
// first reading, unless the spec fires in every hour of the day.
func (s *schedule) next(now time.Time) time.Time {
	if s == nil {
		return time.Time{}
	}
	now = now.UTC()
	if s.every > 0 {
		return now.Truncate(time.Second).Add(s.every)
	}
	at, from := now, now // at lies in the stretch of one offset that is searched for firings after from
	for {
		found := s.within(at, from)
		_, end := at.In(s.zone).ZoneBounds()
		if found.IsZero() || end.IsZero() || found.Before(end) {
			return found
		}
		at, from = end, end.Add(-time.Second)
		if found.Before(end.Add(s.shift(end))) { // in the gap, by the offset before it
			if after := s.within(at, from); !after.IsZero() && after.Before(found) {
				return after
			}
			return found
		}
	}
}

// within returns the first firing after from by the offset in force at at, past the end of that offset's stretch if need be.
func (s *schedule) within(at, from time.Time) time.Time {
	local := at.In(s.zone)
	if start, _ := local.ZoneBounds(); !start.IsZero() && !s.everyHour() {
		repeated := start.Add(-s.shift(start) - time.Second)
		if from.Before(repeated) {
			from = repeated
		}
	}
	_, offset := local.Zone()
	found := s.spec.Next(from.In(time.FixedZone("", offset)))
	if found.IsZero() {
		return found
	}
	return found.UTC()
}

// shift returns by how much the local clock is put forward at t, which begins a stretch.
func (s *schedule) shift(t time.Time) time.Duration {
	_, before := t.Add(-time.Second).In(s.zone).Zone()
	_, after := t.In(s.zone).Zone()
	return time.Duration(after-before) * time.Second
}

// everyHour reports whether the hour field leaves no hour out.
func (s *schedule) everyHour() bool {
	const allHours = 1<<24 - 1
	return s.spec.Hour&allHours == allHours
}
