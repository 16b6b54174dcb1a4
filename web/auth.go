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
	"slices"
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
	maxPassword = desk.MaxPassword
	// maxName bounds what a person may call themselves, in bytes.
	maxName = vent.MaxAccountName
	// maxKnown is how many accounts a device remembers that signed in from it.
	maxKnown = 8
)

// session is what a signed cookie says. Nothing is kept on the server, so a session outlives a restart; it ends by its
// age, by a changed installation's password (which changes the key), when all sign-ins are ended (which changes the epoch),
// and when its account is removed, signed out or given a new password.
type session struct {
	Issued vent.Instant `json:"i"`
	Epoch  vent.Instant `json:"e"`
	Name   string       `json:"n,omitempty"` // as whoever has no account called themselves, for the audit trail
	// Account is who signed in, and AccountEpoch its own mark; none for the installation's password.
	Account      vent.ID      `json:"a,omitzero"`
	AccountEpoch vent.Instant `json:"ae,omitzero"`
}

// device is what a browser keeps that somebody signed in from: for whom it has shown the password. It lets them try again
// where others guess.
type device struct {
	ID    string   `json:"d"`
	Known []string `json:"k"` // accounts by id; "" is the installation's own password
}

func (d device) knows(account string) bool { return slices.Contains(d.Known, account) }

// auth knows the installation's own password and token, and signs cookies.
type auth struct {
	desk   *desk.Desk
	hash   string   // bcrypt; "": only accounts sign in
	token  [32]byte // SHA-256 of the API's token
	tokens bool
	key    []byte
	cookie http.Cookie // what the cookies share; Name is the session's
	gate   *gate
	// turns bounds how many passwords are compared at once; devices that are known have turns of their own, so that a
	// flood of guesses makes them wait for nobody.
	turns, knownTurns chan struct{}
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
	a := &auth{desk: o.Desk, gate: newGate(), turns: make(chan struct{}, 2), knownTurns: make(chan struct{}, 1),
		key: mac(key, o.Password+o.PasswordHash), tokens: o.Token != "", token: sha256.Sum256([]byte(o.Token)),
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

// passwordHash gives the bcrypt hash of the installation's password, "" where there is none.
func passwordHash(o Options) (string, error) {
	if o.Password != "" {
		hash, err := bcrypt.GenerateFromPassword([]byte(o.Password), bcrypt.DefaultCost)
		if errors.Is(err, bcrypt.ErrPasswordTooLong) {
			return "", fmt.Errorf("the password is longer than %d bytes: take a shorter one", maxPassword)
		}
		return string(hash), err
	}
	if o.PasswordHash == "" {
		return "", nil
	}
	if _, err := bcrypt.Cost([]byte(o.PasswordHash)); err != nil {
		return "", fmt.Errorf("the password hash is not a bcrypt hash: %w", err)
	}
	return o.PasswordHash, nil
}

// fits compares a password with the account's hash and with the installation's own: always both, so that the time tells
// nobody which accounts there are. Few are compared at a time, so that guessing from many addresses cannot take the machine.
func (a *auth) fits(r *http.Request, known bool, hash, password string) (account, installation bool) {
	turns := a.turns
	if known {
		turns = a.knownTurns
	}
	select {
	case turns <- struct{}{}:
		defer func() { <-turns }()
	case <-r.Context().Done():
		return false, false
	}
	return desk.PasswordFits(hash, password), desk.PasswordFits(a.hash, password)
}

// isToken reports whether a secret is the installation's own token.
func (a *auth) isToken(secret string) bool {
	sum := sha256.Sum256([]byte(secret))
	return a.tokens && subtle.ConstantTimeCompare(sum[:], a.token[:]) == 1
}

// session gives the session of a request, nil where there is none or all sign-ins were ended since.
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

// start gives the browser a session, and marks it as a device that knows the password.
func (a *auth) start(w http.ResponseWriter, r *http.Request, x session, now time.Time) (err error) {
	if x.Epoch, err = a.desk.SessionEpoch(); err != nil {
		return err
	}
	x.Issued = vent.InstantOf(now)
	a.set(w, a.cookie.Name, x, sessionDays)
	if d := a.device(r); !d.knows(x.Account.String()) {
		if d.ID == "" {
			d.ID = rand.Text()
		}
		d.Known = append(d.Known[max(0, len(d.Known)-maxKnown+1):], x.Account.String())
		a.set(w, a.deviceCookie(), d, deviceDays)
	}
	return nil
}

// renew gives a session in use a new age.
func (a *auth) renew(w http.ResponseWriter, r *http.Request, v visitor, now time.Time) {
	if x := v.session; x != nil && r.Method == http.MethodGet && now.Sub(x.Issued.Time()) > renewAfter {
		next := *x
		next.Issued = vent.InstantOf(now)
		a.set(w, a.cookie.Name, next, sessionDays)
	}
}

// end takes the session from the browser.
func (a *auth) end(w http.ResponseWriter) {
	c := a.cookie
	c.MaxAge = -1
	http.SetCookie(w, &c)
}

func (a *auth) deviceCookie() string { return a.cookie.Name + "-device" }

// device gives what a browser knows from which somebody signed in before; nothing for another one.
func (a *auth) device(r *http.Request) (d device) {
	a.open(r, a.deviceCookie(), &d)
	return d
}

// set gives the browser a signed cookie.
func (a *auth) set(w http.ResponseWriter, name string, value any, days int) {
	a.setFor(w, name, value, days*24*3600)
}

func (a *auth) setFor(w http.ResponseWriter, name string, value any, seconds int) {
	data, err := json.Marshal(value)
	if err != nil {
		return // a session and a device always marshal
	}
	body := base64.RawURLEncoding.EncodeToString(data)
	c := a.cookie
	c.Name, c.MaxAge = name, seconds
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
