package main

import (
	"bytes"
	"errors"
	"fmt"
	"testing"

	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/vent"
)

func TestErrorsAreToldInWordsForPeople(t *testing.T) {
	const id = "0197c3a0-0000-7000-8000-000000000001"
	for want, err := range map[string]error{
		"ventdue: run " + id + " does not exist\n": fmt.Errorf("run %s: %w", id, vent.ErrNotFound),
		"ventdue: no run is called 7\n":            fmt.Errorf("no run is called 7: %w", vent.ErrNotFound),
		"ventdue: two runs fit: give an id\n":      fmt.Errorf("two runs fit: give an id: %w", vent.ErrConflict),
		"ventdue: not found\n":                     vent.ErrNotFound,
		"ventdue: the file is invalid\n":           errors.New("the file is invalid"),
		"ventdue: put run: invalid: it is long\n":  fmt.Errorf("put run: %w: it is long", vent.ErrInvalid),
	} {
		var out bytes.Buffer
		(&app{stdio: stdio{Err: &out}}).complain(err)
		if out.String() != want {
			t.Errorf("%v is told as %q, want %q", err, out.String(), want)
		}
	}
}

func TestTheVerdictOfAnImport(t *testing.T) {
	broken := intake.Problems{Listed: make([]intake.Problem, 1)}
	for want, r := range map[string]desk.ImportReport{
		"1 of 1 rows have problems; nothing was stored: mend them, or take the good rows with --keep-good": {Rows: 1, Bad: 1, Problems: broken},
		"1 of 2 rows have problems and were left out":                                                      {Rows: 2, Bad: 1, Problems: broken, Stored: true},
		"the file has 1 problem; nothing was changed":                                                      {Rows: 5, Problems: broken}, // an unknown column
		"the file cannot be taken; nothing was changed":                                                    {Problems: broken},
	} {
		if got := verdict(r, importArgs{}); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
