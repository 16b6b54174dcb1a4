package calendar

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/emersion/go-ical"
)

// Limits bound what [Decode] accepts. A zero field means the stated default.
type Limits struct {
	Bytes  int // of the whole input; default 4 MB
	Lines  int // content lines; default 100 000
	Line   int // octets of one content line after unfolding; default 256 KB
	Params int // octets of a line's name and parameters; default 1 KB: go-ical takes time by their square
	Depth  int // nested components; default 8 (RFC 5545 needs 3)
}

func (l Limits) withDefaults() Limits {
	set := func(field *int, value int) {
		if *field == 0 {
			*field = value
		}
	}
	set(&l.Bytes, 4<<20)
	set(&l.Lines, 100_000)
	set(&l.Line, 256<<10)
	set(&l.Params, 1<<10)
	set(&l.Depth, 8)
	return l
}

// ErrTooLarge is returned (wrapped) by [Decode] when the input is past one of
// the limits.
var ErrTooLarge = errors.New("calendar is too large")

// Decode reads one iCalendar object. It accepts what go-ical accepts, which is
// lenient about content: whoever reads a property checks it. It returns an error,
// and never panics, for anything broken, cut off, past a limit or followed by a
// second calendar.
func Decode(r io.Reader, limits Limits) (cal *ical.Calendar, err error) {
	limits = limits.withDefaults()
	data, err := io.ReadAll(io.LimitReader(r, int64(limits.Bytes)+1))
	if err != nil {
		return nil, fmt.Errorf("read calendar: %w", err)
	}
	if len(data) > limits.Bytes {
		return nil, fmt.Errorf("read calendar: more than %d octets: %w", limits.Bytes, ErrTooLarge)
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		return nil, errors.New("read calendar: it is not UTF-8: save it as UTF-8 and try again")
	}
	if err := screen(data, limits); err != nil {
		return nil, fmt.Errorf("read calendar: %w", err)
	}
	defer func() {
		if p := recover(); p != nil { // go-ical panics on some broken lines; screen lets none through that we know
			cal, err = nil, fmt.Errorf("read calendar: %v", p)
		}
	}()
	dec := ical.NewDecoder(bytes.NewReader(data))
	cal, err = dec.Decode()
	if errors.Is(err, io.EOF) {
		err = fmt.Errorf("it ends in the middle: %w", io.ErrUnexpectedEOF)
	}
	if err != nil {
		return nil, fmt.Errorf("read calendar: %w", err)
	}
	if _, err := dec.Decode(); !errors.Is(err, io.EOF) {
		return nil, errors.New("read calendar: something follows END:VCALENDAR: split the file into one calendar each")
	}
	return cal, nil
}

// screen refuses what go-ical could not survive, without keeping anything.
func screen(data []byte, limits Limits) error {
	var lines, depth int
	for len(data) > 0 {
		var line string
		line, data = unfold(data)
		lines++
		if lines > limits.Lines {
			return fmt.Errorf("more than %d lines: %w", limits.Lines, ErrTooLarge)
		}
		if len(line) > limits.Line {
			return fmt.Errorf("line %d (unfolded) has %d octets: %w", lines, len(line), ErrTooLarge)
		}
		if line == "" {
			continue
		}
		head, err := headLen(line)
		if err != nil {
			return fmt.Errorf("line %d (unfolded), %.40q: %w", lines, line, err)
		}
		if head > limits.Params {
			return fmt.Errorf("line %d (unfolded) has %d octets of parameters: %w", lines, head, ErrTooLarge)
		}
		name, _, _ := strings.Cut(line[:head], ";")
		switch strings.ToUpper(name) { // as go-ical compares
		case "BEGIN":
			depth++
		case "END":
			depth--
		}
		if depth > limits.Depth {
			return fmt.Errorf("line %d (unfolded): components nested more than %d deep: %w", lines, limits.Depth, ErrTooLarge)
		}
	}
	return nil
}

// unfold cuts the first content line off data.
func unfold(data []byte) (line string, rest []byte) {
	var joined []byte
	for {
		piece, rest, _ := bytes.Cut(data, []byte("\n"))
		piece = bytes.TrimSuffix(piece, []byte("\r"))
		if len(rest) == 0 || (rest[0] != ' ' && rest[0] != '\t') {
			return string(append(joined, piece...)), rest
		}
		joined = append(joined, piece...)
		data = rest[1:]
	}
}

// errLine is what every line that is no content line gets.
var errLine = errors.New("it is not of the form NAME;PARAMETER=VALUE:VALUE")

// headLen returns the length of a content line's name and parameters, without
// the colon that ends them.
func headLen(line string) (int, error) {
	at := strings.IndexAny(line, ";:")
	if at <= 0 {
		return 0, errLine
	}
	for line[at] == ';' {
		n := strings.IndexAny(line[at+1:], `=;:,"`)
		if n <= 0 || line[at+1+n] != '=' {
			return 0, errLine
		}
		at += 1 + n
		for line[at] == '=' || line[at] == ',' {
			n = valueLen(line[at+1:])
			if n < 0 {
				return 0, errLine
			}
			at += 1 + n
		}
	}
	if line[at] != ':' {
		return 0, errLine
	}
	return at, nil
}

// valueLen returns the length of the parameter value that s begins with, or -1
// if it is broken or nothing follows it.
func valueLen(s string) int {
	if strings.HasPrefix(s, `"`) {
		n := strings.IndexByte(s[1:], '"') + 2
		if n == 1 || n == len(s) {
			return -1
		}
		return n
	}
	return strings.IndexAny(s, `;:,"`)
}
