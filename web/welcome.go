package web

import (
	"cmp"
	"crypto/subtle"
	"errors"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/vent"
)

// setupHours is how long a browser that showed the set-up code may go on setting up.
const setupHours = 1

// welcomePage sets up a new installation.
type welcomePage struct {
	page
	Problem                                         string
	Kind, Name, Phone, Email, Zone, Units, Language field
	Owner, Password                                 field
	Locked, MayStayOpen                             bool // a password is set already; none is needed on this machine
}

// codePage asks for the set-up code.
type codePage struct {
	page
	Problem string
	Code    field
}

// errFounder is said to whoever has not shown that the new installation is theirs.
var errFounder = errors.New("the set-up code is missing")

// admitFounder lets come whoever may set up an installation that is new: this machine where the pages are open, an owner
// by the settings' password, or a browser that showed the set-up code.
func (s *server) admitFounder(r *http.Request, v visitor) error {
	founded, err := s.desk.Founded()
	switch {
	case err != nil:
		return err
	case founded:
		return refusal{status: http.StatusNotFound, key: "founded"}
	case v.role == vent.Owner:
		return nil
	}
	var code string
	if s.auth.open(r, s.setupCookie(), &code) && s.isCode(code) {
		return nil
	}
	return errFounder
}

func (s *server) setupCookie() string { return s.auth.cookie.Name + "-setup" }

// isCode reports whether a text is the set-up code, in whatever case it was typed.
func (s *server) isCode(code string) bool {
	code = strings.ToUpper(strings.TrimSpace(code))
	return s.setupCode != "" && subtle.ConstantTimeCompare([]byte(code), []byte(s.setupCode)) == 1
}

// toFounder sends whoever must show the code first, or sign in where there is a password for that.
func (s *server) toFounder(w http.ResponseWriter, r *http.Request) {
	if s.auth.hash != "" {
		s.askToSignIn(w, r)
		return
	}
	s.seeOther(w, r, "/welcome/code")
}

func (s *server) showCode(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := s.stillNew(); err != nil {
		return err
	}
	if code := r.URL.Query().Get("code"); code != "" { // the address that the daemon prints
		return s.takeCode(w, r, v, code)
	}
	return s.codeForm(w, v, http.StatusOK, "")
}

// stillNew refuses once the installation is set up, or where no code would do it.
func (s *server) stillNew() error {
	founded, err := s.desk.Founded()
	if err == nil && (founded || s.setupCode == "") {
		err = refusal{status: http.StatusNotFound, key: "founded"}
	}
	return err
}

func (s *server) codeForm(w http.ResponseWriter, v visitor, status int, problem string) error {
	p := codePage{page: s.newPage(v, ""), Problem: problem}
	p.Title = p.Say("page.welcome.title")
	p.Code = field{Name: "code", Label: p.Say("page.welcome.code"), Hint: p.Say("page.welcome.code.hint")}
	return s.render(w, status, "code", p)
}

func (s *server) postCode(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := s.stillNew(); err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	return s.takeCode(w, r, v, r.PostForm.Get("code"))
}

func (s *server) takeCode(w http.ResponseWriter, r *http.Request, v visitor, code string) error {
	who := "set-up from " + trier("", v.addr)
	if wait := s.auth.gate.try(who, s.now()); wait > 0 {
		seconds := strconv.Itoa(int(math.Ceil(wait.Seconds())))
		w.Header().Set("Retry-After", seconds)
		return s.codeForm(w, v, http.StatusTooManyRequests, s.words(v).Say("page.signin.wait", "n", seconds))
	}
	if !s.isCode(code) {
		return s.codeForm(w, v, http.StatusForbidden, s.words(v).Say("page.welcome.code.wrong"))
	}
	s.auth.gate.forgive(who)
	s.auth.setFor(w, s.setupCookie(), s.setupCode, setupHours*3600)
	s.seeOther(w, r, "/welcome")
	return nil
}

func (s *server) showWelcome(w http.ResponseWriter, r *http.Request, v visitor) error {
	v.lang = asked(r)
	return s.render(w, http.StatusOK, "welcome", s.welcomePage(v, url.Values{}, usualUnits(r)))
}

// usualUnits guesses the units from the region that a browser names: those of the United States, or SI.
func usualUnits(r *http.Request) vent.UnitSystem {
	if said := r.Header.Get("Accept-Language"); said == "" || strings.Contains(strings.ToUpper(said), "-US") {
		return vent.US
	}
	return vent.SI
}

func (s *server) welcomePage(v visitor, sent url.Values, units vent.UnitSystem) welcomePage {
	p := welcomePage{page: s.newPage(v, ""), Locked: s.auth.hash != "", MayStayOpen: s.openNow()}
	f := figures{p.Words}
	p.Title = p.Say("page.welcome.title")
	p.Ways, p.Drawer = nil, nil // there is nowhere to go yet
	p.Kind = field{Name: "kind", Label: f.Say("page.welcome.kind"), Choices: choices(f, "page.welcome.kind.", vent.Household, vent.Buildings, vent.Customers)}
	p.Kind.choose(sent.Get("kind"))
	p.Name = field{Name: "name", Label: f.Say("page.welcome.name"), Hint: f.Say("page.welcome.name.hint"), Value: sent.Get("name"), Auto: "organization"}
	p.Phone = field{Name: "phone", Label: f.Say("page.welcome.phone"), Hint: f.Say("page.welcome.phone.hint"), Value: sent.Get("phone"), Type: "tel", Auto: "tel"}
	p.Email = field{Name: "email", Label: f.Say("page.welcome.email"), Hint: f.Say("page.welcome.email.hint"), Value: sent.Get("email"), Type: "email", Auto: "email"}
	p.Zone = f.zoneField(cmp.Or(sent.Get("zone"), s.zone))
	p.Units = field{Name: "units", Label: f.Say("page.welcome.units"), Choices: choices(f, "page.welcome.units.", vent.US, vent.SI)}
	p.Units.choose(cmp.Or(sent.Get("units"), string(units)))
	p.Language = f.languageField(cmp.Or(sent.Get("language"), p.Lang))
	p.Language.Choices = p.Language.Choices[1:] // the installation's own is what is chosen here
	p.Owner = field{Name: "owner", Label: f.Say("page.welcome.owner"), Hint: f.Say("page.welcome.owner.hint"), Value: sent.Get("owner"), Auto: "username"}
	p.Password = f.passwordField("", "page.signin.password")
	if p.MayStayOpen {
		p.Password.Hint += " " + f.Say("page.welcome.password.open")
	}
	return p
}

func (s *server) takeWelcome(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	sent := r.PostForm
	v.lang = cmp.Or(known(sent.Get("language")), asked(r))
	o := operatorIn(sent)
	owner, password := cleanName(cmp.Or(sent.Get("owner"), o.Name)), sent.Get("password")
	p := s.welcomePage(v, sent, o.Units)
	if s.auth.hash != "" {
		password = "" // the settings have one
	} else if password == "" && !p.MayStayOpen {
		p.Password.Problem = p.Say("page.accounts.problem.password", "least", strconv.Itoa(desk.MinPassword))
		return s.welcomeAgain(w, p, http.StatusUnprocessableEntity)
	}
	a, err := s.desk.Found(s.by(v), o, owner, password)
	var problems vent.Problems
	if errors.As(err, &problems) {
		p.blame(problems)
		return s.welcomeAgain(w, p, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	if password != "" {
		if err := s.auth.start(w, r, session{Account: a.ID, AccountEpoch: a.Epoch}, s.now()); err != nil {
			return err
		}
	}
	if o.Kind == vent.Household {
		s.seeOther(w, r, "/welcome/home")
		return nil
	}
	s.seeOther(w, r, "/import")
	return nil
}

func (s *server) welcomeAgain(w http.ResponseWriter, p welcomePage, status int) error {
	p.Problem = p.Say("page.problem.form")
	return s.render(w, status, "welcome", p)
}

// blame puts what is wrong at the fields that it is about.
func (p *welcomePage) blame(problems vent.Problems) {
	at := map[string]*field{"kind": &p.Kind, "name": &p.Name, "zone": &p.Zone, "units": &p.Units, "email": &p.Email, "phone": &p.Phone, "language": &p.Language, "password": &p.Password}
	for _, x := range problems {
		if f := at[x.Field]; f != nil && f.Problem == "" {
			f.Problem = p.Say("page.welcome.problem."+x.Field, "least", strconv.Itoa(desk.MinPassword))
		}
	}
}
