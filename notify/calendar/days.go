package calendar

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/emersion/go-ical"

	"ventdue/vent"
)

// mostDays is how many days one calendar may name.
const mostDays = 10_000

// fastestRead is the fastest of the frequencies (RFC 5545 section 3.3.10, in go-ical's order) that is read; hourly and faster ones name no days.
const fastestRead = 3

// Days gives the days in [from, to) that a calendar's events lie on, each once and in order: public holidays, for
// example. Repeating events are followed; cancelled ones are left out. A timed event counts for each day that it touches.
func Days(r io.Reader, from, to vent.Date) ([]vent.Date, error) {
	cal, err := Decode(r, Limits{})
	if err != nil {
		return nil, err
	}
	var days []vent.Date
	for i, e := range cal.Events() {
		if status, _ := e.Status(); status == ical.EventCancelled {
			continue
		}
		more, err := eventDays(e, from, to)
		if err != nil {
			name, _ := e.Props.Text(ical.PropSummary)
			return nil, fmt.Errorf("read calendar: event %d, %.60q: %w", i+1, name, err)
		}
		if days = append(days, more...); len(days) > mostDays {
			return nil, fmt.Errorf("read calendar: it names more than %d days: %w", mostDays, ErrTooLarge)
		}
	}
	slices.Sort(days)
	return slices.Compact(days), nil
}

func eventDays(e ical.Event, from, to vent.Date) (days []vent.Date, err error) {
	start, err := e.DateTimeStart(time.UTC)
	if err != nil || start.IsZero() {
		return nil, errors.Join(errors.New("it has no start that can be read"), err)
	}
	end, err := e.DateTimeEnd(time.UTC)
	if err != nil {
		return nil, fmt.Errorf("its end cannot be read: %w", err)
	}
	last := vent.DateOf(end)
	if h, m, s := end.Clock(); h == 0 && m == 0 && s == 0 && end.After(start) {
		last = last.AddDays(-1) // the end is the first moment no longer
	}
	length := vent.DateOf(start).DaysUntil(last)
	if length < 0 || length > 366 {
		return nil, fmt.Errorf("it lasts %d days: at most a year is read", length+1)
	}
	starts := []time.Time{start}
	if rule := e.Props.Get(ical.PropRecurrenceRule); rule != nil {
		if starts, err = repeated(e, rule.Value, from.AddDays(-length), to); err != nil {
			return nil, err
		}
	}
	for _, s := range starts {
		for i := range length + 1 {
			if d := vent.DateOf(s).AddDays(i); d >= from && d < to {
				days = append(days, d)
			}
		}
	}
	return days, nil
}

// repeated gives the starts of a repeating event that matter.
func repeated(e ical.Event, rule string, from, to vent.Date) ([]time.Time, error) {
	option, err := e.Props.RecurrenceRule()
	if err != nil {
		return nil, err
	}
	if option.Freq > fastestRead || strings.Contains(strings.ToUpper(rule), "BYSECOND") {
		return nil, fmt.Errorf("it repeats by %.60q: only daily, weekly, monthly and yearly ones are read", rule)
	}
	set, err := e.RecurrenceSet(time.UTC)
	if err != nil {
		return nil, err
	}
	return set.Between(from.At(0, time.UTC), to.At(0, time.UTC), true), nil
}
