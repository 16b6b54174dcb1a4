package mail

import (
	"fmt"
	"strings"
)

// Envelope is what the SMTP dialogue says about a message, apart from its content.
type Envelope struct {
	From string // reverse path, to which bounces go
	To   string // the one recipient
}

// Envelope returns the addresses for MAIL and RCPT. The sender carries the letter's EnvelopeID behind a plus
// sign, office+ID@example.com (variable envelope return path): a bounce to that address names the message
// it is about; [EnvelopeID] reads it back. It fails when an address or the id is not well formed, or when
// the marked local part would be longer than the 64 octets of RFC 5321 4.5.3.1.1.
func (l Letter) Envelope() (Envelope, error) {
	back := l.Return
	if back == "" {
		back = l.From.Address
	}
	from, err := parseAddress(back)
	if err != nil {
		return Envelope{}, fmt.Errorf("letter's envelope: Return (or From): %w", err)
	}
	to, err := parseAddress(l.To.Address)
	if err != nil {
		return Envelope{}, fmt.Errorf("letter's envelope: To: %w", err)
	}
	if l.EnvelopeID != "" {
		if !envelopeIDForm.MatchString(l.EnvelopeID) {
			return Envelope{}, fmt.Errorf("letter's envelope: EnvelopeID: %.80q: use letters, digits, dots, hyphens and underscores", l.EnvelopeID)
		}
		local, domain := splitAddress(from)
		if from, err = parseAddress(local + "+" + l.EnvelopeID + "@" + domain); err != nil {
			return Envelope{}, fmt.Errorf("letter's envelope: Return with EnvelopeID: %w", err)
		}
	}
	return Envelope{From: from, To: to}, nil
}

// EnvelopeID returns the id that [Letter.Envelope] put into a sender address, from the address a bounce was
// sent to. False: the address carries none.
func EnvelopeID(addr string) (string, bool) {
	local, _ := splitAddress(addr)
	plus := strings.LastIndexByte(local, '+')
	if plus < 0 || !envelopeIDForm.MatchString(local[plus+1:]) {
		return "", false
	}
	return local[plus+1:], true
}
