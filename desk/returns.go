package desk

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// returnMark is how many bytes of the code stand behind a message's id in the address to which bounces go. With them its mark has
// 39 letters and digits, and an address may have 64 before the @.
const returnMark = 8

// ReturnMarks makes and reads the mark in the envelope sender of each message, by which a bounce names the message it is
// about. Only this installation can make one, and only whoever handled the message has seen it.
type ReturnMarks struct{ key []byte }

// ReturnMarks gives the marks of envelope senders.
func (d *Desk) ReturnMarks(by By) (ReturnMarks, error) {
	key, err := d.Key(by, "mail returns")
	return ReturnMarks{key}, err
}

// Ready reports whether marks can be made.
func (r ReturnMarks) Ready() bool { return len(r.key) > 0 }

// letters is read the same whether a server kept capitals or not.
var letters = base32.StdEncoding.WithPadding(base32.NoPadding)

// Mark gives the mark of a message.
func (r ReturnMarks) Mark(message vent.ID) string {
	return strings.ToLower(letters.EncodeToString(append(message[:], r.code(message)...)))
}

// Message reads a mark; false where the code does not fit.
func (r ReturnMarks) Message(mark string) (id vent.ID, ok bool) {
	b, err := letters.DecodeString(strings.ToUpper(mark))
	if err != nil || !r.Ready() || len(b) != len(id)+returnMark {
		return id, false
	}
	copy(id[:], b)
	return id, hmac.Equal(b[len(id):], r.code(id))
}

func (r ReturnMarks) code(message vent.ID) []byte {
	m := hmac.New(sha256.New, r.key)
	m.Write(message[:])
	return m.Sum(nil)[:returnMark]
}

// Return is what came back about one message at one address.
type Return struct {
	Kind vent.ReturnKind
	// Marks are those found in addresses of the report, MailIDs the Message-IDs it names.
	Marks, MailIDs []string
	// Addresses are the names of the one recipient it is about, as first and last known; none where the report does not say.
	Addresses []string
	// Dead is whether the trouble is the address, and not what was said or who said it.
	Dead bool
	Why  string // in the server's words
}

// ReturnTaken is what followed from a report.
type ReturnTaken struct {
	Message vent.ID         `json:"message"`
	Person  vent.ID         `json:"person"`
	To      string          `json:"to"`
	Kind    vent.ReturnKind `json:"kind"`
	Why     string          `json:"why,omitempty"`
	Ended   bool            `json:"mail_ended"`      // nothing more is mailed to the address, or no reminders to the person
	Known   bool            `json:"known,omitempty"` // it was taken before: nothing changed
}

// TakeReturn takes down what came back about a message. A message that bounced counts as not told, and where its address is
// dead nothing more is mailed there until the person has another. A complaint is a no to all reminders.
//
// Anybody can write a report, so it counts only where it carries what only a handler of the message can know: the signed mark
// of its envelope sender, or its Message-ID together with the address it went to. Any other is vent.ErrNotFound. A report
// that names another recipient (the mail was forwarded) is noted and ends nothing.
func (d *Desk) TakeReturn(by By, marks ReturnMarks, r Return) (out ReturnTaken, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		m, err := findReturned(tx, marks, r)
		if err != nil {
			return err
		}
		out = ReturnTaken{Message: m.ID, Person: m.PersonID, To: m.To, Kind: r.Kind, Why: r.Why}
		if m.ReturnKind == r.Kind && m.ReturnWhy == r.Why || m.ReturnKind == vent.ReturnedBounce && r.Kind == vent.ReturnedDelay {
			out.Known = true
			return nil
		}
		m.Returned, m.ReturnKind, m.ReturnWhy = tx.Now(), r.Kind, r.Why
		if len(r.Addresses) == 0 || about(m.To, r.Addresses) {
			switch r.Kind {
			case vent.ReturnedBounce:
				m, out.Ended, err = bounced(tx, m, r)
			case vent.ReturnedComplaint:
				out.Ended, err = true, complained(tx, m)
			}
			if err != nil {
				return err
			}
		}
		if err := store.Messages.Put(tx, m, ""); err != nil {
			return err
		}
		return tx.Note(vent.Subject{Kind: vent.KindPerson, ID: m.PersonID}, fmt.Sprintf("%s of %s to %s: %s: %s", m.Class, m.On, m.To, r.Kind, r.Why))
	})
	if err == nil && !out.Known {
		d.kick(JobTell) // what came back may be wanted again
	}
	return out, err
}

func about(to string, addresses []string) bool {
	return slices.ContainsFunc(addresses, func(a string) bool { return strings.EqualFold(a, to) })
}

// findReturned finds the message that a report is about, among those that a server has, or may have, taken.
func findReturned(tx *store.Tx, marks ReturnMarks, r Return) (vent.Message, error) {
	for _, mark := range r.Marks {
		id, ok := marks.Message(mark)
		if !ok {
			continue
		}
		m, err := store.Messages.Get(tx, id)
		if err == nil && wasSent(m) || err != nil && !errors.Is(err, vent.ErrNotFound) {
			return m, err
		}
	}
	for _, address := range r.Addresses {
		persons, err := store.Collect(store.PersonsByMail(tx, address))
		if err != nil {
			return vent.Message{}, err
		}
		for _, p := range persons {
			for m, err := range store.MessagesTo(tx, p.ID) {
				if err != nil {
					return m, err
				}
				if wasSent(m) && m.MailID != "" && slices.Contains(r.MailIDs, m.MailID) && strings.EqualFold(m.To, address) {
					return m, nil
				}
			}
		}
	}
	return vent.Message{}, fmt.Errorf("the report is about no message that was sent from here: %w", vent.ErrNotFound)
}

// wasSent reports whether a report about a message can be true.
func wasSent(m vent.Message) bool {
	return m.Channel == vent.ByMail && m.To != "" && (m.State == vent.MessageAccepted || m.Unknowns > 0 || !m.Returned.IsZero())
}

// bounced ends a message that came back for good. One that is being tried just now keeps its state until that is known.
func bounced(tx *store.Tx, m vent.Message, r Return) (_ vent.Message, ended bool, err error) {
	if m.State == vent.MessageAccepted {
		m.State, m.Answer = vent.MessageFailed, "it came back: "+r.Why
		for _, id := range m.Notices {
			n, err := store.Notices.Get(tx, id)
			if err != nil {
				return m, false, err
			}
			if n.MessageID != m.ID || n.State != vent.NoticeSent {
				continue
			}
			n.State, n.Why = vent.NoticeFailed, m.Answer
			if err := store.Notices.Put(tx, n, ""); err != nil {
				return m, false, err
			}
		}
	}
	if r.Dead {
		return m, true, undeliverable(tx, m, "it came back: "+r.Why)
	}
	return m, false, nil
}

// complained says no to all reminders in the person's name.
func complained(tx *store.Tx, m vent.Message) error {
	p, err := store.Persons.Get(tx, m.PersonID)
	if err != nil {
		return err
	}
	return sayNo(tx, p, SaidComplaint)
}
