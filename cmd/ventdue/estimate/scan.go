package estimate

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"iter"

	"ventdue/vent"
)

// members walks the members of an object: the key with its quotes, and the value. The text must have passed json.Valid.
func members(object []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func(key, value []byte) bool) {
		for rest := inside(object); len(rest) > 0; {
			var key, value []byte
			key, rest = cut(rest)
			value, rest = cut(after(rest, ':'))
			if !yield(key, value) {
				return
			}
			rest = after(rest, ',')
		}
	}
}

// elements walks the elements of an array that has passed json.Valid.
func elements(array []byte) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		for rest := inside(array); len(rest) > 0; {
			var value []byte
			value, rest = cut(rest)
			if !yield(value) {
				return
			}
			rest = after(rest, ',')
		}
	}
}

const blanks = " \t\r\n"

// inside gives what stands between the brackets.
func inside(b []byte) []byte { return bytes.Trim(b[1:len(b)-1], blanks) }

// after passes over blanks and one separator, if it is there.
func after(b []byte, separator byte) []byte {
	b = bytes.TrimLeft(b, blanks)
	if len(b) > 0 && b[0] == separator {
		b = bytes.TrimLeft(b[1:], blanks)
	}
	return b
}

// cut parts the first value from the rest. It counts brackets instead of calling itself: nesting costs nothing.
func cut(b []byte) (value, rest []byte) {
	depth := 0
	for i := 0; i < len(b); i++ {
		switch b[i] {
		case '"':
			for i++; b[i] != '"'; i++ {
				if b[i] == '\\' {
					i++
				}
			}
			if depth == 0 {
				return b[:i+1], b[i+1:]
			}
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth == 0 {
				return b[:i+1], b[i+1:]
			}
		case ',', ':', ' ', '\t', '\r', '\n':
			if depth == 0 {
				return b[:i], b[i:]
			}
		}
	}
	return b, nil
}

// isNull reports whether a value is null, which says as much as leaving it out.
func isNull(raw []byte) bool { return raw[0] == 'n' }

// text reads a string.
func text(raw []byte) (string, error) {
	if raw[0] != '"' {
		return "", fmt.Errorf("is %s: write a text in quotes", kindOf(raw))
	}
	if bytes.IndexByte(raw, '\\') < 0 {
		return string(raw[1 : len(raw)-1]), nil
	}
	var s string
	err := json.Unmarshal(raw, &s)
	return s, err
}

// word reads a string into a named type of text.
func word[T ~string](raw []byte, into *T) error {
	s, err := text(raw)
	*into = T(s)
	return err
}

// date reads a day in ISO form.
func date(raw []byte, into *vent.Date) error {
	s, err := text(raw)
	if err != nil {
		return err
	}
	if *into, err = vent.ParseDate(s); err != nil {
		return errors.New("is not a day: write it as YYYY-MM-DD, for example 2026-11-25")
	}
	return nil
}

// cell gives a value as a cell of a sheet would show it; yes and no stand for true and false.
func cell(raw []byte) (string, error) {
	switch raw[0] {
	case '"':
		s, err := text(raw)
		return string(bytes.TrimSpace([]byte(s))), err
	case '{', '[':
		return "", errors.New("is " + kindOf(raw) + ": write a text, a number, true or false")
	case 't':
		return "yes", nil
	case 'f':
		return "no", nil
	}
	return string(raw), nil
}

// kindOf names what kind of value it is, for messages.
func kindOf(raw []byte) string {
	switch raw[0] {
	case '{':
		return "an object"
	case '[':
		return "a list"
	case '"':
		return "a text"
	case 't', 'f':
		return "true or false"
	}
	return "a number"
}
