package config

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/pflag"
)

// machine is the environment of all tests, so that none depends on where it runs.
var machine = []string{"HOME=/home/mira", "STATE_DIRECTORY=/var/lib/ventdue", "TZ=America/New_York"}

// write makes a file of the given name in a fresh directory.
func write(t testing.TB, name, text string) string {
	t.Helper()
	p := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(p, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return p
}

// load loads a YAML text ("" for no file) with variables on top of machine's.
func load(t testing.TB, yaml string, env ...string) (Config, error) {
	t.Helper()
	o := Options{Env: append(slices.Clone(machine), env...), Search: []string{}}
	if yaml != "" {
		o.File = write(t, "ventdue.yaml", yaml)
	}
	return Load(o)
}

func mustLoad(t testing.TB, yaml string, env ...string) Config {
	t.Helper()
	c, err := load(t, yaml, env...)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// refuses fails unless the settings are refused with a problem on key that says all of says.
func refuses(t *testing.T, yaml string, env []string, key string, says ...string) {
	t.Helper()
	_, err := load(t, yaml, env...)
	var all Problems
	if !errors.As(err, &all) {
		t.Errorf("%q %q: error %v, want Problems", yaml, env, err)
		return
	}
	for _, p := range all {
		if p.Key != key {
			continue
		}
		if p.Origin == "" || p.Why == "" || p.Remedy == "" {
			t.Errorf("incomplete problem: %+v", p)
		}
		for _, s := range says {
			if !strings.Contains(p.String(), s) {
				t.Errorf("%q %q: %s\nlacks %q", yaml, env, p, s)
			}
		}
		return
	}
	t.Errorf("%q %q: no problem with %s in %v", yaml, env, key, err)
}

func TestDefaults(t *testing.T) {
	c := mustLoad(t, "")
	want := Config{ // the brief of the project: figures by design
		Data: "/var/lib/ventdue", Socket: "/var/lib/ventdue/ventdue.sock", Zone: c.Zone,
		Web: Web{Listen: "127.0.0.1:8017", BaseURL: "http://127.0.0.1:8017"},
		Mail: Mail{
			Mode: "folder", Folder: "/var/lib/ventdue/mail", From: "Ventdue <ventdue@localhost>",
			Port: 587, Security: "starttls", Timeout: time.Minute, Window: Window{480, 1080}, PerConnection: 50,
			PerDay: 20_000, PerPerson: 5, Record: true, Summary: true,
			Reminders: []int{-30, -7, 0, 14}, VisitReminders: []int{-45, -21, -7, 0, 14}, BeforeVisit: []int{-3, -1},
		},
		Webhook:  Webhook{Timeout: 15 * time.Second},
		Feed:     Feed{MaxAge: 900 * time.Second, HorizonMonths: 24},
		Schedule: Schedule{Tell: "*/5 * * * *", Deliver: "*/5 * * * *", Replan: "*/10 * * * *", Backup: "30 3 * * *", Visits: "45 2 * * *"},
		Backup:   Backup{Dir: "/var/lib/ventdue/backup", Keep: 14},
		Log:      Log{Format: "text"},
		Policy:   Policy{RiskOneFamily: 0.1, RiskShared: 0.05, ShortestDays: 30, LongestMonths: 24, LongestWithoutEvidenceMonths: 12, LookMonths: 12},
		Visits: Visits{Hours: "mon-fri 08:00-17:00", AheadDays: 60, RunMinutes: 45, LookMinutes: 20, TripMinutes: 15,
			RoadFactor: 1.3, KmPerHour: 40, UnknownMinutes: 20, CatchUpDays: 14, TurnoverDays: 90, CutoffHours: 24, Offers: 6},
	}
	if !reflect.DeepEqual(c, want) {
		t.Errorf("defaults:\n%s\nwant:\n%s", c, want)
	}
	if c.Zone.String() != "America/New_York" {
		t.Errorf("zone %v, want TZ", c.Zone)
	}
}

func TestDefaultData(t *testing.T) {
	for _, c := range []struct {
		env  []string
		want string
	}{
		{[]string{"STATE_DIRECTORY=/var/lib/a:/var/lib/b", "XDG_STATE_HOME=/x", "HOME=/h"}, "/var/lib/a"},
		{[]string{"XDG_STATE_HOME=/x", "HOME=/h"}, "/x/ventdue"},
		{[]string{"XDG_STATE_HOME=x", "HOME=/h"}, "/h/.local/state/ventdue"}, // relative: to be ignored
		{[]string{"HOME=/h"}, "/h/.local/state/ventdue"},
		{nil, "ventdue-data"},
	} {
		got, err := Load(Options{Env: append(c.env, "TZ=UTC"), Search: []string{}})
		if err != nil || got.Data != c.want {
			t.Errorf("%q: data %q, %v; want %q", c.env, got.Data, err, c.want)
		}
	}
}

// setLine is an example setting that is commented out: no space after the #.
var setLine = regexp.MustCompile(`(?m)^( *)#([a-z_]+:.*)$`)

func TestExampleIsTheDefaults(t *testing.T) {
	want := mustLoad(t, "")
	uncommented := setLine.ReplaceAll(Example(), []byte("$1$2"))
	for what, text := range map[string][]byte{"as it is": Example(), "with all settings taken": uncommented} {
		got := mustLoad(t, string(text))
		got.File = ""
		if changes := Diff(want, got); len(changes) > 0 {
			t.Errorf("%s: %+v", what, changes)
		}
		if got.String() != want.String() {
			t.Errorf("%s: %s", what, got)
		}
	}
	if bytes.Equal(uncommented, Example()) {
		t.Error("nothing was taken")
	}
}

func TestExampleNamesEveryKey(t *testing.T) {
	var c Config
	l := loader{all: c.settings()}
	var got []string
	group := ""
	for line := range strings.Lines(string(Example())) {
		line = strings.TrimRight(line, "\n")
		if m := regexp.MustCompile(`^([a-z_]+):$`).FindStringSubmatch(line); m != nil {
			group = m[1] + "."
		} else if m := setLine.FindStringSubmatch(line); m != nil {
			key, _, _ := strings.Cut(m[2], ":")
			if m[1] != "" {
				key = group + key
			}
			got = append(got, key)
		}
	}
	want := l.names()
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("example names\n%q\nwant\n%q", got, want)
	}
}

func TestPrecedence(t *testing.T) {
	const file = "mail:\n  per_connection: 10\n"
	flags := func(args ...string) *pflag.FlagSet {
		fs := pflag.NewFlagSet("ventdue", pflag.ContinueOnError)
		AddFlags(fs, "mail.per_connection", "web.listen")
		fs.Bool("json", false, "not a setting")
		if err := fs.Parse(args); err != nil {
			t.Fatal(err)
		}
		return fs
	}
	env := []string{"VENTDUE_MAIL_PER_CONNECTION=20"}
	for _, c := range []struct {
		what string
		file string
		env  []string
		args []string
		want int
	}{
		{"default", "", nil, nil, 50},
		{"file", file, nil, nil, 10},
		{"environment over default", "", env, nil, 20},
		{"environment over file", file, env, nil, 20},
		{"empty variable counts as none", file, []string{"VENTDUE_MAIL_PER_CONNECTION="}, nil, 10},
		{"flag over all", file, env, []string{"--mail-per-connection=30", "--json"}, 30},
	} {
		o := Options{Env: append(slices.Clone(machine), c.env...), Search: []string{}, Flags: flags(c.args...)}
		if c.file != "" {
			o.File = write(t, "v.yml", c.file)
		}
		got, err := Load(o)
		if err != nil || got.Mail.PerConnection != c.want {
			t.Errorf("%s: %d, %v; want %d", c.what, got.Mail.PerConnection, err, c.want)
		}
	}
}

func TestFlagsOfAnyType(t *testing.T) {
	fs := pflag.NewFlagSet("ventdue", pflag.ContinueOnError)
	fs.Int("mail-per-connection", 1, "")
	fs.Duration("mail-timeout", 0, "")
	fs.Bool("mail-allow-plain", false, "")
	fs.StringSlice("web-trusted-proxies", nil, "")
	if err := fs.Parse([]string{"--mail-per-connection=7", "--mail-timeout=90s", "--mail-allow-plain", "--web-trusted-proxies=10.0.0.1,10.1.0.0/16"}); err != nil {
		t.Fatal(err)
	}
	c, err := Load(Options{Env: machine, Search: []string{}, Flags: fs})
	if err != nil {
		t.Fatal(err)
	}
	if c.Mail.PerConnection != 7 || c.Mail.Timeout != 90*time.Second || !c.Mail.AllowPlain || len(c.Web.TrustedProxies) != 2 {
		t.Errorf("got\n%s", c)
	}
}

func TestFlagOriginIsNamed(t *testing.T) {
	fs := pflag.NewFlagSet("ventdue", pflag.ContinueOnError)
	AddFlags(fs, "mail.timeout")
	if err := fs.Parse([]string{"--mail-timeout=30"}); err != nil {
		t.Fatal(err)
	}
	_, err := Load(Options{Env: machine, Search: []string{}, Flags: fs})
	if err == nil || !strings.Contains(err.Error(), `mail.timeout = "30" (flag --mail-timeout)`) {
		t.Errorf("error %v", err)
	}
}

func TestAddFlagsPanicsOnMistakes(t *testing.T) {
	for _, key := range []string{"mail.password", "mail.nothing"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("AddFlags takes %s", key)
				}
			}()
			AddFlags(pflag.NewFlagSet("", pflag.ContinueOnError), key)
		}()
	}
}

func TestTOML(t *testing.T) {
	text := "\ufeffdata = '/srv/vents'\n[mail]\nper_connection = 5\ntimeout = '2m'\n[web]\ntrusted_proxies = ['10.0.0.0/8']\n[policy]\nrisk_shared = 0.04\nallow_longer = true\n"
	c, err := Load(Options{File: write(t, "v.toml", text), Env: machine})
	if err != nil {
		t.Fatal(err)
	}
	if c.Data != "/srv/vents" || c.Mail.Folder != "/srv/vents/mail" || c.Mail.PerConnection != 5 || c.Mail.Timeout != 2*time.Minute ||
		len(c.Web.TrustedProxies) != 1 || c.Policy.RiskShared != 0.04 || !c.Policy.AllowLonger {
		t.Errorf("got\n%s", c)
	}
}

func TestWhichFile(t *testing.T) {
	there := write(t, "there.yaml", "backup: {keep: 3}")
	gone := filepath.Join(t.TempDir(), "gone.yaml")
	for _, c := range []struct {
		what string
		o    Options
		keep int
		file string
		says string
	}{
		{"none asked for, none there", Options{Search: []string{gone}}, 14, "", ""},
		{"found by search", Options{Search: []string{gone, there}}, 3, there, ""},
		{"asked for", Options{File: there}, 3, there, ""},
		{"asked for, not there", Options{File: gone, Search: []string{there}}, 0, "", "no such file"},
		{"asked for by variable", Options{Env: []string{"VENTDUE_CONFIG=" + there}, Search: []string{}}, 3, there, ""},
		{"asked for by variable, not there", Options{Env: []string{"VENTDUE_CONFIG=" + gone}}, 0, "", "no such file"},
		{"a directory", Options{File: filepath.Dir(there)}, 0, "", "cannot tell its form"},
		{"unknown form", Options{File: write(t, "v.ini", "")}, 0, "", "cannot tell its form"},
		{"too long", Options{File: write(t, "v.yaml", strings.Repeat("#", maxFile+1))}, 0, "", "more than"},
		{"binary", Options{File: write(t, "v.yaml", "\x00\x01\x02")}, 0, "", "not valid yaml"},
		{"broken yaml", Options{File: write(t, "v.yaml", "mail:\n\t- x: [")}, 0, "", "not valid yaml"},
		{"broken toml", Options{File: write(t, "v.toml", "[mail\nx")}, 0, "", "not valid toml"},
		{"given twice", Options{File: write(t, "v.yaml", "data: a\ndata: b\n")}, 0, "", "already defined"},
		{"given twice in TOML", Options{File: write(t, "v.toml", "data = 'a'\ndata = 'b'\n")}, 0, "", "not valid toml"},
		{"given twice in another case", Options{File: write(t, "v.yaml", "data: a\nDATA: b\n")}, 0, "", "data stands in it twice"},
		{"the same in TOML", Options{File: write(t, "v.toml", "[web]\nlisten = 'a'\nListen = 'b'\n")}, 0, "", "web.listen stands in it twice"},
		{"a second document", Options{File: write(t, "v.yaml", "# x\n---\ndata: a\n---\ndata: b\n")}, 0, "", "more than one document"},
		{"a document after the end", Options{File: write(t, "v.yaml", "data: a\n...\ndata: b\n")}, 0, "", "more than one document"},
		{"one document with its marker", Options{File: write(t, "v.yaml", "# x\n---\nbackup: {keep: 3}\n...\n")}, 3, "same", ""},
	} {
		c.o.Env = append(c.o.Env, machine...)
		got, err := Load(c.o)
		if c.says != "" {
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s: error %v, want %q", c.what, err, c.says)
			}
			continue
		}
		if c.file == "same" {
			c.file = c.o.File
		}
		if err != nil || got.Backup.Keep != c.keep || got.File != c.file {
			t.Errorf("%s: keep %d of %q, %v", c.what, got.Backup.Keep, got.File, err)
		}
	}
}

func TestDefaultFiles(t *testing.T) {
	got := DefaultFiles([]string{"CONFIGURATION_DIRECTORY=/etc/a:/etc/b", "HOME=/h"})
	want := []string{
		"/etc/a/ventdue.yaml", "/etc/a/ventdue.yml", "/etc/a/ventdue.toml",
		"/h/.config/ventdue/ventdue.yaml", "/h/.config/ventdue/ventdue.yml", "/h/.config/ventdue/ventdue.toml",
		"/etc/ventdue/ventdue.yaml", "/etc/ventdue/ventdue.yml", "/etc/ventdue/ventdue.toml",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}

func TestDiffSaysWhatNeedsARestart(t *testing.T) {
	before := mustLoad(t, "web: {password: first-secret}")
	after := mustLoad(t, "web: {password: other-secret, listen: '127.0.0.1:9000'}\nbackup: {keep: 7}\nmail: {password_file: "+write(t, "p", "x")+", username: mira}")
	got := Diff(before, after)
	want := []Change{
		{"web.listen", "127.0.0.1:8017", "127.0.0.1:9000", true},
		{"web.base_url", "http://127.0.0.1:8017", "http://127.0.0.1:9000", false},
		{"web.password", "[set]", "[set]", false},
		{"mail.username", "", "mira", false},
		{"mail.password", "[not set]", "[set]", false},
		{"backup.keep", "14", "7", false},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v", got)
	}
	if same := Diff(after, after); len(same) != 0 {
		t.Errorf("a configuration differs from itself: %+v", same)
	}
}

// TestReload shows why nothing is watched: a broken file gives an error and no Config, the old one is untouched.
func TestReload(t *testing.T) {
	file := write(t, "v.yaml", "backup: {keep: 3}")
	o := Options{File: file, Env: machine}
	old, err := Load(o)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte("backup: {keep: many}"), 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err := Load(o); err == nil || !reflect.DeepEqual(c, Config{}) {
		t.Errorf("a broken file gives %v, %v", c, err)
	}
	if old.Backup.Keep != 3 {
		t.Error("the old configuration changed")
	}
}
