package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/spf13/cobra"

	"ventdue/config"
	"ventdue/notify"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/web"
)

// assemble builds what settings can change.
func (d *theDaemon) assemble(cfg config.Config) (*serving, error) {
	carrier, err := carrierOf(cfg)
	if err != nil {
		return nil, err
	}
	sender, err := d.house.senderOf(cfg)
	if err != nil {
		return nil, err
	}
	feeds := notify.NewFeeds(notify.FeedOptions{Desk: d.house.desk, Now: d.now, Log: d.log, Base: publicBase(cfg), MaxAge: cfg.Feed.MaxAge})
	s := &serving{cfg: cfg, feeds: feeds, outbox: notify.Outbox{
		Desk: d.house.desk, Carrier: carrier, Sender: sender, Now: d.now, Log: d.log, Actor: "clock: deliver"}}
	s.hook = s.outbox
	s.hook.Channel, s.hook.Carrier = vent.ByWebhook, hookOf(cfg)
	pages, err := web.New(webOptions(d, cfg))
	if err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	mux.Handle(notify.FeedPath, feeds)
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { _, _ = fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", d.readyz)
	mux.Handle("GET /metrics", near(cfg, d.guarded(cfg, promhttp.HandlerFor(d.metrics(), promhttp.HandlerOpts{}))))
	mux.Handle("/", near(cfg, pages))
	s.pages = mux
	return s, nil
}

// webServer serves whatever is live at the moment of the request.
func (d *theDaemon) webServer() *http.Server {
	return &http.Server{
		Handler:           http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { d.live.Load().pages.ServeHTTP(w, r) }),
		ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute, WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 64 << 10,
		ErrorLog:       slog.NewLogLogger(d.log.Handler(), slog.LevelWarn),
	}
}

// near keeps everybody but this machine out where the settings let everybody in who sits at it, whatever the request's Host
// says.
func near(cfg config.Config, next http.Handler) http.Handler {
	if !openHere(cfg) {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !loopback(r.RemoteAddr) {
			http.Error(w, "Without a password or token these pages are for this machine alone.", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// loopback reports whether an address of the form host:port is this machine's own and nobody else's.
func loopback(addr string) bool {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// guarded shows metrics to a program with a token; where nobody has to sign in the address is this machine's own.
func (d *theDaemon) guarded(cfg config.Config, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		accounts, err := d.house.desk.AnyAccount()
		if (!openHere(cfg) || accounts || err != nil) && !d.knowsToken(cfg, strings.TrimPrefix(r.Header.Get("Authorization"), "Bearer ")) {
			w.Header().Set("WWW-Authenticate", "Bearer")
			http.Error(w, "Metrics need a token (see: ventdue token make) as bearer token.", http.StatusUnauthorized)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// knowsToken reports whether a secret is the settings' own token, or one that was made and may look.
func (d *theDaemon) knowsToken(cfg config.Config, secret string) bool {
	if cfg.Web.Token.IsSet() && sameText(secret, cfg.Web.Token.Reveal()) {
		return true
	}
	t, err := d.house.desk.TokenOf(secret)
	return err == nil && t.Scope.Holds(vent.TokenRead)
}

// stuckAfter is how long a message may wait past its moment before the daemon calls itself not ready.
const stuckAfter = 6 * time.Hour

// oldestMessage gives the moment of the message that should be tried first, by any channel.
func oldestMessage(tx *store.Tx) (oldest vent.Instant, err error) {
	for _, c := range vent.Channels() {
		at, err := store.NextMessage(tx, c)
		if err != nil {
			return 0, err
		}
		if at != 0 && (oldest == 0 || at < oldest) {
			oldest = at
		}
	}
	return oldest, nil
}

// ready says why the daemon is not doing its work; "" when it is.
func (d *theDaemon) ready() string {
	if err := d.house.store.Damaged(); err != nil {
		return err.Error()
	}
	if err := d.clock.Healthy(time.Now()); err != nil {
		return "the clock: " + err.Error()
	}
	if s := d.clock.Suspicion(); s.Suspicious() {
		return "the clock is doubted: " + s.Reason
	}
	var waiting vent.Instant
	if err := d.house.store.View(func(tx *store.Tx) (err error) {
		waiting, err = oldestMessage(tx)
		return err
	}); err != nil {
		return "the data file: " + err.Error()
	}
	if waiting != 0 && d.now().Sub(waiting.Time()) > stuckAfter {
		return "a message has waited since " + waiting.String()
	}
	return ""
}

func (d *theDaemon) readyz(w http.ResponseWriter, _ *http.Request) {
	if why := d.ready(); why != "" {
		http.Error(w, why, http.StatusServiceUnavailable)
		return
	}
	_, _ = fmt.Fprintln(w, "ready")
}

func (a *app) healthcheckCmd() *cobra.Command {
	c := &cobra.Command{Use: "healthcheck", Short: "Ask the daemon whether it does its work (for containers)", Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			body, err := a.get(c, "/readyz")
			if err == nil {
				_, err = fmt.Fprint(a.Out, body)
			}
			return err
		}}
	config.AddFlags(c.Flags(), "web.listen")
	return c
}

// get asks the daemon's own web address.
func (a *app) get(c *cobra.Command, path string) (string, error) {
	cfg, err := a.load(c)
	if err != nil {
		return "", err
	}
	host, port, err := net.SplitHostPort(cfg.Web.Listen)
	if err != nil {
		return "", err
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	ctx, cancel := context.WithTimeout(c.Context(), 10*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+path, nil)
	if err != nil {
		return "", err
	}
	direct := http.Client{Transport: &http.Transport{DisableKeepAlives: true}} // no proxy of the environment: it is this machine
	resp, err := direct.Do(req)
	if err != nil {
		return "", fmt.Errorf("the daemon does not answer: %w", err)
	}
	defer resp.Body.Close()
	b := make([]byte, 2000)
	n, _ := resp.Body.Read(b)
	if resp.StatusCode != http.StatusOK {
		return "", fmt.Errorf("the daemon is not ready: %s", strings.TrimSpace(string(b[:n])))
	}
	return string(b[:n]), nil
}
