package mail

import (
	"errors"
	"fmt"
	"net/textproto"
	"regexp"
)

// stage is a step of the mail transaction.
type stage string

const (
	atMail stage = "MAIL FROM"
	atRcpt stage = "RCPT TO"
	atData stage = "DATA"
	atBody stage = "message text"
	atDot  stage = "end of message"
)

// classify is the rule that turns what went wrong at a stage into an outcome.
//
//   - No reply: nothing was taken, except after the final dot, where nobody can know.
//   - 421 at any time: the server is closing; later.
//   - A refusal of MAIL, or one of RCPT that is about permission or order (530, 500, 502, 503, enhanced codes
//     x.7.z, such as "relay access denied") is about our settings: every message would meet it, and it must
//     never condemn an address. Deferred, loudly.
//   - Other 5yz replies to RCPT, to DATA or to the message: Failed. Where an enhanced code (RFC 3463) says
//     that the trouble is neither the address (x.1.z) nor the mailbox (x.2.z), the outcome is also Ours.
//   - 4yz: Deferred; Ours for the sender and for the mail system (x.3.z).
//   - Any other reply: the two sides are out of step, as good as no reply.
func classify(at stage, err error) Outcome {
	var reply *textproto.Error
	if !errors.As(err, &reply) {
		return noReply(at, fmt.Sprintf("%s: connection broke: %v", at, err))
	}
	o := Outcome{Code: reply.Code, Reason: oneLine(fmt.Sprintf("%s: server said %d %s", at, reply.Code, reply.Msg))}
	subject := enhancedSubject(reply.Msg)
	switch {
	case reply.Code == 421:
		o.Kind, o.Ours, o.Closed = Deferred, true, true
	case reply.Code/100 == 4:
		o.Kind, o.Ours = Deferred, at == atMail || subject == '3'
	case reply.Code/100 == 5 && aboutUs(at, reply.Code, subject):
		o.Kind, o.Ours, o.Closed = Deferred, true, reply.Code == 503
	case reply.Code/100 == 5:
		o.Kind, o.Ours = Failed, subject != 0 && subject != '1' && subject != '2'
	default:
		return noReply(at, "out of step: "+o.Reason)
	}
	return o
}

func noReply(at stage, reason string) Outcome {
	o := Outcome{Kind: Deferred, Reason: oneLine(reason), Ours: true, Closed: true}
	if at == atDot {
		o.Kind = Unknown
	}
	return o
}

func aboutUs(at stage, code int, subject byte) bool {
	switch {
	case at == atMail, code == 503:
		return true
	case at == atRcpt:
		return code == 530 || code == 500 || code == 502 || subject == '7'
	}
	return false
}

var enhancedForm = regexp.MustCompile(`^[245]\.(\d)\.\d{1,3}\b`)

// enhancedSubject returns the middle digit of the enhanced status code a reply begins with, or 0.
func enhancedSubject(msg string) byte {
	if m := enhancedForm.FindStringSubmatch(msg); m != nil {
		return m[1][0]
	}
	return 0
}
