package web

import (
	"net/http"
	"net/netip"
	"strings"

	"golang.org/x/text/language"

	"ventdue/desk/wording"
	"ventdue/vent"
)

// visitor is whoever asks.
type visitor struct {
	inside  bool // may see the pages that their role lets them
	role    vent.Role
	person  vent.ID         // the technician; none for others
	account *vent.Account   // nil: the installation's own password, open pages, a program, or nobody
	session *session        // nil: open pages, a program, or nobody
	program bool            // came with a token
	token   *vent.Token     // nil: the installation's own token
	scope   vent.TokenScope // of a program
	lang    string          // of the pages; "": the operator's
	addr    netip.Addr
}

// name is what whoever signed in is called; "" where nobody said so.
func (v visitor) name() string {
	switch {
	case v.account != nil:
		return v.account.Name
	case v.token != nil:
		return v.token.Name
	case v.session != nil:
		return v.session.Name
	}
	return ""
}

// actor names the visitor in the audit trail.
func (v visitor) actor() string {
	who := "web"
	if v.program {
		who = "api"
	}
	if n := v.name(); n != "" {
		who += " " + n
	}
	if v.addr.IsValid() && !v.addr.IsUnspecified() {
		who += " " + v.addr.String()
	}
	return who
}

// stranger is whoever asks before anything is known of them but the language that their browser asks for.
func (s *server) stranger(r *http.Request) visitor {
	return visitor{addr: s.clientAddr(r), lang: asked(r)}
}

// visitor tells who asks. Tokens are looked at where programs may come.
func (s *server) visitor(r *http.Request, programs bool) visitor {
	v := s.stranger(r)
	if secret, ok := bearer(r); ok && programs {
		return s.program(v, secret)
	}
	if s.openNow() {
		v.inside, v.role, v.lang = true, vent.Owner, ""
		return v
	}
	x := s.auth.session(r, s.now())
	switch {
	case x == nil:
	case x.Account.IsZero():
		v.inside, v.role, v.session, v.lang = true, vent.Owner, x, ""
	default:
		a, err := s.desk.Account(x.Account)
		if err == nil && a.Epoch == x.AccountEpoch {
			v.inside, v.role, v.person, v.account, v.session, v.lang = true, a.Role, a.PersonID, &a, x, a.Language
		}
	}
	return v
}

// program tells whether a secret is a token's. A program does what the office does, as far as its scope goes.
func (s *server) program(v visitor, secret string) visitor {
	v.lang = ""
	if s.auth.isToken(secret) {
		v.inside, v.program, v.role, v.scope = true, true, vent.Office, vent.TokenAll
		return v
	}
	if t, err := s.desk.TokenOf(secret); err == nil {
		v.inside, v.program, v.role, v.scope, v.token = true, true, vent.Office, t.Scope, &t
	}
	return v
}

// bearer gives the secret that a request carries (RFC 6750, section 2.1).
func bearer(r *http.Request) (secret string, ok bool) {
	kind, secret, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	return strings.TrimSpace(secret), strings.EqualFold(kind, "Bearer")
}

// openNow reports whether everybody who can reach the pages is let in: as long as nobody has an account.
func (s *server) openNow() bool {
	if !s.open {
		return false
	}
	any, err := s.desk.AnyAccount()
	if err != nil {
		s.log.Error("the accounts could not be read: nobody is let in without one", "err", err)
	}
	return err == nil && !any
}

// asked gives the language of ours that a browser asks for; "" where it asks for none.
func asked(r *http.Request) string {
	wanted, _, err := language.ParseAcceptLanguage(r.Header.Get("Accept-Language"))
	if err != nil || len(wanted) == 0 {
		return ""
	}
	if _, i, sure := spoken.Match(wanted...); sure != language.No {
		return wording.Languages()[i]
	}
	return ""
}

// spoken are the languages that have a catalogue.
var spoken = func() language.Matcher {
	var tags []language.Tag
	for _, l := range wording.Languages() {
		tags = append(tags, language.Make(l))
	}
	return language.NewMatcher(tags)
}()
