package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	netmail "net/mail"
	"net/url"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/config"
	"ventdue/desk"
	"ventdue/notify"
	"ventdue/notify/hook"
	"ventdue/notify/mail"
	"ventdue/scheduler/cadence"
	"ventdue/scheduler/clockwork"
	"ventdue/store"
	"ventdue/vent"
)

// dataFile is the data file's name inside the data folder, photoFolder that of the photos' folder, also among backups.
const (
	dataFile    = "ventdue.db"
	photoFolder = "photos"
)

// house is everything that stands over one open data file.
type house struct {
	cfg   atomic.Pointer[config.Config]
	store *store.Store
	desk  *desk.Desk
	now   func() time.Time
}

// openHouse opens the data file. kick is told the names of jobs that have something new to do; nil outside a daemon.
func openHouse(cfg config.Config, now func() time.Time, o store.Options, kick func(string)) (*house, error) {
	policy, err := policyOf(cfg, now())
	if err != nil {
		return nil, err
	}
	s, err := store.Open(filepath.Join(cfg.Data, dataFile), o)
	if err != nil {
		return nil, err
	}
	h := &house{store: s, now: now, desk: desk.New(s, policy, kick)}
	h.desk.KeepPhotosIn(filepath.Join(cfg.Data, photoFolder))
	h.setConfig(cfg)
	return h, nil
}

// backup copies the data file into a folder under a name of its own, then the photos that the folder lacks. In that order
// every photo that the copied data file names is there.
func (h *house) backup(dir, name string) error {
	if err := h.store.Backup(filepath.Join(dir, name)); err != nil {
		return err
	}
	if _, err := desk.CopyPhotos(filepath.Join(h.cfg.Load().Data, photoFolder), filepath.Join(dir, photoFolder)); err != nil {
		return fmt.Errorf("the data file is copied, but not all photos: %w", err)
	}
	return nil
}

// setConfig takes new settings while the daemon runs.
func (h *house) setConfig(cfg config.Config) { h.cfg.Store(&cfg) }

func (h *house) Close() error { return h.store.Close() }

// policyOf turns settings into the rules' own terms.
func policyOf(cfg config.Config, now time.Time) (p desk.Policy, err error) {
	p = desk.DefaultPolicy()
	p.FeedMonths, p.Webhook = cfg.Feed.HorizonMonths, cfg.Webhook.URL != ""
	p.Dates.Risk, p.Dates.RiskCareful = cfg.Policy.RiskOneFamily, cfg.Policy.RiskShared
	p.Dates.ShortestDays, p.Dates.LongestMonths = cfg.Policy.ShortestDays, cfg.Policy.LongestMonths
	p.Dates.UnprovenMonths, p.Dates.LookMonths = cfg.Policy.LongestWithoutEvidenceMonths, cfg.Policy.LookMonths
	p.Dates.AllowLonger = cfg.Policy.AllowLonger
	m, c := cfg.Mail, &p.Cadence
	c.Opens, c.Shuts, c.PerDay, c.PerPerson, c.Record, c.Summary = m.Window.From, m.Window.To, m.PerDay, m.PerPerson, m.Record, m.Summary
	c.Quiet, c.QuietDays = cadence.Span{From: m.Quiet.From, To: m.Quiet.To}, m.QuietDays
	c.Due.Days, c.ByVisit.Days, c.Visit.Days = m.Reminders, m.VisitReminders, m.BeforeVisit
	if err := c.Validate(); err != nil {
		return p, fmt.Errorf("settings of mail: %w", err)
	}
	p.Visits, err = visitPolicyOf(cfg, vent.DateOf(now.In(cfg.Zone)))
	return p, err
}

// carrierOf gives what mails leave by.
func carrierOf(cfg config.Config) (mail.Carrier, error) {
	m := cfg.Mail
	if m.Mode == config.ModeFolder {
		return mail.Folder{Dir: m.Folder}, nil
	}
	s := mail.SMTP{
		Addr: fmt.Sprintf("%s:%d", m.Host, m.Port), Security: securities[m.Security],
		Username: m.Username, Password: m.Password.Reveal(), PerConn: m.PerConnection,
		DialTimeout: m.Timeout, CommandTimeout: m.Timeout,
	}
	if m.CAFile != "" {
		pool, err := mail.LoadCAs(m.CAFile)
		if err != nil {
			return nil, err
		}
		s.RootCAs = pool
	}
	return s, s.Check()
}

// hookOf gives what is posted by. Without an address nothing is: what still waits is then held back.
func hookOf(cfg config.Config) hook.Hook {
	h := cfg.Webhook
	return hook.Hook{URL: h.URL, Secret: []byte(h.Secret.Reveal()), Timeout: h.Timeout, AllowPrivate: h.AllowPrivate}
}

var securities = map[string]mail.Security{
	config.SecurityStartTLS: mail.StartTLS,
	config.SecurityTLS:      mail.ImplicitTLS,
	config.SecurityNone:     mail.Plain,
}

// senderOf gives who reminders come from.
func (h *house) senderOf(cfg config.Config) (notify.Sender, error) {
	s, err := h.bareSender(cfg)
	if err != nil {
		return s, err
	}
	by := desk.By{Now: h.now(), Actor: "start"}
	if s.Returns, err = h.desk.ReturnMarks(by); err != nil {
		return s, err
	}
	if s.Signs, err = h.desk.SignLinks(by); err != nil {
		return s, err
	}
	if s.Acks, err = h.desk.AckLinks(by); err != nil {
		return s, err
	}
	if s.Bookings, err = h.desk.BookingLinks(by); err != nil {
		return s, err
	}
	if s.Records, err = h.desk.RecordLinks(by); err != nil {
		return s, err
	}
	if s.Choices, err = h.desk.ChoiceLinks(by); err != nil {
		return s, err
	}
	return s, s.Check()
}

// bareSender gives who reminders come from without the keys that links and marks are made with. It stores nothing.
func (h *house) bareSender(cfg config.Config) (notify.Sender, error) {
	from, err := netmail.ParseAddress(cfg.Mail.From)
	if err != nil {
		return notify.Sender{}, fmt.Errorf("mail.from %q: %w", cfg.Mail.From, err)
	}
	s := notify.Sender{From: *from, Pages: publicBase(cfg), Return: cfg.Mail.BounceAddress, OneReturn: cfg.Mail.OneReturn}
	if cfg.Mail.ReplyTo != "" {
		reply, err := netmail.ParseAddress(cfg.Mail.ReplyTo)
		if err != nil {
			return notify.Sender{}, fmt.Errorf("mail.reply_to %q: %w", cfg.Mail.ReplyTo, err)
		}
		s.ReplyTo = *reply
	}
	if s.Templates, err = notify.LoadTemplates(cfg.Mail.Templates); err != nil {
		return s, err
	}
	if cfg.Mail.DKIMKeyFile != "" {
		s.Signer, err = mail.LoadSigner(cfg.Mail.DKIMDomain, cfg.Mail.DKIMSelector, cfg.Mail.DKIMKeyFile)
	}
	return s, err
}

// publicBase gives the address that links begin with.
func publicBase(cfg config.Config) string {
	if u, err := url.Parse(cfg.Web.BaseURL); err != nil || u.Host == "" {
		return ""
	}
	return cfg.Web.BaseURL
}

func checkSpec(now func() time.Time) func(string, *time.Location) error {
	return func(spec string, zone *time.Location) error {
		_, err := clockwork.CheckSpec(spec, zone, now())
		return err
	}
}

// office finds who does a command's work: the daemon that holds the data file, else this process. The returned
// function lets go of it.
func (a *app) office(c *cobra.Command) (call.Office, func(), error) {
	cfg, err := a.load(c)
	if err != nil {
		return nil, nil, err
	}
	d, err := call.Dial(cfg.Socket, version())
	if err == nil {
		return d, func() {}, nil
	}
	h, err := openHouse(cfg, a.now, store.Options{}, nil)
	if err != nil {
		return nil, nil, err
	}
	local := call.Local{Table: h.table(), Actor: call.UserName(os.Getuid()), Now: a.now}
	return local, func() {
		if err := h.Close(); err != nil {
			slog.Error("closing the data file", "error", err)
		}
	}, nil
}

// with runs f with the office.
func (a *app) with(c *cobra.Command, f func(context.Context, call.Office) error) error {
	o, done, err := a.office(c)
	if err != nil {
		return err
	}
	defer done()
	return f(c.Context(), o)
}

// noDaemon refuses work that needs the data file for itself while a daemon has it.
func noDaemon(cfg config.Config) error {
	if _, err := call.Dial(cfg.Socket, version()); !errors.Is(err, call.ErrNoDaemon) {
		return fmt.Errorf("a daemon is at work on %s: stop it first", cfg.Data)
	}
	return nil
}
