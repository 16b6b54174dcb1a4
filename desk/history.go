package desk

import (
	"errors"

	"ventdue/store"
	"ventdue/vent"
)

// MailHistory answers why somebody did or did not get a mail.
type MailHistory struct {
	Persons  []ToldPerson  `json:"persons,omitempty"` // those who were asked about
	Messages []ToldMessage `json:"messages"`          // newest first
}

// ToldPerson is a person with why they get nothing, or when they are looked at again.
type ToldPerson struct {
	ID          vent.ID      `json:"id"`
	Name        string       `json:"name"`
	Email       string       `json:"email,omitempty"`
	Unreachable string       `json:"unreachable,omitempty"`
	Next        vent.Instant `json:"next,omitzero"`
}

// ToldMessage is one message with what it carries.
type ToldMessage struct {
	ID       vent.ID           `json:"id"`
	On       vent.Date         `json:"on"`
	To       string            `json:"to,omitempty"`
	State    vent.MessageState `json:"state"`
	Attempts int               `json:"attempts"`
	Next     vent.Instant      `json:"next,omitzero"`
	Answer   string            `json:"answer,omitempty"`
	Notices  []ToldNotice      `json:"notices"`
}

// ToldNotice is one thing that was told, or why it was not.
type ToldNotice struct {
	What  string           `json:"what"`
	Step  vent.Step        `json:"step"`
	State vent.NoticeState `json:"state"`
	Why   string           `json:"why,omitempty"`
}

// MailHistory gives the newest messages, at most max, of those who fit who (see Erase), or of everybody.
func (d *Desk) MailHistory(who string, max int) (h MailHistory, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		h = MailHistory{Messages: []ToldMessage{}}
		var messages []vent.Message
		if who == "" {
			messages, err = store.Collect(store.Messages.All(tx))
		} else {
			messages, err = h.askAbout(tx, who)
		}
		if err != nil {
			return err
		}
		newestFirst(messages)
		for _, m := range messages[:min(len(messages), max)] {
			t, err := toldMessage(tx, m)
			if err != nil {
				return err
			}
			h.Messages = append(h.Messages, t)
		}
		return nil
	})
	return h, err
}

func (h *MailHistory) askAbout(tx *store.Tx, who string) (all []vent.Message, err error) {
	persons, err := findPersons(tx, who)
	if err != nil {
		return nil, err
	}
	for _, p := range persons {
		h.Persons = append(h.Persons, ToldPerson{ID: p.ID, Name: p.Name, Email: p.Email,
			Unreachable: reachableFor(p, classReminder), Next: tx.WakeOf(store.WakeTell, p.ID)})
		own, err := store.Collect(store.MessagesTo(tx, p.ID))
		if err != nil {
			return nil, err
		}
		all = append(all, own...)
	}
	return all, nil
}

func toldMessage(tx *store.Tx, m vent.Message) (ToldMessage, error) {
	t := ToldMessage{ID: m.ID, On: m.On, To: m.To, State: m.State, Attempts: m.Attempts, Answer: m.Answer, Notices: []ToldNotice{}}
	if !m.State.Settled() {
		t.Next = m.NotFor
	}
	g := newGuide(tx)
	for _, id := range m.Notices {
		n, err := store.Notices.Get(tx, id)
		if err != nil {
			return t, err
		}
		line := ToldNotice{What: n.Key.Thing.String(), Step: n.Key.Step, State: n.State, Why: n.Why}
		due, err := store.Dues.Get(tx, n.Key.Thing.ID)
		if err == nil {
			v, err := g.due(due)
			if err != nil && !errors.Is(err, vent.ErrNotFound) {
				return t, err
			}
			line.What = string(due.Kind) + " " + v.Label() + " by " + n.Day.String()
		}
		t.Notices = append(t.Notices, line)
	}
	return t, nil
}
