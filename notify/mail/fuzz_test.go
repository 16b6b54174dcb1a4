package mail

import (
	"mime"
	netmail "net/mail"
	"slices"
	"sort"
	"strings"
	"testing"
)

// FuzzCompose: whatever the words are, the message has the same header fields, one recipient, two parts,
// lawful lines, and reads back as the cleaned words.
func FuzzCompose(f *testing.F) {
	f.Add("Clean the vent", "Zoë", "text", "<p>html</p>")
	f.Add("x\r\nBcc: evil@example.com\r\n\r\nbody", "\"x\" <evil@example.com>, y", "\r\n.\r\nMAIL FROM:<>", "--part0-00\r\nContent-Type: text/html")
	f.Add("=?utf-8?q?=0D=0A?=", "=?utf-8?b?DQo=?=", "\r\nContent-Type: multipart/mixed;\r\n boundary=x\r\n", "\x00\r\r\n\n")
	f.Add("\u2028\u202e\xff", "\u0085", "\u0000 \ufeff", "\x80")
	f.Fuzz(func(t *testing.T, subject, name, text, html string) {
		l := reminder()
		l.Subject, l.To.Name, l.From.Name, l.Text, l.HTML = subject, name, name, text, html
		raw, err := Compose(l)
		if err != nil {
			if cleanLine(subject) != "" && strings.TrimSpace(cleanBody(text)) != "" && strings.TrimSpace(cleanBody(html)) != "" {
				t.Fatalf("refused: %v", err)
			}
			return
		}
		checkWire(t, raw)
		h, parts := parse(t, raw)
		var names []string
		for n, v := range h {
			names = append(names, n)
			if len(v) != 1 {
				t.Errorf("%s stands %d times", n, len(v))
			}
		}
		sort.Strings(names)
		if want := []string{"Auto-Submitted", "Content-Language", "Content-Type", "Date", "From", "In-Reply-To", "List-Unsubscribe",
			"List-Unsubscribe-Post", "Message-Id", "Mime-Version", "References", "Reply-To", "Subject", "To", "X-Auto-Response-Suppress"}; !slices.Equal(names, want) {
			t.Errorf("fields: %v", names)
		}
		if got, err := new(mime.WordDecoder).DecodeHeader(h.Get("Subject")); err != nil || got != cleanLine(subject) {
			t.Errorf("subject %q reads back as %q, %v", subject, got, err)
		}
		to, err := netmail.ParseAddressList(h.Get("To"))
		if err != nil || len(to) != 1 || to[0].Address != l.To.Address {
			t.Errorf("To: %v, %v", to, err)
		}
		if len(parts) != 2 {
			t.Fatalf("%d parts", len(parts))
		}
		for i, want := range []string{cleanBody(text), cleanBody(html)} {
			if got := strings.ReplaceAll(string(parts[i].data), "\r\n", "\n"); got != want {
				t.Errorf("part %d: %q reads back as %q", i, want, got)
			}
		}
	})
}

// FuzzLayout: no words make markup, a second link or a line of their own.
func FuzzLayout(f *testing.F) {
	f.Add("<script>alert(1)</script>", "a\n\nb", "javascript:alert(1)")
	f.Add("</title><a href=x>", "{{.}}", "https://example.com/\"><img src=x>")
	f.Fuzz(func(t *testing.T, a, b, link string) {
		p := Page{Lang: "en", Title: a, When: b, Footer: []string{a},
			Blocks: []Block{{Heading: b, Text: a, Points: []string{a, b}, Facts: []Fact{{Label: a, Value: b}}}}, Button: &Button{Label: a, URL: link}}
		text, html, err := Layout(p)
		if err != nil {
			return
		}
		doc := readHTML(t, html)
		if doc.count["a"] != 1 || doc.count["script"] != 0 || doc.count["img"] != 0 || doc.count["h1"] != 1 || doc.count["li"] != len(cleanLines(p.Blocks[0].Points)) {
			t.Errorf("words made markup: %v\n%s", doc.count, html)
		}
		if strings.ContainsAny(text, "\r\x00") {
			t.Errorf("text: %q", text)
		}
	})
}
