package web

import (
	"cmp"
	"net/http"
	"net/url"

	"ventdue/desk"
	"ventdue/desk/wording"
)

// ackPage is where somebody who was told of a stop says that they know. The link in the mail leads there; opening it
// changes nothing.
type ackPage struct {
	page
	Action       string
	Place, What  string
	State        string // what became of it; "" while they are asked
	Call         string
	Instructions []string
}

// showAck shows the page.
func (s *server) showAck(w http.ResponseWriter, r *http.Request, v visitor) error {
	a, err := s.desk.Acknowledgement(s.by(v), s.acks, r.PathValue("token"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "acknowledge", s.ackPage(r, v, a))
}

// takeAck takes the button's word.
func (s *server) takeAck(w http.ResponseWriter, r *http.Request, v visitor) error {
	a, err := s.desk.Acknowledge(s.by(v), s.acks, r.PathValue("token"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "acknowledge", s.ackPage(r, v, a))
}

func (s *server) ackPage(r *http.Request, v visitor, a desk.Acknowledgement) ackPage {
	p := ackPage{page: s.newPage(v, ""), Action: s.root + "/a/" + url.PathEscape(r.PathValue("token")), Place: a.Label()}
	p.Words = wording.For(cmp.Or(a.Person.Language, a.Operator.Language), a.Operator.Units)
	f := figures{p.Words}
	p.Title, p.What = p.Say("page.ack.title"), f.rule(a.Fault.Rule)
	if o := a.Operator; o.Phone != "" {
		p.Call = p.Say("page.tell.call", "operator", o.Name, "phone", o.Phone)
	}
	switch {
	case a.Over:
		p.Title, p.State = p.Say("page.ack.title.over"), p.Say("page.ack.over")
		return p
	case a.Known:
		p.State = p.Say("page.ack.known")
	}
	p.Instructions = append([]string{p.Say("mail.stop.now")}, p.Cautions(a.Dryer, a.Run.Current())...)
	return p
}
