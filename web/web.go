// Package web is the pages and the JSON API: what a person does with the office through a browser, or a program through
// HTTP. It shows and asks; it decides nothing and stores nothing of its own.
//
// Pages are rendered on the server and need no JavaScript. Every address is stable: a page that was bookmarked
// shows the same thing again.
package web

import (
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"ventdue/desk"
)

// Options are what the pages need. The server around them is the caller's: it must set its own timeouts for reading
// headers and bodies, writing, and idle connections.
type Options struct {
	Desk *desk.Desk
	Now  func() time.Time // nil: time.Now
	Log  *slog.Logger     // nil: slog.Default()

	// Open lets everybody in without signing in, as an owner, while there is no account. It is only for a listener on the
	// loopback interface: a request whose Host is no loopback name is then refused, since a foreign page may have bent
	// its own name to this machine.
	Open bool
	// Password signs an owner in beside the accounts, PasswordHash is the same as a bcrypt hash; at most one of them. The
	// password has at most 72 bytes, which is as far as bcrypt looks.
	Password, PasswordHash string
	// Token lets programs use the whole JSON API, beside the tokens that were made for them.
	Token string
	// SetupCode lets whoever knows it set up a new installation; "" lets only this machine (Open), or whoever has the password.
	SetupCode string
	// Zone is the time zone that a new installation is offered first.
	Zone string
	// File is the settings file that was read, Settings what all settings are; an owner sees them.
	File     string
	Settings []Setting
	// TrustedProxies may tell the client's address in X-Forwarded-For.
	TrustedProxies []netip.Prefix

	// BaseURL is the address by which people reach the pages, without a slash at the end. Feed addresses begin with it, its path
	// (if any) is before every link, and https makes cookies travel by https only.
	BaseURL string
	Version string // shown at the foot of the page
}

// server is the pages with what they need.
type server struct {
	desk    *desk.Desk
	now     func() time.Time
	log     *slog.Logger
	open    bool
	baseURL string // "" where none is known: feed addresses then begin with what the browser asked for
	root    string // path of BaseURL: "" or "/vents"
	version string
	proxies []netip.Prefix

	setupCode, zone string
	file            string
	settings        []Setting

	auth     *auth
	shown    *keepsake[desk.NewFeed]
	secrets  *keepsake[desk.NewToken]
	uploads  *uploads
	signs    desk.SignLinks
	acks     desk.AckLinks
	choices  desk.ChoiceLinks
	booking  desk.BookingLinks
	records  desk.RecordLinks
	signGate *gate
	pages    map[string]*template.Template
	apiText  []byte // the document of the API
	worker   []byte // the script beside the pages
	assets   map[string]asset
	mux      *http.ServeMux
	largest  map[string]int64 // body by pattern, where a form's size will not do
}

// New makes the pages. It is an error when the options contradict each other.
func New(o Options) (http.Handler, error) {
	s, err := build(o)
	if err != nil {
		return nil, err
	}
	return s.guard(), nil
}

func build(o Options) (*server, error) {
	if err := o.check(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	base, err := url.Parse(o.BaseURL)
	if err != nil {
		return nil, fmt.Errorf("make the pages: base address %q: %w", o.BaseURL, err)
	}
	s := &server{
		desk: o.Desk, now: o.Now, log: o.Log, open: o.Open, version: o.Version, proxies: o.TrustedProxies,
		baseURL: strings.TrimSuffix(o.BaseURL, "/"), root: strings.TrimSuffix(base.Path, "/"),
		setupCode: o.SetupCode, zone: o.Zone, file: o.File, settings: o.Settings, uploads: newUploads(),
		shown: newKeepsake[desk.NewFeed](), secrets: newKeepsake[desk.NewToken](), signGate: newGate(),
	}
	if s.now == nil {
		s.now = time.Now
	}
	if s.log == nil {
		s.log = slog.Default()
	}
	if s.auth, err = newAuth(o, s.root, base.Scheme == "https"); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.signs, err = o.Desk.SignLinks(desk.By{Now: s.now(), Actor: "web"}); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.acks, err = o.Desk.AckLinks(desk.By{Now: s.now(), Actor: "web"}); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.booking, err = o.Desk.BookingLinks(desk.By{Now: s.now(), Actor: "web"}); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.records, err = o.Desk.RecordLinks(desk.By{Now: s.now(), Actor: "web"}); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.choices, err = o.Desk.ChoiceLinks(desk.By{Now: s.now(), Actor: "web"}); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.assets, err = loadAssets(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.worker, err = s.workerText(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.pages, err = parsePages(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.apiText, err = s.apiDocument(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	s.register()
	return s, nil
}

func (o Options) check() error {
	switch {
	case o.Desk == nil:
		return errors.New("no desk was given")
	case o.Password != "" && o.PasswordHash != "":
		return errors.New("a password and the hash of one are both given: keep one of them")
	case o.Open && (o.Password != "" || o.PasswordHash != "" || o.Token != ""):
		return errors.New("the pages are to be open, and yet a password or token is set: give one or the other")
	}
	return nil
}

// by stamps what a visitor does.
func (s *server) by(v visitor) desk.By { return desk.By{Now: s.now(), Actor: v.actor()} }
