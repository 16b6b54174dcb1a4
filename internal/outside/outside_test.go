package outside

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// verdict records how a test ended that lacked something.
type verdict struct {
	testing.TB
	text string
}

func (v *verdict) Helper() {}

func (v *verdict) Skipf(format string, args ...any) {
	v.text = "skipped: " + fmt.Sprintf(format, args...)
	panic(v)
}

func (v *verdict) Fatalf(format string, args ...any) {
	v.text = "failed: " + fmt.Sprintf(format, args...)
	panic(v)
}

// ending returns how a test ends that calls f.
func ending(t *testing.T, f func(testing.TB)) string {
	v := &verdict{TB: t}
	func() {
		defer func() { _ = recover() }()
		f(v)
	}()
	return v.text
}

func TestMissingToolsSkipOrFail(t *testing.T) {
	t.Setenv("VENTDUE_REQUIRE_TOOLS", "")
	t.Setenv("VENTDUE_TOOLS", t.TempDir())
	program := func(t testing.TB) { Need(t, "no-such-program") }
	module := func(t testing.TB) { Module(t, "ical.js") }
	if got, want := ending(t, program), "skipped: no-such-program is missing: testdata/tools/install installs it"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := ending(t, module); !strings.HasPrefix(got, "skipped: the npm package ical.js is missing") {
		t.Errorf("got %q", got)
	}
	if got := ending(t, func(t testing.TB) { Need(t, "go") }); got != "" {
		t.Errorf("go is there, but: %q", got)
	}
	t.Setenv("VENTDUE_REQUIRE_TOOLS", "1")
	if got := ending(t, program); !strings.HasPrefix(got, "failed: no-such-program is missing") {
		t.Errorf("got %q", got)
	}
	if got := ending(t, module); !strings.HasPrefix(got, "failed: the npm package ical.js is missing") {
		t.Errorf("got %q", got)
	}
}

// Parsers must not pass over what they cannot read.
func TestParsersFailOnBrokenCalendars(t *testing.T) {
	for _, p := range Parsers {
		t.Run(p.Name, func(t *testing.T) {
			p.Read(t, []byte("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n"))
			for _, text := range []string{
				"<html>",
				"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:a\r\nDTSTART:soon\r\nDTEND:later\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
			} {
				if got := ending(t, func(t testing.TB) { p.Read(t, []byte(text)) }); !strings.HasPrefix(got, "failed") {
					t.Errorf("reading %q: %q", text, got)
				}
			}
		})
	}
}

// install runs testdata/tools/install in a world where only some programs exist.
func install(t *testing.T, programs map[string]string, args ...string) (output string, code int) {
	t.Helper()
	bin := t.TempDir()
	for name, script := range programs {
		if err := os.WriteFile(filepath.Join(bin, name), []byte("#!/bin/bash\n"+script), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"bash", "dirname", "grep", "mkdir", "cat"} {
		if err := os.Symlink(Need(t, name), filepath.Join(bin, name)); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("bash", append([]string{"../../testdata/tools/install"}, args...)...)
	cmd.Env = []string{"PATH=" + bin, "VENTDUE_TOOLS=" + filepath.Join(t.TempDir(), "tools"), "LOG=" + filepath.Join(bin, "log")}
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	log, _ := os.ReadFile(filepath.Join(bin, "log"))
	return string(out) + string(log), cmd.ProcessState.ExitCode()
}

func TestInstallSaysWhatIsMissing(t *testing.T) {
	for _, args := range [][]string{{"--check"}, nil} { // without npm and apt-get it can only say so
		out, code := install(t, map[string]string{"node": "", "gcc": ""}, args...)
		if code != 3 {
			t.Errorf("%q: exit code %d, want 3\n%s", args, code, out)
		}
		for _, want := range []string{"chromium", "khal", "vdirsyncer", "poppler-utils", " npm ", "apt-get install", "npm install --prefix", "ical.js@", "axe-core@"} {
			if !strings.Contains(out, want) {
				t.Errorf("%q: %q is not named in\n%s", args, want, out)
			}
		}
		for _, there := range []string{" gcc", "nodejs"} {
			if strings.Contains(out, there) {
				t.Errorf("%q: %q is there, but named in\n%s", args, there, out)
			}
		}
	}
	if out, code := install(t, nil, "--chekc"); code != 2 || !strings.Contains(out, "use:") {
		t.Errorf("wrong use: exit code %d\n%s", code, out)
	}
}

func TestInstallFetchesListsOnlyWhenNeeded(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("Debian's packages are installed as root only")
	}
	log := `echo "${0##*/} $* FRONTEND=${DEBIAN_FRONTEND-}" >>"$LOG"` + "\n"
	world := map[string]string{
		"apt-get":                log,
		"npm":                    log,
		"debconf-set-selections": log + `cat >>"$LOG"`,
	}
	out, code := install(t, world)
	if code != 3 { // the stand-ins install nothing
		t.Errorf("exit code %d, want 3", code)
	}
	if strings.Contains(out, "apt-get -qq -o DPkg::Lock::Timeout=300 update") || !strings.Contains(out, "install -y --no-install-recommends") || !strings.Contains(out, "FRONTEND=noninteractive") {
		t.Errorf("want an unattended install without update:\n%s", out)
	}
	world["apt-get"] = log + `[[ $* == *update* ]] || exit 100` // as with empty lists
	if out, _ := install(t, world); !strings.Contains(out, "Timeout=300 update") || strings.Count(out, "install -y --no-install") != 2 {
		t.Errorf("want install, update, install:\n%s", out)
	}
}
