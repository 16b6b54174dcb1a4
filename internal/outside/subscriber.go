package outside

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Subscriber is a calendar program that has subscribed to an address:
// vdirsyncer fetches it, khal shows it.
type Subscriber struct {
	t        testing.TB
	dir      string
	syncer   string
	khal     string
	timezone string
}

// Listed is one line of an agenda. An event of several days is listed on each.
type Listed struct {
	Day   string // 2026-03-09
	Start string // 09:00, empty for an all-day event
	End   string // 10:30, empty for an all-day event
	Title string
}

// Subscribe sets up a program, living in the named time zone, that reads url.
// It fetches nothing before Sync.
func Subscribe(t testing.TB, url, timezone string) *Subscriber {
	t.Helper()
	s := &Subscriber{t: t, dir: t.TempDir(), timezone: timezone, syncer: Need(t, "vdirsyncer"), khal: Need(t, "khal")}
	s.write("vdirsyncer.conf", fmt.Sprintf(`[general]
status_path = "%[1]s/status"
[pair feed]
a = "local"
b = "remote"
collections = null
conflict_resolution = "b wins"
[storage local]
type = "filesystem"
path = "%[1]s/events"
fileext = ".ics"
[storage remote]
type = "http"
url = "%[2]s"
`, s.dir, url))
	s.write("khal.conf", fmt.Sprintf(`[calendars]
[[feed]]
path = %[1]s/events
readonly = True
[locale]
local_timezone = %[2]s
default_timezone = %[2]s
timeformat = %%H:%%M
dateformat = %%Y-%%m-%%d
longdateformat = %%Y-%%m-%%d
datetimeformat = %%Y-%%m-%%d %%H:%%M
longdatetimeformat = %%Y-%%m-%%d %%H:%%M
[sqlite]
path = %[1]s/khal.db
`, s.dir, timezone))
	if err := os.Mkdir(filepath.Join(s.dir, "events"), 0o700); err != nil {
		t.Fatal(err)
	}
	s.run(s.syncer, "discover", "feed")
	return s
}

// Changes is what a synchronisation did to the subscriber's copy, by the events'
// SUMMARY lines. vdirsyncer knows an event of an HTTP calendar by its content,
// so that a changed one goes and comes.
type Changes struct{ Came, Went []string }

// Sync fetches the address and returns which events of the copy changed.
func (s *Subscriber) Sync() Changes {
	s.t.Helper()
	before := s.stored()
	s.run(s.syncer, "sync", "feed")
	after := s.stored()
	return Changes{Came: missingFrom(before, after), Went: missingFrom(after, before)}
}

// missingFrom returns the summaries of the files in b that a lacks or has with
// another content.
func missingFrom(a, b map[string]string) (summaries []string) {
	for name, text := range b {
		if a[name] != text {
			summaries = append(summaries, summaryOf(text))
		}
	}
	slices.Sort(summaries)
	return summaries
}

// List returns the agenda from one day to another, both included.
func (s *Subscriber) List(from, to string) []Listed {
	s.t.Helper()
	out := s.run(s.khal, "-c", filepath.Join(s.dir, "khal.conf"), "list",
		"--day-format", "DAY {date}", "--format", "EVENT {start-time}\t{end-time}\t{title}", from, to)
	var list []Listed
	day := ""
	for line := range strings.Lines(out) {
		line = strings.TrimRight(line, "\n")
		if d, ok := strings.CutPrefix(line, "DAY "); ok {
			day = d
			continue
		}
		e, ok := strings.CutPrefix(line, "EVENT ")
		if !ok && len(list) > 0 { // a title of several lines
			list[len(list)-1].Title += "\n" + line
			continue
		}
		f := strings.SplitN(e, "\t", 3)
		if len(f) != 3 {
			s.t.Fatalf("khal listed %q", line)
		}
		list = append(list, Listed{Day: day, Start: f[0], End: f[1], Title: f[2]})
	}
	return list
}

// stored returns the files the syncer keeps, one for each event, by name.
func (s *Subscriber) stored() map[string]string {
	s.t.Helper()
	paths, err := filepath.Glob(filepath.Join(s.dir, "events", "*.ics"))
	if err != nil {
		s.t.Fatal(err)
	}
	files := map[string]string{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			s.t.Fatal(err)
		}
		files[filepath.Base(path)] = string(text)
	}
	return files
}

// summaryOf returns the SUMMARY line of a file of one event, as far as it is
// not folded.
func summaryOf(text string) string {
	for line := range strings.Lines(text) {
		if summary, ok := strings.CutPrefix(line, "SUMMARY:"); ok {
			return strings.TrimSpace(summary)
		}
	}
	return ""
}

func (s *Subscriber) write(name, text string) {
	s.t.Helper()
	if err := os.WriteFile(filepath.Join(s.dir, name), []byte(text), 0o600); err != nil {
		s.t.Fatal(err)
	}
}

// run runs a program in a home of its own and returns what it printed.
func (s *Subscriber) run(program string, args ...string) string {
	s.t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Env = []string{
		"PATH=/usr/bin:/bin", "HOME=" + s.dir, "LC_ALL=C.UTF-8", "TZ=" + s.timezone,
		"VDIRSYNCER_CONFIG=" + filepath.Join(s.dir, "vdirsyncer.conf"),
	}
	out, err := cmd.CombinedOutput()
	if err != nil {
		s.t.Fatalf("%s %s: %v\n%s", filepath.Base(program), strings.Join(args, " "), err, out)
	}
	return string(out)
}
