package mail

import (
	"errors"
	"fmt"
	"mime"
	netmail "net/mail"
	"net/url"
	"regexp"
	"strings"
	"time"

	"golang.org/x/net/idna"
	"golang.org/x/text/language"
)

// Letter is what one recipient is to be told, before it becomes an Internet message. Display names,
// Subject, Text and HTML may hold any user text; everything else is refused when it is not well formed.
type Letter struct {
	// MessageID is the id of the message without angle brackets (local@domain, at most 200 octets). It is
	// constant over retries and new when the content's meaning changes (RFC 5322 3.6.4).
	MessageID string
	// ThreadRoot is the id that all letters about the same thing refer to, same form as MessageID. It is
	// written as In-Reply-To and References; empty, or equal to MessageID, writes neither.
	ThreadRoot string

	From    netmail.Address // author
	ReplyTo netmail.Address // where an answer goes; zero: to From
	To      netmail.Address // the one recipient

	// Return is the bare address that bounces go to; empty: the address of From.
	Return string
	// EnvelopeID marks the envelope sender (see [Letter.Envelope]), so that a bounce finds its row: letters,
	// digits, dots, hyphens and underscores. Empty: the envelope sender is Return unmarked, for servers that
	// accept only one sender address.
	EnvelopeID string

	Subject string    // one line; longer text is folded
	Lang    string    // language tag of Text and HTML (BCP 47), required
	Text    string    // plain text, required; lines end in \n
	HTML    string    // whole HTML document that says the same, required
	Date    time.Time // when the message was made; written in UTC, to the second

	Unsubscribe *Unsubscribe // nil: no such header (confirmations have none)
	Attachments []Attachment
}

// Unsubscribe fills the List-Unsubscribe headers. At least one of the two is set.
type Unsubscribe struct {
	URL    string // https address that takes the one-click POST of RFC 8058
	Mailto string // "mailto:..." address
}

// Attachment is one file that travels with the letter.
type Attachment struct {
	Name        string // letters, digits, dots, hyphens and underscores, at most 64
	ContentType string // such as "text/calendar; charset=utf-8"; never multipart or message
	Data        []byte
}

const (
	maxID   = 200 // octets of a Message-ID: two of them and a header name fit a line of 998
	maxLink = 900 // octets of an unsubscribe address, for the same reason
	maxName = 70  // runes of a display name that are written
)

var (
	msgIDForm      = regexp.MustCompile("^[A-Za-z0-9!#$%&'*+/=?^_`{|}~.-]+@[A-Za-z0-9.-]+$")
	envelopeIDForm = regexp.MustCompile(`^[A-Za-z0-9._-]+$`)
	fileNameForm   = regexp.MustCompile(`^[A-Za-z0-9_-][A-Za-z0-9._-]{0,63}$`)
)

// checked is a letter whose every field is safe to write.
type checked struct {
	Letter
	from, replyTo, to *netmail.Address // replyTo may be nil
}

// check cleans what may be any text and refuses what must be well formed.
func check(l Letter) (checked, error) {
	c := checked{Letter: l}
	steps := []struct {
		field string
		do    func() error
	}{
		{"MessageID", func() error { return checkID(l.MessageID) }},
		{"ThreadRoot", func() error { return checkThread(l.ThreadRoot) }},
		{"From", func() (err error) { c.from, err = cleanAddress(l.From); return }},
		{"ReplyTo", func() (err error) {
			if l.ReplyTo != (netmail.Address{}) {
				c.replyTo, err = cleanAddress(l.ReplyTo)
			}
			return
		}},
		{"To", func() (err error) { c.to, err = cleanAddress(l.To); return }},
		{"Subject", func() error { c.Subject = cleanLine(l.Subject); return notEmpty(c.Subject) }},
		{"Lang", func() (err error) { c.Lang, err = cleanLang(l.Lang); return }},
		{"Text", func() error { c.Text = cleanBody(l.Text); return notEmpty(c.Text) }},
		{"HTML", func() error { c.HTML = cleanBody(l.HTML); return notEmpty(c.HTML) }},
		{"Date", func() error { return checkDate(l.Date) }},
		{"Unsubscribe", func() error { return l.Unsubscribe.check() }},
		{"Attachments", func() error { return checkAttachments(l.Attachments) }},
	}
	for _, s := range steps {
		if err := s.do(); err != nil {
			return checked{}, fmt.Errorf("compose letter: %s: %w", s.field, err)
		}
	}
	return c, nil
}

func notEmpty(s string) error {
	if strings.TrimSpace(s) == "" {
		return errors.New("is empty")
	}
	return nil
}

func checkID(id string) error {
	if len(id) > maxID || !msgIDForm.MatchString(id) {
		return fmt.Errorf("%.60q is not an id of the form local@domain, at most %d octets, without brackets", id, maxID)
	}
	return nil
}

func checkThread(id string) error {
	if id == "" {
		return nil
	}
	return checkID(id)
}

func checkDate(d time.Time) error {
	if y := d.UTC().Year(); d.IsZero() || y < 1970 || y > 9999 {
		return errors.New("is not set, or its year is not between 1970 and 9999")
	}
	return nil
}

func cleanLang(tag string) (string, error) {
	if tag == "" {
		return "", errors.New("is empty")
	}
	t, err := language.Parse(tag)
	if err != nil {
		return "", fmt.Errorf("%.40q is not a language tag such as \"en\" or \"es-US\"", tag)
	}
	return t.String(), nil
}

// cleanAddress returns the address with its domain in ASCII form (RFC 5890) and a display name that is safe
// to write: control characters and line breaks gone, cut to 70 runes, and left out when it holds "=?", which
// some readers would decode as an encoded word even inside quotes.
func cleanAddress(a netmail.Address) (*netmail.Address, error) {
	addr, err := parseAddress(a.Address)
	if err != nil {
		return nil, err
	}
	name := cleanLine(a.Name)
	if r := []rune(name); len(r) > maxName {
		name = strings.TrimSpace(string(r[:maxName]))
	}
	if strings.Contains(name, "=?") {
		name = ""
	}
	return &netmail.Address{Name: name, Address: addr}, nil
}

// parseAddress checks a bare address and brings its domain to ASCII. A local part that would need quotes is
// refused: real ones are not seen, while two addresses in one field are, and would pass for it.
func parseAddress(s string) (string, error) {
	bad := fmt.Errorf("%.80q is not a mail address of the form local@domain", s)
	if strings.ContainsFunc(s, unsafeRune) {
		return "", bad
	}
	p, err := netmail.ParseAddress("<" + s + ">")
	if err != nil || p.Address != s || p.Name != "" {
		return "", bad
	}
	local, domain := splitAddress(s)
	if !isASCII(domain) {
		if domain, err = idna.Lookup.ToASCII(domain); err != nil {
			return "", fmt.Errorf("domain of %.80q cannot be written in ASCII: %w", s, err)
		}
	}
	if len(local) > 64 || len(local)+1+len(domain) > 254 { // RFC 5321 4.5.3.1.1, and 4.5.3.1.3 less the brackets
		return "", fmt.Errorf("%.80q is too long: 64 octets before the @ and 254 in all are allowed", s)
	}
	return local + "@" + domain, nil
}

// splitAddress cuts at the last @.
func splitAddress(addr string) (local, domain string) {
	at := strings.LastIndexByte(addr, '@')
	if at < 0 {
		return addr, ""
	}
	return addr[:at], addr[at+1:]
}

func (u *Unsubscribe) check() error {
	switch {
	case u == nil:
		return nil
	case u.URL == "" && u.Mailto == "":
		return errors.New("has neither URL nor Mailto: leave it nil, or set one")
	}
	if u.URL != "" {
		p, err := parseLink(u.URL)
		if err != nil || p.Scheme != "https" || p.Host == "" || p.User != nil {
			return fmt.Errorf("its URL %.80q is not a plain https address (RFC 8058 3.1 allows no other)", u.URL)
		}
	}
	if u.Mailto != "" {
		p, err := parseLink(u.Mailto)
		if err != nil || p.Scheme != "mailto" || !strings.Contains(p.Opaque, "@") {
			return fmt.Errorf("its Mailto %.80q is not of the form mailto:local@domain", u.Mailto)
		}
	}
	return nil
}

// parseLink parses an address that is safe between angle brackets of a header.
func parseLink(s string) (*url.URL, error) {
	outside := func(r rune) bool { return r <= ' ' || r >= 0x7f || r == '<' || r == '>' || r == '"' }
	if len(s) > maxLink || strings.ContainsFunc(s, outside) {
		return nil, errors.New("too long, or holds a space, a bracket or a character outside ASCII")
	}
	return url.Parse(s)
}

func checkAttachments(list []Attachment) error {
	for _, a := range list {
		if !fileNameForm.MatchString(a.Name) {
			return fmt.Errorf("file name %.80q: use letters, digits, dots, hyphens and underscores, at most 64", a.Name)
		}
		if _, err := a.mediaType(); err != nil {
			return err
		}
	}
	return nil
}

// mediaType returns the content type in canonical form.
func (a Attachment) mediaType() (string, error) {
	kind, params, err := mime.ParseMediaType(a.ContentType)
	if err == nil && !strings.HasPrefix(kind, "multipart/") && !strings.HasPrefix(kind, "message/") &&
		strings.Contains(kind, "/") && len(a.ContentType) <= 200 {
		if s := mime.FormatMediaType(kind, params); s != "" && isASCII(s) {
			return s, nil
		}
	}
	return "", fmt.Errorf("content type %.80q of %s is not usable", a.ContentType, a.Name)
}
