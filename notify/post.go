package notify

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	netmail "net/mail"
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

// Posted is the JSON body of what is posted to a webhook. Fields are only ever added.
type Posted struct {
	ID       vent.ID        `json:"id"`    // the same however often it is posted
	Class    string         `json:"class"` // "stop": at once, somebody may be hurt; "reminder", "visit", "record"
	Written  time.Time      `json:"written"`
	Operator PostedOperator `json:"operator"`
	Person   PostedPerson   `json:"person"`
	Subject  string         `json:"subject"` // one line: the action and the date
	Text     string         `json:"text"`    // all of it, as plain text
	Language string         `json:"language"`
}

// PostedOperator is whom the message comes from.
type PostedOperator struct {
	Name  string `json:"name"`
	Phone string `json:"phone,omitempty"`
}

// PostedPerson is whom the message is for, with how to reach them.
type PostedPerson struct {
	ID    vent.ID `json:"id"`
	Ref   string  `json:"ref,omitempty"`
	Name  string  `json:"name"`
	Phone string  `json:"phone,omitempty"`
	Email string  `json:"email,omitempty"`
}

// Post writes a reminder for a webhook. It says what the mail says: the mail is written, and its subject and text are taken.
func (s Sender) Post(r desk.Reminder) (desk.Letter, error) {
	s.Signer = nil
	to := r.Person.Email
	if to == "" { // whoever is told by telephone may have none
		r.Person.Email = "nobody@webhook.invalid"
	}
	letter, err := s.Compose(r)
	if err != nil {
		return desk.Letter{}, err
	}
	subject, text, lang, err := readable(letter.Raw)
	if err != nil {
		return desk.Letter{}, fmt.Errorf("write message %s for the webhook: %w", r.Message.ID, err)
	}
	body, err := json.Marshal(Posted{ID: r.Message.ID, Class: r.Message.Class, Written: r.Written.Time(),
		Operator: PostedOperator{r.Operator.Name, r.Operator.Phone},
		Person:   PostedPerson{ID: r.Person.ID, Ref: r.Person.Ref, Name: r.Person.Name, Phone: r.Person.Phone, Email: to},
		Subject:  subject, Text: text, Language: lang})
	letter.Raw = body
	return letter, err
}

// readable takes the subject, the plain text and the language out of a letter that was composed here.
func readable(raw []byte) (subject, text, lang string, err error) {
	m, err := netmail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		return "", "", "", err
	}
	words := mime.WordDecoder{}
	if subject, err = words.DecodeHeader(m.Header.Get("Subject")); err != nil {
		return "", "", "", err
	}
	body, kind := io.Reader(m.Body), m.Header.Get("Content-Type")
	for {
		name, params, err := mime.ParseMediaType(kind)
		if err != nil {
			return "", "", "", err
		}
		if name == "text/plain" {
			break
		}
		// The text is the first of the parts, whatever they are wrapped in.
		part, err := multipart.NewReader(body, params["boundary"]).NextRawPart()
		if err != nil {
			return "", "", "", fmt.Errorf("it has no plain text: %w", err)
		}
		body, kind = part, part.Header.Get("Content-Type")
		if part.Header.Get("Content-Transfer-Encoding") == "quoted-printable" {
			body = quotedprintable.NewReader(part)
		}
	}
	b, err := io.ReadAll(body)
	return subject, string(bytes.ReplaceAll(b, []byte("\r\n"), []byte("\n"))), m.Header.Get("Content-Language"), err
}
