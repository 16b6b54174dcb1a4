package intake

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"
)

// count emits the numbers from 0 up to n, then ends with err.
func count(n int, err error) func(func(int) error) error {
	return func(emit func(int) error) error {
		for i := range n {
			if err := emit(i); err != nil {
				return err
			}
		}
		return err
	}
}

func TestAhead(t *testing.T) {
	full := errors.New("the drawer is full")
	torn := errors.New("the page is torn")
	for _, x := range []struct {
		n, stopAt int // stopAt 0: all are taken
		source    error
		want      error
	}{
		{n: 0}, {n: 1}, {n: batchRows}, {n: batchRows + 1}, {n: 100 * batchRows},
		{n: 3, source: torn, want: torn}, {n: 20 * batchRows, source: torn, want: torn},
		{n: 3, stopAt: 2, want: full}, {n: 100 * batchRows, stopAt: batchRows + 7, want: full},
		{n: 3, stopAt: 2, source: torn, want: full},
	} {
		t.Run(fmt.Sprintf("%+v", x), func(t *testing.T) {
			var got, want []int
			err := ahead(count(x.n, x.source), func(i int) error {
				if got = append(got, i); len(got) == x.stopAt {
					return full
				}
				return nil
			})
			for i := range x.n {
				if x.stopAt == 0 || i < x.stopAt {
					want = append(want, i)
				}
			}
			if err != x.want || !slices.Equal(got, want) {
				t.Errorf("%v and %d numbers, want %v and %d in order", err, len(got), x.want, len(want))
			}
		})
	}
}

// TestAheadEndsWithItsSource leaves no goroutine behind, and lets a panic of the source be one of the caller's.
func TestAheadEndsWithItsSource(t *testing.T) {
	before := runtime.NumGoroutine()
	func() {
		defer func() {
			if r := fmt.Sprint(recover()); !strings.Contains(r, "no such page") {
				t.Errorf("recovered %q", r)
			}
		}()
		_ = ahead(func(emit func(int) error) error {
			if err := emit(1); err != nil {
				return err
			}
			panic("no such page")
		}, func(int) error { return nil })
		t.Error("the panic was lost")
	}()
	for range 10 {
		_ = ahead(count(100*batchRows, nil), func(int) error { return errors.New("enough") })
	}
	if now := runtime.NumGoroutine(); now > before {
		t.Errorf("%d goroutines, %d before", now, before)
	}
}
