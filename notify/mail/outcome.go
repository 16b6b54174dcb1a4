package mail

import (
	"fmt"
	"strings"
)

// Kind says what became of one try to send a message.
type Kind uint8

const (
	// Accepted: the server took responsibility for the message.
	Accepted Kind = iota + 1
	// Deferred: it was certainly not taken; try again later.
	Deferred
	// Failed: the server refused this recipient or message for good; do not try again.
	Failed
	// Unknown: the whole message was sent and the answer was lost. It may have been taken: a second try may
	// make a copy, under the same Message-ID.
	Unknown
)

func (k Kind) String() string {
	switch k {
	case Accepted:
		return "accepted"
	case Deferred:
		return "deferred"
	case Failed:
		return "failed"
	case Unknown:
		return "unknown"
	}
	return fmt.Sprintf("Kind(%d)", uint8(k))
}

// Outcome is the result of one try.
type Outcome struct {
	Kind Kind
	Code int // reply code of the server, 0 when there was none
	// Reason is one printable line for the person who looks after the installation: the step, and the
	// server's reply or what went wrong.
	Reason string
	// Ours tells that the trouble is with us, the server or the way to it, and says nothing about the
	// recipient: other messages will meet the same, and the address is not to blame.
	Ours bool
	// Closed tells that the connection cannot carry another message.
	Closed bool
}

func (o Outcome) String() string { return o.Kind.String() + ": " + o.Reason }

// oneLine makes a printable line of at most 400 octets from a server's reply or an error.
func oneLine(s string) string {
	s = cleanLine(s)
	if len(s) > 400 {
		s = strings.ToValidUTF8(s[:400], "") + " ..."
	}
	return s
}
