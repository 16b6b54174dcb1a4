package vent

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// Span is a part of one day in minutes after local midnight: from From up to, not including, To. The zero Span is empty.
type Span struct {
	From int `json:"from" cbor:"1,keyasint"`
	To   int `json:"to" cbor:"2,keyasint"`
}

// Empty reports whether the span holds no minute.
func (s Span) Empty() bool { return s.From >= s.To }

// String gives "08:00-17:00".
func (s Span) String() string {
	return fmt.Sprintf("%02d:%02d-%02d:%02d", s.From/60, s.From%60, s.To/60, s.To%60)
}

// Week gives the hours of each day of the week, indexed by time.Weekday (Sunday is 0).
type Week [7]Span

// IsZero reports whether no hours were given at all.
func (w Week) IsZero() bool { return w == Week{} }

// dayNames are the names of the days as hours are written, in the order of time.Weekday.
var dayNames = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// monday first: the order in which hours are written and in which a range of days is counted.
var weekOrder = [7]time.Weekday{1, 2, 3, 4, 5, 6, 0}

var spanForm = regexp.MustCompile(`^(\d{1,2}):(\d\d)\s*-\s*(\d{1,2}):(\d\d)$`)

// ParseWeek reads hours as people write them: "mon-fri 08:00-17:00; sat 09:00-12:00", or "daily 09:00-17:00". Days that are
// not named have none. A day has one span of hours. Empty text is the zero Week.
func ParseWeek(s string) (Week, error) {
	var w Week
	for _, part := range strings.Split(s, ";") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		names, hours, ok := strings.Cut(part, " ")
		days, err := ParseWeekdays(names)
		if !ok || err != nil {
			return Week{}, fmt.Errorf("hours %q: write days and hours, such as mon-fri 08:00-17:00; sat 09:00-12:00", part)
		}
		span, err := parseSpan(strings.TrimSpace(hours))
		if err != nil {
			return Week{}, err
		}
		for _, d := range weekOrder {
			if !days.Has(d) {
				continue
			}
			if !w[d].Empty() {
				return Week{}, fmt.Errorf("hours %q: %s is named twice: give each day one span of hours", s, dayNames[d])
			}
			w[d] = span
		}
	}
	return w, nil
}

func parseSpan(s string) (Span, error) {
	m := spanForm.FindStringSubmatch(s)
	if m == nil {
		return Span{}, fmt.Errorf("hours %q: write them as 08:00-17:00", s)
	}
	var n [4]int
	for i := range n {
		n[i], _ = strconv.Atoi(m[i+1]) // two digits, by the pattern
	}
	x := Span{n[0]*60 + n[1], n[2]*60 + n[3]}
	if n[1] > 59 || n[3] > 59 || x.To > 24*60 || x.Empty() {
		return Span{}, fmt.Errorf("hours %q: they must end after they begin, within one day", s)
	}
	return x, nil
}

// String gives the form that ParseWeek reads, days with the same hours together.
func (w Week) String() string {
	var parts []string
	for i := 0; i < len(weekOrder); {
		from := weekOrder[i]
		j := i
		for j+1 < len(weekOrder) && w[weekOrder[j+1]] == w[from] {
			j++
		}
		if !w[from].Empty() {
			name := dayNames[from]
			if j > i {
				name += "-" + dayNames[weekOrder[j]]
			}
			parts = append(parts, name+" "+w[from].String())
		}
		i = j + 1
	}
	return strings.Join(parts, "; ")
}

// MarshalText gives the String form, so that hours read naturally in JSON.
func (w Week) MarshalText() ([]byte, error) { return []byte(w.String()), nil }

// UnmarshalText reads the form of ParseWeek.
func (w *Week) UnmarshalText(b []byte) (err error) {
	*w, err = ParseWeek(string(b))
	return err
}

// valid checks hours that were not read by ParseWeek.
func (w Week) valid(p *Problems, field string) {
	for d, s := range w {
		if s.From < 0 || s.To > 24*60 || s.From > s.To {
			p.Add(field, s.String(), "are not hours of one %s: the earlier comes first", dayNames[d])
		}
	}
}

// Weekdays is a set of days of the week, a bit for each time.Weekday.
type Weekdays uint8

// Has reports whether the day is in the set.
func (s Weekdays) Has(d time.Weekday) bool { return s&(1<<d) != 0 }

// List gives the days, Monday first.
func (s Weekdays) List() (days []time.Weekday) {
	for _, d := range weekOrder {
		if s.Has(d) {
			days = append(days, d)
		}
	}
	return days
}

// ParseWeekdays reads "tue,thu", "mon-fri" or "daily". A range may run over Sunday: "sat-mon".
func ParseWeekdays(s string) (Weekdays, error) {
	var set Weekdays
	for _, part := range strings.Split(strings.ToLower(s), ",") {
		part = strings.TrimSpace(part)
		if part == "daily" {
			return 1<<7 - 1, nil
		}
		from, to, isRange := strings.Cut(part, "-")
		a, ok := weekday(from)
		b, okToo := a, true
		if isRange {
			b, okToo = weekday(to)
		}
		if !ok || !okToo {
			return 0, fmt.Errorf("days %q: write them as mon,tue or mon-fri or daily", s)
		}
		for d := a; ; d = (d + 1) % 7 {
			set |= 1 << d
			if d == b {
				break
			}
		}
	}
	return set, nil
}

func weekday(name string) (time.Weekday, bool) {
	name = strings.TrimSpace(name)
	for d, short := range dayNames {
		long := strings.ToLower(time.Weekday(d).String())
		if len(name) >= 2 && strings.HasPrefix(long, name) || name == short {
			return time.Weekday(d), true
		}
	}
	return 0, false
}

// String gives "mon,tue", and "" for none.
func (s Weekdays) String() string {
	var names []string
	for _, d := range s.List() {
		names = append(names, dayNames[d])
	}
	return strings.Join(names, ",")
}

// MarshalText gives the String form.
func (s Weekdays) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the form of ParseWeekdays; empty text is none.
func (s *Weekdays) UnmarshalText(b []byte) (err error) {
	*s = 0
	if len(b) > 0 {
		*s, err = ParseWeekdays(string(b))
	}
	return err
}
