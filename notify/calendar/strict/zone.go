package strict

import (
	"slices"
	"time"
)

// zone is a VTIMEZONE, by its changes in order.
type zone struct{ changes []change }

// change is the moment a zone's clocks are set.
type change struct {
	onset    time.Time // as clocks show it before the change
	from, to time.Duration
}

// moment returns when a zone's clocks show a local time, the first time that
// they do; ok is false if they skip it or the zone says nothing of that time.
func (z *zone) moment(local time.Time) (at time.Time, ok bool) {
	var now *change
	for i := range z.changes {
		if !z.changes[i].onset.After(local) {
			now = &z.changes[i]
		}
	}
	if now == nil || local.Before(now.onset.Add(now.to-now.from)) {
		return time.Time{}, false
	}
	return local.Add(-now.to), true
}

// timezone checks a VTIMEZONE and remembers it.
func (c *checker) timezone(k *component) {
	z := &zone{}
	for _, p := range k.props {
		c.value(p)
	}
	c.exactlyOnce(k, "TZID")
	for _, child := range k.children {
		if ch, ok := c.change(child); ok {
			z.changes = append(z.changes, ch...)
		}
	}
	if len(k.children) == 0 {
		c.bad(k.at, "VTIMEZONE without STANDARD or DAYLIGHT")
	}
	slices.SortFunc(z.changes, func(a, b change) int { return a.onset.Compare(b.onset) })
	for i := 1; i < len(z.changes); i++ {
		if z.changes[i].from != z.changes[i-1].to {
			c.bad(k.at, "VTIMEZONE: the change of %v is not from the offset of the one before", z.changes[i].onset.Format(localForm))
		}
	}
	id, ok := k.one("TZID")
	if !ok {
		return
	}
	if id.value == "" {
		c.bad(id.at, "TZID is empty")
	}
	if c.zones[id.value] != nil {
		c.bad(id.at, "TZID %s is declared twice", id.value)
	}
	c.zones[id.value] = z
}

// change checks a STANDARD or DAYLIGHT; RDATE gives it more than one onset.
func (c *checker) change(k *component) (list []change, ok bool) {
	for _, p := range k.props {
		if p.name != "DTSTART" { // a local time without a zone: this makes one
			c.value(p)
		}
	}
	c.exactlyOnce(k, "DTSTART", "TZOFFSETFROM", "TZOFFSETTO")
	start, ok1 := k.one("DTSTART")
	from, ok2 := k.one("TZOFFSETFROM")
	to, ok3 := k.one("TZOFFSETTO")
	if !ok1 || !ok2 || !ok3 {
		return nil, false
	}
	a, aok := parseOffset(from.value)
	if !aok {
		c.bad(from.at, "%q is no UTC offset", from.value)
	}
	b, bok := parseOffset(to.value)
	if !bok {
		c.bad(to.at, "%q is no UTC offset", to.value)
	}
	if !aok || !bok {
		return nil, false
	}
	for _, p := range append([]prop{start}, k.all("RDATE")...) {
		t, ok := parseTime(localForm, p.value)
		if !ok || len(p.params) > 0 {
			c.bad(p.at, "%s of %s is not a plain local time", p.name, k.name)
			continue
		}
		list = append(list, change{t, a, b})
	}
	return list, true
}

// parseOffset reads a UTC-OFFSET (RFC 5545 section 3.3.14).
func parseOffset(s string) (time.Duration, bool) {
	if (len(s) != 5 && len(s) != 7) || (s[0] != '+' && s[0] != '-') || s == "-0000" || s == "-000000" {
		return 0, false
	}
	limits := []int{24, 60, 60}
	var d time.Duration
	for i, unit := range []time.Duration{time.Hour, time.Minute, time.Second}[:len(s)/2] {
		n, ok := number(s[1+2*i : 3+2*i])
		if !ok || n >= limits[i] {
			return 0, false
		}
		d += time.Duration(n) * unit
	}
	if s[0] == '-' {
		d = -d
	}
	return d, true
}
