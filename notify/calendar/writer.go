package calendar

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// maxLine is how many octets a line may have without its line break
// (RFC 5545 section 3.1).
const maxLine = 75

// writer appends content lines. A line is written whole, as
// begin, param..., value, one of the value methods, end; end folds it.
type writer struct {
	buf   []byte
	start int   // where the present line begins in buf
	cuts  []int // scratch of fold
}

// begin starts a line with the property's name.
func (w *writer) begin(name string) {
	w.start = len(w.buf)
	w.buf = append(w.buf, name...)
}

// param adds a parameter to the line. The value is cleaned, encoded by RFC 6868
// and quoted where it needs to be.
func (w *writer) param(name, value string) {
	w.buf = append(w.buf, ';')
	w.buf = append(w.buf, name...)
	w.buf = append(w.buf, '=')
	value = clean(value)
	quoted := strings.ContainsAny(value, `:;,`)
	if quoted {
		w.buf = append(w.buf, '"')
	}
	for i := range len(value) {
		switch c := value[i]; c {
		case '^':
			w.buf = append(w.buf, "^^"...)
		case '"':
			w.buf = append(w.buf, "^'"...)
		case '\n':
			w.buf = append(w.buf, "^n"...)
		default:
			w.buf = append(w.buf, c)
		}
	}
	if quoted {
		w.buf = append(w.buf, '"')
	}
}

// value ends the line's name and parameters.
func (w *writer) value() { w.buf = append(w.buf, ':') }

// raw appends a value that is ours and needs no escaping.
func (w *writer) raw(s string) { w.buf = append(w.buf, s...) }

// escaped appends s as a TEXT value (RFC 5545 section 3.3.11), without what a
// calendar must not hold; see clean.
func (w *writer) escaped(s string) {
	for s != "" {
		n := plainPrefix(s)
		w.buf = append(w.buf, s[:n]...)
		if s = s[n:]; s == "" {
			return
		}
		var out string
		out, n = escape(s)
		w.buf = append(w.buf, out...)
		s = s[n:]
	}
}

// plainPrefix counts the octets at the start of s that are written as they are
// and need no closer look: ASCII without controls and TEXT's special characters.
func plainPrefix(s string) int {
	for i := range len(s) {
		switch c := s[i]; {
		case c < ' ', c >= 0x7f, c == '\\', c == ';', c == ',':
			return i
		}
	}
	return len(s)
}

// escape returns how TEXT shows the first character of s, and its length in s.
func escape(s string) (out string, n int) {
	switch s[0] {
	case '\\':
		return `\\`, 1
	case ';':
		return `\;`, 1
	case ',':
		return `\,`, 1
	}
	out, n = cleanRune(s)
	if out == "\n" {
		out = `\n`
	}
	return out, n
}

// cleanRune returns what remains of the first character of s, and its length in s.
//
// Every kind of line break becomes a line feed: programs written in languages
// that split lines at the Unicode separators U+0085, U+2028 and U+2029 would
// otherwise take what follows for a property. A tab becomes a space. Other
// control characters and invalid UTF-8 vanish.
func cleanRune(s string) (out string, n int) {
	if strings.HasPrefix(s, "\r\n") {
		return "\n", 2
	}
	r, n := utf8.DecodeRuneInString(s)
	switch {
	case r == '\n', r == '\r', r == '\u0085', r == '\u2028', r == '\u2029':
		return "\n", n
	case r == '\t':
		return " ", n
	case r < ' ', r >= 0x7f && r < 0xa0, r == utf8.RuneError && n == 1:
		return "", n
	}
	return s[:n], n
}

// clean returns s as a reader of the calendar will see it; see cleanRune.
func clean(s string) string {
	n := plainPrefix(s)
	if n == len(s) {
		return s
	}
	var b strings.Builder
	b.WriteString(s[:n])
	s = s[n:]
	for s != "" {
		out, n := cleanRune(s)
		b.WriteString(out)
		s = s[n:]
	}
	return b.String()
}

// date appends a DATE.
func (w *writer) date(y int, m time.Month, d int) {
	w.two(y / 100)
	w.two(y % 100)
	w.two(int(m))
	w.two(d)
}

// dateTime appends a DATE-TIME as the clock of t's location shows it.
func (w *writer) dateTime(t time.Time) {
	w.date(t.Date())
	h, m, s := t.Clock()
	w.buf = append(w.buf, 'T')
	w.two(h)
	w.two(m)
	w.two(s)
}

// two appends n, 0 to 99, as two digits.
func (w *writer) two(n int) { w.buf = append(w.buf, byte('0'+n/10), byte('0'+n%10)) }

// end folds the line and ends it.
func (w *writer) end() {
	if len(w.buf)-w.start > maxLine {
		w.fold()
	}
	w.buf = append(w.buf, '\r', '\n')
}

// fold breaks the present line into pieces of at most 75 octets, each further
// one beginning with the space that marks it, and never inside of a character.
func (w *writer) fold() {
	const mark = "\r\n "
	w.cuts = w.cuts[:0]
	for at := w.start + maxLine; at < len(w.buf); at += maxLine - 1 {
		for !utf8.RuneStart(w.buf[at]) {
			at--
		}
		w.cuts = append(w.cuts, at)
	}
	// Move the pieces apart from the last one on, in place.
	end := len(w.buf)
	for range w.cuts {
		w.buf = append(w.buf, mark...)
	}
	for i := len(w.cuts) - 1; i >= 0; i-- {
		from, to := w.cuts[i], w.cuts[i]+len(mark)*(i+1)
		copy(w.buf[to:], w.buf[from:end])
		copy(w.buf[to-len(mark):to], mark)
		end = from
	}
}

// line writes a whole line whose value is ours and needs no escaping.
func (w *writer) line(name, value string) {
	w.begin(name)
	w.value()
	w.raw(value)
	w.end()
}

// text writes a whole line with a TEXT value, or nothing if s is empty.
func (w *writer) text(name, s string) {
	if s == "" {
		return
	}
	w.begin(name)
	w.value()
	w.escaped(s)
	w.end()
}

// utc writes a whole line with a moment in UTC.
func (w *writer) utc(name string, t time.Time) {
	w.begin(name)
	w.value()
	w.dateTime(t.UTC())
	w.raw("Z")
	w.end()
}

// integer writes a whole line with a number that is not negative.
func (w *writer) integer(name string, n int) {
	w.begin(name)
	w.value()
	w.buf = strconv.AppendInt(w.buf, int64(n), 10)
	w.end()
}

// offset returns a UTC-OFFSET, +0530 or -023000; seconds only where there are any.
func offset(seconds int) string {
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	s := fmt.Sprintf("%c%02d%02d", sign, seconds/3600, seconds/60%60)
	if seconds%60 != 0 {
		s += fmt.Sprintf("%02d", seconds%60)
	}
	return s
}

// duration returns a DURATION in the largest units that are exact, cut to the
// second: PT15M, P1D, -PT1H30M.
func duration(d time.Duration) string {
	s := int64(d / time.Second)
	var b strings.Builder
	if s < 0 {
		b.WriteByte('-')
		s = -s
	}
	b.WriteByte('P')
	if s >= 86400 {
		fmt.Fprintf(&b, "%dD", s/86400)
		s %= 86400
		if s == 0 {
			return b.String()
		}
	}
	b.WriteByte('T')
	if s >= 3600 {
		fmt.Fprintf(&b, "%dH", s/3600)
	}
	// The grammar has no PT1H5S: between hours and seconds the minutes stay.
	if s%3600 >= 60 || (s >= 3600 && s%60 != 0) {
		fmt.Fprintf(&b, "%dM", s%3600/60)
	}
	if s%60 != 0 || s == 0 {
		fmt.Fprintf(&b, "%dS", s%60)
	}
	return b.String()
}
