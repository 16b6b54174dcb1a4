// Package report reads what comes back on mail that was sent before: reports that it could not be delivered (RFC 3464, and
// the plain forms of servers that do not write it) and complaints of mail providers (RFC 5965).
//
// It reads only. Anybody can send anything to an address, so nothing in a report is to be believed by itself: what a report
// is about must be shown by something that only the receiver of that mail can know (see desk.TakeReturn).
package report

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	netmail "net/mail"
	"regexp"
	"slices"
	"strings"
)

// Kind is what a report says.
type Kind string

// The kinds of reports.
const (
	Bounce    Kind = "bounced"   // it was given up
	Delay     Kind = "delayed"   // it is still tried
	Complaint Kind = "complaint" // its receiver does not want it
)

// Report is one report.
type Report struct {
	Kind Kind
	// SentTo are the addresses to which the report came, as the servers on its way wrote them down, and the sender address
	// of the mail it is about: one of them is the return path of that mail.
	SentTo []string
	// MessageIDs are those of the mail it is about, without brackets.
	MessageIDs []string
	// Recipients are whom the mail was for; none where a provider keeps that to itself.
	Recipients []Recipient
}

// Recipient is what became of a mail at one address.
type Recipient struct {
	Address  string // as the last server knew it
	Original string // as it was first addressed; "" where that is not said
	Action   Kind   // Bounce or Delay
	Status   string // enhanced status code (RFC 3463), such as "5.1.1"; "" where there is none
	Why      string // the server's words on one line
}

// Is reports whether the recipient is the address, under the name the last server knew or the first.
func (r Recipient) Is(address string) bool {
	return strings.EqualFold(r.Address, address) || r.Original != "" && strings.EqualFold(r.Original, address)
}

// BlamesAddress reports whether the trouble is the address or its mailbox (RFC 3463 sections 3.2 and 3.3) or that nothing
// was taken there until time ran out, and not what was said or who said it.
func (r Recipient) BlamesAddress() bool {
	parts := strings.Split(r.Status, ".")
	return r.Action == Bounce && (len(parts) != 3 || parts[1] == "1" || parts[1] == "2" || parts[0] == "4")
}

// ErrNone says that a mail is no report: an answer of a person, an absence note, anything else.
var ErrNone = errors.New("the mail reports nothing of another one")

// The bounds of what is looked at. What lies beyond is not read.
const (
	maxBytes      = 2 << 20
	maxDepth      = 5
	maxParts      = 60
	maxAddresses  = 40
	maxRecipients = 50
	maxWhy        = 400
)

// Read reads one mail, at most its first 2 MB. Any input gives a report, [ErrNone], or that it is no mail at all.
func Read(r io.Reader) (Report, error) {
	in := bufio.NewReader(io.LimitReader(r, maxBytes))
	if mark, err := in.Peek(5); err == nil && string(mark) == "From " { // a mailbox file's own line
		if _, err := in.ReadString('\n'); err != nil {
			return Report{}, ErrNone
		}
	}
	m, err := netmail.ReadMessage(in)
	if err != nil {
		return Report{}, fmt.Errorf("read a mail: %w", err)
	}
	c := collector{}
	for _, field := range []string{"Delivered-To", "X-Original-To", "Envelope-To", "X-Envelope-To", "X-Rcpt-To", "To", "Cc"} {
		c.addresses(m.Header[field]...)
	}
	body, err := io.ReadAll(m.Body)
	if err != nil {
		return Report{}, fmt.Errorf("read a mail: %w", err)
	}
	c.part(m.Header.Get("Content-Type"), m.Header.Get("Content-Transfer-Encoding"), body, 0)
	if len(c.Recipients) == 0 && c.Kind == "" {
		c.plainForm(m.Header)
	}
	return c.finish()
}

// collector gathers a report from a mail's parts.
type collector struct {
	Report
	parts int
	texts []string // of the parts that people read
	told  bool     // some part told of deliveries, even if of none that failed
}

func (c *collector) finish() (Report, error) {
	if c.Kind == "" {
		for _, r := range c.Recipients {
			if c.Kind != Bounce {
				c.Kind = r.Action
			}
		}
	}
	if c.Kind == "" {
		return Report{}, ErrNone
	}
	return c.Report, nil
}

var (
	addressForm = regexp.MustCompile(`[^\s<>,;:"'()\[\]]+@[^\s<>,;:"'()\[\]]+`)
	idForm      = regexp.MustCompile(`<([^<>\s]{3,250})>`)
	statusForm  = regexp.MustCompile(`\b([245]\.\d{1,3}\.\d{1,3})\b`)
)

// addresses notes where the report came, without doubles.
func (c *collector) addresses(texts ...string) {
	for _, t := range texts {
		for _, a := range addressForm.FindAllString(t, maxAddresses) {
			if len(c.SentTo) < maxAddresses && len(a) <= 320 && !slices.Contains(c.SentTo, a) {
				c.SentTo = append(c.SentTo, a)
			}
		}
	}
}

func (c *collector) ids(texts ...string) {
	for _, t := range texts {
		for _, m := range idForm.FindAllStringSubmatch(t, 5) {
			if len(c.MessageIDs) < maxAddresses && !slices.Contains(c.MessageIDs, m[1]) {
				c.MessageIDs = append(c.MessageIDs, m[1])
			}
		}
	}
}

func (c *collector) recipient(r Recipient) {
	r.Why = oneLine(r.Why)
	if r.Status == "" {
		if m := statusForm.FindStringSubmatch(r.Why); m != nil {
			r.Status = m[1]
		}
	}
	if len(c.Recipients) < maxRecipients {
		c.Recipients = append(c.Recipients, r)
	}
}

// original notes what the head of the mail says that the report is about.
func (c *collector) original(head []byte) {
	if end := endOfHead(head); end > 0 {
		head = head[:end]
	}
	m, err := netmail.ReadMessage(bytes.NewReader(append(bytes.TrimLeft(head, "\r\n \t"), "\r\n\r\n"...)))
	if err != nil {
		return
	}
	c.ids(m.Header["Message-Id"]...)
	c.addresses(m.Header["Return-Path"]...)
}

func endOfHead(b []byte) int {
	for _, gap := range []string{"\r\n\r\n", "\n\n"} {
		if i := bytes.Index(b, []byte(gap)); i >= 0 {
			return i
		}
	}
	return -1
}

// oneLine makes a printable line of at most maxWhy octets.
func oneLine(s string) string {
	s = strings.Join(strings.FieldsFunc(strings.ToValidUTF8(s, ""), func(r rune) bool { return r <= ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' }), " ")
	if len(s) > maxWhy {
		s = strings.ToValidUTF8(s[:maxWhy], "") + " ..."
	}
	return s
}
