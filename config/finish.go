package config

import (
	"crypto/x509"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

const (
	// maxSocket is a safe length of a Unix socket's path: Linux takes 107 bytes, other systems 103.
	maxSocket = 100
	// minPassword and minToken are in characters.
	minPassword = 8
	minToken    = 20
	// localFrom is the sender until somebody sets one; it leads nowhere, which will do for mails into a folder.
	localFrom = "Ventdue <ventdue@localhost>"
)

// defaults are the settings of an installation that was told nothing, on a machine with the given environment variables.
func defaults(vars map[string]string) Config {
	return Config{
		Data: defaultData(vars),
		Zone: defaultZone(vars),
		Web:  Web{Listen: "127.0.0.1:8017"},
		Mail: Mail{
			Mode: ModeFolder, From: localFrom, Security: SecurityStartTLS, Timeout: time.Minute,
			Window: Window{From: 8 * 60, To: 18 * 60}, PerConnection: 50,
			PerDay: 20_000, PerPerson: 5, Record: true, Summary: true,
			Reminders: []int{-30, -7, 0, 14}, VisitReminders: []int{-45, -21, -7, 0, 14}, BeforeVisit: []int{-3, -1},
		},
		Webhook: Webhook{Timeout: 15 * time.Second},
		Feed:    Feed{MaxAge: 15 * time.Minute, HorizonMonths: 24},
		Schedule: Schedule{
			Tell: "*/5 * * * *", Deliver: "*/5 * * * *", Replan: "*/10 * * * *", Backup: "30 3 * * *", Visits: "45 2 * * *",
		},
		Backup: Backup{Keep: 14},
		Log:    Log{Format: "text"},
		Policy: Policy{
			RiskOneFamily: 0.10, RiskShared: 0.05, ShortestDays: 30,
			LongestMonths: 24, LongestWithoutEvidenceMonths: 12, LookMonths: 12,
		},
		Visits: Visits{
			Hours: "mon-fri 08:00-17:00", AheadDays: 60, RunMinutes: 45, LookMinutes: 20, TripMinutes: 15,
			RoadFactor: 1.3, KmPerHour: 40, UnknownMinutes: 20, CatchUpDays: 14, TurnoverDays: 90, CutoffHours: 24, Offers: 6,
		},
	}
}

// defaultData is where services and programs keep their state: systemd's STATE_DIRECTORY, else XDG_STATE_HOME/ventdue, else
// ~/.local/state/ventdue, else ./ventdue-data.
func defaultData(vars map[string]string) string {
	if d, _, _ := strings.Cut(vars["STATE_DIRECTORY"], ":"); d != "" {
		return filepath.Clean(d)
	}
	// Relative paths in it are invalid and to be ignored (XDG Base Directory Specification 0.8).
	if d := vars["XDG_STATE_HOME"]; filepath.IsAbs(d) {
		return filepath.Join(d, "ventdue")
	}
	if home := vars["HOME"]; home != "" {
		return filepath.Join(home, ".local", "state", "ventdue")
	}
	return "ventdue-data"
}

// defaultZone is the machine's zone by name, where that can be found out, else UTC. "Local" will not do: calendars need a name.
func defaultZone(vars map[string]string) *time.Location {
	names := []string{strings.TrimPrefix(vars["TZ"], ":")}
	if target, err := os.Readlink("/etc/localtime"); err == nil {
		_, name, _ := strings.Cut(target, "zoneinfo/")
		names = append(names, name)
	}
	for _, name := range names {
		if loc, err := time.LoadLocation(name); err == nil && name != "" && name != "Local" {
			return loc
		}
	}
	return time.UTC
}

// finish fills what follows from other settings and returns what is wrong between them.
func (c *Config) finish(l *loader, o Options) Problems {
	c.derive()
	k := checker{l: l}
	k.paths(c)
	k.web(c)
	k.mail(&c.Mail)
	k.webhook(c.Webhook)
	k.policy(c.Policy)
	if o.CheckHours != nil {
		if err := o.CheckHours(c.Visits.Hours); err != nil {
			k.problem("visits.hours", c.Visits.Hours, err.Error(), `write days and hours, as in "mon-fri 08:00-17:00"`)
		}
	}
	if checkSpec := o.CheckSpec; checkSpec != nil {
		for _, s := range []struct{ key, spec string }{
			{"schedule.tell", c.Schedule.Tell}, {"schedule.deliver", c.Schedule.Deliver},
			{"schedule.replan", c.Schedule.Replan}, {"schedule.backup", c.Schedule.Backup},
			{"schedule.visits", c.Schedule.Visits},
		} {
			if err := checkSpec(s.spec, c.Zone); err != nil {
				k.problem(s.key, s.spec, err.Error(), `write a cron spec, as in "30 3 * * *"`)
			}
		}
	}
	if c.Web.BaseURL == "" { // only now: the rules above ask whether it was given
		c.Web.BaseURL = localURL(c.Web.Listen)
	}
	return k.found
}

// derive fills the settings whose default depends on another one.
func (c *Config) derive() {
	if c.Socket == "" {
		c.Socket = filepath.Join(c.Data, "ventdue.sock")
	}
	if c.Mail.Folder == "" {
		c.Mail.Folder = filepath.Join(c.Data, "mail")
	}
	if c.Backup.Dir == "" {
		c.Backup.Dir = filepath.Join(c.Data, "backup")
	}
	if c.Mail.Port == 0 {
		c.Mail.Port = map[string]int{SecurityStartTLS: 587, SecurityTLS: 465, SecurityNone: 25}[c.Mail.Security]
	}
}

// localURL is the address of the pages on this machine.
func localURL(listen string) string {
	h, p, err := net.SplitHostPort(listen)
	if err != nil {
		return ""
	}
	if ip := net.ParseIP(h); h == "" || (ip != nil && ip.IsUnspecified()) {
		h = "localhost"
	}
	return "http://" + net.JoinHostPort(h, p)
}

// checker gathers what is wrong between settings that are each fine alone.
type checker struct {
	l     *loader
	found Problems
}

func (k *checker) problem(key, value, why, remedy string, args ...any) {
	if value != "" {
		value = show(value)
	}
	k.found = append(k.found, Problem{Key: key, Value: value, Origin: k.l.origin(key), Why: why, Remedy: fmt.Sprintf(remedy, args...)})
}

func (k *checker) paths(c *Config) {
	if n := len(c.Socket); n > maxSocket {
		k.problem("socket", c.Socket, fmt.Sprintf("is %d bytes long, and systems take about %d for a socket", n, maxSocket),
			"set socket (%s) to a shorter path, or move data", EnvName("socket"))
	}
}

var bcryptHash = regexp.MustCompile(`^\$2[aby]\$\d\d\$[./A-Za-z0-9]{53}$`)

func (k *checker) web(c *Config) {
	w := c.Web
	if w.Password.IsSet() && w.PasswordHash.IsSet() {
		k.problem("web.password_hash", "", "a password and the hash of one are both given", "keep one of them")
	}
	if w.Password.IsSet() && utf8.RuneCountInString(w.Password.Reveal()) < minPassword {
		k.problem("web.password", "", "is too short", "take %d characters or more", minPassword)
	}
	if w.PasswordHash.IsSet() && !bcryptHash.MatchString(w.PasswordHash.Reveal()) {
		k.problem("web.password_hash", "", "is not a bcrypt hash", "write the whole hash; it begins with $2 and has 60 characters")
	}
	if w.Token.IsSet() && utf8.RuneCountInString(w.Token.Reveal()) < minToken {
		k.problem("web.token", "", "is too short", "take %d random characters or more, as from: openssl rand -hex 20", minToken)
	}
	if c.Mail.Mode == ModeSMTP && w.BaseURL == "" && !k.refused("web.base_url") {
		k.problem("web.base_url", "", "is not set, and links in mails would lead nowhere",
			`set it to the address at which people reach the pages, as in "https://vents.example.com"`)
	}
}

func (k *checker) mail(m *Mail) {
	if m.CAFile != "" {
		k.certificates(m.CAFile)
	}
	if signed := []string{m.DKIMDomain, m.DKIMSelector, m.DKIMKeyFile}; slices.Contains(signed, "") && strings.Join(signed, "") != "" {
		k.problem("mail.dkim_domain", m.DKIMDomain, "domain, selector and key go together, and not all are set",
			"set mail.dkim_domain, mail.dkim_selector and mail.dkim_key_file, or none of them")
	}
	if m.Mode != ModeSMTP {
		return
	}
	if m.Host == "" && !k.refused("mail.host") {
		k.problem("mail.host", "", "is not set, and mail.mode is smtp", `name the mail server, as in "mail.example.com"`)
	}
	if m.From == localFrom && !k.refused("mail.from") {
		k.problem("mail.from", "", "is not set, and mail.mode is smtp", `name the sender, as in "Vent Service <service@example.com>"`)
	}
	if m.Security == SecurityNone && !m.AllowPlain && m.Host != "" && !isLoopback(m.Host) {
		k.problem("mail.security", m.Security, "everybody on the way could read mails and password",
			"set it to starttls or tls, or set mail.allow_plain to true if the way is safe")
	}
	if (m.Username != "") != m.Password.IsSet() && !k.refusedSecret("mail.password") {
		k.problem("mail.username", "", "user name and password go together, and only one is set",
			"set both mail.username and mail.password (or %s), or neither", EnvName("mail.password"+secretFile))
	}
}

const minHookSecret = 16 // characters

func (k *checker) webhook(h Webhook) {
	if h.URL == "" {
		return
	}
	if n := utf8.RuneCountInString(h.Secret.Reveal()); n < minHookSecret && !k.refusedSecret("webhook.secret") {
		k.problem("webhook.secret", "", "is missing or too short, and the receiver could not tell our messages from anybody's",
			"take %d random characters or more, as from: openssl rand -hex 32", minHookSecret)
	}
	if strings.HasPrefix(strings.ToLower(h.URL), "http:") && !h.AllowPrivate {
		k.problem("webhook.url", h.URL, "everybody on the way could read names and addresses",
			"use https, or set webhook.allow_private to true if the receiver is in your own network")
	}
}

// refused reports whether what was given for key was turned down already: then it is not missing.
func (k *checker) refused(key string) bool {
	return slices.ContainsFunc(k.l.problems, func(p Problem) bool { return p.Key == key })
}

// refusedSecret is refused for any of the secrets, however they were given.
func (k *checker) refusedSecret(keys ...string) bool {
	return slices.ContainsFunc(keys, func(key string) bool { return k.refused(key) || k.refused(key+secretFile) })
}

func (k *checker) certificates(name string) {
	b, err := readBounded(name, maxFile)
	switch {
	case err != nil:
		k.problem("mail.ca_file", name, err.Error(), "name a file that the service may read")
	case !x509.NewCertPool().AppendCertsFromPEM(b):
		k.problem("mail.ca_file", name, "holds no certificate", `name a file in PEM form, with "BEGIN CERTIFICATE" in it`)
	}
}

func (k *checker) policy(p Policy) {
	if p.RiskShared > p.RiskOneFamily {
		k.problem("policy.risk_shared", fmt.Sprint(p.RiskShared), "is more than policy.risk_one_family",
			"write %v or less: shared and gas runs need more care, not less", p.RiskOneFamily)
	}
	if p.LongestWithoutEvidenceMonths > p.LongestMonths {
		k.problem("policy.longest_without_evidence_months", fmt.Sprint(p.LongestWithoutEvidenceMonths),
			"is more than policy.longest_months", "write %d or less", p.LongestMonths)
	}
	if p.ShortestDays > 28*p.LongestWithoutEvidenceMonths {
		k.problem("policy.shortest_days", fmt.Sprint(p.ShortestDays), "is more than policy.longest_without_evidence_months",
			"write %d or less", 28*p.LongestWithoutEvidenceMonths)
	}
}
