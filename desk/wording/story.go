package wording

import (
	"cmp"
	"strconv"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

// MailStory is a history of mails in plain words: for the page and for the command.
type MailStory struct {
	Persons  []PersonStory  `json:"persons,omitempty"`
	Messages []MessageStory `json:"messages"`
}

// PersonStory says why a person gets mail or none, a sentence each.
type PersonStory struct {
	desk.ToldPerson
	Says []string `json:"says"`
}

// MessageStory says what became of a message, and of each thing in it.
type MessageStory struct {
	desk.ToldMessage
	Heading string   `json:"heading"`
	Says    []string `json:"says"`
	Things  []string `json:"things"`
}

// MailStory tells a history of mails. Moments are told by the clock of the person they concern, where they were asked about,
// else by the office's.
func (w Words) MailStory(h desk.MailHistory, today vent.Date, office *time.Location) (s MailStory) {
	zones := map[vent.ID]*time.Location{}
	for _, p := range h.Persons {
		zone, err := time.LoadLocation(p.Zone)
		if err != nil || p.Zone == "" {
			zone = office
		}
		zones[p.ID] = zone
		s.Persons = append(s.Persons, PersonStory{p, w.personStory(p, today, zone)})
	}
	s.Messages = []MessageStory{}
	for _, m := range h.Messages {
		zone := zones[m.PersonID]
		if zone == nil {
			zone = office
		}
		s.Messages = append(s.Messages, w.messageStory(m, zone))
	}
	return s
}

// moment gives a day and a time of day.
func (w Words) moment(at vent.Instant, zone *time.Location) string {
	t := at.Time().In(zone)
	return w.Say("story.moment", "date", w.Date(vent.DateOf(t)), "time", t.Format("15:04"))
}

func (w Words) personStory(p desk.ToldPerson, today vent.Date, zone *time.Location) (s []string) {
	add := func(key string, pairs ...string) { s = append(s, w.Say("story.person."+key, pairs...)) }
	switch {
	case p.Email == "":
		add("no_address")
	case p.Undeliverable != "":
		add("dead", "address", p.Email, "why", p.Undeliverable)
	case p.Unreachable != "" && len(p.Refused) == 0:
		add("unreachable", "why", p.Unreachable)
	}
	if len(p.Refused) == len(vent.Purposes()) {
		add("refused_all", "said", w.lastSaid(p, zone))
	} else if len(p.Refused) > 0 {
		var names []string
		for _, r := range p.Refused {
			names = append(names, w.Say("page.choices.kind."+r))
		}
		add("refused", "what", strings.Join(names, "; "), "said", w.lastSaid(p, zone))
	}
	if p.PausedUntil > today {
		add("paused", "date", w.Date(p.PausedUntil))
	}
	if p.FirstDays > 0 {
		add("first", "n", strconv.Itoa(p.FirstDays))
	}
	if p.Ahead.Due.ID.IsZero() {
		add("nothing")
	} else {
		add("ahead", "what", w.What(p.Ahead.Due), "where", p.Ahead.Label(), "date", w.Date(p.Ahead.Due.Day))
	}
	if p.Next != 0 && p.Unreachable == "" {
		add("next", "when", w.moment(p.Next, zone))
	}
	return s
}

// lastSaid says when and how a person last said no.
func (w Words) lastSaid(p desk.ToldPerson, zone *time.Location) string {
	for i := len(p.Consents) - 1; i >= 0; i-- {
		if c := p.Consents[i]; !c.Given {
			how := c.How
			if key := "story.how." + strings.ReplaceAll(c.How, " ", "_"); w.Has(key) {
				how = w.Say(key)
			}
			return w.Say("story.said", "when", w.moment(c.At, zone), "how", cmp.Or(how, "?"))
		}
	}
	return ""
}

func (w Words) messageStory(m desk.ToldMessage, zone *time.Location) MessageStory {
	s := MessageStory{ToldMessage: m}
	to := cmp.Or(m.To, w.Say("story.nobody"))
	class := "story.class." + m.Class
	if !w.Has(class) {
		class = "story.class.reminder"
	}
	s.Heading = w.Say("story.heading", "date", w.Date(m.On), "class", w.Say(class), "to", to, "state", w.Message(m.State))
	pairs := []string{"n", strconv.Itoa(m.Attempts), "last", w.moment(m.Last, zone), "next", w.moment(m.Next, zone), "settled", w.moment(m.Settled, zone)}
	s.Says = append(s.Says, w.Say("story.state."+string(m.State), pairs...))
	if m.Unknowns > 0 && m.State.Settled() {
		s.Says = append(s.Says, w.Say("story.unknown"))
	}
	if m.ReturnKind != "" {
		s.Says = append(s.Says, w.Say("story.return."+string(m.ReturnKind), "when", w.moment(m.Returned, zone), "why", m.ReturnWhy))
	}
	if m.Answer != "" && m.State != vent.MessageDropped {
		s.Says = append(s.Says, w.Say("story.answer", "answer", m.Answer))
	}
	for _, n := range m.Notices {
		s.Things = append(s.Things, w.thing(n))
	}
	return s
}

// thing says what one notice told or did not tell.
func (w Words) thing(n desk.ToldNotice) string {
	kind := "story.kind." + string(n.Kind)
	what := string(n.Kind)
	switch {
	case n.Due != nil:
		what = w.Say("story.due", "what", w.What(n.Due.Due), "where", n.Due.Label(), "date", w.Date(n.Day))
	case w.Has(kind):
		what = w.Say("story.thing", "what", w.Say(kind), "date", w.Date(n.Day))
	}
	what = w.Say("story.step", "what", what, "step", w.Step(n.Step))
	state := w.Notice(n.State)
	if n.Why != "" {
		state = w.Say("story.because", "state", state, "why", n.Why)
	}
	return w.Say("story.line", "what", what, "state", state)
}
