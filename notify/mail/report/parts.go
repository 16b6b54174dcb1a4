package report

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/textproto"
	"strings"
)

// part looks at one part of a mail and what lies inside it.
func (c *collector) part(contentType, encoding string, body []byte, depth int) {
	if c.parts++; c.parts > maxParts || depth > maxDepth {
		return
	}
	kind, params, err := mime.ParseMediaType(contentType)
	if err != nil || kind == "" {
		kind = "text/plain"
	}
	switch {
	case strings.HasPrefix(kind, "multipart/"):
		c.multipart(params["boundary"], body, depth)
	case kind == "message/delivery-status", kind == "message/global-delivery-status":
		c.deliveryStatus(decoded(encoding, body))
	case kind == "message/feedback-report":
		c.feedback(decoded(encoding, body))
	case kind == "message/rfc822", kind == "message/global", kind == "text/rfc822-headers", kind == "message/rfc822-headers", kind == "message/global-headers":
		c.original(decoded(encoding, body))
	case kind == "text/plain":
		c.texts = append(c.texts, string(decoded(encoding, body)))
	}
}

func (c *collector) multipart(boundary string, body []byte, depth int) {
	if boundary == "" {
		return
	}
	r := multipart.NewReader(bytes.NewReader(body), boundary)
	for c.parts <= maxParts {
		p, err := r.NextRawPart()
		if err != nil {
			return // its end, or where it was cut off: what was read counts
		}
		data, _ := io.ReadAll(p) // a part that was cut off counts as far as it goes
		c.part(p.Header.Get("Content-Type"), p.Header.Get("Content-Transfer-Encoding"), data, depth+1)
	}
}

func decoded(encoding string, body []byte) []byte {
	var r io.Reader
	switch strings.ToLower(strings.TrimSpace(encoding)) {
	case "base64":
		r = base64.NewDecoder(base64.StdEncoding, bytes.NewReader(body))
	case "quoted-printable":
		r = quotedprintable.NewReader(bytes.NewReader(body))
	default:
		return body
	}
	out, _ := io.ReadAll(r) // as far as it goes
	return out
}

// groups reads the blocks of fields that stand between blank lines, as in RFC 3464 section 2.1.
func groups(body []byte) (all []textproto.MIMEHeader) {
	in := textproto.NewReader(bufio.NewReader(bytes.NewReader(append(body, "\r\n\r\n"...))))
	for len(all) <= maxRecipients {
		h, err := in.ReadMIMEHeader()
		if len(h) > 0 {
			all = append(all, h)
		}
		if err != nil {
			return all
		}
	}
	return all
}

// deliveryStatus reads RFC 3464 section 2: what holds for the mail, then a block for each recipient.
func (c *collector) deliveryStatus(body []byte) {
	c.told = true
	for _, h := range groups(body) {
		address := typed(h.Get("Final-Recipient"))
		if address == "" {
			address = typed(h.Get("Original-Recipient"))
		}
		if address == "" {
			continue
		}
		r := Recipient{Address: address, Original: typed(h.Get("Original-Recipient")), Why: typed(h.Get("Diagnostic-Code"))}
		if m := statusForm.FindStringSubmatch(h.Get("Status")); m != nil {
			r.Status = m[1]
		}
		switch strings.ToLower(strings.TrimSpace(h.Get("Action"))) {
		case "failed":
			r.Action = Bounce
		case "delayed":
			r.Action = Delay
		case "": // some servers leave it out
			if strings.HasPrefix(r.Status, "5") {
				r.Action = Bounce
			} else if strings.HasPrefix(r.Status, "4") {
				r.Action = Delay
			}
		}
		if r.Action == "" {
			continue // it went on
		}
		if r.Why == "" {
			r.Why = h.Get("Status")
		}
		c.recipient(r)
	}
}

// typed takes the value of a field of the form "rfc822; pat@example.com".
func typed(v string) string {
	kind, value, ok := strings.Cut(v, ";")
	if !ok {
		kind, value = "", v
	}
	value = strings.TrimSpace(value)
	if strings.Contains(strings.ToLower(kind), "smtp") || !strings.Contains(value, "@") {
		return value
	}
	if m := addressForm.FindString(value); m != "" && len(m) >= len(value)-2 {
		return m
	}
	return value
}

// feedback reads RFC 5965 section 3. A note that a mail was none of the unwanted ones is no complaint.
func (c *collector) feedback(body []byte) {
	c.told = true
	for _, h := range groups(body) {
		kind := strings.ToLower(strings.TrimSpace(h.Get("Feedback-Type")))
		if kind == "" || kind == "not-spam" {
			continue
		}
		c.Kind = Complaint
		c.addresses(h["Original-Mail-From"]...)
		for _, v := range h["Original-Rcpt-To"] {
			if a := addressForm.FindString(v); a != "" {
				c.recipient(Recipient{Address: a, Action: Complaint, Why: "complaint: " + kind})
			}
		}
	}
}
