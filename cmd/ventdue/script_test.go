package main

import (
	"bytes"
	"context"
	"flag"
	"image"
	"image/png"
	"os"
	"os/signal"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite golden files")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"ventdue": func() {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		code := run(ctx, os.Args[1:], os.Environ(), stdio{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
		os.Exit(code) //nolint: the process of one command ends here
	}})
}

// TestScripts runs the command line as people do: each file in testdata/script is one story.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"picture": drawPicture},
		Setup: func(e *testscript.Env) error {
			e.Setenv("VENTDUE_DATA", e.WorkDir+"/data")
			e.Setenv("VENTDUE_ZONE", "America/New_York")
			e.Setenv("VENTDUE_WEB_LISTEN", "127.0.0.1:0")
			e.Setenv("HOME", e.WorkDir)
			// A socket's path has at most about 100 letters: it cannot lie in the test's deep folder.
			dir, err := os.MkdirTemp("", "vd")
			if err != nil {
				return err
			}
			e.Defer(func() { _ = os.RemoveAll(dir) })
			e.Setenv("VENTDUE_SOCKET", dir+"/s")
			return nil
		},
	})
}

// drawPicture makes a png of a size: "picture FILE WIDTH HEIGHT".
func drawPicture(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: picture FILE WIDTH HEIGHT")
	}
	w, err := strconv.Atoi(args[1])
	ts.Check(err)
	h, err := strconv.Atoi(args[2])
	ts.Check(err)
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(png.Encode(f, image.NewGray(image.Rect(0, 0, w, h))))
	ts.Check(f.Close())
}

// TestExitCodes: done, failed and wrong use are told apart.
func TestExitCodes(t *testing.T) {
	env := []string{"VENTDUE_DATA=" + t.TempDir(), "VENTDUE_ZONE=UTC"}
	for _, c := range []struct {
		args string
		want int
		says string
	}{
		{"version", exitDone, ""},
		{"--help", exitDone, ""},
		{"due", exitDone, ""},
		{"explain nothing-of-that-name", exitFailed, "no run fits"},
		{"import /no/such/file.csv", exitFailed, "no such file"},
		{"verify", exitDone, ""},
		{"dew", exitUsage, `no command "dew"`},
		{"due --no-such-flag", exitUsage, "no-such-flag"},
		{"due --to 03/04/2027", exitUsage, "YYYY-MM-DD"},
		{"import", exitUsage, "which file"},
		{"record", exitUsage, "which run"},
		{"record x --outcome full --speed-after 1250", exitUsage, "speed-after"},
		{"feed revoke 17", exitFailed, "no feed fits"},
		{"feed rotate", exitUsage, "which feed"},
		{"backup extra", exitUsage, "argument"},
		{"erase somebody@example.com", exitUsage, "--yes"},
		{"serve --mail.mode pigeon", exitUsage, "mail.mode"},
	} {
		var out, errs bytes.Buffer
		got := run(context.Background(), strings.Fields(c.args), env, stdio{In: strings.NewReader(""), Out: &out, Err: &errs})
		if got != c.want || !strings.Contains(errs.String(), c.says) {
			t.Errorf("ventdue %s: exit %d, want %d; it says %q, want %q in it", c.args, got, c.want, errs.String(), c.says)
		}
	}
}

func TestEveryCommandExplainsItself(t *testing.T) {
	a := &app{}
	for _, c := range a.root().Commands() {
		if c.Short == "" || strings.HasSuffix(c.Short, ".") {
			t.Errorf("%s: short help %q", c.Name(), c.Short)
		}
	}
}
