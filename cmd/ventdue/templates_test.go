package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ventdue/config"
	"ventdue/store"
	"ventdue/vent"
)

// TestTemplatesAreReadAnew: a folder of templates is read at the start and at SIGHUP; a broken template is named with its line, and
// the words from before stay. A daemon does not start with one.
func TestTemplatesAreReadAnew(t *testing.T) {
	dir, folder := t.TempDir(), t.TempDir()
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(folder, "run_due.en.tmpl"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	load := func() (config.Config, error) {
		return config.Load(config.Options{Env: []string{"VENTDUE_DATA=" + dir, "VENTDUE_SOCKET=" + dir + "/s", "VENTDUE_ZONE=UTC", "VENTDUE_WEB_LISTEN=127.0.0.1:8921",
			"VENTDUE_MAIL_TEMPLATES=" + folder, "VENTDUE_MAIL_QUIET=12:00-14:00", "VENTDUE_MAIL_QUIET_DAYS=sun, Saturday"}, CheckSpec: checkSpec(time.Now)})
	}
	cfg, err := load()
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	a := &app{stdio: stdio{Out: &log, Err: &log}, now: time.Now}
	write(`{{define "subject"}}One{{end}}`)
	d, err := a.newDaemon(cfg, store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	d.reload = load
	if p := d.house.desk.Policy().Cadence; p.Quiet.From != 12*60 || p.Quiet.To != 14*60 || len(p.QuietDays) != 2 || p.QuietDays[0] != time.Sunday {
		t.Errorf("quiet %v %v", p.Quiet, p.QuietDays)
	}
	subject := func() string {
		t.Helper()
		p, err := d.live.Load().outbox.Sender.PreviewOf(vent.NoticeRunDue, "en", vent.Operator{}, nil, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		return p.Subject
	}
	for _, step := range []struct{ text, want, says string }{
		{`{{define "subject"}}Two{{end}}`, "Two", "read anew"},
		{"{{define \"subject\"}}\n{{.Nothing}}{{end}}", "Two", "run_due.en.tmpl: line:2:2: there is no field .Nothing"},
		{`{{define "subject"}}Three{{end}}`, "Three", "read anew"},
	} {
		log.Reset()
		write(step.text)
		d.reread()
		if got := subject(); got != step.want || !strings.Contains(log.String(), step.says) {
			t.Errorf("%s: %q, it says %s", step.text, got, log.String())
		}
	}
	if err := d.house.Close(); err != nil {
		t.Fatal(err)
	}
	write("{{define")
	if _, err := a.newDaemon(cfg, store.Options{NoSync: true}); err == nil || !strings.Contains(err.Error(), "run_due.en.tmpl: line:1:") {
		t.Errorf("it starts with a broken template: %v", err)
	}
}
