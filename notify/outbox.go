package notify

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	netmail "net/mail"
	"time"

	"ventdue/desk"
	"ventdue/notify/mail"
	"ventdue/vent"
)

// Outbox hands over what the desk says is to be sent.
type Outbox struct {
	Channel vent.Channel // "" is mail
	Desk    *desk.Desk
	Carrier mail.Carrier
	Sender  Sender
	Now     func() time.Time
	Log     *slog.Logger
	Actor   string
}

// Deliver sends every message whose moment has come, one after the other, and gives when to come again. The desk stores
// each attempt before the network sees it and each result before the next is sent.
func (o Outbox) Deliver(ctx context.Context, _ time.Time) (next time.Time, err error) {
	_, before, err := o.Desk.MailToday(o.Now())
	if err != nil {
		return next, err
	}
	defer o.warnHeld(before)
	tally, err := mail.Deliver(ctx, o.Carrier, o.take, o.settle)
	if tally.Sent() > 0 {
		o.Log.Info("messages handed over", "channel", o.channel(), "accepted", tally.Accepted, "deferred", tally.Deferred, "failed", tally.Failed, "unknown", tally.Unknown)
	}
	next, nextErr := o.Desk.NextDelivery(o.channel())
	if err == nil {
		err = nextErr
	}
	return next, err
}

func (o Outbox) channel() vent.Channel { return cmp.Or(o.Channel, vent.ByMail) }

// warnHeld says when a limit of mails a day holds mail back.
func (o Outbox) warnHeld(before int) {
	if _, held, err := o.Desk.MailToday(o.Now()); err == nil && held > before {
		o.Log.Warn("a limit of mails a day is reached: mail waits for tomorrow (mail.per_day, mail.per_person)", "held", held)
	}
}

func (o Outbox) by() desk.By { return desk.By{Now: o.Now(), Actor: o.Actor} }

// take claims the next message. One that cannot be made keeps no other from going.
func (o Outbox) take() (*mail.Job, error) {
	compose := o.Sender.Compose
	if o.channel() == vent.ByWebhook {
		compose = o.Sender.Post
	}
	m, err := o.Desk.Claim(o.by(), o.channel(), compose)
	if m == nil {
		return nil, err
	}
	if err != nil {
		o.Log.Error("mail cannot be made, it is tried again in an hour", "error", err)
	}
	return o.job(*m)
}

// job makes the envelope anew from the frozen message's own addresses.
func (o Outbox) job(m vent.Message) (*mail.Job, error) {
	if m.Channel == vent.ByWebhook { // its address is the same for all
		return &mail.Job{ID: m.ID.String(), Raw: m.Raw}, nil
	}
	e, err := mail.Letter{From: o.Sender.From, Return: o.Sender.Return, To: netmail.Address{Address: m.To}, EnvelopeID: o.Sender.envelopeID(m.ID)}.Envelope()
	if err != nil {
		return nil, fmt.Errorf("message %s: %w", m.ID, err)
	}
	return &mail.Job{ID: m.ID.String(), From: e.From, To: e.To, Raw: m.Raw}, nil
}

func (o Outbox) settle(j mail.Job, out mail.Outcome) error {
	id, err := vent.ParseID(j.ID)
	if err != nil {
		return err
	}
	if out.Kind == mail.Unknown || out.Kind == mail.Failed {
		o.Log.Warn("mail not handed over", "message", j.ID, "outcome", out.Kind.String(), "reason", out.Reason)
	}
	return o.Desk.Settle(o.by(), id, result(out), out.Reason)
}

// result tells the desk what it needs to know: what became of the message, and whether the address is to blame.
func result(out mail.Outcome) desk.Result {
	switch {
	case out.Kind == mail.Accepted:
		return desk.Accepted
	case out.Kind == mail.Unknown:
		return desk.AnswerLost
	case out.Kind == mail.Failed && out.Ours:
		return desk.Rejected
	case out.Kind == mail.Failed:
		return desk.Refused
	case out.Ours:
		return desk.Unavailable
	}
	return desk.Deferred
}
