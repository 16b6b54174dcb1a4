package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/notify/mail/smtptest"
	"ventdue/vent"
)

// Every step and problem that the doctor can name has words, in each language.
func TestDoctorHasWords(t *testing.T) {
	seen := map[string]bool{}
	forms := []*regexp.Regexp{
		regexp.MustCompile(`e\.(?:wrong|doubt)\("(\w+)", "(\w+)"`),
		regexp.MustCompile(`Step: "(\w+)", Standing: (?:mail\.)?\w+, Problem: "(\w+)"`),
	}
	for _, name := range []string{"../../notify/mail/examine.go", "../../notify/mail/examine_dkim.go", "../../notify/doctor.go"} {
		source, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, form := range forms {
			for _, m := range form.FindAllStringSubmatch(string(source), -1) {
				seen[m[1]+"."+m[2]] = true
			}
		}
	}
	// Those that are chosen before they are written down.
	for _, more := range strings.Fields("server.name server.silent server.refused server.greeting server.no_mail_server tls.certificate_name tls.certificate_ended " +
		"tls.certificate_authority login.ways login.refused sender.refused sender.refused_marked recipient.refused recipient.ours recipient.later dkim.key dkim.verify " +
		"dkim.fields dkim.domain dkim.short from.domain one_click.no_https folder.closed spf.open dmarc.open reputation.open dkim_record.open") {
		seen[more] = true
	}
	if len(seen) < 35 {
		t.Errorf("only %d problems were found in the code", len(seen))
	}
	for _, lang := range wording.Languages() {
		w := wording.For(lang, vent.US)
		for key := range seen {
			step, _, _ := strings.Cut(key, ".")
			if text := w.Say("doctor." + key); text == "doctor."+key || lang != "en" && text == wording.For("en", vent.US).Say("doctor."+key) && !strings.HasSuffix(key, ".open") {
				t.Errorf("%s: no words for %s", lang, key)
			}
			if !w.Has("doctor.step." + step) {
				t.Errorf("%s: no words for step %s", lang, step)
			}
		}
	}
}

// The command against a server that is right, and one whose certificate nobody knows: what it says, as JSON and to people, and
// its exit code.
func TestMailTestCommand(t *testing.T) {
	server := smtptest.Start(t, smtptest.Options{OfferTLS: true, RequireTLS: true, User: "vents", Pass: "s3cret pass"})
	host, port, _ := strings.Cut(server.Addr(), ":")
	dir := t.TempDir()
	env := []string{"HOME=" + dir, "TZ=UTC", "VENTDUE_DATA=" + filepath.Join(dir, "data"), "VENTDUE_MAIL_MODE=smtp", "VENTDUE_MAIL_HOST=" + host, "VENTDUE_MAIL_PORT=" + port,
		"VENTDUE_MAIL_FROM=Larkspur <office@larkspur.example>", "VENTDUE_WEB_BASE_URL=https://vents.larkspur.example", "VENTDUE_MAIL_USERNAME=vents", "VENTDUE_MAIL_PASSWORD=s3cret pass"}
	do := func(env []string, args ...string) (int, string) {
		var out bytes.Buffer
		code := run(context.Background(), append([]string{"mail", "test", "pat@example.com"}, args...), env, stdio{In: strings.NewReader(""), Out: &out, Err: &out})
		return code, out.String()
	}
	code, said := do(env)
	if code != exitFailed || !strings.Contains(said, "Set mail.ca_file") || !strings.Contains(said, "Reminders cannot leave yet") || len(server.Messages()) != 0 {
		t.Errorf("an unknown authority: %d\n%s", code, said)
	}
	env = append(env, "VENTDUE_MAIL_CA_FILE="+server.CAFile(t))
	if code, said = do(env, "--look"); code != exitDone || len(server.Messages()) != 0 {
		t.Errorf("only looking: %d, %d messages\n%s", code, len(server.Messages()), said)
	}
	code, said = do(env, "--json")
	var got mailTestAnswer
	if err := json.Unmarshal([]byte(said), &got); err != nil || code != exitDone || got.End != mail.Doubted {
		t.Fatalf("%d, %v, %+v\n%s", code, err, got, said)
	}
	if m := server.Messages(); len(m) != 1 || m[0].To != "pat@example.com" || !m[0].TLS || m[0].User != "vents" {
		t.Errorf("messages %+v", m)
	}
	if strings.Contains(said, "s3cret") {
		t.Error("the password is shown")
	}
}
