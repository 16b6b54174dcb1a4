package web

import (
	"errors"
	"net/http"
	"strconv"

	"ventdue/desk"
	"ventdue/vent"
)

// mePage is one's own account.
type mePage struct {
	page
	Name, Role, Done, Problem string
	Account                   bool // false: signed in with the password of the settings, or not at all
	Language                  field
	Present, Next             field
}

func (s *server) showMe(w http.ResponseWriter, r *http.Request, v visitor) error {
	p := s.mePage(v)
	if done := r.URL.Query().Get("done"); p.Has("page.me.done." + done) {
		p.Done = p.Say("page.me.done." + done)
	}
	return s.render(w, http.StatusOK, "me", p)
}

func (s *server) mePage(v visitor) mePage {
	p := mePage{page: s.newPage(v, "me"), Name: v.name(), Account: v.account != nil}
	f := figures{p.Words}
	p.Title, p.Role = p.Say("page.me.title"), p.Say("page.role."+string(v.role))
	if v.account != nil {
		p.Language = f.languageField(v.account.Language)
		p.Present = field{Name: "present", Type: "password", Auto: "current-password", Label: f.Say("page.me.present")}
		p.Next = f.passwordField("", "page.accounts.field.new_password")
	}
	return p
}

func (s *server) changeMe(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	if v.account == nil {
		return vent.ErrNotFound
	}
	_, err := s.desk.ChangeAccount(s.by(v), v.account.ID, desk.Access{Role: v.account.Role, Language: known(r.PostForm.Get("language"))})
	if err != nil {
		return err
	}
	s.seeOther(w, r, "/me?done=changed")
	return nil
}

// changeMyPassword asks for the present password first: whoever finds a signed-in browser cannot take the account.
func (s *server) changeMyPassword(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	if v.account == nil {
		return vent.ErrNotFound
	}
	again := func(status int, key string) error {
		p := s.mePage(v)
		p.Problem = p.Say(key, "least", strconv.Itoa(desk.MinPassword))
		return s.render(w, status, "me", p)
	}
	who := "password of " + v.account.ID.String()
	if wait := s.auth.gate.try(who, s.now()); wait > 0 {
		return again(http.StatusTooManyRequests, "page.me.wait")
	}
	if own, _ := s.auth.fits(r, true, v.account.Password, r.PostForm.Get("present")); !own {
		return again(http.StatusForbidden, "page.me.wrong")
	}
	s.auth.gate.forgive(who)
	a, err := s.desk.SetPassword(s.by(v), v.account.ID, r.PostForm.Get("password"))
	var problems vent.Problems
	if errors.As(err, &problems) {
		return again(http.StatusUnprocessableEntity, "page.accounts.problem.password")
	}
	if err != nil {
		return err
	}
	if err := s.auth.start(w, r, session{Account: a.ID, AccountEpoch: a.Epoch}, s.now()); err != nil {
		return err
	}
	s.seeOther(w, r, "/me?done=password")
	return nil
}
