package intake

import (
	"errors"
	"fmt"
	"runtime/debug"
)

const (
	batchRows = 256 // rows that are handed over at once
	batches   = 8   // read ahead
)

// errGone ends a source whose taker has given up; it never leaves this package.
var errGone = errors.New("nobody takes any more")

// ahead lets source run ahead on a goroutine of its own and hands what it emits to take, in order. It returns when
// both have ended: with take's error, else with source's. A panic of source goes on in the caller.
func ahead[T any](source func(emit func(T) error) error, take func(T) error) error {
	out, stop := make(chan []T, batches), make(chan struct{})
	var failed error
	var panicked any
	go func() {
		defer close(out)
		defer func() {
			if r := recover(); r != nil {
				panicked = fmt.Sprintf("%v\n%s", r, debug.Stack())
			}
		}()
		failed = batched(source, out, stop)
	}()
	defer func() {
		close(stop)
		for range out {
		}
	}()
	for batch := range out {
		for _, x := range batch {
			if err := take(x); err != nil {
				return err
			}
		}
	}
	if panicked != nil {
		panic(panicked)
	}
	return failed
}

// batched runs source and sends what it emits in batches, until stop is closed.
func batched[T any](source func(emit func(T) error) error, out chan<- []T, stop <-chan struct{}) error {
	var batch []T
	send := func() error {
		select {
		case out <- batch:
			batch = make([]T, 0, batchRows)
			return nil
		case <-stop:
			return errGone
		}
	}
	err := source(func(x T) error {
		if batch = append(batch, x); len(batch) < batchRows {
			return nil
		}
		return send()
	})
	if len(batch) > 0 && !errors.Is(err, errGone) {
		if sendErr := send(); err == nil {
			err = sendErr
		}
	}
	return err
}
