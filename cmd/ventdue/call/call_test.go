package call_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ventdue/cmd/ventdue/call"
	"ventdue/vent"
)

type args struct {
	Name string `json:"name"`
}

func table() call.Table {
	return call.Table{
		"greet": call.Answer(func(_ context.Context, r call.Request, a args) (string, error) {
			in, err := io.ReadAll(r.In)
			return fmt.Sprintf("%s/%s/%d", a.Name, r.Actor, len(in)), err
		}),
		"fail": call.Answer(func(_ context.Context, _ call.Request, a args) (string, error) {
			var p vent.Problems
			p.Add("name", a.Name, "is not one")
			return "", fmt.Errorf("greet: %w", p.Err())
		}),
		"missing": call.Answer(func(context.Context, call.Request, args) (string, error) {
			return "", fmt.Errorf("run 3B: %w", vent.ErrNotFound)
		}),
		"break": call.Stream(func(_ context.Context, r call.Request, _ args) error {
			if _, err := io.WriteString(r.Out, strings.Repeat("x", 100_000)); err != nil {
				return err
			}
			return fmt.Errorf("half way: %w", vent.ErrConflict)
		}),
	}
}

// offices gives the same table twice: in this process and behind a socket.
func offices(t *testing.T) map[string]call.Office {
	t.Helper()
	path := filepath.Join(t.TempDir(), "s")
	l, err := call.Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	now := func() time.Time { return time.Unix(1_800_000_000, 0) }
	s := call.NewServer(table(), "1", now)
	done := make(chan error, 1)
	go func() { done <- s.Serve(l) }()
	t.Cleanup(func() {
		_ = s.Close()
		if err := <-done; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	d, err := call.Dial(path, "1")
	if err != nil {
		t.Fatal(err)
	}
	return map[string]call.Office{
		"local":  call.Local{Table: table(), Actor: call.UserName(os.Getuid()), Now: now},
		"daemon": d,
	}
}

func TestSameInProcessAndThroughTheSocket(t *testing.T) {
	for name, o := range offices(t) {
		t.Run(name, func(t *testing.T) {
			ctx := context.Background()
			got, err := call.Ask[string](ctx, o, "greet", args{"Zoë ✓\n"}, bytes.NewReader(make([]byte, 3_000_000)))
			want := "Zoë ✓\n/" + call.UserName(os.Getuid()) + "/3000000"
			if err != nil || got != want {
				t.Errorf("greet: %q, %v; want %q", got, err, want)
			}
			_, err = call.Ask[string](ctx, o, "fail", args{"7"}, nil)
			var p vent.Problems
			if !errors.Is(err, vent.ErrInvalid) || !errors.As(err, &p) || p[0].Field != "name" || !strings.Contains(err.Error(), "greet: name") {
				t.Errorf("fail: %v", err)
			}
			if _, err = call.Ask[string](ctx, o, "missing", args{}, nil); !errors.Is(err, vent.ErrNotFound) {
				t.Errorf("missing: %v", err)
			}
			var out bytes.Buffer
			if err := o.Call(ctx, "break", args{}, nil, &out); !errors.Is(err, vent.ErrConflict) || out.Len() != 100_000 {
				t.Errorf("break: %v after %d bytes", err, out.Len())
			}
			if err := o.Call(ctx, "greet", map[string]any{"nmae": 1}, nil, io.Discard); !errors.Is(err, vent.ErrInvalid) || !strings.Contains(err.Error(), "nmae") {
				t.Errorf("unknown argument: %v", err)
			}
			if err := o.Call(ctx, "nothing", args{}, nil, io.Discard); err == nil {
				t.Error("an unknown operation is called")
			}
		})
	}
}

func TestSocketIsPrivateAndVersioned(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s")
	if _, err := call.Dial(path, "1"); !errors.Is(err, call.ErrNoDaemon) {
		t.Errorf("dial nobody: %v", err)
	}
	stale, err := net.Listen("unix", path) // as a killed daemon leaves it
	if err != nil {
		t.Fatal(err)
	}
	stale.(*net.UnixListener).SetUnlinkOnClose(false)
	stale.Close()
	l, err := call.Listen(path)
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("socket mode %v, %v", info.Mode(), err)
	}
	s := call.NewServer(table(), "2", time.Now)
	go s.Serve(l)
	defer s.Close()
	d, err := call.Dial(path, "1")
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Call(context.Background(), "greet", args{}, nil, io.Discard); err == nil || !strings.Contains(err.Error(), "version 2") {
		t.Errorf("another version: %v", err)
	}
}
