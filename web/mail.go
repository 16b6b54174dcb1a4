package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// mailPage says what somebody was mailed or not mailed, and why.
type mailPage struct {
	page
	Asked, Problem string
	Of             bool // of somebody, and not of everybody
	Story          wording.MailStory
	More, Done     string
	Void           string              // where links are made void, without the person
	ToldBy         map[string]tickList // by which channels, by person
}

// mostMails is how many messages the page shows.
const mostMails = 100

func (s *server) showMail(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.mailTo(w, r, v, r.URL.Query().Get("who"))
}

func (s *server) showMailOf(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	return s.mailTo(w, r, v, id.String())
}

func (s *server) mailTo(w http.ResponseWriter, r *http.Request, v visitor, who string) error {
	h, err := s.desk.MailHistory(who, mostMails)
	missing := errors.Is(err, vent.ErrNotFound) || errors.Is(err, vent.ErrConflict)
	if missing && r.PathValue("id") != "" || err != nil && !missing {
		return err
	}
	p := mailPage{page: s.newPage(v, "mail"), Asked: who, Of: who != "", Void: s.root + "/people/"}
	zone := zoneOf(s.operator().Zone)
	p.Title = p.Say("page.mail.title")
	status := http.StatusOK
	if missing {
		p.Problem, status = p.Say("page.mail.nobody"), http.StatusNotFound
	}
	p.Story = p.MailStory(h, vent.InstantOf(s.now()).DateIn(zone), zone)
	if p.Of && len(p.Story.Persons) > 0 {
		p.Title = p.Say("page.mail.title_of", "name", p.Story.Persons[0].Name)
	}
	if r.PathValue("id") != "" {
		p.Asked = ""
	}
	if s.desk.Policy().Webhook && p.Of {
		p.ToldBy = map[string]tickList{}
		for _, x := range p.Story.Persons {
			p.ToldBy[x.ID.String()] = figures{p.Words}.ways(x.ToldPerson)
		}
	}
	if h.More > 0 {
		p.More = p.Say("page.mail.more", "n", strconv.Itoa(h.More))
	}
	if r.URL.Query().Has("void") {
		p.Done = p.Say("page.mail.void.done")
	}
	return s.render(w, status, "mail", p)
}

// ways asks by which channels a person is told.
func (f figures) ways(p desk.ToldPerson) tickList {
	t := tickList{Name: "channels", Label: f.Say("page.mail.ways"), Choices: choices(f, "page.mail.way.", vent.Channels()...)}
	for i := range t.Choices {
		c := vent.Channel(t.Choices[i].Value)
		t.Choices[i].Chosen = slices.Contains(p.Channels, c) || len(p.Channels) == 0 && c == vent.ByMail
	}
	return t
}

// setChannels keeps by which channels a person is told.
func (s *server) setChannels(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	var channels []vent.Channel
	for _, c := range r.PostForm["channels"] {
		channels = append(channels, vent.Channel(c))
	}
	if _, err := s.desk.SetChannels(s.by(v), id, channels...); err != nil {
		return err
	}
	s.seeOther(w, r, "/people/"+id.String()+"/mail")
	return nil
}

// voidLinks makes the links in a person's earlier mails void.
func (s *server) voidLinks(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	if err := s.desk.VoidLinks(s.by(v), id); err != nil {
		return err
	}
	s.seeOther(w, r, "/people/"+id.String()+"/mail?void")
	return nil
}
