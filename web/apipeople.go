package web

import (
	"net/http"
	"slices"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// apiPerson is somebody who is told of things, with what they chose.
type apiPerson struct {
	ID            vent.ID        `json:"id"`
	Ref           string         `json:"ref,omitempty"` // the operator's own key
	Name          string         `json:"name"`
	Email         string         `json:"email,omitempty"`
	Phone         string         `json:"phone,omitempty"`
	Undeliverable string         `json:"undeliverable,omitempty"` // why mail failed for good
	Channels      []vent.Channel `json:"channels"`                // none: mail
	Wants         []string       `json:"wants"`                   // what they are reminded of; a stop is told to everybody
	FirstDays     int            `json:"first_days,omitempty"`    // ahead; none: as the operator does
	PausedUntil   vent.Date      `json:"paused_until,omitzero"`
	Language      string         `json:"language,omitempty"` // none: the operator's
}

// apiChoice changes what a person is told; what is left out stays as it is.
type apiChoice struct {
	Wants       *[]string       `json:"wants,omitempty" description:"all of: run_due, check_due, fault, visit_soon, record that the person asked for"`
	FirstDays   *int            `json:"first_days,omitempty" description:"60, 45, 30, 21, 14, 7; 0: as the operator does"`
	PausedUntil *string         `json:"paused_until,omitempty" description:"YYYY-MM-DD, within a year; empty: no pause"`
	Language    *string         `json:"language,omitempty" description:"one that there are words in; empty: the operator's"`
	Channels    *[]vent.Channel `json:"channels,omitempty" description:"mail, webhook; none: mail"`
}

func personOf(p vent.Person) apiPerson {
	return apiPerson{ID: p.ID, Ref: p.Ref, Name: p.Name, Email: p.Email, Phone: p.Phone, Undeliverable: p.Undeliverable, Channels: listed(p.Channels),
		Wants: listed(desk.ChoiceOf(p).Wants), FirstDays: p.FirstDays, PausedUntil: p.PausedUntil, Language: p.Language}
}

func (s *server) personAsked(r *http.Request) (vent.Person, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.Person{}, vent.ErrNotFound
	}
	all, err := s.desk.People(id)
	if err == nil && len(all) == 0 {
		err = vent.ErrNotFound
	}
	if err != nil {
		return vent.Person{}, err
	}
	return all[0], nil
}

func (s *server) apiPerson(w http.ResponseWriter, r *http.Request, _ visitor) error {
	p, err := s.personAsked(r)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, personOf(p))
}

// apiChoose writes down what a person told the office.
func (s *server) apiChoose(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, err := s.personAsked(r)
	if err != nil {
		return err
	}
	var in apiChoice
	if err := readJSON(r, &in); err != nil {
		return err
	}
	pause, err := in.check()
	if err != nil {
		return err
	}
	change := func(c *desk.Choice) {
		put(&c.Wants, in.Wants)
		put(&c.FirstDays, in.FirstDays)
		put(&c.Language, in.Language)
		if in.PausedUntil != nil {
			c.PausedUntil = pause
		}
	}
	if p, err = s.desk.ChooseFor(s.by(v), p.ID, change); err != nil {
		return err
	}
	if in.Channels != nil {
		if p, err = s.desk.SetChannels(s.by(v), p.ID, *in.Channels...); err != nil {
			return err
		}
	}
	return writeJSON(w, http.StatusOK, personOf(p))
}

// check looks at all before anything is written, and reads the end of the pause.
func (in apiChoice) check() (pause vent.Date, err error) {
	var p vent.Problems
	if in.PausedUntil != nil {
		pause = dateAsked(&p, *in.PausedUntil, "paused_until")
	}
	if in.Language != nil && *in.Language != "" && !slices.Contains(wording.Languages(), *in.Language) {
		p.Add("language", *in.Language, "is none that there are words in")
	}
	if in.Channels != nil {
		for _, c := range *in.Channels {
			if c != vent.ByMail && c != vent.ByWebhook {
				p.Add("channels", string(c), "must be mail or webhook")
			}
		}
	}
	return pause, p.Err()
}

// apiVoidLinks makes the links in a person's earlier mails void.
func (s *server) apiVoidLinks(w http.ResponseWriter, r *http.Request, v visitor) error {
	p, err := s.personAsked(r)
	if err != nil {
		return err
	}
	if err := s.desk.VoidLinks(s.by(v), p.ID); err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiDone{Done: true})
}

// apiPeopleRoutes names the addresses for those who are told of things. Their mail is under /api/messages.
func (s *server) apiPeopleRoutes() []route {
	const office, read, all = vent.Office, vent.TokenRead, vent.TokenAll
	return []route{
		apiFor(office, read, "GET /api/people/{id}", s.apiPerson).says(apiDoc{ID: "getPerson", Summary: "A person with what they chose to be told", Out: apiPerson{}}),
		apiFor(office, all, "POST /api/people/{id}/choices", s.apiChoose).says(apiDoc{ID: "chooseFor", Once: true, In: apiChoice{}, Out: apiPerson{},
			Summary: "Write down what a person told the office: of what they want to be told, how early, by which way, in which language"}),
		apiFor(office, all, "POST /api/people/{id}/links", s.apiVoidLinks).says(apiDoc{ID: "voidLinks", Once: true, Out: apiDone{},
			Summary: "Make the links in a person's earlier mails void"}),
	}
}
