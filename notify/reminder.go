package notify

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	netmail "net/mail"
	"slices"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// Sender is who reminders come from.
type Sender struct {
	From    netmail.Address
	ReplyTo netmail.Address // zero: From
	Pages   string          // public address of the pages; "" where there is none
	Signer  *mail.Signer    // nil: not signed
}

// Compose writes a reminder as a letter. It has no clock and no chance in it: the same reminder gives the same letter
// (but for a signature's own time), so that a frozen message can be shown to be what was decided.
func (s Sender) Compose(r desk.Reminder) (desk.Letter, error) {
	lang := r.Person.Language
	if lang == "" {
		lang = r.Operator.Language
	}
	units := r.Operator.Units
	if len(r.Items) > 0 && r.Items[0].Customer.Units != "" {
		units = r.Items[0].Customer.Units
	}
	w := wording.For(lang, units)
	page := reminderPage(w, r, s)
	text, html, err := mail.Layout(page)
	if err != nil {
		return desk.Letter{}, err
	}
	l := mail.Letter{
		MessageID: s.mailID("message", r.Message.ID, 0), ThreadRoot: s.thread(r),
		From: s.From, ReplyTo: s.ReplyTo, To: netmail.Address{Name: r.Person.Name, Address: r.Person.Email},
		EnvelopeID: r.Message.ID.String(),
		Subject:    subject(w, r), Lang: w.Lang, Text: text, HTML: html, Date: r.Message.First.Time(),
	}
	job, err := mail.Seal(l, s.Signer)
	if err != nil {
		return desk.Letter{}, err
	}
	return desk.Letter{MailID: l.MessageID, Thread: l.ThreadRoot, Raw: job.Raw}, nil
}

// thread gives the root that letters about the same thing refer to: a mail about one due joins that due's thread. A mail
// about several things has none.
func (s Sender) thread(r desk.Reminder) string {
	if len(r.Items) != 1 {
		return ""
	}
	d := r.Items[0].Due
	return s.mailID("due", d.ID, d.Arm)
}

// mailID makes an id that tells nothing of the record it stands for.
func (s Sender) mailID(kind string, id vent.ID, n int) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %d", kind, id, n))
	_, domain, _ := strings.Cut(s.From.Address, "@")
	return base64.RawURLEncoding.EncodeToString(sum[:18]) + "@" + domain
}

// subject puts the action and the date first.
func subject(w wording.Words, r desk.Reminder) string {
	first := r.Items[0]
	one := w.Say("mail.subject."+tense(first.Due, r.Today), "what", w.What(first.Due), "date", w.Date(first.Due.Day), "where", first.Label())
	if n := len(r.Items); n > 1 {
		return w.Say("mail.subject.more", "first", one, "n", fmt.Sprint(n-1))
	}
	return one
}

// tense chooses words: coming, today, late, or never known to be cleaned.
func tense(d vent.Due, today vent.Date) string {
	switch {
	case d.Severity == vent.Stop:
		return "stop"
	case d.Unknown:
		return "unknown"
	case d.Day < today:
		return "late"
	case d.Day == today:
		return "today"
	}
	return "coming"
}

func reminderPage(w wording.Words, r desk.Reminder, s Sender) mail.Page {
	items := slices.Clone(r.Items)
	slices.SortStableFunc(items, func(a, b desk.ReminderItem) int { return int(a.Due.Day - b.Due.Day) })
	r.Items = items
	p := mail.Page{Lang: w.Lang, Title: w.Title(items[0].DueView), When: when(w, items[0].Due, r.Today)}
	if len(items) > 1 {
		p.Title, p.When = w.Say("mail.title.more", "n", fmt.Sprint(len(items))), when(w, items[0].Due, r.Today)
	}
	for _, it := range items {
		p.Blocks = append(p.Blocks, itemBlock(w, it, r.Today))
	}
	p.Blocks = append(p.Blocks, mail.Block{Heading: w.Say("mail.care"), Points: cautions(w), Caution: true})
	p.Blocks = append(p.Blocks, mail.Block{Text: contact(w, r.Operator)})
	if s.Pages != "" && r.Operator.Kind != vent.Customers {
		p.Button = &mail.Button{Label: w.Say("mail.button"), URL: s.Pages + "/runs/" + items[0].Run.ID.String()}
	}
	p.Footer = []string{w.Say("mail.why_you", "operator", r.Operator.Name, "name", r.Person.Name)}
	return p
}

func itemBlock(w wording.Words, it desk.ReminderItem, today vent.Date) mail.Block {
	b := mail.Block{
		Heading: w.Say("mail.item", "what", w.What(it.Due), "when", when(w, it.Due, today)),
		Facts:   []mail.Fact{{Label: w.Say("mail.where"), Value: it.Label()}},
		Points:  w.Reason(it.Due),
	}
	if it.Site.Address != "" {
		b.Facts = append(b.Facts, mail.Fact{Label: w.Say("mail.address"), Value: it.Site.Address})
	}
	return b
}

func when(w wording.Words, d vent.Due, today vent.Date) string {
	if d.Unknown {
		return w.Say("mail.when.unknown")
	}
	return w.Say("mail.when", "date", w.Date(d.Day), "away", w.Away(d.Day, today))
}

// cautions are for whoever reads the mail: somebody who lives with the dryer, not who opens it.
func cautions(w wording.Words) []string {
	return []string{w.Say("caution.smell"), w.Say("caution.co"), w.Say("caution.power"), w.Say("caution.codes")}
}

func contact(w wording.Words, o vent.Operator) string {
	if o.Phone != "" {
		return w.Say("mail.contact.phone", "operator", o.Name, "phone", o.Phone)
	}
	return w.Say("mail.contact", "operator", o.Name)
}
