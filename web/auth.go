package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"golang.org/x/crypto/bcrypt"

	"ventdue/desk"
	"ventdue/vent"
)

const (
	sessionDays = 30             // without a visit
	renewAfter  = 24 * time.Hour // a session in use gets a new cookie once a day
	deviceDays  = 365
	// maxPassword is how far bcrypt looks, in bytes; a longer one would be compared in part.
	maxPassword = 72
	// maxName bounds what a person may call themselves, in bytes.
	maxName = 80
)

// visitor is whoever asks.
type visitor struct {
	inside  bool // may see the pages
	program bool // came with the API's token
	addr    netip.Addr
	session *session // nil: open pages, a program, or nobody
}

// actor names the visitor in the audit trail.
func (v visitor) actor() string {
	who := "web"
	if v.program {
		who = "api"
	}
	if v.session != nil && v.session.Name != "" {
		who += " " + v.session.Name
	}
	if v.addr.IsValid() && !v.addr.IsUnspecified() {
		who += " " + v.addr.String()
	}
	return who
}

// session is what a signed cookie says. Nothing is kept on the server, so a session outlives a restart; it ends by its
// age, by a changed password (which changes the key), and when all sign-ins are ended (which changes the epoch).
type session struct {
	Issued vent.Instant `json:"i"`
	Epoch  vent.Instant `json:"e"`
	Name   string       `json:"n,omitempty"` // as the person called themselves, for the audit trail
}

// auth knows the password and the token, and signs cookies.
type auth struct {
	desk   *desk.Desk
	hash   []byte   // bcrypt; nil: nobody can sign in
	token  [32]byte // SHA-256 of the API's token
	tokens bool
	key    []byte
	cookie http.Cookie // what both cookies share; Name is the session's
	gate   *gate
	turns  chan struct{} // bounds how many passwords are compared at once
}

func newAuth(o Options, root string, secure bool) (*auth, error) {
	now := o.Now
	if now == nil {
		now = time.Now
	}
	key, err := o.Desk.Key(desk.By{Now: now(), Actor: "web"}, "web sessions")
	if err != nil {
		return nil, err
	}
	a := &auth{desk: o.Desk, gate: newGate(), turns: make(chan struct{}, 2), key: mac(key, o.Password+o.PasswordHash),
		tokens: o.Token != "", token: sha256.Sum256([]byte(o.Token)),
		cookie: http.Cookie{Name: "ventdue", Path: root + "/", HttpOnly: true, Secure: secure, SameSite: http.SameSiteLaxMode}}
	switch {
	case secure && root == "":
		a.cookie.Name = "__Host-ventdue"
	case secure:
		a.cookie.Name = "__Secure-ventdue"
	}
	a.hash, err = passwordHash(o)
	return a, err
}

// passwordHash gives the bcrypt hash of the password, nil where there is none.
func passwordHash(o Options) ([]byte, error) {
	if o.Password != "" {
		hash, err := bcrypt.GenerateFromPassword([]byte(o.Password), bcrypt.DefaultCost)
		if errors.Is(err, bcrypt.ErrPasswordTooLong) {
			return nil, fmt.Errorf("the password is longer than %d bytes: take a shorter one", maxPassword)
		}
		return hash, err
	}
	if o.PasswordHash == "" {
		return nil, nil
	}
	if _, err := bcrypt.Cost([]byte(o.PasswordHash)); err != nil {
		return nil, fmt.Errorf("the password hash is not a bcrypt hash: %w", err)
	}
	return []byte(o.PasswordHash), nil
}

// fits compares a password. At most two are compared at a time, so that guessing from many addresses cannot take
// the machine.
func (a *auth) fits(r *http.Request, password string) bool {
	if a.hash == nil || len(password) > maxPassword {
		return false
	}
	select {
	case a.turns <- struct{}{}:
		defer func() { <-a.turns }()
	case <-r.Context().Done():
		return false
	}
	return bcrypt.CompareHashAndPassword(a.hash, []byte(password)) == nil
}

// visitor tells who asks and whether they may come in.
func (s *server) visitor(r *http.Request) (visitor, bool) {
	v := visitor{addr: s.clientAddr(r), inside: s.open}
	if !s.open {
		v.session = s.auth.session(r, s.now())
		v.inside = v.session != nil
	}
	return v, v.inside
}

// program tells whether a request carries the API's token.
func (s *server) program(r *http.Request) (visitor, bool) {
	kind, token, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	sum := sha256.Sum256([]byte(strings.TrimSpace(token)))
	ok := s.auth.tokens && strings.EqualFold(kind, "Bearer") && subtle.ConstantTimeCompare(sum[:], s.auth.token[:]) == 1
	return visitor{addr: s.clientAddr(r), inside: ok, program: ok}, ok
}

// session gives the valid session of a request, nil where there is none.
func (a *auth) session(r *http.Request, now time.Time) *session {
	var x session
	if !a.open(r, a.cookie.Name, &x) {
		return nil
	}
	age := now.Sub(x.Issued.Time())
	epoch, err := a.desk.SessionEpoch()
	if err != nil || x.Epoch != epoch || age < -time.Minute || age > sessionDays*24*time.Hour {
		return nil
	}
	return &x
}

// start gives the browser a session, and marks it as a device that has signed in before.
func (a *auth) start(w http.ResponseWriter, r *http.Request, name string, now time.Time) error {
	epoch, err := a.desk.SessionEpoch()
	if err != nil {
		return err
	}
	a.set(w, a.cookie.Name, session{Issued: vent.InstantOf(now), Epoch: epoch, Name: name}, sessionDays)
	if a.device(r) == "" {
		a.set(w, a.deviceCookie(), rand.Text(), deviceDays)
	}
	return nil
}

// renew gives a session in use a new age.
func (a *auth) renew(w http.ResponseWriter, r *http.Request, v visitor, now time.Time) {
	if x := v.session; x != nil && r.Method == http.MethodGet && now.Sub(x.Issued.Time()) > renewAfter {
		a.set(w, a.cookie.Name, session{Issued: vent.InstantOf(now), Epoch: x.Epoch, Name: x.Name}, sessionDays)
	}
}

// end takes the session from the browser.
func (a *auth) end(w http.ResponseWriter) {
	c := a.cookie
	c.MaxAge = -1
	http.SetCookie(w, &c)
}

func (a *auth) deviceCookie() string { return a.cookie.Name + "-device" }

// device names a browser from which somebody signed in before; "" for an unknown one.
func (a *auth) device(r *http.Request) (id string) {
	a.open(r, a.deviceCookie(), &id)
	return id
}

// set gives the browser a signed cookie.
func (a *auth) set(w http.ResponseWriter, name string, value any, days int) {
	data, err := json.Marshal(value)
	if err != nil {
		return // a session and a string always marshal
	}
	body := base64.RawURLEncoding.EncodeToString(data)
	c := a.cookie
	c.Name, c.MaxAge = name, days*24*3600
	c.Value = body + "." + base64.RawURLEncoding.EncodeToString(mac(a.key, name+"="+body))
	http.SetCookie(w, &c)
}

// open reads a signed cookie into value. Any of several cookies of the name may be the one that fits.
func (a *auth) open(r *http.Request, name string, value any) bool {
	for _, c := range r.CookiesNamed(name) {
		body, sum, _ := strings.Cut(c.Value, ".")
		given, err := base64.RawURLEncoding.DecodeString(sum)
		if err != nil || !hmac.Equal(given, mac(a.key, name+"="+body)) {
			continue
		}
		data, err := base64.RawURLEncoding.DecodeString(body)
		if err == nil && json.Unmarshal(data, value) == nil {
			return true
		}
	}
	return false
}

func mac(key []byte, text string) []byte {
	m := hmac.New(sha256.New, key)
	m.Write([]byte(text))
	return m.Sum(nil)
}
