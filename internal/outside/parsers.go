package outside

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// ParsedEvent is an event as a parser understood it.
type ParsedEvent struct {
	UID         string   `json:"uid"`
	Summary     string   `json:"summary"`
	Description string   `json:"description"`
	Location    string   `json:"location"`
	Status      string   `json:"status"`
	URL         string   `json:"url"`
	Sequence    int      `json:"sequence"`
	Categories  []string `json:"categories"`
	Alarms      int      `json:"alarms"`

	// Start and End are 2026-03-02 for an all-day event (End is the day after
	// its last), and otherwise a moment in UTC, 2026-03-09T13:00:00Z, worked out
	// by the parser.
	Start string `json:"start"`
	End   string `json:"end"`
}

//go:embed testdata/icalendar.py
var icalendarScript string

//go:embed testdata/icaljs.mjs
var icaljsScript string

//go:embed testdata/libical.c
var libicalSource []byte

// Parser has one program read a calendar. It fails the test if the program
// finds an error.
type Parser struct {
	Name string
	Read func(t testing.TB, calendar []byte) []ParsedEvent
}

// Parsers are all the parsers there are.
var Parsers = []Parser{
	{"python3-icalendar", PythonICalendar},
	{"libical", Libical},
	{"ical.js", ICALJS},
}

// PythonICalendar reads a calendar with Debian's python3-icalendar.
func PythonICalendar(t testing.TB, calendar []byte) []ParsedEvent {
	t.Helper()
	const python = "/usr/bin/python3" // the one that Debian's packages are for
	if exec.Command(python, "-c", "import icalendar").Run() != nil {
		Missing(t, "python3-icalendar")
	}
	return parse(t, calendar, python, "-c", icalendarScript)
}

// ICALJS reads a calendar with ical.js under node.
func ICALJS(t testing.TB, calendar []byte) []ParsedEvent {
	t.Helper()
	node := Need(t, "node")
	library := filepath.Join(Module(t, "ical.js"), "dist", "ical.js")
	script := filepath.Join(t.TempDir(), "icaljs.mjs")
	if err := os.WriteFile(script, []byte(icaljsScript), 0o600); err != nil {
		t.Fatal(err)
	}
	return parse(t, calendar, node, script, library)
}

// Libical reads a calendar with libical, through a program compiled here.
func Libical(t testing.TB, calendar []byte) []ParsedEvent {
	t.Helper()
	gcc := Need(t, "gcc")
	if _, err := os.Stat("/usr/include/libical/ical.h"); err != nil {
		Missing(t, "libical-dev")
	}
	program := filepath.Join(t.TempDir(), "libical")
	compile := exec.Command(gcc, "-Wall", "-x", "c", "-o", program, "-", "-lical")
	compile.Stdin = bytes.NewReader(libicalSource)
	if out, err := compile.CombinedOutput(); err != nil {
		t.Fatalf("compile against libical: %v\n%s", err, out)
	}
	return parse(t, calendar, program)
}

// parse runs a program that reads a calendar and writes its events as JSON lines.
func parse(t testing.TB, calendar []byte, name string, args ...string) []ParsedEvent {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Stdin = bytes.NewReader(calendar)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s cannot read the calendar: %v\n%s", filepath.Base(name), err, stderr.Bytes())
	}
	var events []ParsedEvent
	dec := json.NewDecoder(bytes.NewReader(out))
	for dec.More() {
		var e ParsedEvent
		if err := dec.Decode(&e); err != nil {
			t.Fatalf("%s wrote %q: %v", filepath.Base(name), out, err)
		}
		events = append(events, e)
	}
	return events
}
