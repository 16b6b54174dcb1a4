package mail

import (
	"context"
	"fmt"
	"strings"
	"time"

	gosmtp "github.com/wneessen/go-mail/smtp"
)

// farewell is how long a server may take to answer QUIT; nothing depends on it.
const farewell = 5 * time.Second

// smtpConn is one session with a mail server. client.Text is used directly from MAIL to the final reply (see
// the package comment).
type smtpConn struct {
	client         *gosmtp.Client
	line           *limited
	left           int // messages this connection may still carry
	command, final time.Duration
	closed         bool
}

// Send speaks one mail transaction. A done ctx closes the connection, which may leave the outcome unknown.
func (c *smtpConn) Send(ctx context.Context, job Job) Outcome {
	if c.closed {
		return Outcome{Kind: Deferred, Reason: "connection is closed", Ours: true, Closed: true}
	}
	options, bad := c.options(job)
	if bad != nil {
		return *bad
	}
	stop := context.AfterFunc(ctx, func() { c.line.Close() })
	o := c.transact(job, options)
	if !stop() {
		o.Closed = true
		o.Reason = oneLine(fmt.Sprintf("%s (given up: %v)", o.Reason, context.Cause(ctx)))
	}
	c.closed = o.Closed
	c.left--
	o.Closed = o.Closed || c.left <= 0
	return o
}

// options returns the parameters of MAIL, or the outcome of a job that this server cannot take.
func (c *smtpConn) options(job Job) (string, *Outcome) {
	deferred := func(reason string) *Outcome { return &Outcome{Kind: Deferred, Reason: reason, Ours: true} }
	if !isPath(job.From) {
		return "", deferred(oneLine(fmt.Sprintf("envelope sender %q is not an address", job.From)))
	}
	if !isPath(job.To) {
		return "", &Outcome{Kind: Failed, Reason: oneLine(fmt.Sprintf("recipient %q is not an address", job.To))}
	}
	var options string
	if !isASCII(string(job.Raw)) {
		if ok, _ := c.client.Extension("8BITMIME"); !ok {
			return "", deferred("message is not plain ASCII and the server lacks 8BITMIME")
		}
		options = " BODY=8BITMIME"
	}
	if isASCII(job.From) && isASCII(job.To) {
		return options, nil
	}
	if ok, _ := c.client.Extension("SMTPUTF8"); ok {
		return options + " SMTPUTF8", nil
	}
	if !isASCII(job.From) {
		return "", deferred(oneLine("envelope sender " + job.From + " has characters outside ASCII and the server lacks SMTPUTF8"))
	}
	return "", &Outcome{Kind: Failed, Reason: oneLine("recipient " + job.To +
		" has characters outside ASCII before the @, and the mail server does not take such addresses (SMTPUTF8): ask for another address")}
}

// isPath tells whether s can stand between the brackets of MAIL and RCPT without ending them.
func isPath(s string) bool {
	return strings.LastIndexByte(s, '@') > 0 && len(s) <= 320 &&
		!strings.ContainsFunc(s, func(r rune) bool { return unsafeRune(r) || r == '<' || r == '>' })
}

// transact speaks MAIL, RCPT, DATA, the message, and the final dot.
func (c *smtpConn) transact(job Job, options string) Outcome {
	if err := c.ask(2, "MAIL FROM:<"+job.From+">"+options); err != nil {
		return classify(atMail, err)
	}
	if err := c.ask(2, "RCPT TO:<"+job.To+">"); err != nil {
		return c.abandon(classify(atRcpt, err))
	}
	if err := c.ask(354, "DATA"); err != nil {
		return c.abandon(classify(atData, err))
	}
	return c.content(job.Raw)
}

// content speaks the message, the final dot, and hears the answer to it.
func (c *smtpConn) content(raw []byte) Outcome {
	c.line.allow(c.command)
	body := c.client.Text.DotWriter()
	if _, err := body.Write(raw); err != nil {
		return classify(atBody, err)
	}
	// An error here means that the end of the stream, the final dot, did not leave this machine: a write
	// that fails has not taken all its octets, and a TLS record is read whole or not at all.
	if err := body.Close(); err != nil {
		return classify(atBody, err)
	}
	c.line.allow(c.final)
	code, msg, err := c.client.Text.ReadResponse(2)
	if err != nil {
		return classify(atDot, err)
	}
	return Outcome{Kind: Accepted, Code: code, Reason: oneLine(fmt.Sprintf("server said %d %s", code, msg))}
}

// ask sends one command and reads its reply, whose code must be want or begin with it.
func (c *smtpConn) ask(want int, command string) error {
	c.line.allow(c.command)
	if err := c.client.Text.PrintfLine("%s", command); err != nil {
		return err
	}
	_, _, err := c.client.Text.ReadResponse(want)
	return err
}

// abandon ends a transaction that a refusal left open: without RSET the next MAIL would be refused as nested.
func (c *smtpConn) abandon(o Outcome) Outcome {
	if o.Closed {
		return o
	}
	if err := c.ask(2, "RSET"); err != nil {
		o.Closed = true
	}
	return o
}

// Close says QUIT on a connection that works, and closes it.
func (c *smtpConn) Close() error {
	if !c.closed {
		c.closed = true
		c.command = farewell
		_ = c.ask(2, "QUIT") // the server may answer by closing
	}
	return c.line.Close()
}
