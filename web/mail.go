package web

import (
	"errors"
	"net/http"
	"strconv"

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
	Void           string // where links are made void, without the person
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
	if h.More > 0 {
		p.More = p.Say("page.mail.more", "n", strconv.Itoa(h.More))
	}
	if r.URL.Query().Has("void") {
		p.Done = p.Say("page.mail.void.done")
	}
	return s.render(w, status, "mail", p)
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
