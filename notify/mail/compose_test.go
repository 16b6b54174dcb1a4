package mail

import (
	"bytes"
	"encoding/json"
	"flag"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	netmail "net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// reminder is a letter with everything but attachments. People and places are invented.
func reminder() Letter {
	return Letter{
		MessageID:  "0198c0de-0001@mail.example.com",
		ThreadRoot: "0198c0de-0000@mail.example.com",
		From:       netmail.Address{Name: "Quillfeather Vent Care", Address: "office@example.com"},
		ReplyTo:    netmail.Address{Address: "answers@example.com"},
		To:         netmail.Address{Name: "Zoë Ångström", Address: "zoe@example.org"},
		EnvelopeID: "0198c0de-0001",
		Subject:    "Clean the dryer vent at 12 Larkspur Lane, flat 3B, by Tuesday 14 April 2026 – it is filling up faster than last year",
		Lang:       "en",
		Text:       "Clean the dryer vent by Tuesday 14 April 2026.\n\n.A line that starts with a dot\nFrom a line that old mailboxes would mangle\n" + strings.Repeat("long ", 60) + "\nÆ, ß, 漢字, 🙂, = and trailing spaces   \n",
		HTML:       "<!DOCTYPE html>\n<html lang=\"en\"><body><p>Clean the dryer vent by <strong>Tuesday 14 April 2026</strong>.</p></body></html>\n",
		Date:       time.Date(2026, 3, 15, 4, 0, 0, 0, time.FixedZone("", -4*3600)),
		Unsubscribe: &Unsubscribe{
			URL:    "https://vents.example.com/u/0198c0de?k=due",
			Mailto: "mailto:stop@example.com?subject=stop",
		},
	}
}

func mustCompose(t testing.TB, l Letter) []byte {
	t.Helper()
	raw, err := Compose(l)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

// part is one leaf of a parsed message.
type part struct {
	kind, name string
	data       []byte
}

// parse reads a message with the standard library alone.
func parse(t testing.TB, raw []byte) (netmail.Header, []part) {
	t.Helper()
	m, err := netmail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		t.Fatalf("message does not parse: %v\n%s", err, raw)
	}
	return m.Header, parseParts(t, m.Header.Get("Content-Type"), m.Body)
}

func parseParts(t testing.TB, contentType string, body io.Reader) (parts []part) {
	t.Helper()
	kind, params, err := mime.ParseMediaType(contentType)
	if err != nil || !strings.HasPrefix(kind, "multipart/") {
		t.Fatalf("content type %q: %v", contentType, err)
	}
	for r := multipart.NewReader(body, params["boundary"]); ; {
		p, err := r.NextRawPart()
		if err == io.EOF {
			return parts
		}
		if err != nil {
			t.Fatal(err)
		}
		ct := p.Header.Get("Content-Type")
		if strings.HasPrefix(ct, "multipart/") {
			parts = append(parts, parseParts(t, ct, p)...)
			continue
		}
		var from io.Reader = p
		switch enc := p.Header.Get("Content-Transfer-Encoding"); enc {
		case "quoted-printable":
			from = quotedprintable.NewReader(p)
		case "base64":
			from = newBase64(p)
		default:
			t.Fatalf("encoding %q", enc)
		}
		data, err := io.ReadAll(from)
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, part{kind: ct, name: p.FileName(), data: data})
	}
}

// checkWire checks what RFC 5322 2.1.1 and 2.3 ask of every message: lines end in CRLF, no CR or LF stands
// alone, no line is longer than 998 octets.
func checkWire(t testing.TB, raw []byte) {
	t.Helper()
	if !bytes.HasSuffix(raw, []byte("\r\n")) {
		t.Error("message does not end in CRLF")
	}
	for i, line := range bytes.Split(raw, []byte("\r\n")) {
		if len(line) > 998 {
			t.Errorf("line %d has %d octets", i+1, len(line))
		}
		if bytes.ContainsAny(line, "\r\n\x00") {
			t.Errorf("line %d holds a bare CR, LF or NUL: %q", i+1, line)
		}
	}
}

func TestComposeGolden(t *testing.T) {
	raw := mustCompose(t, reminder())
	path := filepath.Join("testdata", "reminder.eml")
	if *update {
		if err := os.WriteFile(path, raw, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(raw, want) {
		t.Errorf("message differs from %s:\n%s", path, raw)
	}
	checkWire(t, raw)
}

func TestComposeReadsBack(t *testing.T) {
	l := reminder()
	h, parts := parse(t, mustCompose(t, l))

	decode := func(s string) string {
		d, err := new(mime.WordDecoder).DecodeHeader(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	for name, want := range map[string]string{
		"Message-Id":            "<0198c0de-0001@mail.example.com>",
		"In-Reply-To":           "<0198c0de-0000@mail.example.com>", // RFC 5322 3.6.4
		"References":            "<0198c0de-0000@mail.example.com>",
		"Subject":               l.Subject,
		"Date":                  "Sun, 15 Mar 2026 08:00:00 +0000", // 04:00 at -0400; RFC 5322 3.3: four-digit year
		"Auto-Submitted":        "auto-generated",                  // RFC 3834 5
		"List-Unsubscribe":      "<https://vents.example.com/u/0198c0de?k=due>, <mailto:stop@example.com?subject=stop>",
		"List-Unsubscribe-Post": "List-Unsubscribe=One-Click", // RFC 8058 3.1, to the letter
		"Content-Language":      "en",                         // RFC 3282
		"Mime-Version":          "1.0",                        // RFC 2045 4
	} {
		if got := decode(h.Get(name)); got != want || len(h[name]) != 1 {
			t.Errorf("%s: %q (%d times), want %q", name, got, len(h[name]), want)
		}
	}
	for name, want := range map[string]netmail.Address{"From": l.From, "To": l.To, "Reply-To": l.ReplyTo} {
		got, err := h.AddressList(name)
		if err != nil || len(got) != 1 || *got[0] != want {
			t.Errorf("%s: %v, %v, want %v", name, got, err, want)
		}
	}
	for name := range h {
		if name == "Bcc" || name == "User-Agent" || name == "X-Mailer" || name == "Precedence" {
			t.Errorf("unwanted header %s: %s", name, h.Get(name))
		}
	}
	if len(parts) != 2 || parts[0].kind != "text/plain; charset=UTF-8" || parts[1].kind != "text/html; charset=UTF-8" {
		t.Fatalf("parts: %+v", parts)
	}
	// RFC 2046 5.1.4: plainest first. RFC 2045 6.7: text lines end in CRLF.
	if got := strings.ReplaceAll(string(parts[0].data), "\r\n", "\n"); got != l.Text {
		t.Errorf("text: %q", got)
	}
	if got := strings.ReplaceAll(string(parts[1].data), "\r\n", "\n"); got != l.HTML {
		t.Errorf("html: %q", got)
	}
}

// A second reader that shares no code with the first: Python's email package.
func TestComposeReadByPython(t *testing.T) {
	python := needTool(t, "python3")
	l := reminder()
	l.Attachments = []Attachment{{Name: "visit.ics", ContentType: "text/calendar; charset=utf-8", Data: []byte("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")}}
	cmd := exec.Command(python, "-c", `
import sys, json, email, email.policy
m = email.message_from_binary_file(sys.stdin.buffer, policy=email.policy.default)
defects = [str(d) for p in m.walk() for d in list(p.defects) + [x for v in p.values() for x in getattr(v, "defects", [])]]
out = {"subject": m["subject"], "to": m["to"].addresses[0].display_name, "addr": m["to"].addresses[0].addr_spec,
  "date": m["date"].datetime.isoformat(), "defects": defects, "kinds": [p.get_content_type() for p in m.walk()],
  "text": m.get_body(("plain",)).get_content(), "html": m.get_body(("html",)).get_content(),
  "files": [[a.get_filename(), a.get_content()] for a in m.iter_attachments()]}
json.dump(out, sys.stdout)
`)
	cmd.Stdin = bytes.NewReader(mustCompose(t, l))
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Subject, To, Addr, Date, Text, HTML string
		Defects, Kinds                      []string
		Files                               [][]string
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Defects) > 0 {
		t.Errorf("defects: %v", got.Defects)
	}
	kinds := []string{"multipart/mixed", "multipart/alternative", "text/plain", "text/html", "text/calendar"}
	if !slices.Equal(got.Kinds, kinds) {
		t.Errorf("structure %v, want %v", got.Kinds, kinds)
	}
	if got.Subject != l.Subject || got.To != l.To.Name || got.Addr != l.To.Address || got.Date != "2026-03-15T08:00:00+00:00" {
		t.Errorf("headers: %q %q %q %q", got.Subject, got.To, got.Addr, got.Date)
	}
	if got.Text != l.Text || got.HTML != l.HTML {
		t.Errorf("bodies:\n%q\n%q\n%q", got.Text, l.Text, got.HTML)
	}
	if len(got.Files) != 1 || got.Files[0][0] != "visit.ics" || strings.ReplaceAll(got.Files[0][1], "\r\n", "\n") != "BEGIN:VCALENDAR\nEND:VCALENDAR\n" {
		t.Errorf("files: %q", got.Files)
	}
}

func TestComposeSameLetterSameBytes(t *testing.T) {
	l := reminder()
	l.Attachments = []Attachment{
		{Name: "visit.ics", ContentType: "text/calendar", Data: []byte("a")},
		{Name: "note.txt", ContentType: "text/plain", Data: []byte("b")},
	}
	first := mustCompose(t, l)
	l.Date = l.Date.UTC()
	for range 20 { // header order once came from a map
		if !bytes.Equal(first, mustCompose(t, l)) {
			t.Fatal("same letter, other bytes")
		}
	}
	_, parts := parse(t, first)
	if len(parts) != 4 || string(parts[2].data) != "a" || string(parts[3].data) != "b" || parts[2].name != "visit.ics" {
		t.Errorf("parts: %+v", parts)
	}
}

func TestComposeRefuses(t *testing.T) {
	for field, spoil := range map[string][]func(*Letter){
		"MessageID": {
			func(l *Letter) { l.MessageID = "" },
			func(l *Letter) { l.MessageID = "<a@example.com>" },
			func(l *Letter) { l.MessageID = "a@example.com\r\nBcc: x@example.com" },
			func(l *Letter) { l.MessageID = strings.Repeat("a", 200) + "@example.com" },
		},
		"ThreadRoot": {func(l *Letter) { l.ThreadRoot = "no id" }},
		"From": {
			func(l *Letter) { l.From.Address = "" },
			func(l *Letter) { l.From.Address = "a@example.com, b@example.com" },
		},
		"ReplyTo": {func(l *Letter) { l.ReplyTo.Address = "nobody" }, func(l *Letter) { l.ReplyTo = netmail.Address{Name: "only a name"} }},
		"To": {
			func(l *Letter) { l.To.Address = "a@example.com\r\nBcc: x@example.com" },
			func(l *Letter) { l.To.Address = "a@example.com>,<b@example.com" },
			func(l *Letter) { l.To.Address = "A <a@example.com>" },
			func(l *Letter) { l.To.Address = strings.Repeat("a", 65) + "@example.com" },
		},
		"Subject": {func(l *Letter) { l.Subject = " \r\n " }},
		"Lang":    {func(l *Letter) { l.Lang = "" }, func(l *Letter) { l.Lang = "en\r\nX: y" }},
		"Text":    {func(l *Letter) { l.Text = "\n" }},
		"HTML":    {func(l *Letter) { l.HTML = "" }},
		"Date":    {func(l *Letter) { l.Date = time.Time{} }, func(l *Letter) { l.Date = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }},
		"Unsubscribe": {
			func(l *Letter) { l.Unsubscribe = &Unsubscribe{} },
			func(l *Letter) { l.Unsubscribe.URL = "http://vents.example.com/u" },
			func(l *Letter) { l.Unsubscribe.URL = "https://vents.example.com/u>\r\nBcc: x@example.com" },
			func(l *Letter) { l.Unsubscribe.Mailto = "mailto:" },
			func(l *Letter) { l.Unsubscribe.Mailto = "https://example.com/a@b" },
		},
		"Attachments": {
			func(l *Letter) { l.Attachments = []Attachment{{Name: "../x.ics", ContentType: "text/calendar"}} },
			func(l *Letter) { l.Attachments = []Attachment{{Name: "x.ics", ContentType: "multipart/mixed"}} },
			func(l *Letter) { l.Attachments = []Attachment{{Name: "x.ics", ContentType: "text/plain\r\nX: y"}} },
		},
	} {
		for i, f := range spoil {
			l := reminder()
			f(&l)
			if raw, err := Compose(l); err == nil || !strings.Contains(err.Error(), field) {
				t.Errorf("%s, case %d: error %v does not name the field\n%s", field, i, err, raw)
			}
		}
	}
}

// Display names and subjects are any text; what they cannot be is structure.
func TestComposeHostileWords(t *testing.T) {
	for _, tc := range []struct{ in, subject, name string }{
		{"Hi\r\nBcc: evil@example.com", "Hi Bcc: evil@example.com", "Hi Bcc: evil@example.com"},
		{"=?utf-8?q?Hi=0D=0ABcc:_x?=", "=?utf-8?q?Hi=0D=0ABcc:_x?=", ""}, // reads back as typed; no name rather than a decoded one
		{`Quote " and \ and, comma`, `Quote " and \ and, comma`, `Quote " and \ and, comma`},
		{"a\x00b\u202ec\u2028d", "a b c d", "a b c d"},
		{strings.Repeat("x", 3000), strings.Repeat("x", 3000), strings.Repeat("x", 70)},
		{"wide" + strings.Repeat(" ", 300) + "gap", "wide gap", "wide gap"},
		{"broken \xff\xfe bytes", "broken bytes", "broken bytes"},
		{strings.Repeat("漢", 500), strings.Repeat("漢", 500), strings.Repeat("漢", 70)},
	} {
		l := reminder()
		l.Subject, l.To.Name = tc.in, tc.in
		raw := mustCompose(t, l)
		checkWire(t, raw)
		h, _ := parse(t, raw)
		subject, err := new(mime.WordDecoder).DecodeHeader(h.Get("Subject"))
		if err != nil || subject != tc.subject {
			t.Errorf("subject %.40q: %.80q, %v", tc.in, subject, err)
		}
		to, err := h.AddressList("To")
		if err != nil || len(to) != 1 || to[0].Address != "zoe@example.org" || to[0].Name != tc.name {
			t.Errorf("name %.40q: %v, %v", tc.in, to, err)
		}
		if h.Get("Bcc") != "" {
			t.Errorf("%q made a header", tc.in)
		}
	}
}

func TestEnvelope(t *testing.T) {
	for _, tc := range []struct{ from, back, to, id, wantFrom, wantTo, wantErr string }{
		{from: "office@example.com", to: "zoe@example.org", id: "7f.3-x_1", wantFrom: "office+7f.3-x_1@example.com", wantTo: "zoe@example.org"},
		{from: "office@example.com", back: "bounce+all@example.net", to: "zoe@example.org", id: "7", wantFrom: "bounce+all+7@example.net", wantTo: "zoe@example.org"},
		{from: "office@example.com", to: "zoe@example.org", wantFrom: "office@example.com", wantTo: "zoe@example.org"},
		{from: "office@example.com", to: "zoe a@example.org", id: "7", wantErr: "To"},
		// Punycode of bücher.example: the example of RFC 3492 as used in RFC 5890 texts (xn--bcher-kva).
		{from: "office@bücher.example", to: "jörg@bücher.example", id: "7", wantFrom: "office+7@xn--bcher-kva.example", wantTo: "jörg@xn--bcher-kva.example"},
		{from: "office@example.com", to: "zoe@example.org", id: "7>", wantErr: "EnvelopeID"},
		{from: "office@example.com", to: "zoe@example.org", id: strings.Repeat("7", 60), wantErr: "EnvelopeID"},
		{from: "office@example.com", to: "zoe@example.org\r\nDATA", wantErr: "To"},
		{from: "office", to: "zoe@example.org", wantErr: "Return (or From)"},
	} {
		l := Letter{From: netmail.Address{Address: tc.from}, Return: tc.back, To: netmail.Address{Address: tc.to}, EnvelopeID: tc.id}
		env, err := l.Envelope()
		if tc.wantErr != "" {
			if err == nil || !strings.Contains(err.Error(), tc.wantErr) {
				t.Errorf("%+v: error %v", tc, err)
			}
			continue
		}
		if err != nil || env.From != tc.wantFrom || env.To != tc.wantTo {
			t.Errorf("%+v: %+v, %v", tc, env, err)
			continue
		}
		if id, ok := EnvelopeID(env.From); tc.id != "" && (!ok || id != tc.id) {
			t.Errorf("%s reads back as %q, %v", env.From, id, ok)
		}
	}
	if id, ok := EnvelopeID("office@example.com"); ok {
		t.Errorf("unmarked address gives %q", id)
	}
}
