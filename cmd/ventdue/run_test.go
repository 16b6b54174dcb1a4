package main

import (
	"bytes"
	"errors"
	"fmt"
	"testing"

	"ventdue/vent"
)

func TestErrorsAreToldInWordsForPeople(t *testing.T) {
	for want, err := range map[string]error{
		"ventdue: no run is called 7\n":           fmt.Errorf("no run is called 7: %w", vent.ErrNotFound),
		"ventdue: two runs fit: give an id\n":     fmt.Errorf("two runs fit: give an id: %w", vent.ErrConflict),
		"ventdue: not found\n":                    vent.ErrNotFound,
		"ventdue: the file is invalid\n":          errors.New("the file is invalid"),
		"ventdue: put run: invalid: it is long\n": fmt.Errorf("put run: %w: it is long", vent.ErrInvalid),
	} {
		var out bytes.Buffer
		(&app{stdio: stdio{Err: &out}}).complain(err)
		if out.String() != want {
			t.Errorf("%v is told as %q, want %q", err, out.String(), want)
		}
	}
}
