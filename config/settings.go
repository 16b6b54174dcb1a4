package config

import "time"

// setting ties a key to its place in a Config.
type setting struct {
	key     string // as in "mail.port"
	usage   string // a line for the help of a flag
	restart bool   // takes effect at the next start only
	value
	secret *Secret // instead of value, for what must not be seen
}

// plain returns what two settings are compared by. Never print it.
func (s setting) plain() string {
	if s.secret != nil {
		return s.secret.Reveal()
	}
	return s.get()
}

// secretFile is the end of the key under which a secret may be given as the name of a file.
const secretFile = "_file"

// settings lists every setting there is, bound to c, in the order of the example file.
func (c *Config) settings() []setting {
	w, m, h, s, p, v := &c.Web, &c.Mail, &c.Webhook, &c.Schedule, &c.Policy, &c.Visits
	const hour = time.Hour
	spec := func(p *string) value { return checked(p, notEmpty) }
	hidden := func(key, usage string, p *Secret) setting {
		return setting{key: key, usage: usage, secret: p, value: value{get: p.String}}
	}
	return []setting{
		{key: "data", usage: "directory of the data file", restart: true, value: checked(&c.Data, path)},
		{key: "socket", usage: "Unix socket by which commands reach the daemon", restart: true, value: checked(&c.Socket, optional(path))},
		{key: "zone", usage: "time zone of the schedules", restart: true, value: zone(&c.Zone)},

		{key: "web.listen", usage: "address and port of the pages", restart: true, value: checked(&w.Listen, listen)},
		{key: "web.base_url", usage: "public address that links begin with", value: checked(&w.BaseURL, optional(webAddress))},
		hidden("web.password", "password of the pages", &w.Password),
		hidden("web.password_hash", "bcrypt hash of the password", &w.PasswordHash),
		hidden("web.token", "token for programs", &w.Token),
		{key: "web.trusted_proxies", usage: "proxies that may tell the client's address", value: networks(&w.TrustedProxies)},

		{key: "mail.mode", usage: "folder or smtp", value: checked(&m.Mode, oneOf(ModeFolder, ModeSMTP))},
		{key: "mail.folder", usage: "folder for mails in mode folder", value: checked(&m.Folder, optional(path))},
		{key: "mail.from", usage: "sender of mails", value: checked(&m.From, mailbox)},
		{key: "mail.reply_to", usage: "where answers go", value: checked(&m.ReplyTo, optional(mailbox))},
		{key: "mail.host", usage: "mail server", value: checked(&m.Host, optional(host))},
		{key: "mail.port", usage: "port of the mail server", value: integer(&m.Port, 1, 65535)},
		{key: "mail.security", usage: "starttls, tls or none", value: checked(&m.Security, oneOf(SecurityStartTLS, SecurityTLS, SecurityNone))},
		{key: "mail.allow_plain", usage: "permit mail.security none beyond this machine", value: boolean(&m.AllowPlain)},
		{key: "mail.username", usage: "user name at the mail server", value: checked(&m.Username, anyText)},
		hidden("mail.password", "password at the mail server", &m.Password),
		{key: "mail.timeout", usage: "longest wait for an answer of the mail server", value: duration(&m.Timeout, 5*time.Second, 10*time.Minute)},
		{key: "mail.window", usage: "part of the day in which people are written to", value: window(&m.Window)},
		{key: "mail.quiet", usage: "part of the window in which nothing is sent either", value: optionalWindow(&m.Quiet)},
		{key: "mail.quiet_days", usage: "days of the week without reminders", value: weekdays(&m.QuietDays)},
		{key: "mail.per_day", usage: "most mails on one day, 0 for no limit", value: integer(&m.PerDay, 0, 10_000_000)},
		{key: "mail.per_person", usage: "most mails to one person on one day, 0 for no limit", value: integer(&m.PerPerson, 0, 1000)},
		{key: "mail.reminders", usage: "days of reminders, counted from the due day", value: days(&m.Reminders, -180, 365)},
		{key: "mail.visit_reminders", usage: "days of reminders where somebody has to come", value: days(&m.VisitReminders, -180, 365)},
		{key: "mail.before_visit", usage: "days of reminders before a booked visit", value: days(&m.BeforeVisit, -60, 0)},
		{key: "mail.record", usage: "send customers what was done on a visit", value: boolean(&m.Record)},
		{key: "mail.summary", usage: "send the operator every morning what needs somebody", value: boolean(&m.Summary)},
		{key: "mail.templates", usage: "folder of your own words for mails", value: checked(&m.Templates, optional(path))},
		{key: "mail.per_connection", usage: "mails per connection", value: integer(&m.PerConnection, 1, 50)},
		{key: "mail.ca_file", usage: "certificates to believe besides the system's", value: checked(&m.CAFile, optional(path))},
		{key: "mail.bounce_address", usage: "where mail that cannot be delivered comes back", value: checked(&m.BounceAddress, optional(bareMailbox))},
		{key: "mail.one_return", usage: "always the same address for what comes back", value: boolean(&m.OneReturn)},
		{key: "mail.bounces", usage: "Maildir of what came back", value: checked(&m.Bounces, optional(path))},
		{key: "mail.dkim_domain", usage: "domain in whose name mails are signed", value: checked(&m.DKIMDomain, optional(host))},
		{key: "mail.dkim_selector", usage: "name of the signing key in that domain", value: checked(&m.DKIMSelector, anyText)},
		{key: "mail.dkim_key_file", usage: "private key that signs mails", value: checked(&m.DKIMKeyFile, optional(path))},

		{key: "webhook.url", usage: "address to which messages are posted as well", value: checked(&h.URL, optional(hookAddress))},
		hidden("webhook.secret", "key that signs what is posted", &h.Secret),
		{key: "webhook.timeout", usage: "longest wait for an answer of the webhook", value: duration(&h.Timeout, time.Second, 2*time.Minute)},
		{key: "webhook.allow_private", usage: "permit a webhook in the own network", value: boolean(&h.AllowPrivate)},

		{key: "feed.max_age", usage: "how long clients may keep a feed", value: duration(&c.Feed.MaxAge, time.Minute, 24*hour)},
		{key: "feed.horizon_months", usage: "how far ahead events are published", value: integer(&c.Feed.HorizonMonths, 1, 24)},

		{key: "schedule.tell", usage: "when to look who must be told", value: spec(&s.Tell)},
		{key: "schedule.deliver", usage: "when to send what waits", value: spec(&s.Deliver)},
		{key: "schedule.replan", usage: "when to reckon due dates anew", value: spec(&s.Replan)},
		{key: "schedule.backup", usage: "when to copy the data file", value: spec(&s.Backup)},
		{key: "schedule.visits", usage: "when to propose visits anew", value: spec(&s.Visits)},

		{key: "backup.dir", usage: "directory of the copies", value: checked(&c.Backup.Dir, optional(path))},
		{key: "backup.keep", usage: "copies to keep", value: integer(&c.Backup.Keep, 1, 3650)},

		{key: "log.level", usage: "debug, info, warn or error", value: level(&c.Log.Level)},
		{key: "log.format", usage: "text or json", restart: true, value: checked(&c.Log.Format, oneOf("text", "json"))},

		{key: "policy.risk_one_family", usage: "risk at which an electric dryer of one family is due", value: fraction(&p.RiskOneFamily, 0.5)},
		{key: "policy.risk_shared", usage: "risk at which gas, shared and multi-family runs are due", value: fraction(&p.RiskShared, 0.5)},
		{key: "policy.shortest_days", usage: "least days between preventive cleanings", value: integer(&p.ShortestDays, 1, 180)},
		{key: "policy.longest_months", usage: "most months between cleanings, with evidence", value: integer(&p.LongestMonths, 1, 24)},
		{key: "policy.longest_without_evidence_months", usage: "most months between cleanings, without evidence", value: integer(&p.LongestWithoutEvidenceMonths, 1, 12)},
		{key: "policy.look_months", usage: "most months between looks", value: integer(&p.LookMonths, 1, 12)},
		{key: "policy.allow_longer", usage: "permit intervals beyond those without evidence", value: boolean(&p.AllowLonger)},

		{key: "visits.hours", usage: "working hours of technicians without their own", value: checked(&v.Hours, notEmpty)},
		{key: "visits.holidays", usage: "calendar file of days without work", value: checked(&v.Holidays, optional(path))},
		{key: "visits.ahead_days", usage: "how far ahead visits are proposed", value: integer(&v.AheadDays, 7, 365)},
		{key: "visits.run_minutes", usage: "minutes of work on one run", value: integer(&v.RunMinutes, 1, 600)},
		{key: "visits.look_minutes", usage: "minutes of a look or a check", value: integer(&v.LookMinutes, 1, 600)},
		{key: "visits.trip_minutes", usage: "minutes that every trip takes beside", value: integer(&v.TripMinutes, 0, 600)},
		{key: "visits.road_factor", usage: "road over great circle", value: number(&v.RoadFactor, 1, 5)},
		{key: "visits.km_per_hour", usage: "speed from door to door", value: number(&v.KmPerHour, 1, 200)},
		{key: "visits.unknown_minutes", usage: "minutes to a site without coordinates", value: integer(&v.UnknownMinutes, 0, 600)},
		{key: "visits.catch_up_days", usage: "days within which what is overdue is caught up", value: integer(&v.CatchUpDays, 0, 366)},
		{key: "visits.turnover_days", usage: "days of dues that an empty unit pulls in", value: integer(&v.TurnoverDays, 0, 366)},
		{key: "visits.cutoff_hours", usage: "hours before a visit until which customers may move it", value: integer(&v.CutoffHours, 0, 336)},
		{key: "visits.offers", usage: "times that are offered at once", value: integer(&v.Offers, 1, 20)},
	}
}
