package strict

import (
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

const (
	dateForm  = "20060102"
	localForm = "20060102T150405"
	utcForm   = "20060102T150405Z"
)

// textProps are the properties with TEXT values that this checker knows.
var textProps = []string{
	"UID", "SUMMARY", "DESCRIPTION", "LOCATION", "COMMENT", "CONTACT", "NAME", "TZID", "TZNAME",
	"RELATED-TO", "PRODID", "COLOR", "X-WR-CALNAME", "X-WR-CALDESC", "CATEGORIES", "RESOURCES",
}

// onceInEvent may stand in an event at most once (RFC 5545 section 3.6.1).
var onceInEvent = []string{
	"CLASS", "CREATED", "DESCRIPTION", "DTEND", "DURATION", "GEO", "LAST-MODIFIED", "LOCATION", "ORGANIZER",
	"PRIORITY", "RECURRENCE-ID", "SEQUENCE", "STATUS", "SUMMARY", "TRANSP", "URL", "COLOR",
}

// onceInCalendar may stand in a calendar at most once. RFC 7986 section 4 lets
// NAME and DESCRIPTION stand once for each language; readers take one.
var onceInCalendar = []string{
	"CALSCALE", "NAME", "DESCRIPTION", "X-WR-CALNAME", "X-WR-CALDESC", "COLOR", "SOURCE", "REFRESH-INTERVAL",
	"X-PUBLISHED-TTL", "UID", "LAST-MODIFIED", "URL",
}

func (c *checker) exactlyOnce(k *component, names ...string) {
	for _, name := range names {
		if n := len(k.all(name)); n != 1 {
			c.bad(k.at, "%s has %d %s, needs exactly one", k.name, n, name)
		}
	}
}

func (c *checker) atMostOnce(k *component, names ...string) {
	for _, name := range names {
		if n := len(k.all(name)); n > 1 {
			c.bad(k.at, "%s has %d %s, at most one is allowed", k.name, n, name)
		}
	}
}

func (c *checker) calendar(k *component) {
	c.exactlyOnce(k, "VERSION", "PRODID")
	c.atMostOnce(k, onceInCalendar...)
	for _, p := range k.props {
		switch p.name {
		case "VERSION":
			c.must(p, p.value == "2.0", "is not 2.0")
		case "CALSCALE":
			c.must(p, p.value == "GREGORIAN", "is not GREGORIAN")
		case "METHOD":
			c.bad(p.at, "METHOD makes it an invitation, not a calendar to subscribe to")
		}
		c.value(p)
	}
	if len(k.children) == 0 {
		c.bad(k.at, "VCALENDAR without a component")
	}
	for _, child := range k.children {
		if child.name == "VTIMEZONE" {
			c.timezone(child)
		}
	}
	for _, child := range k.children {
		if child.name != "VTIMEZONE" {
			c.entry(child)
		}
	}
}

// entry checks a VEVENT, or as much as they have in common of its siblings.
func (c *checker) entry(k *component) {
	for _, p := range k.props {
		c.value(p)
	}
	c.exactlyOnce(k, "UID", "DTSTAMP")
	if k.name == "VEVENT" {
		c.exactlyOnce(k, "DTSTART")
		c.atMostOnce(k, onceInEvent...)
		c.span(k)
	}
	uid, _ := k.one("UID")
	instance, _ := k.one("RECURRENCE-ID")
	if strings.TrimSpace(uid.value) == "" && uid.at > 0 {
		c.bad(uid.at, "UID is empty")
	}
	key := uid.value + "\n" + instance.value
	if first, twice := c.uids[key]; twice {
		c.bad(uid.at, "UID %s is that of line %d too", uid.value, first)
	} else if uid.at > 0 {
		c.uids[key] = uid.at
	}
	stamp, ok1 := k.one("DTSTAMP")
	modified, ok2 := k.one("LAST-MODIFIED")
	if ok1 && ok2 && stamp.value != modified.value {
		c.bad(stamp.at, "DTSTAMP is not LAST-MODIFIED, though there is no METHOD")
	}
	for _, child := range k.children {
		if child.name == "VALARM" {
			c.alarm(child)
		}
	}
}

// span checks that an event ends after it starts.
func (c *checker) span(k *component) {
	start, ok := k.one("DTSTART")
	if !ok {
		return
	}
	end, hasEnd := k.one("DTEND")
	length, hasLength := k.one("DURATION")
	switch {
	case hasEnd && hasLength:
		c.bad(length.at, "DURATION beside DTEND")
	case hasLength:
		c.must(length, !strings.HasPrefix(length.value, "-"), "is negative")
	case hasEnd:
		if (start.param("VALUE") == "DATE") != (end.param("VALUE") == "DATE") {
			c.bad(end.at, "DTEND is not of DTSTART's value type")
			return
		}
		a, problem1 := c.moment(start)
		b, problem2 := c.moment(end)
		if problem1 == "" && problem2 == "" && !b.After(a) {
			c.bad(end.at, "DTEND is not after DTSTART")
		}
	}
}

func (c *checker) alarm(k *component) {
	for _, p := range k.props {
		c.value(p)
	}
	c.exactlyOnce(k, "ACTION", "TRIGGER")
	c.atMostOnce(k, "DURATION", "REPEAT", "DESCRIPTION")
	if p, ok := k.one("ACTION"); ok {
		c.must(p, p.value == "DISPLAY", "is not DISPLAY")
		c.exactlyOnce(k, "DESCRIPTION")
	}
	if len(k.all("DURATION")) != len(k.all("REPEAT")) {
		c.bad(k.at, "VALARM has only one of DURATION and REPEAT")
	}
}

func (c *checker) must(p prop, ok bool, problem string) {
	if !ok {
		c.bad(p.at, "%s %s: %q", p.name, problem, p.value)
	}
}

// duration and its parts are the grammar of RFC 5545 section 3.3.6.
var duration = regexp.MustCompile(`^[+-]?P(\d+W|\d+D(T` + clock + `)?|T` + clock + `)$`)

const clock = `(\d+H(\d+M(\d+S)?)?|\d+M(\d+S)?|\d+S)`

var geo = regexp.MustCompile(`^[+-]?\d+(\.\d+)?;[+-]?\d+(\.\d+)?$`)

// value checks one property's value by its type.
func (c *checker) value(p prop) {
	switch p.name {
	case "RRULE", "EXRULE":
		c.bad(p.at, "%s: readers disagree about recurrence", p.name)
	case "DTSTAMP", "CREATED", "LAST-MODIFIED", "COMPLETED":
		_, ok := parseTime(utcForm, p.value)
		c.must(p, ok && len(p.params) == 0, "is not a UTC time")
	case "DTSTART", "DTEND", "DUE", "RECURRENCE-ID":
		_, problem := c.moment(p)
		c.must(p, problem == "", problem)
	case "SEQUENCE", "REPEAT", "PERCENT-COMPLETE":
		_, ok := number(p.value)
		c.must(p, ok, "is not a number")
	case "PRIORITY":
		n, ok := number(p.value)
		c.must(p, ok && n <= 9, "is not 0 to 9")
	case "STATUS":
		c.must(p, slices.Contains([]string{"TENTATIVE", "CONFIRMED", "CANCELLED", "NEEDS-ACTION", "IN-PROCESS", "COMPLETED"}, p.value), "is no status of an event or a task")
	case "TRANSP":
		c.must(p, p.value == "OPAQUE" || p.value == "TRANSPARENT", "is neither OPAQUE nor TRANSPARENT")
	case "GEO":
		c.must(p, geo.MatchString(p.value) && inDegrees(p.value), "is no latitude and longitude")
	case "URL", "SOURCE":
		u, err := url.Parse(p.value)
		c.must(p, err == nil && u.IsAbs() && !strings.ContainsAny(p.value, " \"<>"), "is no absolute URL")
		c.must(p, p.name != "SOURCE" || p.param("VALUE") == "URI", "lacks VALUE=URI")
	case "REFRESH-INTERVAL":
		c.must(p, p.param("VALUE") == "DURATION", "lacks VALUE=DURATION")
		c.must(p, duration.MatchString(p.value) && p.value[0] == 'P', "is no positive duration")
	case "DURATION", "X-PUBLISHED-TTL":
		c.must(p, duration.MatchString(p.value), "is no duration")
	case "TRIGGER":
		c.trigger(p)
	default:
		if slices.Contains(textProps, p.name) {
			c.text(p)
		}
	}
}

func (c *checker) trigger(p prop) {
	if p.param("VALUE") == "DATE-TIME" {
		_, ok := parseTime(utcForm, p.value)
		c.must(p, ok, "is not a UTC time")
		return
	}
	c.must(p, duration.MatchString(p.value), "is no duration")
}

// text checks that a TEXT value is escaped. In lists a comma parts values.
func (c *checker) text(p prop) {
	list := p.name == "CATEGORIES" || p.name == "RESOURCES"
	for i := 0; i < len(p.value); i++ {
		switch p.value[i] {
		case '\\':
			i++
			if i == len(p.value) || !strings.ContainsRune(`\;,nN`, rune(p.value[i])) {
				c.bad(p.at, `%s has a backslash before neither of \;,n`, p.name)
			}
		case ';':
			c.bad(p.at, "%s has a bare semicolon", p.name)
		case ',':
			if !list {
				c.bad(p.at, "%s has a bare comma", p.name)
			}
		}
	}
}

// moment returns the moment that a DATE or DATE-TIME means (of a date, midnight
// in UTC), or what is wrong with it.
func (c *checker) moment(p prop) (t time.Time, problem string) {
	id, zoned := p.params["TZID"]
	kind := p.param("VALUE")
	if kind == "DATE" {
		t, ok := parseTime(dateForm, p.value)
		if !ok || zoned {
			return t, "is no plain date"
		}
		return t, ""
	}
	if kind != "" && kind != "DATE-TIME" {
		return t, "has an unknown value type"
	}
	if strings.HasSuffix(p.value, "Z") {
		t, ok := parseTime(utcForm, p.value)
		if !ok || zoned {
			return t, "is no UTC time without a zone"
		}
		return t, ""
	}
	local, ok := parseTime(localForm, p.value)
	if !ok {
		return t, "is neither a date nor a time"
	}
	if !zoned {
		return t, "floats: no time zone and not UTC"
	}
	z := c.zones[id[0]]
	if z == nil {
		return t, "has a TZID that no VTIMEZONE declares"
	}
	t, ok = z.moment(local)
	if !ok {
		return t, "does not exist in its time zone, or lies before what that declares"
	}
	return t, ""
}

// parseTime is time.Parse without the fractions of a second that it lets pass.
func parseTime(form, s string) (time.Time, bool) {
	t, err := time.Parse(form, s)
	return t, err == nil && len(s) == len(form)
}

// number reads a number without sign.
func number(s string) (int, bool) {
	if s == "" || strings.ContainsFunc(s, func(r rune) bool { return r < '0' || r > '9' }) {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil
}

func inDegrees(s string) bool {
	lat, lon, _ := strings.Cut(s, ";")
	a, err1 := strconv.ParseFloat(lat, 64)
	b, err2 := strconv.ParseFloat(lon, 64)
	return err1 == nil && err2 == nil && a >= -90 && a <= 90 && b >= -180 && b <= 180
}
