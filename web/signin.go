package web

import (
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"unicode"
)

// signInPage is the form that lets a person in.
type signInPage struct {
	page
	Next    string // where to go afterwards
	Name    string
	Problem string
	Closed  bool // no password is set: only programs with the token come in
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
	return s.signInForm(w, http.StatusOK, signInPage{Next: next})
}

func (s *server) signInForm(w http.ResponseWriter, status int, p signInPage) error {
	problem := p.Problem
	p.page = s.newPage(visitor{}, "")
	p.Title, p.Problem, p.Closed = p.Say("page.signin.title"), problem, s.auth.hash == nil
	return s.render(w, status, "signin", p)
}

func (s *server) signIn(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	p := signInPage{Next: localPath(r.PostForm.Get("next")), Name: cleanName(r.PostForm.Get("name"))}
	who := trier(s.auth.device(r), v.addr)
	if s.open {
		s.seeOther(w, r, p.Next)
		return nil
	}
	if wait := s.auth.gate.try(who, s.now()); wait > 0 {
		seconds := strconv.Itoa(int(math.Ceil(wait.Seconds())))
		w.Header().Set("Retry-After", seconds)
		p.Problem = s.words().Say("page.signin.wait", "n", seconds)
		return s.signInForm(w, http.StatusTooManyRequests, p)
	}
	if !s.auth.fits(r, r.PostForm.Get("password")) {
		s.log.Warn("a sign-in failed", "addr", v.addr)
		p.Problem = s.words().Say("page.signin.wrong")
		return s.signInForm(w, http.StatusForbidden, p)
	}
	s.auth.gate.forgive(who)
	if err := s.auth.start(w, r, p.Name, s.now()); err != nil {
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

func (s *server) signOutEverywhere(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := s.desk.EndSessions(s.by(v)); err != nil {
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
	name = strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) && !unicode.IsSpace(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(name, ""))), " ")
	for len(name) > maxName {
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	return name
}

// formError tells a body that is too large from one that is no form.
func formError(err error) error {
	if a := answerTo(err); a.status == http.StatusRequestEntityTooLarge {
		return err
	}
	return unreadable{"the form could not be read: " + err.Error()}
}
