package vent

import (
	"math"
	"net/mail"
	"slices"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones must resolve on machines without a zone database
	"unicode"
	"unicode/utf8"
)

// maxText is the longest text, in bytes, that a name, note or address may have. It bounds what a hostile
// import can put into every feed and mail.
const maxText = 4000

func required(p *Problems, field, s string) {
	if strings.TrimSpace(s) == "" {
		p.Add(field, "", "is empty: every record needs one")
	}
	text(p, field, s)
}

func text(p *Problems, field, s string) {
	if len(s) > maxText {
		p.Add(field, s, "is %d bytes long: at most %d", len(s), maxText)
	}
	if !utf8.ValidString(s) {
		p.Add(field, s, "is not valid UTF-8: save the file as UTF-8")
	}
}

// ref checks an operator's own key: it may be missing.
func ref(p *Problems, s string) { text(p, "ref", s) }

// line checks a text that ends up on one line of a mail's head or a calendar: no control characters.
func line(p *Problems, field, s string) {
	required(p, field, s)
	if strings.ContainsFunc(s, unicode.IsControl) {
		p.Add(field, s, "has control characters: write it on one line")
	}
}

func oneOf[T ~string](p *Problems, field string, v T, allowed ...T) {
	if slices.Contains(allowed, v) {
		return
	}
	names := make([]string, 0, len(allowed))
	for _, a := range allowed {
		if a != "" {
			names = append(names, string(a))
		}
	}
	p.Add(field, string(v), "is not known: use one of %s", strings.Join(names, ", "))
}

func between(p *Problems, field string, v, lo, hi float64) {
	if math.IsNaN(v) || v < lo || v > hi {
		p.Add(field, trimFloat(v), "must be from %s to %s", trimFloat(lo), trimFloat(hi))
	}
}

func day(p *Problems, field string, d Date, need bool) {
	switch {
	case d == 0 && need:
		p.Add(field, "", "is missing: give a day as YYYY-MM-DD")
	case d != 0 && (d < NewDate(1950, 1, 1) || d > NewDate(2200, 1, 1)):
		p.Add(field, d.String(), "is not a plausible day: use 1950 to 2199")
	}
}

func zone(p *Problems, field, z string, need bool) {
	if z == "" {
		if need {
			p.Add(field, "", "is missing: give an IANA zone such as America/New_York")
		}
		return
	}
	if _, err := time.LoadLocation(z); err != nil || z == "Local" {
		p.Add(field, z, "is not an IANA time zone: use a name such as America/New_York")
	}
}

func email(p *Problems, field, s string) {
	if s == "" {
		return
	}
	a, err := mail.ParseAddress(s)
	if err != nil || a.Address != s || strings.ContainsAny(s, "\r\n") {
		p.Add(field, s, "is not an e-mail address: use the form name@example.com")
	}
}

func trimFloat(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
