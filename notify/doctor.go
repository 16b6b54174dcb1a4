package notify

import (
	"context"
	"crypto/rand"
	"fmt"
	netmail "net/mail"
	"strings"
	"time"

	"ventdue/desk/wording"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// Doctor looks at the way of mail before the first reminder takes it.
type Doctor struct {
	Sender   Sender
	Carrier  mail.Carrier
	KeyFault error // why the key that signs could not be read; nil: it was, or none is set
	Words    wording.Words
	Operator vent.Operator
	Now      time.Time
}

// Examine looks at what can be looked at without asking the name service, sends a test mail to an address unless only looking
// is asked for, and names what cannot be looked at from here. It is an error only where no test mail can be made.
func (d Doctor) Examine(ctx context.Context, to string, send bool) ([]mail.Finding, error) {
	letter, err := d.letter(to)
	if err != nil {
		return nil, err
	}
	job, err := mail.Seal(letter, d.Sender.Signer)
	if err != nil {
		return nil, fmt.Errorf("write a test mail to %s: %w", to, err)
	}
	found := []mail.Finding{d.from(job.From)}
	signature, err := d.signature(letter)
	if err != nil {
		return nil, err
	}
	found = append(found, signature, d.oneClick())
	server, outside := d.Carrier.(mail.SMTP)
	if !outside {
		return append(found, d.folder(ctx, job, send)), nil
	}
	found = append(found, server.Examine(ctx, job, send, d.Now)...)
	return append(found, d.open()...), nil
}

// letter is the test mail.
func (d Doctor) letter(to string) (mail.Letter, error) {
	address, err := netmail.ParseAddress(to)
	if err != nil {
		return mail.Letter{}, fmt.Errorf("%q is not an e-mail address: %w", to, vent.ErrInvalid)
	}
	var id vent.ID
	rand.Read(id[:]) // never fails
	w := d.Words
	text, html, err := mail.Layout(mail.Page{Lang: w.Lang, Title: w.Say("doctor.letter.title"), When: w.Say("doctor.letter.when", "operator", d.Operator.Name),
		Blocks: []mail.Block{{Text: w.Say("doctor.letter.text")}, {Text: w.Say("doctor.letter.look")}}})
	return mail.Letter{MessageID: d.Sender.mailID(append(id[:], "test"...)), From: d.Sender.From, ReplyTo: d.Sender.ReplyTo, To: *address, Return: d.Sender.Return,
		EnvelopeID: d.Sender.envelopeID(id), Subject: w.Say("doctor.letter.title"), Lang: w.Lang, Text: text, HTML: html, Date: d.Now}, err
}

// from compares the sender that people read with the one that servers check.
func (d Doctor) from(envelope string) mail.Finding {
	f := mail.Finding{Step: "from", Standing: mail.Good, Facts: map[string]string{"from": d.Sender.From.Address, "sender": envelope}}
	if _, domain, _ := strings.Cut(envelope, "@"); !mail.Aligned(d.Sender.From.Address, domain) {
		f.Standing, f.Problem = mail.Doubted, "domain"
	}
	return f
}

// signature checks what the key would sign: a mail with all that a reminder has.
func (d Doctor) signature(l mail.Letter) (mail.Finding, error) {
	f := mail.Finding{Step: "dkim", Standing: mail.Doubted, Problem: "off"}
	switch {
	case d.KeyFault != nil:
		f.Standing, f.Problem, f.Words = mail.Wrong, "key", d.KeyFault.Error()
		return f, nil
	case d.Sender.Signer == nil:
		return f, nil
	}
	l.Unsubscribe = &mail.Unsubscribe{URL: "https://example.com/m/sample"}
	job, err := mail.Seal(l, d.Sender.Signer)
	if err != nil {
		return f, err
	}
	return mail.ExamineSignature(d.Sender.Signer, job.Raw, d.Sender.From.Address), nil
}

func (d Doctor) oneClick() mail.Finding {
	f := mail.Finding{Step: "one_click", Standing: mail.Good, Facts: map[string]string{"pages": d.Sender.Pages}}
	if !strings.HasPrefix(d.Sender.Pages, "https://") {
		f.Standing, f.Problem = mail.Doubted, "no_https"
	}
	return f
}

// folder writes the test mail where mails are only written.
func (d Doctor) folder(ctx context.Context, job mail.Job, send bool) mail.Finding {
	f := mail.Finding{Step: "folder", Standing: mail.Doubted, Problem: "only"}
	conn, err := d.Carrier.Open(ctx)
	if err != nil {
		f.Standing, f.Problem, f.Words = mail.Wrong, "closed", err.Error()
		return f
	}
	defer conn.Close()
	if !send {
		return f
	}
	o := conn.Send(ctx, job)
	if f.Words = o.Reason; o.Kind != mail.Accepted {
		f.Standing, f.Problem = mail.Wrong, "closed"
	}
	return f
}

// open names what only the name service and the receivers know.
func (d Doctor) open() (all []mail.Finding) {
	_, domain, _ := strings.Cut(d.Sender.From.Address, "@")
	back := domain
	if d.Sender.Return != "" {
		_, back, _ = strings.Cut(d.Sender.Return, "@")
	}
	facts := map[string]string{"domain": domain, "return_domain": back}
	for _, what := range []string{"spf", "dmarc", "reputation"} {
		all = append(all, mail.Finding{Step: what, Standing: mail.Open, Facts: facts})
	}
	if d.Sender.Signer != nil {
		name, text := d.Sender.Signer.Record()
		all = append(all, mail.Finding{Step: "dkim_record", Standing: mail.Open, Facts: map[string]string{"name": name, "record": text}})
	}
	return all
}
