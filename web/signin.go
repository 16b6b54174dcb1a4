package web

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"unicode"

	"ventdue/desk"
	"ventdue/vent"
)

// signInPage is the form that lets a person in.
type signInPage struct {
	page
	Next    string // where to go afterwards
	Name    string
	Problem string
	Closed  bool // nobody has an account and no password is set: only programs with the token come in
}

// askToSignIn sends whoever is not signed in to the form, and back afterwards.
func (s *server) askToSignIn(w http.ResponseWriter, r *http.Request) {
	next := "/"
	if r.Method == http.MethodGet {
		next = r.URL.RequestURI()
	}
	s.seeOther(w, r, "/signin?"+url.Values{"next": {next}}.Encode())
}

func (s *server) showSignIn(w http.ResponseWriter, r *http.Request, v visitor) error {
	next := localPath(r.URL.Query().Get("next"))
	if v.inside {
		s.seeOther(w, r, next)
		return nil
	}
	founded, err := s.desk.Founded()
	if err != nil {
		return err
	}
	if !founded && s.auth.hash == "" && s.setupCode != "" {
		s.seeOther(w, r, "/welcome/code")
		return nil
	}
	return s.signInForm(w, v, http.StatusOK, signInPage{Next: next})
}

func (s *server) signInForm(w http.ResponseWriter, v visitor, status int, p signInPage) error {
	problem := p.Problem
	p.page = s.newPage(v, "")
	p.Title, p.Problem = p.Say("page.signin.title"), problem
	any, err := s.desk.AnyAccount()
	if err != nil {
		return err
	}
	p.Closed = s.auth.hash == "" && !any
	return s.render(w, status, "signin", p)
}

func (s *server) signIn(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	p := signInPage{Next: localPath(r.PostForm.Get("next")), Name: cleanName(r.PostForm.Get("name"))}
	if s.openNow() {
		s.seeOther(w, r, p.Next)
		return nil
	}
	account, err := s.desk.AccountNamed(p.Name)
	if err != nil && !errors.Is(err, vent.ErrNotFound) {
		return err
	}
	dev := s.auth.device(r)
	known := dev.knows(account.ID.String())
	if !known {
		dev.ID = ""
	}
	who := trier(dev.ID, v.addr) + " as " + vent.AccountName(p.Name)
	if wait := s.auth.gate.try(who, s.now()); wait > 0 {
		seconds := strconv.Itoa(int(math.Ceil(wait.Seconds())))
		w.Header().Set("Retry-After", seconds)
		p.Problem = s.words(v).Say("page.signin.wait", "n", seconds)
		return s.signInForm(w, v, http.StatusTooManyRequests, p)
	}
	own, installation := s.auth.fits(r, known, account.Password, r.PostForm.Get("password"))
	var x session
	switch {
	case own:
		x.Account, x.AccountEpoch = account.ID, account.Epoch
	case installation && account.ID.IsZero():
		x.Name = p.Name
	default: // under an account's name its own password counts alone: whoever knows that could guess the other without end
		s.log.Warn("a sign-in failed", "addr", v.addr, "name", p.Name)
		p.Problem = s.words(v).Say("page.signin.wrong")
		return s.signInForm(w, v, http.StatusForbidden, p)
	}
	s.auth.gate.forgive(who)
	if err := s.auth.start(w, r, x, s.now()); err != nil {
		return err
	}
	s.seeOther(w, r, p.Next)
	return nil
}

func (s *server) signOut(w http.ResponseWriter, r *http.Request, _ visitor) error {
	s.auth.end(w)
	s.seeOther(w, r, "/signin")
	return nil
}

// signOutEverywhere ends the sign-ins of the account; with the installation's own password those of everybody.
func (s *server) signOutEverywhere(w http.ResponseWriter, r *http.Request, v visitor) error {
	end := s.desk.EndSessions
	if v.account != nil {
		end = func(by desk.By) error { return s.desk.SignOutAccount(by, v.account.ID) }
	}
	if err := end(s.by(v)); err != nil {
		return err
	}
	return s.signOut(w, r, v)
}

// localPath gives a path of our own pages; anything that could lead elsewhere becomes the first page.
func localPath(p string) string {
	u, err := url.Parse(p)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") ||
		strings.ContainsAny(p, "\\\r\n\t") || strings.HasPrefix(u.Path, "/signin") {
		return "/"
	}
	return p
}

// cleanName gives what a person calls themselves on one line, cut to a sensible length.
func cleanName(name string) string {
	name = oneLine(name)
	for len(name) > maxName {
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	return name
}

// oneLine gives a text on one line, without what cannot be printed.
func oneLine(s string) string {
	return strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) && !unicode.IsSpace(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))), " ")
}

// formError tells a body that is too large from one that is no form.
func formError(err error) error {
	if a := answerTo(err); a.status == http.StatusRequestEntityTooLarge {
		return err
	}
	return unreadable{"the form could not be read: " + err.Error()}
}
