package web

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"ventdue/vent"
)

// Setting is one line of the settings file as the pages show it: secrets are told as set or not set.
type Setting struct{ Key, Value string }

// settingsPage is what can be changed here, and what the settings file says.
type settingsPage struct {
	page
	Done, Problem                     string
	Kind, Name, Zone, Units, Language field
	Email, Phone                      field
	File                              string // "" where no file was read
	Settings                          []Setting
	Who                               field // to be erased
	Erased                            []string
	Keeps                             []string
}

func (s *server) showSettings(w http.ResponseWriter, r *http.Request, v visitor) error {
	p := s.settingsPage(v, s.operator())
	if r.URL.Query().Has("kept") {
		p.Done = p.Say("page.settings.kept")
	}
	return s.render(w, http.StatusOK, "settings", p)
}

func (s *server) settingsPage(v visitor, o vent.Operator) settingsPage {
	p := settingsPage{page: s.newPage(v, "settings"), File: s.file, Settings: s.settings}
	f := figures{p.Words}
	p.Title = p.Say("page.settings.title")
	p.Kind = field{Name: "kind", Label: f.Say("page.welcome.kind"), Choices: choices(f, "page.welcome.kind.", vent.Household, vent.Buildings, vent.Customers)}
	p.Name = field{Name: "name", Label: f.Say("page.welcome.name"), Hint: f.Say("page.welcome.name.hint"), Value: o.Name, Auto: "organization"}
	p.Zone = f.zoneField(o.Zone)
	p.Units = field{Name: "units", Label: f.Say("page.welcome.units"), Choices: choices(f, "page.welcome.units.", vent.US, vent.SI)}
	p.Language = f.languageField(o.Language)
	p.Language.Choices = p.Language.Choices[1:]
	p.Email = field{Name: "email", Label: f.Say("page.welcome.email"), Hint: f.Say("page.welcome.email.hint"), Value: o.Email, Type: "email", Auto: "email"}
	p.Phone = field{Name: "phone", Label: f.Say("page.welcome.phone"), Hint: f.Say("page.welcome.phone.hint"), Value: o.Phone, Type: "tel", Auto: "tel"}
	p.Kind.choose(string(o.Kind))
	p.Units.choose(string(o.Units))
	p.Language.choose(cmp.Or(o.Language, "en"))
	p.Who = field{Name: "who", Label: f.Say("page.erase.who"), Hint: f.Say("page.erase.who.hint")}
	for i := range eraseKeeps {
		p.Keeps = append(p.Keeps, f.Say(eraseKeeps[i]))
	}
	return p
}

// eraseKeeps says what an erasure does not reach; see desk.ErasureKeeps.
var eraseKeeps = []string{"page.erase.keeps.places", "page.erase.keeps.backups", "page.erase.keeps.space", "page.erase.keeps.sheet"}

func (s *server) keepSettings(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	o, asked := s.operator(), operatorIn(r.PostForm) // what the form does not ask for stays as it is
	o.Kind, o.Name, o.Zone, o.Units, o.Language, o.Email, o.Phone = asked.Kind, asked.Name, asked.Zone, asked.Units, asked.Language, asked.Email, asked.Phone
	err := s.desk.SetOperator(s.by(v), o)
	var problems vent.Problems
	if errors.As(err, &problems) {
		p := s.settingsPage(v, o)
		p.Problem = p.Say("page.settings.problem")
		at := map[string]*field{"kind": &p.Kind, "name": &p.Name, "zone": &p.Zone, "units": &p.Units, "email": &p.Email, "phone": &p.Phone, "language": &p.Language}
		for _, x := range problems {
			if f := at[x.Field]; f != nil && f.Problem == "" {
				f.Problem = p.Say("page.welcome.problem." + x.Field)
			}
		}
		return s.render(w, http.StatusUnprocessableEntity, "settings", p)
	}
	if err != nil {
		return err
	}
	s.seeOther(w, r, "/settings?kept")
	return nil
}

// operatorIn reads what the form says of the operator.
func operatorIn(sent url.Values) vent.Operator {
	return vent.Operator{Kind: vent.OperatorKind(sent.Get("kind")), Name: oneLine(sent.Get("name")), Zone: sent.Get("zone"), Units: vent.UnitSystem(sent.Get("units")),
		Language: cmp.Or(known(sent.Get("language")), "en"), Email: strings.TrimSpace(sent.Get("email")), Phone: oneLine(sent.Get("phone"))}
}

// erase takes a person out of everything. It asks once more first: nothing brings them back.
func (s *server) erase(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	p := s.settingsPage(v, s.operator())
	p.Who.Value = strings.TrimSpace(r.PostForm.Get("who"))
	if p.Who.Value == "" || r.PostForm.Get("sure") != "yes" {
		p.Who.Problem = p.Say("page.erase.sure")
		return s.render(w, http.StatusUnprocessableEntity, "settings", p)
	}
	out, err := s.desk.Erase(s.by(v), p.Who.Value)
	if errors.Is(err, vent.ErrNotFound) {
		p.Who.Problem = p.Say("page.erase.nobody")
		return s.render(w, http.StatusNotFound, "settings", p)
	}
	if err != nil {
		return err
	}
	p.Erased = []string{counted(p.Words, "page.erase.done", out.Persons)}
	p.Who.Value = ""
	return s.render(w, http.StatusOK, "settings", p)
}
