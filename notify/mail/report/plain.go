package report

import (
	netmail "net/mail"
	"regexp"
	"strings"
)

// plainForm reads reports of servers that do not write RFC 3464: one that names the failed addresses in a field of its own,
// one that lists "<address>:" with the reason below (QSBMF, https://cr.yp.to/proto/qsbmf.txt), and texts in which a line
// gives an address and another a refusal's code. Only mail that says of itself that a machine of the mail system wrote it is
// looked at: an answer of a person may quote anything.
func (c *collector) plainForm(h netmail.Header) {
	if c.told || len(c.texts) == 0 || !fromMailSystem(h) {
		return
	}
	text := strings.ReplaceAll(strings.Join(c.texts, "\n"), "\r\n", "\n")
	said, copied := cutCopy(text)
	c.ids(wholeLines(originalID, text)...)
	c.addresses(wholeLines(returnPath, copied)...)
	action := Bounce
	if looksDelayed(h.Get("Subject") + "\n" + said) {
		action = Delay
	}
	if failed := h["X-Failed-Recipients"]; len(failed) > 0 {
		for _, a := range addressForm.FindAllString(strings.Join(failed, ","), maxRecipients) {
			c.recipient(Recipient{Address: a, Action: action, Why: whyOf(said, a)})
		}
		return
	}
	if strings.HasPrefix(strings.TrimSpace(said), "Hi. This is the") {
		for _, m := range bracketed.FindAllStringSubmatch(said, maxRecipients) {
			c.recipient(Recipient{Address: m[1], Action: Bounce, Why: m[2]})
		}
		return
	}
	for _, a := range addressForm.FindAllString(said, maxAddresses) {
		a = strings.TrimRight(a, ".")
		if why := whyOf(said, a); refusal.MatchString(why) && !c.has(a) {
			c.recipient(Recipient{Address: a, Action: action, Why: why})
		}
	}
}

func (c *collector) has(address string) bool {
	for _, r := range c.Recipients {
		if r.Is(address) {
			return true
		}
	}
	return false
}

// fromMailSystem reports whether a mail says that the mail system wrote it. Absence notes say so of themselves in other ways
// (RFC 3834 section 5, "auto-replied") and have no empty sender.
func fromMailSystem(h netmail.Header) bool {
	from := strings.ToLower(h.Get("From"))
	daemon := strings.Contains(from, "mailer-daemon") || strings.Contains(from, "postmaster") || strings.Contains(from, "mail delivery")
	return len(h["X-Failed-Recipients"]) > 0 || daemon || strings.TrimSpace(h.Get("Return-Path")) == "<>" && !strings.Contains(strings.ToLower(h.Get("Auto-Submitted")), "auto-replied")
}

var (
	originalID = regexp.MustCompile(`(?im)^\s*(?:original-)?message-id:\s*(<[^<>\s]+>)`)
	returnPath = regexp.MustCompile(`(?im)^return-path:\s*(<[^<>\s]+>)`)
	bracketed  = regexp.MustCompile(`(?m)^<([^<>\s]+@[^<>\s]+)>:\s*\n((?:.+\n?)+)`)
	refusal    = regexp.MustCompile(`\b[45](?:\d\d\b|\.\d{1,3}\.\d{1,3}\b)`)
	copyMark   = regexp.MustCompile(`(?im)^-{2,}.*(?:copy of the message|original message|message follows|message header|returned message|below this line).*$`)
)

func wholeLines(form *regexp.Regexp, text string) (all []string) {
	for _, m := range form.FindAllStringSubmatch(text, 5) {
		all = append(all, m[1])
	}
	return all
}

// cutCopy parts what the server says from the copy of the mail it is about.
func cutCopy(text string) (said, copied string) {
	if at := copyMark.FindStringIndex(text); at != nil {
		return text[:at[0]], text[at[1]:]
	}
	return text, text
}

func looksDelayed(text string) bool {
	text = strings.ToLower(text)
	for _, gave := range []string{"permanent error", "giving up", "given up", "could not be delivered"} {
		if strings.Contains(text, gave) {
			return false
		}
	}
	for _, later := range []string{"delayed", "not yet been delivered", "will continue to", "still trying", "will be retried"} {
		if strings.Contains(text, later) {
			return true
		}
	}
	return false
}

// whyOf gives the words beside an address: the rest of its line and the lines below up to a gap.
func whyOf(text, address string) string {
	i := strings.Index(text, address)
	if i < 0 {
		return ""
	}
	rest := text[i+len(address):]
	rest = strings.TrimLeft(rest, ">:, \t\n")
	if end := strings.Index(rest, "\n\n"); end >= 0 {
		rest = rest[:end]
	}
	return rest
}
