// Package config reads the settings of an installation: plain values, checked, from four places. A flag beats the environment,
// the environment beats the file, the file beats the default.
//
// It is a leaf: it imports nothing of ours, it watches nothing and keeps nothing. To reload, call Load again; if that fails
// go on with the old Config, otherwise swap the new one in and look at Diff for what only a restart can change.
// (viper's own WatchConfig is not used: it races with readers and leaves them an empty config when the file is broken.)
package config

import (
	"log/slog"
	"net/netip"
	"strings"
	"time"
)

// Config is every setting of an installation. Load fills all of it; nothing in it is to be changed afterwards.
type Config struct {
	// File is the settings file that was read, "" if none.
	File string
	// Data is the directory of the data file and all that belongs to it.
	Data string
	// Socket is the path of the Unix socket by which commands reach a running daemon; at most 100 bytes.
	Socket string
	// Zone is the operator's time zone: schedules are read in it. Sites and persons have their own.
	Zone *time.Location

	Web      Web
	Mail     Mail
	Webhook  Webhook
	Feed     Feed
	Schedule Schedule
	Backup   Backup
	Log      Log
	Policy   Policy
	Visits   Visits
}

// Web is how the pages are served.
type Web struct {
	// Listen is host:port. Port 0 takes a free one.
	Listen string
	// BaseURL is the public address that links in mails, feeds and labels begin with; http or https, no slash at the end.
	BaseURL string
	// Password signs a person in; PasswordHash is the same as a bcrypt hash. At most one of them is set.
	Password, PasswordHash Secret
	// Token is what programs send as bearer token.
	Token Secret
	// TrustedProxies may tell the address of the real client.
	TrustedProxies []netip.Prefix
}

// Protected reports whether a password or token is needed to see the pages.
func (w Web) Protected() bool {
	return w.Password.IsSet() || w.PasswordHash.IsSet() || w.Token.IsSet()
}

// The values of Mail.Mode.
const (
	ModeFolder = "folder" // write each mail as a file into Mail.Folder
	ModeSMTP   = "smtp"   // hand each mail to a server
)

// The values of Mail.Security.
const (
	SecurityStartTLS = "starttls" // plain at first, then TLS or nothing
	SecurityTLS      = "tls"      // TLS from the first byte
	SecurityNone     = "none"     // no encryption
)

// Mail is how reminders leave the house.
type Mail struct {
	// Mode is ModeFolder or ModeSMTP.
	Mode string
	// Folder takes the .eml files of ModeFolder.
	Folder string
	// From is the sender, with or without a name; ReplyTo where answers go, "" for From.
	From, ReplyTo string
	// Host and Port are the server of ModeSMTP. Port is never 0.
	Host string
	Port int
	// Security is one of the Security constants. AllowPlain permits SecurityNone with a host that is not loopback.
	Security   string
	AllowPlain bool
	// Username and Password sign in to the server; both or none.
	Username string
	Password Secret
	// Timeout bounds every single answer of the server; 5 s to 10 min.
	Timeout time.Duration
	// Window is the part of the day in which a person may be written to, in that person's zone.
	Window Window
	// Quiet is a part of the window in which nothing is sent either, the zero Window for none; QuietDays are days of the week without
	// reminders.
	Quiet     Window
	QuietDays []time.Weekday
	// Templates is a folder of the operator's own words for mails; "" for none.
	Templates string
	// PerConnection is how many mails one connection may carry; 1 to 50.
	PerConnection int
	// PerDay and PerPerson bound how many mails the installation and each person gets on a day, stops not counted; 0: no bound.
	PerDay, PerPerson int
	// Reminders are the days of reminders counted from the due day, VisitReminders those where somebody has to come, BeforeVisit
	// those before a booked visit; negative is before.
	Reminders, VisitReminders, BeforeVisit []int
	// Record sends a business's customers what was done on a visit; Summary tells the operator every morning what needs somebody.
	Record, Summary bool
	// CAFile holds certificates (PEM) that are believed besides the system's; "" for none.
	CAFile string
	// BounceAddress is the bare address to which mail that cannot be delivered comes back; "" for From. OneReturn leaves
	// the mark out of it that names each message, for servers that let mail go from one address alone.
	BounceAddress string
	OneReturn     bool
	// Bounces is the Maildir of that address, which the daemon looks through; "" for none.
	Bounces string
	// DKIMDomain, DKIMSelector and DKIMKeyFile sign each mail; all or none.
	DKIMDomain, DKIMSelector, DKIMKeyFile string
}

// Webhook is a second way to reach people: each message is posted to an address of the operator's own choice.
type Webhook struct {
	// URL takes the messages; "" for no webhook.
	URL string
	// Secret signs each of them, and Timeout bounds each try; 1 s to 2 min.
	Secret  Secret
	Timeout time.Duration
	// AllowPrivate permits an address inside the operator's own network, or this machine's.
	AllowPrivate bool
}

// Feed is how calendars are published.
type Feed struct {
	// MaxAge is how long a client may keep a feed; 1 min to 24 h.
	MaxAge time.Duration
	// HorizonMonths is how far ahead events are published; 1 to 24 months.
	HorizonMonths int
}

// Schedule holds the cron specs that wake the daemon's jobs, read in Config.Zone.
type Schedule struct {
	Tell    string // find out who has to be told what
	Deliver string // send what is waiting
	Replan  string // reckon due dates anew where something was learned
	Backup  string // copy the data file
	Visits  string // propose visits anew
}

// Backup is where copies of the data file go.
type Backup struct {
	Dir string
	// Keep is how many copies stay; 1 to 3650.
	Keep int
}

// Log is what is written to standard error.
type Log struct {
	Level slog.Level
	// Format is "text" or "json".
	Format string
}

// Policy is how careful the due dates are. The bounds that no operator may widen are not settings.
type Policy struct {
	// RiskOneFamily and RiskShared are the chance of being past the limit at which a cleaning is due: electric dryer
	// of one family, and gas, shared riser or multi-family. More than 0, at most 0.5.
	RiskOneFamily, RiskShared float64
	// ShortestDays is the least time from a full cleaning to the next preventive one; 1 to 180 days.
	ShortestDays int
	// LongestMonths is the most time between cleanings where AllowLonger and measurements permit it; 1 to 24.
	LongestMonths int
	// LongestWithoutEvidenceMonths is the most time between cleanings otherwise; 1 to 12.
	LongestWithoutEvidenceMonths int
	// LookMonths is the most time between looks; 1 to 12.
	LookMonths int
	// AllowLonger permits intervals beyond LongestWithoutEvidenceMonths.
	AllowLonger bool
}

// Visits is how visits are planned and booked.
type Visits struct {
	// Hours are the working hours of a technician who has none of their own, as in "mon-fri 08:00-17:00".
	Hours string
	// Holidays is a calendar file (.ics) of days on which nobody works; "" for none.
	Holidays string
	// AheadDays is how far ahead visits are proposed; 7 to 365 days.
	AheadDays int
	// RunMinutes is how long cleaning one run takes, LookMinutes a look or a check, TripMinutes what every trip takes beside; 1 to 600.
	RunMinutes, LookMinutes, TripMinutes int
	// RoadFactor is the road over the great circle, 1 to 5; KmPerHour the speed from door to door; UnknownMinutes the way to a
	// site without coordinates.
	RoadFactor, KmPerHour float64
	UnknownMinutes        int
	// CatchUpDays is within how many days a due whose window is over is still done as if in time.
	CatchUpDays int
	// TurnoverDays: a unit that stands empty pulls in what is due within so many days; 0 to 366.
	TurnoverDays int
	// CutoffHours is until how long before a visit the customer may move or cancel it by link; 0 to 336.
	CutoffHours int
	// Offers is how many times are offered at once; 1 to 20.
	Offers int
}

// String lists every setting as "key = value", a line each, secrets as [set] or [not set].
func (c Config) String() string {
	var b strings.Builder
	for _, s := range c.settings() {
		b.WriteString(s.key + " = " + s.get() + "\n")
	}
	return b.String()
}

// Change is one setting that differs between two configurations, secrets shown as [set] or [not set].
type Change struct {
	Key, Old, New string
	// Restart is whether only a restart brings the change into force.
	Restart bool
}

// Diff returns the settings that differ, in the order of the example file.
func Diff(before, after Config) []Change {
	var changes []Change
	now := after.settings()
	for i, b := range before.settings() {
		a := now[i]
		if b.plain() != a.plain() {
			changes = append(changes, Change{Key: b.key, Old: b.get(), New: a.get(), Restart: b.restart})
		}
	}
	return changes
}
