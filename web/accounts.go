package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// accountsPage lists who signs in, and makes new accounts.
type accountsPage struct {
	page
	Done    string // what was just done
	Problem string
	Rows    []accountRow
	Form    accountForm
	Open    bool // nobody has to sign in yet
}

// accountRow is one account with what an owner can change of it.
type accountRow struct {
	ID, Name, Role, Seen, Person string
	Self                         bool
	Change                       accountForm
	Password                     field
}

// accountForm asks for an account. A part whose Name is empty is not asked for.
type accountForm struct {
	Name, Password, Role, Language, Person field
}

func (s *server) showAccounts(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, err := s.accountsPage(v)
	if err != nil {
		return err
	}
	if done := r.URL.Query().Get("done"); p.Has("page.accounts.done." + done) {
		p.Done = p.Say("page.accounts.done." + done)
	}
	return s.render(w, http.StatusOK, "accounts", p)
}

func (s *server) accountsPage(v visitor) (accountsPage, error) {
	p := accountsPage{page: s.newPage(v, "accounts")}
	f := figures{p.Words}
	p.Title, p.Form, p.Open = p.Say("page.accounts.title"), f.accountForm("", vent.Account{}), s.openNow()
	all, err := s.desk.Accounts()
	if err != nil {
		return p, err
	}
	var scopes []vent.Scope
	for _, a := range all {
		scopes = append(scopes, vent.Scope{Kind: vent.KindPerson, ID: a.PersonID})
	}
	names, err := s.desk.Names(scopes...)
	if err != nil {
		return p, err
	}
	zone := zoneOf(s.operator().Zone)
	for i, a := range all {
		row := accountRow{ID: a.ID.String(), Name: a.Name, Role: f.Say("page.role." + string(a.Role)), Seen: f.Say("page.accounts.never"),
			Self: v.account != nil && v.account.ID == a.ID, Change: f.accountForm("-"+a.ID.String(), a), Password: f.passwordField("-"+a.ID.String(), "page.accounts.field.new_password")}
		if a.Seen != 0 {
			row.Seen = f.Say("page.accounts.seen", "when", f.moment(a.Seen, zone))
		}
		if n := names[scopes[i]].Name; n != "" && n != a.Name {
			row.Person = n
		}
		p.Rows = append(p.Rows, row)
	}
	return p, nil
}

// accountForm gives the form for a new account, or with a mark behind its fields' ids that for one that exists.
func (f figures) accountForm(mark string, a vent.Account) accountForm {
	form := accountForm{
		Name:     field{Name: "name", Label: f.Say("page.accounts.field.name"), Hint: f.Say("page.accounts.field.name.hint")},
		Password: f.passwordField("", "page.accounts.field.password"),
		Role:     field{Name: "role", Label: f.Say("page.accounts.field.role"), Choices: choices(f, "page.role.does.", vent.Owner, vent.Office, vent.Technician)},
		Language: f.languageField(a.Language),
		Person:   field{Name: "person", Label: f.Say("page.accounts.field.person"), Hint: f.Say("page.accounts.field.person.hint")},
	}
	if !a.ID.IsZero() {
		form.Name, form.Password, form.Person.Hint = field{}, field{}, ""
		form.Role.Mark, form.Language.Mark, form.Person.Mark = mark, mark, mark
	}
	form.Role.choose(string(a.Role))
	return form
}

func (f figures) passwordField(mark, label string) field {
	return field{Name: "password", Mark: mark, Type: "password", Auto: "new-password", Label: f.Say(label),
		Hint: f.Say("page.accounts.field.password.hint", "least", strconv.Itoa(desk.MinPassword))}
}

// languageField offers the languages of the pages, by their own names, and the operator's.
func (f figures) languageField(chosen string) field {
	x := field{Name: "language", Label: f.Say("page.accounts.field.language"), Choices: []choice{{Value: "", Label: f.Say("page.language.operator")}}}
	for _, l := range wording.Languages() {
		x.Choices = append(x.Choices, choice{Value: l, Label: wording.For(l, f.Units).Say("page.language.own")})
	}
	x.choose(chosen)
	return x
}

// access reads what an account is to be.
func access(v url.Values) desk.Access {
	return desk.Access{Name: cleanName(v.Get("name")), Role: vent.Role(v.Get("role")), Language: known(v.Get("language")), Person: strings.TrimSpace(v.Get("person"))}
}

// known gives a language of the pages, "" for any other.
func known(lang string) string {
	if slices.Contains(wording.Languages(), lang) {
		return lang
	}
	return ""
}

func (s *server) makeAccount(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	first := s.openNow()
	asked := access(r.PostForm)
	if first && asked.Role != vent.Owner {
		return s.accountsAgain(w, v, http.StatusUnprocessableEntity, r.PostForm, "page.accounts.problem.first")
	}
	a, err := s.desk.AddAccount(s.by(v), asked, r.PostForm.Get("password"))
	if err != nil {
		return s.accountProblem(w, v, r.PostForm, err)
	}
	if first { // from now on everybody has to sign in: whoever made this account goes on as it
		if err := s.auth.start(w, r, session{Account: a.ID, AccountEpoch: a.Epoch}, s.now()); err != nil {
			return err
		}
	}
	s.seeOther(w, r, "/accounts?done=made")
	return nil
}

// accountProblem shows the page again with what keeps an account from being made or changed.
func (s *server) accountProblem(w http.ResponseWriter, v visitor, sent url.Values, err error) error {
	key := ""
	var problems vent.Problems
	switch {
	case errors.As(err, &problems):
		key = "page.accounts.problem." + problems[0].Field
	case errors.Is(err, vent.ErrConflict):
		key = "page.accounts.problem.taken"
	case errors.Is(err, vent.ErrNotFound) && sent.Get("person") != "":
		key = "page.accounts.problem.person"
	}
	if key == "" || !s.words(v).Has(key) {
		return err
	}
	return s.accountsAgain(w, v, answerTo(err).status, sent, key)
}

func (s *server) accountsAgain(w http.ResponseWriter, v visitor, status int, sent url.Values, key string) error {
	p, err := s.accountsPage(v)
	if err != nil {
		return err
	}
	p.Problem = p.Say(key, "least", strconv.Itoa(desk.MinPassword))
	p.Form.Name.Value, p.Form.Person.Value = cleanName(sent.Get("name")), sent.Get("person")
	p.Form.Role.choose(sent.Get("role"))
	p.Form.Language.choose(sent.Get("language"))
	return s.render(w, status, "accounts", p)
}

func (s *server) changeAccount(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.withAccount(w, r, v, "changed", func(id vent.ID) error {
		x := access(r.PostForm)
		x.Name = ""
		_, err := s.desk.ChangeAccount(s.by(v), id, x)
		return lastOwner(err)
	})
}

func (s *server) resetPassword(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.withAccount(w, r, v, "password", func(id vent.ID) error {
		a, err := s.desk.SetPassword(s.by(v), id, r.PostForm.Get("password"))
		if err == nil && v.account != nil && v.account.ID == id {
			err = s.auth.start(w, r, session{Account: a.ID, AccountEpoch: a.Epoch}, s.now())
		}
		return err
	})
}

func (s *server) signAccountOut(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.withAccount(w, r, v, "signout", func(id vent.ID) error { return s.desk.SignOutAccount(s.by(v), id) })
}

func (s *server) removeAccount(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.withAccount(w, r, v, "removed", func(id vent.ID) error { return lastOwner(s.desk.RemoveAccount(s.by(v), id)) })
}

// errLastOwner is the refusal to leave an installation without an owner.
var errLastOwner = refusal{status: http.StatusConflict, key: "owner"}

func lastOwner(err error) error {
	if errors.Is(err, vent.ErrConflict) {
		return errLastOwner
	}
	return err
}

// withAccount does something to the account that an address names, and goes back to the list.
func (s *server) withAccount(w http.ResponseWriter, r *http.Request, v visitor, done string, do func(vent.ID) error) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	if err := do(id); err != nil {
		return s.accountProblem(w, v, r.PostForm, err)
	}
	s.seeOther(w, r, "/accounts?done="+done)
	return nil
}

func (s *server) signEverybodyOut(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := s.desk.EndSessions(s.by(v)); err != nil {
		return err
	}
	return s.signOut(w, r, v)
}
