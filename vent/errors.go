package vent

import (
	"errors"
	"fmt"
	"strings"
)

// The three refusals that callers branch on.
var (
	// ErrNotFound is returned when what was asked for does not exist.
	ErrNotFound = errors.New("not found")
	// ErrConflict is returned when the wanted change no longer fits what is stored.
	ErrConflict = errors.New("conflict")
	// ErrInvalid is returned when what was said cannot be true or is not complete; see Problems.
	ErrInvalid = errors.New("invalid")
)

// Problem is one thing wrong with one field: which, what was given, and what to do about it.
type Problem struct {
	// Field is the name of the field as the person who gave it knows it, for example "last_cleaned".
	Field string `json:"field"`
	// Value is what was given; "" where nothing was.
	Value string `json:"value,omitempty"`
	// Text says what is wrong and the remedy, in one sentence.
	Text string `json:"text"`
}

func (p Problem) String() string {
	if p.Value == "" {
		return p.Field + ": " + p.Text
	}
	return fmt.Sprintf("%s %q: %s", p.Field, shorten(p.Value, 60), p.Text)
}

// Problems collects what is wrong with a record; as an error it matches ErrInvalid.
type Problems []Problem

// Add notes one problem.
func (p *Problems) Add(field, value, format string, args ...any) {
	*p = append(*p, Problem{Field: field, Value: value, Text: fmt.Sprintf(format, args...)})
}

// Under prefixes the fields of all of q with the name of the part they belong to and adds them.
func (p *Problems) Under(part string, q Problems) {
	for _, x := range q {
		x.Field = part + "." + x.Field
		*p = append(*p, x)
	}
}

// Err gives the problems as an error, or nil when there are none.
func (p Problems) Err() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, x := range p {
		lines[i] = x.String()
	}
	return strings.Join(lines, "; ")
}

// Is lets errors.Is(err, ErrInvalid) see a collection of problems.
func (p Problems) Is(target error) bool { return target == ErrInvalid }

// shorten cuts s to at most n runes, marking the cut.
func shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
