package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
	"github.com/spf13/cobra"

	"ventdue/cmd/ventdue/call"
	"ventdue/config"
	"ventdue/notify"
	"ventdue/scheduler/clockwork"
	"ventdue/store"
)

// stopWithin is how long a stopping daemon waits for what is under way.
const stopWithin = 25 * time.Second

func (a *app) serveCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "serve", Short: "Run the daemon: pages, calendars, reminders",
		Long: `Run the daemon. With no settings at all it serves pages on 127.0.0.1:8017 and writes mails to a folder.

It stops on SIGTERM or Ctrl-C after finishing what is under way, and reads its settings anew on SIGHUP. While it runs,
other commands reach it through a Unix socket beside the data file.`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			cfg, err := a.load(c)
			if err != nil {
				return err
			}
			d, err := a.newDaemon(cfg, store.Options{})
			if err != nil {
				return err
			}
			d.reload = func() (config.Config, error) { return a.load(c) }
			return d.run(c.Context())
		},
	}
	config.AddFlags(c.Flags(), "web.listen", "web.base_url", "mail.mode", "mail.folder", "socket", "log.level", "log.format")
	return c
}

// serving is what can be swapped while the daemon runs.
type serving struct {
	cfg    config.Config
	outbox notify.Outbox
	hook   notify.Outbox // what is posted to the webhook
	pages  http.Handler
	feeds  *notify.Feeds
}

// theDaemon is one running daemon.
type theDaemon struct {
	app    *app
	house  *house
	log    *slog.Logger
	level  *slog.LevelVar
	clock  *clockwork.Clock
	now    func() time.Time
	live   atomic.Pointer[serving]
	reload func() (config.Config, error)
	// setupCode sets up a new installation from elsewhere than this machine; it ends with the daemon.
	setupCode string
	// told is called with the pages' address once everything is up.
	told func(base string)
}

// newDaemon opens the data file and puts everything together; nothing runs yet.
func (a *app) newDaemon(cfg config.Config, o store.Options) (*theDaemon, error) {
	d := &theDaemon{app: a, now: a.now, level: new(slog.LevelVar), setupCode: rand.Text()}
	d.level.Set(cfg.Log.Level)
	d.log = logger(a, cfg, d.level)
	h, err := openHouse(cfg, a.now, o, func(job string) {
		if d.clock != nil {
			d.clock.Kick(job)
		}
	})
	if err != nil {
		return nil, err
	}
	d.house = h
	live, err := d.assemble(cfg)
	if err == nil {
		d.live.Store(live)
		d.clock, err = d.newClock(cfg)
	}
	if err != nil {
		_ = h.Close()
		return nil, err
	}
	return d, nil
}

func logger(a *app, cfg config.Config, level *slog.LevelVar) *slog.Logger {
	o := &slog.HandlerOptions{Level: level}
	if cfg.Log.Format == "json" {
		return slog.New(slog.NewJSONHandler(a.Err, o))
	}
	return slog.New(slog.NewTextHandler(a.Err, o))
}

// run serves until ctx ends, then finishes what is under way and closes everything.
func (d *theDaemon) run(ctx context.Context) (err error) {
	defer func() { err = errors.Join(err, d.house.Close()) }()
	cfg := d.live.Load().cfg
	web, err := net.Listen("tcp", cfg.Web.Listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; is another daemon running, or set web.listen to another port", cfg.Web.Listen, err)
	}
	socket, err := call.Listen(cfg.Socket)
	if err != nil {
		_ = web.Close()
		return err
	}
	if err := d.prepare(web); err != nil {
		_ = web.Close()
		_ = socket.Close()
		return err
	}
	pages, calls := d.webServer(), call.NewServer(d.table(), version(), d.now)
	failed := make(chan error, 2)
	go func() { failed <- pages.Serve(web) }()
	go func() { failed <- calls.Serve(socket) }()
	// The clock is not stopped by ctx: Stop lets what is under way finish first.
	if err := d.clock.Start(context.WithoutCancel(ctx)); err != nil {
		return errors.Join(err, pages.Close(), calls.Close())
	}
	d.announce(web)
	err = d.wait(ctx, failed)
	return errors.Join(err, d.stop(pages, calls))
}

// prepare sets right what must be before the first request.
func (d *theDaemon) prepare(web net.Listener) error {
	live := d.live.Load()
	if _, port, err := net.SplitHostPort(live.cfg.Web.Listen); err == nil && port == "0" {
		cfg := live.cfg
		cfg.Web.BaseURL = "http://" + web.Addr().String()
		next, err := d.assemble(cfg)
		if err != nil {
			return err
		}
		d.live.Store(next)
		d.house.setConfig(cfg)
	}
	return d.house.desk.MoveHorizon(d.by("start"))
}

// table adds to the house's operations what only a daemon can answer.
func (d *theDaemon) table() call.Table {
	t := d.house.table()
	t[opStatus] = call.Answer(d.askStatus)
	t[opAcceptClock] = call.Answer(d.askAcceptClock)
	return t
}

func (d *theDaemon) announce(web net.Listener) {
	cfg := d.live.Load().cfg
	d.log.Info("ready", "pages", cfg.Web.BaseURL, "listen", web.Addr().String(), "data", d.house.store.Path(), "mail", cfg.Mail.Mode, "version", version())
	if _, err := daemon.SdNotify(false, daemon.SdNotifyReady); err != nil {
		d.log.Warn("systemd was not told", "error", err)
	}
	if d.told != nil {
		d.told(cfg.Web.BaseURL)
	}
	d.invite(cfg)
}

// invite says how a new installation is set up.
func (d *theDaemon) invite(cfg config.Config) {
	founded, err := d.house.desk.Founded()
	if err != nil || founded {
		return
	}
	if openHere(cfg) || cfg.Web.Password.IsSet() || cfg.Web.PasswordHash.IsSet() {
		d.log.Info("this installation is new: set it up on its first page", "address", cfg.Web.BaseURL+"/")
		return
	}
	d.log.Warn("this installation is new: whoever has the set-up code sets it up", "address", cfg.Web.BaseURL+"/welcome/code", "code", d.setupCode)
}

// wait returns when the daemon must stop: nil when it was asked to.
func (d *theDaemon) wait(ctx context.Context, failed <-chan error) error {
	hup := make(chan os.Signal, 1)
	signal.Notify(hup, syscall.SIGHUP)
	defer signal.Stop(hup)
	beat, stopBeat := watchdog()
	defer stopBeat()
	for {
		select {
		case <-ctx.Done():
			d.log.Info("stopping: finishing what is under way")
			return nil
		case err := <-failed:
			return fmt.Errorf("serving ended: %w", err)
		case <-hup:
			d.reread()
		case <-beat:
			if err := d.clock.Healthy(time.Now()); err != nil {
				d.log.Error("the clock does not tick: systemd is not told that all is well", "error", err)
				continue
			}
			_, _ = daemon.SdNotify(false, daemon.SdNotifyWatchdog)
		}
	}
}

// watchdog gives a beat at a third of the interval that systemd asks for; never where it asks for none.
func watchdog() (<-chan time.Time, func()) {
	every, err := daemon.SdWatchdogEnabled(false)
	if err != nil || every == 0 {
		return nil, func() {}
	}
	t := time.NewTicker(every / 3)
	return t.C, t.Stop
}

func (d *theDaemon) stop(servers ...*http.Server) error {
	_, _ = daemon.SdNotify(false, daemon.SdNotifyStopping)
	ctx, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	var errs []error
	for _, s := range servers {
		errs = append(errs, s.Shutdown(ctx))
	}
	errs = append(errs, d.clock.Stop(ctx))
	if live := d.live.Load(); live.feeds != nil {
		errs = append(errs, live.feeds.Flush(d.by("stop")))
	}
	return errors.Join(errs...)
}

// reread takes new settings; broken ones leave everything as it was.
func (d *theDaemon) reread() {
	_, _ = daemon.SdNotify(false, daemon.SdNotifyReloading)
	defer func() { _, _ = daemon.SdNotify(false, daemon.SdNotifyReady) }()
	if d.reload == nil {
		return
	}
	next, err := d.reload()
	if err != nil {
		d.log.Error("settings not taken: the old ones stay", "error", err)
		return
	}
	now := d.live.Load().cfg
	changes := config.Diff(now, next)
	if len(changes) == 0 && next.Mail.Templates == "" { // what is in the folder may have changed
		d.log.Info("settings read anew: nothing changed")
		return
	}
	next.Data, next.Socket, next.Zone, next.Web.Listen, next.Log.Format = now.Data, now.Socket, now.Zone, now.Web.Listen, now.Log.Format
	if accounts, err := d.house.desk.AnyAccount(); err != nil || !accounts && !next.Web.Protected() && !loopback(next.Web.Listen) {
		d.log.Error("settings not taken: the old ones stay", "error", "without a password or account nobody could come in any more, and the daemon listens on "+next.Web.Listen)
		return
	}
	if err := d.take(next); err != nil {
		d.log.Error("settings not taken: the old ones stay", "error", err)
		return
	}
	if next.Mail.Templates != "" {
		d.log.Info("mail templates read anew", "folder", next.Mail.Templates)
	}
	for _, c := range changes {
		d.log.Info("setting changed", "key", c.Key, "from", c.Old, "to", c.New, "after_restart", c.Restart)
	}
}

func (d *theDaemon) take(next config.Config) error {
	live, err := d.assemble(next)
	if err != nil {
		return err
	}
	before := d.house.desk.Policy()
	after, err := policyOf(next, d.now())
	if err != nil {
		return err
	}
	for job, spec := range specs(next) {
		if err := d.clock.Respec(job, spec); err != nil {
			return err
		}
	}
	d.level.Set(next.Log.Level)
	d.live.Store(live)
	d.house.setConfig(next)
	d.house.desk.SetPolicy(after)
	if before.Dates != after.Dates {
		n, err := d.house.desk.ReplanAll(d.by("settings"), "the policy changed")
		if err != nil {
			return err
		}
		d.log.Info("the policy changed: all runs are planned anew", "runs", n)
	}
	return nil
}
