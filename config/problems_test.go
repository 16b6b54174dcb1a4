package config

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/spf13/pflag"
)

func TestUnknownNamesAreRefusedWithTheNearest(t *testing.T) {
	for _, c := range []struct{ yaml, env, key, says string }{
		{"mail: {pasword: hunter22}", "", "mail.pasword", "did you mean mail.password?"},
		{"mail: {hsot: a}", "", "mail.hsot", "did you mean mail.host?"},
		{"listen: ':80'", "", "listen", "did you mean web.listen?"},
		{"smtp: {host: a}", "", "smtp.host", "did you mean mail.host?"},
		{"maill:", "", "maill", "no such setting"},
		{"polices: {look_months: 3}", "", "polices.look_months", "did you mean policy.look_months?"},
		{"quux: {a: {b: [1]}}", "", "quux.a.b", "see the example file"},
		{"", "VENTDUE_WEB_LISTN=:80", "VENTDUE_WEB_LISTN", "did you mean VENTDUE_WEB_LISTEN?"},
		{"", "VENTDUE_web_listen=:80", "VENTDUE_web_listen", "did you mean VENTDUE_WEB_LISTEN?"},
		{"", "VENTDUE_MAIL_PERCONNECTION=3", "VENTDUE_MAIL_PERCONNECTION", "did you mean VENTDUE_MAIL_PER_CONNECTION?"},
		{"", "VENTDUE_=1", "VENTDUE_", "see the example file"},
	} {
		var env []string
		if c.env != "" {
			env = []string{c.env}
		}
		refuses(t, c.yaml, env, c.key, c.says)
	}
}

// A platform that runs a service called ventdue makes such variables up for every container beside it.
func TestVariablesOfContainerPlatformsAreLetBe(t *testing.T) {
	mustLoad(t, "", "VENTDUE_SERVICE_HOST=10.0.0.1", "VENTDUE_SERVICE_PORT=8017", "VENTDUE_SERVICE_PORT_HTTP=8017", "VENTDUE_PORT=tcp://10.0.0.1:8017",
		"VENTDUE_PORT_8017_TCP=tcp://10.0.0.1:8017", "VENTDUE_PORT_8017_TCP_ADDR=10.0.0.1", "VENTDUE_NAME=/app/ventdue")
}

func TestValuesAreRefused(t *testing.T) {
	for _, c := range []struct{ yaml, key, says string }{
		// A bare number is not a duration.
		{"mail: {timeout: 30}", "mail.timeout", `"30s", "30m" or "30h"`},
		{"mail: {timeout: '30'}", "mail.timeout", `"30s", "30m" or "30h"`},
		{"mail: {timeout: 0}", "mail.timeout", "without a unit"},
		{"mail: {timeout: 1.5}", "mail.timeout", "without a unit"},
		{"mail: {timeout: 1d}", "mail.timeout", "not a duration"},
		{"mail: {timeout: 1s}", "mail.timeout", "5s to 10m0s"},
		{"feed: {max_age: 48h}", "feed.max_age", "out of range"},
		{"feed: {max_age: -1h}", "feed.max_age", "out of range"},

		{"mail: {port: 0}", "mail.port", "1 to 65535"},
		{"mail: {port: 65536}", "mail.port", "1 to 65535"},
		{"mail: {port: smtp}", "mail.port", "whole number"},
		{"mail: {port: true}", "mail.port", "whole number"},
		{"mail: {per_connection: 51}", "mail.per_connection", "1 to 50"},
		{"feed: {horizon_months: 25}", "feed.horizon_months", "1 to 24"},
		{"backup: {keep: 0}", "backup.keep", "1 to 3650"},
		{"backup: {keep: 99999999999999999999}", "backup.keep", "whole number"},
		{"backup: {keep: 1.5}", "backup.keep", "whole number"},

		{"web: {listen: 8017}", "web.listen", "not text"},
		{"web: {listen: '8017'}", "web.listen", "write host:port"},
		{"web: {listen: '127.0.0.1'}", "web.listen", "write host:port"},
		{"web: {listen: '127.0.0.1:http'}", "web.listen", "0 to 65535"},
		{"web: {listen: '127.0.0.1:70000'}", "web.listen", "0 to 65535"},
		{"web: {listen: 'a b:80'}", "web.listen", "no valid host"},

		{"web: {base_url: vents.example.com}", "web.base_url", "not a web address"},
		{"web: {base_url: 'ftp://vents.example.com'}", "web.base_url", "not a web address"},
		{"web: {base_url: 'https://'}", "web.base_url", "not a web address"},
		{"web: {base_url: 'https://a b'}", "web.base_url", "not a web address"},
		{"web: {base_url: 'https://a.example/?x=1'}", "web.base_url", "? or #"},
		{"web: {base_url: 'javascript:alert(1)'}", "web.base_url", "not a web address"},
		{"web: {trusted_proxies: ['0.0.0.0/0']}", "web.trusted_proxies", "trusts everybody"},
		{"web: {trusted_proxies: [proxy]}", "web.trusted_proxies", "no address or network"},
		{"web: {trusted_proxies: 7}", "web.trusted_proxies", "not a list"},

		{"mail: {mode: pigeon}", "mail.mode", "folder, smtp"},
		{"mail: {from: nobody}", "mail.from", "e-mail"},
		{"mail: {from: 'a@example.com, b@example.com'}", "mail.from", "e-mail"},
		{"mail: {from: \"a@example.com\\r\\nBcc: b@example.com\"}", "mail.from", "line break"},
		{"mail: {reply_to: '@'}", "mail.reply_to", "e-mail"},
		{"mail: {host: 'smtp://mail.example.com'}", "mail.host", "bare name"},
		{"mail: {host: 'mail.example.com:25'}", "mail.host", "mail.port"},
		{"mail: {host: 'mail example'}", "mail.host", "not a host name"},
		{"mail: {window: '18:00-08:00'}", "mail.window", "08:00-18:00"},
		{"mail: {window: '8-18'}", "mail.window", "08:00-18:00"},
		{"mail: {window: '08:60-18:00'}", "mail.window", "08:00-18:00"},
		{"mail: {window: '08:00-24:01'}", "mail.window", "08:00-18:00"},
		{"mail: {quiet: 'noon'}", "mail.quiet", "08:00-18:00"},
		{"mail: {quiet_days: [sat, so]}", "mail.quiet_days", "[sat, sun]"},
		{"mail: {allow_plain: maybe}", "mail.allow_plain", "true or false"},
		{"mail: {ca_file: /nowhere/ca.pem}", "mail.ca_file", "no such file"},

		{"data: ~/vents", "data", "a shell"},
		{"data: ''", "data", "is empty"},
		{"data: {}\nsocket: /" + strings.Repeat("s", 100), "socket", "101 bytes"},
		{"zone: Nowhere/Town", "zone", "America/New_York"},
		{"zone: Local", "zone", "not a time zone"},
		{"zone: ../../etc/passwd", "zone", "not a time zone"},
		{"zone: ''", "zone", "not a time zone"},
		{"schedule: {tell: ''}", "schedule.tell", "is empty"},
		{"log: {level: loud}", "log.level", "debug, info, warn, error"},
		{"log: {format: xml}", "log.format", "text, json"},

		{"policy: {risk_shared: 0}", "policy.risk_shared", "more than 0"},
		{"policy: {risk_shared: .nan}", "policy.risk_shared", "more than 0"},
		{"policy: {risk_shared: '60%'}", "policy.risk_shared", "at most 0.5"},
		{"policy: {risk_shared: 0.2}", "policy.risk_shared", "need more care"},
		{"policy: {longest_months: 25}", "policy.longest_months", "1 to 24"},
		{"policy: {longest_months: 6, longest_without_evidence_months: 9}", "policy.longest_without_evidence_months", "6 or less"},
		{"policy: {look_months: 13}", "policy.look_months", "1 to 12"},
		{"policy: {shortest_days: 100, longest_without_evidence_months: 3}", "policy.shortest_days", "84 or less"},

		// Shapes that are not settings.
		{"mail: 5", "mail", "group of settings"},
		{"mail: [a]", "mail", "group of settings"},
		{"data: {x: y}", "data", "not a value"},
		{"data: [a]", "data", "not text"},
		{"data: 2026-05-01", "data", "not text"},
	} {
		refuses(t, c.yaml, nil, c.key, c.says, "file ")
	}
}

func TestOriginOutsideTheFile(t *testing.T) {
	refuses(t, "data: /"+strings.Repeat("d", 99), nil, "socket", "(default)", "set socket")
	refuses(t, "policy: {longest_months: 6}", nil, "policy.longest_without_evidence_months", "(default)", "6 or less")
	refuses(t, "mail: {timeout: 90s}", []string{"VENTDUE_MAIL_TIMEOUT=30"}, "mail.timeout", `"30"`, "environment VENTDUE_MAIL_TIMEOUT", "30s")
	refuses(t, "", []string{"HOME=", "STATE_DIRECTORY=/" + strings.Repeat("d", 99)}, "socket", "(default)")
}

func TestValuesAreTaken(t *testing.T) {
	c := mustLoad(t, `
Web: {Listen: "[::1]:0", base_url: "https://vents.example.com/app/", trusted_proxies: "10.0.0.7, 10.1.2.3/16 ,::ffff:10.0.0.9"}
mail: {window: "00:00-24:00", from: "Vent Service <service@example.com>", allow_plain: yes}
policy: {risk_shared: 5%, risk_one_family: 0.2}
log: {level: WARN}
zone: Australia/Lord_Howe
feed:
`)
	if c.Web.Listen != "[::1]:0" || c.Web.BaseURL != "https://vents.example.com/app" || c.Mail.Window != (Window{0, 1440}) ||
		!c.Mail.AllowPlain || c.Policy.RiskShared != 0.05 || c.Log.Level.String() != "WARN" || c.Zone.String() != "Australia/Lord_Howe" {
		t.Errorf("got\n%s", c)
	}
	if got := c.String(); !strings.Contains(got, "web.trusted_proxies = 10.0.0.7/32, 10.1.0.0/16, 10.0.0.9/32\n") {
		t.Errorf("got\n%s", got)
	}
}

func TestSMTPNeedsItsSettings(t *testing.T) {
	const smtp = "mail: {mode: smtp, host: mail.example.com, from: service@example.com"
	const web = "\nweb: {base_url: 'https://vents.example.com'}"
	refuses(t, "mail: {mode: smtp}", nil, "mail.host", "is not set")
	refuses(t, "mail: {mode: smtp}", nil, "mail.from", "is not set")
	refuses(t, "mail: {mode: smtp}", nil, "web.base_url", "lead nowhere")
	refuses(t, smtp+", username: mira}"+web, nil, "mail.username", "go together")
	refuses(t, smtp+", password: sesame-open}"+web, nil, "mail.username", "go together")
	refuses(t, smtp+", security: none}"+web, nil, "mail.security", "everybody on the way")
	for extra, port := range map[string]int{
		"": 587, ", security: tls": 465, ", security: none, allow_plain: true": 25, ", port: 2525": 2525,
		", username: mira, password: sesame": 587,
	} {
		if c := mustLoad(t, smtp+extra+"}"+web); c.Mail.Port != port {
			t.Errorf("%s: port %d, want %d (RFC 6409, RFC 8314, RFC 5321)", extra, c.Mail.Port, port)
		}
	}
	for _, h := range []string{"localhost", "127.0.0.1", "'::1'", "127.8.9.10"} {
		mustLoad(t, "mail: {mode: smtp, from: service@example.com, security: none, host: "+h+"}"+web)
	}
}

func TestCAFile(t *testing.T) {
	refuses(t, "mail: {ca_file: "+write(t, "ca.pem", "not a certificate")+"}", nil, "mail.ca_file", "no certificate")
}

func TestAllProblemsAreTold(t *testing.T) {
	_, err := load(t, "mail: {timeout: 30, port: x}\nweb: {listen: '8017'}\nquux: 1", "VENTDUE_ZONE=Mars/Olympus", "VENTDUE_QUUX=1")
	var all Problems
	if !errors.As(err, &all) || len(all) != 6 {
		t.Fatalf("got %v, want six problems", err)
	}
	for _, key := range []string{"mail.timeout", "mail.port", "web.listen", "quux", "zone", "VENTDUE_QUUX"} {
		if !strings.Contains(err.Error(), "\n  "+key) {
			t.Errorf("no line about %s in: %v", key, err)
		}
	}
}

func TestCheckSpecIsAsked(t *testing.T) {
	asked := map[string]string{}
	_, err := Load(Options{
		Env: append([]string{"VENTDUE_SCHEDULE_BACKUP=0 0 31 2 *", "VENTDUE_ZONE=Asia/Kolkata"}, machine...), Search: []string{},
		CheckSpec: func(spec string, zone *time.Location) error {
			asked[spec] = zone.String()
			if spec == "0 0 31 2 *" {
				return errors.New("never fires")
			}
			return nil
		},
	})
	if err == nil || !strings.Contains(err.Error(), `schedule.backup = "0 0 31 2 *" (environment VENTDUE_SCHEDULE_BACKUP): never fires`) {
		t.Errorf("error %v", err)
	}
	if asked["*/10 * * * *"] != "Asia/Kolkata" {
		t.Errorf("asked about %v", asked)
	}
}

func TestSecretsAsFlagsAreRefused(t *testing.T) {
	fs := pflag.NewFlagSet("", pflag.ContinueOnError)
	fs.String("mail-password", "", "")
	if err := fs.Parse([]string{"--mail-password=hunter22"}); err != nil {
		t.Fatal(err)
	}
	_, err := Load(Options{Env: machine, Search: []string{}, Flags: fs})
	if err == nil || !strings.Contains(err.Error(), "VENTDUE_MAIL_PASSWORD_FILE") || strings.Contains(err.Error(), "hunter22") {
		t.Errorf("error %v", err)
	}
}
