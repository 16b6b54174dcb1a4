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

	// Open lets everybody in without signing in. It is only for a listener on the loopback interface: a request whose
	// Host is no loopback name is then refused, since a foreign page may have bent its own name to this machine.
	Open bool
	// Password signs a person in, PasswordHash is the same as a bcrypt hash; at most one of them. The
	// password has at most 72 bytes, which is as far as bcrypt looks.
	Password, PasswordHash string
	// Token lets programs use the JSON API; "" lets none.
	Token string
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

	auth     *auth
	shown    *keepsake
	signs    desk.SignLinks
	choices  desk.ChoiceLinks
	signGate *gate
	pages    map[string]*template.Template
	assets   map[string]asset
	mux      *http.ServeMux
}

// New makes the pages. It is an error when the options contradict each other or nobody could come in.
func New(o Options) (http.Handler, error) {
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
		shown: newKeepsake(), signGate: newGate(),
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
	if s.choices, err = o.Desk.ChoiceLinks(desk.By{Now: s.now(), Actor: "web"}); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.assets, err = loadAssets(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	if s.pages, err = parsePages(); err != nil {
		return nil, fmt.Errorf("make the pages: %w", err)
	}
	s.routes()
	return s.guard(), nil
}

func (o Options) check() error {
	switch {
	case o.Desk == nil:
		return errors.New("no desk was given")
	case o.Password != "" && o.PasswordHash != "":
		return errors.New("a password and the hash of one are both given: keep one of them")
	case o.Open && (o.Password != "" || o.PasswordHash != "" || o.Token != ""):
		return errors.New("the pages are to be open, and yet a password or token is set: give one or the other")
	case !o.Open && o.Password == "" && o.PasswordHash == "" && o.Token == "":
		return errors.New("nobody could come in: set a password, a password hash or a token")
	}
	return nil
}

// routes names every address there is.
func (s *server) routes() {
	m := http.NewServeMux()
	m.Handle("GET /{$}", s.page(s.showBoard))
	m.Handle("GET /runs/{id}", s.page(s.showRun))
	m.Handle(recordRoute, s.page(s.recordFinding))
	m.Handle("GET /runs/{id}/flow.svg", s.page(s.showFlow))
	m.Handle("GET /runs/{id}/record", s.page(s.showRunPaper))
	m.Handle("GET /runs/{id}/record.csv", s.page(s.runSheet))
	m.Handle("GET /findings/{id}/record", s.page(s.showFindingPaper))
	m.Handle("GET /findings/{id}/record.csv", s.page(s.findingSheet))
	m.Handle("GET /sites/{id}/record", s.page(s.showSitePaper))
	m.Handle("GET /sites/{id}/record.csv", s.page(s.siteSheet))
	m.Handle("POST /runs/{id}/faults/{fault}/{step}", s.page(s.closeFault))
	m.Handle("GET /photos/{sum}", s.page(s.showPhoto))
	m.Handle("GET /feeds", s.page(s.showFeeds))
	m.Handle("POST /feeds", s.page(s.makeFeed))
	m.Handle("POST /feeds/{id}/address", s.page(s.rotateFeed))
	m.Handle("POST /feeds/{id}/revoke", s.page(s.revokeFeed))

	m.Handle("GET /s/{token}", s.public(s.showSign))
	m.Handle("POST /s/{token}", s.public(s.tellSign))
	m.Handle("GET /m/{token}", s.public(s.showChoices))
	m.Handle(choicesRoute, s.public(s.takeChoices))
	m.Handle("GET /signin", s.public(s.showSignIn))
	m.Handle("POST /signin", s.public(s.signIn))
	m.Handle("POST /signout", s.page(s.signOut))
	m.Handle("POST /signout/everywhere", s.page(s.signOutEverywhere))

	m.Handle("GET /api/dues", s.api(s.apiDues))
	m.Handle("GET /api/runs/{id}", s.api(s.apiRun))
	m.Handle("POST /api/runs/{id}/findings", s.api(s.apiRecord))

	m.Handle(photoRoute, s.api(s.apiPhoto))
	m.Handle("GET /static/{file}", s.public(s.static))
	s.mux = m
}

// handler answers one request or says why not; fail turns the error into an answer.
type handler func(w http.ResponseWriter, r *http.Request, v visitor) error

// page wraps an address that people see after signing in.
func (s *server) page(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, ok := s.visitor(r)
		if !ok {
			s.askToSignIn(w, r)
			return
		}
		s.auth.renew(w, r, v, s.now())
		if err := h(w, r, v); err != nil {
			s.failPage(w, r, v, err)
		}
	})
}

// public wraps an address that anybody may see.
func (s *server) public(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, _ := s.visitor(r)
		if err := h(w, r, v); err != nil {
			s.failPage(w, r, v, err)
		}
	})
}

// api wraps an address that programs use, by bearer token, or a page's own session.
func (s *server) api(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, ok := s.program(r)
		if !ok {
			v, ok = s.visitor(r)
		}
		err := error(refusal{status: http.StatusUnauthorized, key: "token"})
		if ok {
			err = h(w, r, v)
		}
		if err != nil {
			s.failAPI(w, r, v, err)
		}
	})
}

// by stamps what a visitor does.
func (s *server) by(v visitor) desk.By { return desk.By{Now: s.now(), Actor: v.actor()} }
