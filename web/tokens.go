package web

import (
	"crypto/rand"
	"errors"
	"net/http"
	"net/url"
	"slices"

	"ventdue/desk"
	"ventdue/vent"
)

// tokensPage lists by what programs come in, and makes new tokens.
type tokensPage struct {
	page
	Made    *madeToken
	Gone    bool // a token was made, but is no longer remembered
	Problem string
	Once    string // key of this form: sent twice, it makes one token
	Name    field
	Scope   field
	Rows    []tokenRow
	Ended   []tokenRow
}

// madeToken is a new token, shown for ten minutes.
type madeToken struct{ Name, Secret string }

type tokenRow struct{ ID, Name, May, Created, Used, Revoked string }

func (s *server) showTokens(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, err := s.tokensPage(v)
	if err != nil {
		return err
	}
	if key := r.URL.Query().Get("made"); key != "" {
		made, ok := s.secrets.get(key, s.now())
		p.Gone = !ok
		if ok {
			p.Made = &madeToken{Name: made.Token.Name, Secret: made.Secret}
			w.Header().Set("Cache-Control", "no-store")
		}
	}
	return s.render(w, http.StatusOK, "tokens", p)
}

func (s *server) tokensPage(v visitor) (tokensPage, error) {
	p := tokensPage{page: s.newPage(v, "tokens"), Once: rand.Text()}
	f := figures{p.Words}
	p.Title = p.Say("page.tokens.title")
	p.Name = field{Name: "name", Label: f.Say("page.tokens.field.name"), Hint: f.Say("page.tokens.field.name.hint")}
	p.Scope = field{Name: "scope", Label: f.Say("page.tokens.field.scope"), Choices: choices(f, "page.tokens.may.", vent.TokenRead, vent.TokenRecord, vent.TokenAll)}
	p.Scope.choose(string(vent.TokenRead))
	all, err := s.desk.Tokens()
	if err != nil {
		return p, err
	}
	slices.Reverse(all)
	zone := zoneOf(s.operator().Zone)
	for _, t := range all {
		row := tokenRow{ID: t.ID.String(), Name: t.Name, May: f.Say("page.tokens.may." + string(t.Scope)),
			Created: f.Say("page.tokens.created", "when", f.moment(t.Created, zone)), Used: f.Say("page.tokens.never")}
		if t.Used != 0 {
			row.Used = f.Say("page.tokens.used", "when", f.moment(t.Used, zone))
		}
		if t.Revoked != 0 {
			row.Revoked = f.Say("page.tokens.revoked", "when", f.moment(t.Revoked, zone))
			p.Ended = append(p.Ended, row)
			continue
		}
		p.Rows = append(p.Rows, row)
	}
	return p, nil
}

func (s *server) makeToken(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	once := r.PostForm.Get("once")
	if once == "" || len(once) > 64 {
		once = rand.Text()
	}
	err := s.secrets.once(once, s.now(), func() (desk.NewToken, error) {
		return s.desk.MakeToken(s.by(v), cleanName(r.PostForm.Get("name")), vent.TokenScope(r.PostForm.Get("scope")))
	})
	var problems vent.Problems
	if errors.As(err, &problems) {
		p, err := s.tokensPage(v)
		if err != nil {
			return err
		}
		p.Problem = p.Say("page.tokens.problem")
		p.Name.Value = cleanName(r.PostForm.Get("name"))
		p.Scope.choose(r.PostForm.Get("scope"))
		return s.render(w, http.StatusUnprocessableEntity, "tokens", p)
	}
	if err != nil {
		return err
	}
	s.seeOther(w, r, "/tokens?made="+url.QueryEscape(once))
	return nil
}

func (s *server) revokeToken(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	if err := s.desk.RevokeToken(s.by(v), id); err != nil {
		return err
	}
	s.seeOther(w, r, "/tokens")
	return nil
}
