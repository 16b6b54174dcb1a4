package mail

import (
	"context"
	"fmt"
)

// Job is a message frozen for sending: every try sends the same bytes.
type Job struct {
	ID   string // outbox id, for the caller and for file names
	From string // envelope sender
	To   string // the one recipient
	Raw  []byte // whole message, lines ending in CRLF
}

// Seal composes the letter, signs it when signer is not nil, and returns it as a job under its EnvelopeID.
// The result is what an outbox stores before the first try.
func Seal(l Letter, signer *Signer) (Job, error) {
	env, err := l.Envelope()
	if err != nil {
		return Job{}, err
	}
	raw, err := Compose(l)
	if err != nil {
		return Job{}, err
	}
	if signer != nil {
		if raw, err = signer.Sign(raw); err != nil {
			return Job{}, err
		}
	}
	return Job{ID: l.EnvelopeID, From: env.From, To: env.To, Raw: raw}, nil
}

// Carrier opens a way out: [SMTP] or [Folder].
type Carrier interface {
	// Open makes a connection. An error means that nothing was sent and that the trouble is with us, the
	// server or the way to it; its text says what to look at. Safe for concurrent use.
	Open(ctx context.Context) (Conn, error)
}

// Conn carries one job after another. It is not safe for concurrent use.
type Conn interface {
	// Send tries once to hand over the job and reports what is known afterwards. It never returns before the
	// outcome is settled with the other side, the time is up, or ctx is done; the latter two close the
	// connection. After an outcome with Closed set, only Close may be called.
	Send(ctx context.Context, job Job) Outcome
	// Close says goodbye where that is still possible. What was sent stays sent, whatever it returns.
	Close() error
}

// notOpened is the outcome of a job for which no connection could be made.
func notOpened(err error) Outcome {
	return Outcome{Kind: Deferred, Reason: oneLine(fmt.Sprintf("not sent: %v", err)), Ours: true, Closed: true}
}
