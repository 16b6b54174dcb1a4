package mail

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	gomail "github.com/wneessen/go-mail"
)

// Compose writes the letter as an Internet message (RFC 5322, MIME): multipart/alternative of text and HTML
// in quoted-printable UTF-8, inside multipart/mixed when there are attachments. It is a pure function: the
// same letter gives the same bytes, at any time and on any machine. Lines end in CRLF and are at most 998
// octets; all octets are ASCII, except in an address whose local part is not.
//
// The message says that a machine sent it (Auto-Submitted: auto-generated, RFC 3834), and asks mailers that
// know X-Auto-Response-Suppress for no out-of-office replies; it does not ask them to hold back bounces.
//
// It fails, naming the field, when a field that must be well formed is not.
func Compose(l Letter) ([]byte, error) {
	c, err := check(l)
	if err != nil {
		return nil, err
	}
	msg := gomail.NewMsg(gomail.WithNoDefaultUserAgent(), gomail.WithEncoding(gomail.EncodingQP))
	c.writeHeader(msg)
	msg.SetBodyString(gomail.TypeTextPlain, c.Text)
	msg.AddAlternativeString(gomail.TypeTextHTML, c.HTML)
	for _, a := range c.Attachments {
		kind, err := a.mediaType()
		if err != nil {
			return nil, fmt.Errorf("compose letter: Attachments: %w", err)
		}
		err = msg.AttachReader(a.Name, bytes.NewReader(a.Data), gomail.WithFileContentType(gomail.ContentType(kind)))
		if err != nil {
			return nil, fmt.Errorf("compose letter: attach %s: %w", a.Name, err)
		}
	}
	var out bytes.Buffer
	if _, err := msg.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("compose letter: %w", err)
	}
	kinds := []string{"alternative"}
	if len(c.Attachments) > 0 {
		kinds = []string{"mixed", "alternative"}
	}
	return fixBoundaries(out.Bytes(), kinds), nil
}

// writeHeader sets every header field; no name and no structure comes from the letter.
func (c checked) writeHeader(msg *gomail.Msg) {
	msg.FromMailAddress(c.from)
	msg.ToMailAddress(c.to)
	if c.replyTo != nil {
		msg.ReplyToMailAddress(c.replyTo)
	}
	msg.SetMessageIDWithValue(c.MessageID)
	msg.SetGenHeader(gomail.HeaderDate, c.Date.UTC().Format(time.RFC1123Z))
	msg.SetGenHeader(gomail.HeaderSubject, encodeSubject(c.Subject))
	if c.ThreadRoot != "" && c.ThreadRoot != c.MessageID {
		msg.SetGenHeader(gomail.HeaderInReplyTo, "<"+c.ThreadRoot+">")
		msg.SetGenHeader(gomail.HeaderReferences, "<"+c.ThreadRoot+">")
	}
	msg.SetGenHeader("Auto-Submitted", "auto-generated")
	msg.SetGenHeader(gomail.HeaderXAutoResponseSuppress, "OOF, AutoReply")
	msg.SetGenHeader("Content-Language", c.Lang)
	if u := c.Unsubscribe; u != nil {
		var ways []string
		if u.URL != "" {
			ways = append(ways, "<"+u.URL+">")
			msg.SetGenHeader(gomail.HeaderListUnsubscribePost, "List-Unsubscribe=One-Click")
		}
		if u.Mailto != "" {
			ways = append(ways, "<"+u.Mailto+">")
		}
		msg.SetGenHeader(gomail.HeaderListUnsubscribe, ways...)
	}
}

// fixBoundaries replaces the composer's random boundaries by ones made from the content, so that the same
// letter gives the same bytes. A text cannot hold the boundary of the message it stands in: its own hash
// would have to be known before it is written. (go-mail's SetBoundary gives nested parts the same boundary,
// which breaks them.) kinds names the multiparts of the message from the outside in.
func fixBoundaries(raw []byte, kinds []string) []byte {
	var found [][]byte
	for _, kind := range kinds {
		// The first one found is the composer's: what user text can put before it are folded header lines,
		// and those start with a space.
		mark := []byte("\r\nContent-Type: multipart/" + kind + ";\r\n boundary=")
		if _, rest, ok := bytes.Cut(raw, mark); ok {
			old, _, _ := bytes.Cut(rest, []byte("\r\n"))
			found = append(found, bytes.Clone(old))
		}
	}
	bare := raw
	for _, old := range found {
		bare = bytes.ReplaceAll(bare, old, nil)
	}
	sum := sha256.Sum256(bare)
	for i, old := range found {
		name := fmt.Sprintf("part%d-%s", i, hex.EncodeToString(sum[:20]))
		raw = bytes.ReplaceAll(raw, old, []byte(name))
	}
	return raw
}
