package notify

import (
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
	take := func() (*mail.Job, error) {
		got, err := o.Desk.Claim(o.by(), 1, o.Sender.Compose)
		if err != nil || len(got) == 0 {
			return nil, err
		}
		return o.job(got[0])
	}
	tally, err := mail.Deliver(ctx, o.Carrier, take, o.settle)
	if tally.Sent() > 0 {
		o.Log.Info("mail handed over", "accepted", tally.Accepted, "deferred", tally.Deferred, "failed", tally.Failed, "unknown", tally.Unknown)
	}
	next, nextErr := o.Desk.NextDelivery()
	if err == nil {
		err = nextErr
	}
	return next, err
}

func (o Outbox) by() desk.By { return desk.By{Now: o.Now(), Actor: o.Actor} }

// job makes the envelope anew from the frozen message's own addresses.
func (o Outbox) job(m vent.Message) (*mail.Job, error) {
	e, err := mail.Letter{From: o.Sender.From, To: netmail.Address{Address: m.To}, EnvelopeID: m.ID.String()}.Envelope()
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
	return o.Desk.Settle(o.by(), id, results[out.Kind], out.Reason)
}

var results = map[mail.Kind]desk.Result{
	mail.Accepted: desk.Accepted,
	mail.Deferred: desk.Deferred,
	mail.Failed:   desk.Refused,
	mail.Unknown:  desk.AnswerLost,
}
