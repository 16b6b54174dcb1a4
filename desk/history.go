package desk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// MailHistory answers why somebody did or did not get a mail.
type MailHistory struct {
	Persons  []ToldPerson  `json:"persons,omitempty"` // those who were asked about; without a question, those who cannot be mailed
	Messages []ToldMessage `json:"messages"`          // newest first
	More     int           `json:"more,omitempty"`    // older messages that are left out
	Now      vent.Instant  `json:"now"`
}

// ToldPerson is a person with why they get nothing, or when they are looked at again.
type ToldPerson struct {
	ID            vent.ID        `json:"id"`
	Name          string         `json:"name"`
	Email         string         `json:"email,omitempty"`
	Channels      []vent.Channel `json:"channels,omitempty"`
	Unreachable   string         `json:"unreachable,omitempty"`   // why no reminder can be mailed
	Undeliverable string         `json:"undeliverable,omitempty"` // what the mail server said, where that is why
	Refused       []string       `json:"refused,omitempty"`       // purposes to which they said no
	Consents      []vent.Consent `json:"consents,omitempty"`      // what they said, oldest first
	PausedUntil   vent.Date      `json:"paused_until,omitzero"`
	FirstDays     int            `json:"first_days,omitempty"`
	Zone          string         `json:"zone"` // by whose clock moments are told
	Next          vent.Instant   `json:"next,omitzero"`
	// Ahead is the first thing that is open for them; zero where nothing is.
	Ahead DueView `json:"-"`
}

// ToldMessage is one message with what it carries.
type ToldMessage struct {
	ID         vent.ID           `json:"id"`
	PersonID   vent.ID           `json:"person_id"`
	On         vent.Date         `json:"on"`
	Channel    vent.Channel      `json:"channel"`
	Class      string            `json:"class"`
	To         string            `json:"to,omitempty"`
	State      vent.MessageState `json:"state"`
	Attempts   int               `json:"attempts"`
	Unknowns   int               `json:"unknown_answers,omitempty"`
	Created    vent.Instant      `json:"created"`
	Last       vent.Instant      `json:"last_attempt,omitzero"`
	Settled    vent.Instant      `json:"settled,omitzero"`
	Next       vent.Instant      `json:"next,omitzero"`
	Answer     string            `json:"answer,omitempty"`
	Returned   vent.Instant      `json:"returned,omitzero"`
	ReturnKind vent.ReturnKind   `json:"return_kind,omitempty"`
	ReturnWhy  string            `json:"return_why,omitempty"`
	MailID     string            `json:"mail_id,omitempty"` // its Message-ID
	Notices    []ToldNotice      `json:"notices"`
}

// ToldNotice is one thing that was told, or why it was not.
type ToldNotice struct {
	What  string           `json:"what"`
	Kind  vent.NoticeKind  `json:"kind"`
	Step  vent.Step        `json:"step"`
	Day   vent.Date        `json:"day,omitzero"`
	State vent.NoticeState `json:"state"`
	Why   string           `json:"why,omitempty"`
	// Due is what it is about, where that is a due that is still known.
	Due *DueView `json:"-"`
}

// MailHistory gives the newest messages, at most max, of those who fit who: a person (see Erase) or all contacts of a
// customer. Without who it gives those of everybody, and whom no mail reaches.
func (d *Desk) MailHistory(who string, max int) (h MailHistory, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		h = MailHistory{Messages: []ToldMessage{}}
		var messages []vent.Message
		if who = strings.TrimSpace(who); who == "" {
			messages, err = h.everybody(tx)
		} else {
			messages, err = h.askAbout(tx, who)
		}
		if err != nil {
			return err
		}
		newestFirst(messages)
		h.More = len(messages) - min(len(messages), max)
		g := newGuide(tx)
		for _, m := range messages[:min(len(messages), max)] {
			t, err := toldMessage(tx, g, m)
			if err != nil {
				return err
			}
			h.Messages = append(h.Messages, t)
		}
		return nil
	})
	return h, err
}

// everybody gives all messages, and names whom no mail reaches.
func (h *MailHistory) everybody(tx *store.Tx) ([]vent.Message, error) {
	for p, err := range store.Persons.All(tx) {
		if err != nil {
			return nil, err
		}
		if p.Undeliverable == "" {
			continue
		}
		t, err := toldPerson(tx, p)
		if err != nil {
			return nil, err
		}
		h.Persons = append(h.Persons, t)
	}
	return store.Collect(store.Messages.All(tx))
}

func (h *MailHistory) askAbout(tx *store.Tx, who string) (all []vent.Message, err error) {
	persons, err := personsOrContacts(tx, who)
	if err != nil {
		return nil, err
	}
	for _, p := range persons {
		t, err := toldPerson(tx, p)
		if err != nil {
			return nil, err
		}
		h.Persons = append(h.Persons, t)
		own, err := store.Collect(store.MessagesTo(tx, p.ID))
		if err != nil {
			return nil, err
		}
		all = append(all, own...)
	}
	return all, nil
}

// personsOrContacts gives who fits: persons, else the contacts of the one customer that fits.
func personsOrContacts(tx *store.Tx, who string) ([]vent.Person, error) {
	persons, err := findPersons(tx, who)
	if err == nil || !errors.Is(err, vent.ErrNotFound) {
		return persons, err
	}
	c, err := theCustomer(tx, who)
	if err != nil {
		return nil, err
	}
	persons = nil
	for _, id := range c.Persons {
		p, err := store.Persons.Get(tx, id)
		if err != nil && !errors.Is(err, vent.ErrNotFound) {
			return nil, err
		}
		if err == nil {
			persons = append(persons, p)
		}
	}
	if len(persons) == 0 {
		return nil, fmt.Errorf("%s has no contact who could be told: %w", c.Name, vent.ErrNotFound)
	}
	return persons, nil
}

// theCustomer gives the one customer that an id, an own key or words of the name fit.
func theCustomer(tx *store.Tx, who string) (vent.Customer, error) {
	if id, err := vent.ParseID(who); err == nil {
		c, err := store.Customers.Get(tx, id)
		if errors.Is(err, vent.ErrNotFound) {
			err = fmt.Errorf("nobody, and no customer, has the id %s: %w", who, vent.ErrNotFound)
		}
		return c, err
	}
	if c, err := store.CustomerByRef(tx, who); err == nil || !errors.Is(err, vent.ErrNotFound) {
		return c, err
	}
	fits, err := fitting(store.Customers.All(tx), who, 6, func(c vent.Customer) (Named, string) { return namedCustomer(c), c.Ref })
	switch {
	case err != nil:
		return vent.Customer{}, err
	case len(fits) == 0:
		return vent.Customer{}, fmt.Errorf("nobody has the e-mail address, key or id %q, and no customer is called so: %w", who, vent.ErrNotFound)
	case len(fits) > 1:
		return vent.Customer{}, fmt.Errorf("more than one customer fits %q: give more words, or an e-mail address: %w", who, vent.ErrConflict)
	}
	return store.Customers.Get(tx, fits[0].Scope.ID)
}

func toldPerson(tx *store.Tx, p vent.Person) (ToldPerson, error) {
	t := ToldPerson{ID: p.ID, Name: p.Name, Email: p.Email, Channels: p.Channels, Unreachable: reachableFor(p, classReminder), Undeliverable: p.Undeliverable,
		Consents: p.Consents, PausedUntil: p.PausedUntil, FirstDays: p.FirstDays, Next: tx.WakeOf(store.WakeTell, p.ID)}
	for _, purpose := range vent.Purposes() {
		if !p.Wants(purpose) {
			t.Refused = append(t.Refused, purpose)
		}
	}
	customers, err := store.Collect(store.CustomersOf(tx, p.ID))
	if err != nil {
		return t, err
	}
	zone, err := personZone(tx, p, customers)
	if err != nil {
		return t, err
	}
	t.Zone = zone.String()
	var first *vent.Due
	for _, c := range customers {
		for due, err := range store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindCustomer, ID: c.ID}, 0, 0) {
			if err != nil {
				return t, err
			}
			if first == nil || due.Day < first.Day {
				first = &due
			}
			break
		}
	}
	if first != nil {
		t.Ahead, err = newGuide(tx).due(*first)
	}
	return t, err
}

func toldMessage(tx *store.Tx, g *guide, m vent.Message) (ToldMessage, error) {
	t := ToldMessage{ID: m.ID, PersonID: m.PersonID, On: m.On, Channel: m.Channel, Class: m.Class, To: m.To, State: m.State, Attempts: m.Attempts,
		Unknowns: m.Unknowns, Created: m.Created, Last: m.Last, Settled: m.Settled, Answer: m.Answer, Returned: m.Returned, ReturnKind: m.ReturnKind,
		ReturnWhy: m.ReturnWhy, MailID: m.MailID, Notices: []ToldNotice{}}
	if !m.State.Settled() {
		t.Next = m.NotFor
	}
	for _, id := range m.Notices {
		n, err := store.Notices.Get(tx, id)
		if errors.Is(err, vent.ErrNotFound) {
			continue
		}
		if err != nil {
			return t, err
		}
		line := ToldNotice{What: n.Key.Thing.String(), Kind: n.Kind, Step: n.Key.Step, Day: n.Day, State: n.State, Why: n.Why}
		if n.MessageID != m.ID && n.State == vent.NoticeWanted { // it went into a later message
			line.State, line.Why = vent.NoticeDropped, cmp.Or(n.Why, "it is in a later message")
		}
		due, err := store.Dues.Get(tx, n.Key.Thing.ID)
		if err == nil {
			v, err := g.due(due)
			if err != nil && !errors.Is(err, vent.ErrNotFound) {
				return t, err
			}
			line.Due, line.What = &v, string(due.Kind)+" "+v.Label()+" by "+n.Day.String()
		}
		t.Notices = append(t.Notices, line)
	}
	slices.SortStableFunc(t.Notices, func(a, b ToldNotice) int { return cmp.Compare(a.Day, b.Day) })
	return t, nil
}
