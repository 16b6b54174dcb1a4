// Package call lets a command do its work wherever the data file is open: in this process, or in the daemon that holds
// it, through a Unix socket beside the file. The same handlers run in both.
package call

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"ventdue/vent"
)

// Request is one call as a handler sees it.
type Request struct {
	Actor string          // who calls: the audit trail's name
	Now   time.Time       // taken once, when the call arrived
	Args  json.RawMessage // the call's arguments
	In    io.Reader       // the bytes of a file the caller gave; empty where there is none
	Out   io.Writer       // where the answer goes
}

// Handler does one named thing.
type Handler func(context.Context, Request) error

// Table is the handlers by name.
type Table map[string]Handler

// Office is something that can be called: this process's own table, or a daemon behind its socket.
type Office interface {
	// Call does the named thing with args, which are sent as JSON, and in, which may be nil. The answer is written
	// to out. An error matches vent.ErrNotFound, ErrConflict or ErrInvalid where the handler's did.
	Call(ctx context.Context, name string, args any, in io.Reader, out io.Writer) error
}

// Local is the office in this process.
type Local struct {
	Table Table
	Actor string
	Now   func() time.Time
}

// Call runs the handler in this process.
func (l Local) Call(ctx context.Context, name string, args any, in io.Reader, out io.Writer) error {
	h, ok := l.Table[name]
	if !ok {
		return fmt.Errorf("no operation %q: %w", name, vent.ErrNotFound)
	}
	raw, err := json.Marshal(args)
	if err != nil {
		return fmt.Errorf("%s: arguments: %w", name, err)
	}
	if in == nil {
		in = bytes.NewReader(nil)
	}
	return h(ctx, Request{Actor: l.Actor, Now: l.Now(), Args: raw, In: in, Out: out})
}

// Answer makes a handler from a function that takes typed arguments and gives a typed answer, sent as JSON.
// Arguments that the function does not know are refused: the caller is of another version.
func Answer[A, R any](f func(context.Context, Request, A) (R, error)) Handler {
	return Stream(func(ctx context.Context, r Request, a A) error {
		answer, err := f(ctx, r, a)
		if err != nil {
			return err
		}
		return json.NewEncoder(r.Out).Encode(answer)
	})
}

// Stream makes a handler from a function that takes typed arguments and writes its own answer.
func Stream[A any](f func(context.Context, Request, A) error) Handler {
	return func(ctx context.Context, r Request) error {
		var a A
		d := json.NewDecoder(bytes.NewReader(r.Args))
		d.DisallowUnknownFields()
		if err := d.Decode(&a); err != nil {
			return fmt.Errorf("arguments: %w: %w", err, vent.ErrInvalid)
		}
		return f(ctx, r, a)
	}
}

// Ask calls a handler that was made by Answer.
func Ask[R any](ctx context.Context, o Office, name string, args any, in io.Reader) (answer R, err error) {
	var b bytes.Buffer
	if err := o.Call(ctx, name, args, in, &b); err != nil {
		return answer, err
	}
	if err := json.Unmarshal(b.Bytes(), &answer); err != nil {
		return answer, fmt.Errorf("%s: answer: %w", name, err)
	}
	return answer, nil
}

// failure is an error on its way through the socket.
type failure struct {
	Kind     string        `json:"kind,omitempty"` // not_found, conflict, invalid
	Text     string        `json:"text"`
	Problems vent.Problems `json:"problems,omitempty"`
}

var kinds = []struct {
	name string
	err  error
}{{"not_found", vent.ErrNotFound}, {"conflict", vent.ErrConflict}, {"invalid", vent.ErrInvalid}}

func pack(err error) failure {
	f := failure{Text: err.Error()}
	for _, k := range kinds {
		if errors.Is(err, k.err) {
			f.Kind = k.name
		}
	}
	errors.As(err, &f.Problems)
	return f
}

// unpacked is an error that came through the socket: the handler's own words, matching what the handler's matched.
type unpacked struct{ failure }

func (u unpacked) Error() string { return u.Text }

func (u unpacked) Is(target error) bool {
	for _, k := range kinds {
		if k.name == u.Kind && k.err == target {
			return true
		}
	}
	return false
}

func (u unpacked) As(target any) bool {
	p, ok := target.(*vent.Problems)
	if ok && u.Problems != nil {
		*p = u.Problems
	}
	return ok && u.Problems != nil
}
