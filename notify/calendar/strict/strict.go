// Package strict checks the bytes of an iCalendar file more strictly than any
// reader does, for tests. It shares no code with the writer it judges.
//
// It demands RFC 5545, and of what that leaves open the part that calendar
// programs read alike: no METHOD and no recurrence rules in a subscribed
// calendar, every local time with a declared time zone, DISPLAY alarms only,
// no character at which some programs split lines.
package strict

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Problem is one thing wrong in a calendar.
type Problem struct {
	Line int // of the file, from 1; where a folded line begins
	Text string
}

// String returns the problem as "line 3: ...".
func (p Problem) String() string { return fmt.Sprintf("line %d: %s", p.Line, p.Text) }

// Check returns everything that is wrong with a calendar, by line; nothing if
// it is sound.
func Check(data []byte) []Problem {
	c := &checker{zones: map[string]*zone{}, uids: map[string]int{}}
	lines := c.unfold(data)
	props := c.parse(lines)
	if root := c.build(props); root != nil {
		c.calendar(root)
	}
	slices.SortStableFunc(c.problems, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	return c.problems
}

type checker struct {
	problems []Problem
	zones    map[string]*zone
	uids     map[string]int // UID and RECURRENCE-ID -> line
}

func (c *checker) bad(line int, format string, args ...any) {
	c.problems = append(c.problems, Problem{line, fmt.Sprintf(format, args...)})
}

// contentLine is an unfolded line and where it begins.
type contentLine struct {
	at   int
	text string
}

// unfold checks what can be said of octets and returns the content lines.
func (c *checker) unfold(data []byte) []contentLine {
	if len(data) == 0 {
		c.bad(1, "the file is empty")
		return nil
	}
	if bytes.HasPrefix(data, []byte("\ufeff")) {
		c.bad(1, "begins with a byte order mark")
		data = data[len("\ufeff"):]
	}
	if !bytes.HasSuffix(data, []byte("\r\n")) {
		c.bad(bytes.Count(data, []byte("\n"))+1, "the last line does not end with CRLF")
	}
	data = bytes.TrimSuffix(data, []byte("\n"))
	data = bytes.TrimSuffix(data, []byte("\r"))

	var lines []contentLine
	raw := bytes.Split(data, []byte("\n"))
	for i := range raw {
		at := i + 1
		line, crlf := bytes.CutSuffix(raw[i], []byte("\r"))
		if !crlf && at < len(raw) {
			c.bad(at, "ends with a bare LF")
		}
		c.octets(at, line)
		if len(line) > 0 && (line[0] == ' ' || line[0] == '\t') {
			if len(lines) == 0 {
				c.bad(at, "the first line continues nothing")
				continue
			}
			lines[len(lines)-1].text += string(line[1:])
			continue
		}
		lines = append(lines, contentLine{at, string(line)})
	}
	return lines
}

// octets checks a line of the file.
func (c *checker) octets(at int, line []byte) {
	if len(line) == 0 {
		c.bad(at, "empty line")
	}
	if len(line) > 75 {
		c.bad(at, "%d octets long, at most 75 are allowed", len(line))
	}
	if !utf8.Valid(line) {
		c.bad(at, "invalid UTF-8, or a character cut by folding")
		return
	}
	for _, r := range string(line) {
		switch {
		case r == '\r':
			c.bad(at, "bare CR")
		case r < ' ' && r != '\t', r >= 0x7f && r < 0xa0:
			c.bad(at, "control character %U", r)
		case r == '\u2028', r == '\u2029':
			c.bad(at, "line separator %U", r)
		}
	}
}

// prop is a property, taken apart.
type prop struct {
	at     int
	name   string // upper case
	params map[string][]string
	value  string
}

// param returns a parameter's first value in upper case.
func (p prop) param(name string) string {
	if v := p.params[name]; len(v) > 0 {
		return strings.ToUpper(v[0])
	}
	return ""
}

func (c *checker) parse(lines []contentLine) []prop {
	var props []prop
	for _, l := range lines {
		if l.text == "" {
			continue // reported before
		}
		p, err := parseLine(l.text)
		if err != "" {
			c.bad(l.at, "%s", err)
			continue
		}
		p.at = l.at
		props = append(props, p)
	}
	return props
}

// parseLine takes a content line apart (RFC 5545 section 3.1).
func parseLine(s string) (p prop, problem string) {
	p.params = map[string][]string{}
	name, s := cutName(s)
	if name == "" {
		return p, "no property name at its start"
	}
	p.name = strings.ToUpper(name)
	for strings.HasPrefix(s, ";") {
		name, s = cutName(s[1:])
		if name == "" || !strings.HasPrefix(s, "=") {
			return p, "broken parameter of " + p.name
		}
		name = strings.ToUpper(name)
		if _, twice := p.params[name]; twice {
			return p, "parameter " + name + " twice"
		}
		for strings.HasPrefix(s, "=") || strings.HasPrefix(s, ",") {
			value, rest, ok := cutParamValue(s[1:])
			if !ok {
				return p, "broken value of parameter " + name
			}
			p.params[name] = append(p.params[name], value)
			s = rest
		}
	}
	if !strings.HasPrefix(s, ":") {
		return p, "no colon after " + p.name
	}
	p.value = s[1:]
	return p, ""
}

// cutName cuts an iana-token or x-name off s.
func cutName(s string) (name, rest string) {
	for i := range len(s) {
		c := s[i]
		if c != '-' && (c < '0' || c > '9') && (c|0x20 < 'a' || c|0x20 > 'z') {
			return s[:i], s[i:]
		}
	}
	return s, ""
}

func cutParamValue(s string) (value, rest string, ok bool) {
	if strings.HasPrefix(s, `"`) {
		return strings.Cut(s[1:], `"`)
	}
	end := strings.IndexAny(s, `";:,`)
	if end < 0 || s[end] == '"' {
		return "", "", false
	}
	return s[:end], s[end:], true
}

// component is a BEGIN to its END.
type component struct {
	at       int
	name     string
	props    []prop
	children []*component
}

// all returns the properties of one name.
func (k *component) all(name string) []prop {
	var found []prop
	for _, p := range k.props {
		if p.name == name {
			found = append(found, p)
		}
	}
	return found
}

// one returns the only property of one name.
func (k *component) one(name string) (prop, bool) {
	if found := k.all(name); len(found) > 0 {
		return found[0], true
	}
	return prop{}, false
}

// within lists which components may stand in which.
var within = map[string][]string{
	"VCALENDAR": {"VEVENT", "VTODO", "VJOURNAL", "VFREEBUSY", "VTIMEZONE"},
	"VEVENT":    {"VALARM"},
	"VTODO":     {"VALARM"},
	"VTIMEZONE": {"STANDARD", "DAYLIGHT"},
}

// build nests properties into components and returns the calendar.
func (c *checker) build(props []prop) *component {
	var root *component
	var open []*component
	for _, p := range props {
		switch p.name {
		case "BEGIN":
			k := &component{at: p.at, name: strings.ToUpper(p.value)}
			switch {
			case len(open) > 0:
				parent := open[len(open)-1]
				if !slices.Contains(within[parent.name], k.name) {
					c.bad(p.at, "%s may not stand in %s", k.name, parent.name)
				}
				parent.children = append(parent.children, k)
			case root != nil:
				c.bad(p.at, "a second component after END:VCALENDAR")
			case k.name != "VCALENDAR":
				c.bad(p.at, "begins with %s, not VCALENDAR", k.name)
			}
			if root == nil {
				root = k
			}
			open = append(open, k)
		case "END":
			if len(open) == 0 || open[len(open)-1].name != strings.ToUpper(p.value) {
				c.bad(p.at, "END:%s ends nothing that is open", p.value)
				continue
			}
			open = open[:len(open)-1]
		default:
			if len(open) == 0 {
				c.bad(p.at, "%s stands outside of VCALENDAR", p.name)
				continue
			}
			open[len(open)-1].props = append(open[len(open)-1].props, p)
		}
	}
	for _, k := range open {
		c.bad(k.at, "BEGIN:%s has no END", k.name)
	}
	return root
}
