package notify

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	netmail "net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ventdue/desk"
	"ventdue/internal/outside"
	"ventdue/vent"
)

// larkspur sends the reminders of the tests. People, streets and firms are invented.
var larkspur = Sender{
	From:    netmail.Address{Name: "Larkspur Vent Care", Address: "office@larkspur.example.com"},
	ReplyTo: netmail.Address{Name: "Larkspur office", Address: "answers@larkspur.example.com"},
	Pages:   "https://vents.example.com",
}

// aReminder is a reminder on 2 March 2026 of the things given.
func aReminder(items ...desk.ReminderItem) desk.Reminder {
	return desk.Reminder{
		Message:  vent.Message{ID: vent.ID{0: 0x01, 6: 0x70, 8: 0x80, 15: 1}},
		Person:   vent.Person{Name: "Ida Lund", Email: "ida@example.org"},
		Operator: vent.Operator{Kind: vent.Customers, Name: "Larkspur Vent Care", Phone: "555-0100", Units: vent.US, Zone: "America/New_York"},
		Written:  vent.InstantOf(noon), Today: march2, Items: items,
	}
}

// item is a cleaning of the n-th flat, some days from the day of the reminder.
func item(n int, days int, edit ...func(*desk.ReminderItem)) desk.ReminderItem {
	day := march2.AddDays(days)
	it := desk.ReminderItem{Step: "7_days", Dryer: vent.Appliance{Fuel: vent.Electric}, DueView: desk.DueView{
		Due: vent.Due{ID: vent.ID{1, 15: byte(n)}, State: vent.DueOpen, Wanted: vent.Wanted{
			Kind: vent.DueClean, Day: day, Earliest: day.AddDays(-60), Latest: day.AddDays(30),
			Reason: vent.Reason{Bound: vent.BoundNoEvidence, Months: 12, Since: day.AddMonths(-12), Limit: vent.LimitFlow, Risk: 0.1,
				Chance: 0.08, LoadsPerWeek: 5.44, LoadsFrom: vent.UseDefault, Readings: 1, LastFlow: 0.82, LastFlowOn: day.AddMonths(-5)}}},
		Place: desk.Place{Run: vent.Run{ID: vent.ID{2, 15: byte(n)}, Name: fmt.Sprintf("flat %d", n)}, Unit: vent.Unit{Name: fmt.Sprintf("flat %d", n)},
			Site: vent.Site{Name: "Maple House", Address: "12 Maple Road, Northfield", Zone: "America/New_York"}, Customer: vent.Customer{Name: "Lund"}},
	}}
	for _, e := range edit {
		e(&it)
	}
	return it
}

func gas(it *desk.ReminderItem) { it.Dryer.Fuel = vent.Gas }

func neverCleaned(it *desk.ReminderItem) {
	it.Due.Unknown = true
	it.Due.Reason = vent.Reason{Bound: vent.BoundUnknown, Since: march2, Chance: 0.4, Worst: 0.7, NoGeometry: true}
}

func burning(it *desk.ReminderItem) {
	it.Due.Kind, it.Due.Severity = vent.DueSign, vent.Stop
	it.Due.Reason = vent.Reason{Bound: vent.BoundCorrective, Rule: "burning_smell"}
}

func hostile(it *desk.ReminderItem) {
	const bad = "Maple\r\nBcc: all@example.com\r\n\r\n<script>alert(1)</script> \"{what}\" =?utf-8?q?=0D=0AX:_y?= \u2028 Ünïcode 👩‍👩‍👧"
	it.Site.Name, it.Site.Address, it.Unit.Name, it.Run.Name = bad, bad+" street", "3B <b>", "3B <b>"
}

func many(n int) (items []desk.ReminderItem) {
	for i := range n {
		items = append(items, item(i+1, i/5))
	}
	return items
}

// The reminders that are kept as golden files, to be read by people too.
func reminders() map[string]desk.Reminder {
	landlord := aReminder(item(1, 7), item(2, 0, neverCleaned), item(3, -20, gas))
	landlord.Operator.Kind, landlord.Operator.Name = vent.Buildings, "Ash Row Flats"
	home := aReminder(item(1, 7))
	home.Operator.Kind, home.Operator.Name, home.Operator.Phone = vent.Household, "Home", ""
	bad := aReminder(item(1, 7, hostile), item(2, 8))
	bad.Person.Name = "Ida\r\nBcc: all@example.com <x@example.com>"
	bad.Operator.Name = "Vents & \"Sons\" <b>"
	return map[string]desk.Reminder{
		"coming": aReminder(item(1, 7)), "month_ahead": aReminder(item(1, 30)), "today": aReminder(item(1, 0)), "late": aReminder(item(1, -14)),
		"unknown": aReminder(item(1, 0, neverCleaned)), "gas": aReminder(item(1, 7, gas)), "stop": aReminder(item(1, 0, burning), item(2, -3)),
		"several": landlord, "household": home, "hostile": bad, "many": aReminder(many(140)...),
	}
}

func composed(t testing.TB, s Sender, r desk.Reminder) desk.Letter {
	t.Helper()
	l, err := s.Compose(r)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestGoldenReminders(t *testing.T) {
	for name, r := range reminders() {
		t.Run(name, func(t *testing.T) {
			raw := composed(t, larkspur, r).Raw
			if again := composed(t, larkspur, r).Raw; !bytes.Equal(again, raw) {
				t.Error("written twice, the bytes differ")
			}
			path := filepath.Join("testdata", "mail", name+".eml")
			if *update {
				if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(path, raw, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatalf("%v; -update writes it", err)
			}
			if !bytes.Equal(raw, want) {
				t.Errorf("differs from %s; -update rewrites it\n%s", path, raw)
			}
		})
	}
}

// readMail is a mail as a library understood it.
type readMail struct {
	Header     map[string][]string
	Text, HTML string
	Calendar   string // of the file visit.ics
}

// readGo reads a mail with the standard library.
func readGo(t testing.TB, raw []byte) (m readMail) {
	t.Helper()
	msg, err := netmail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	m.Header = map[string][]string{}
	words := new(mime.WordDecoder)
	for name, values := range msg.Header {
		for _, v := range values {
			plain, err := words.DecodeHeader(v)
			if err != nil {
				t.Fatal(err)
			}
			m.Header[strings.ToLower(name)] = append(m.Header[strings.ToLower(name)], plain)
		}
	}
	kind, params, err := mime.ParseMediaType(msg.Header.Get("Content-Type"))
	if err != nil {
		t.Fatal(err)
	}
	m.parts(t, kind, params["boundary"], msg.Body)
	return m
}

// parts reads a multipart, whatever lies in it.
func (m *readMail) parts(t testing.TB, kind, boundary string, body io.Reader) {
	t.Helper()
	if kind != "multipart/alternative" && kind != "multipart/mixed" {
		t.Fatalf("a mail of %s", kind)
	}
	for parts := multipart.NewReader(body, boundary); ; {
		part, err := parts.NextRawPart()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		kind, params, err := mime.ParseMediaType(part.Header.Get("Content-Type"))
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case strings.HasPrefix(kind, "multipart/"):
			m.parts(t, kind, params["boundary"], part)
		case kind == "text/calendar":
			m.Calendar = string(readAll(t, base64.NewDecoder(base64.StdEncoding, part)))
		default:
			text := strings.ReplaceAll(string(readAll(t, quotedprintable.NewReader(part))), "\r\n", "\n")
			if kind == "text/html" {
				m.HTML = text
			} else {
				m.Text = text
			}
		}
	}
}

const pythonMail = `
import email, email.policy, json, sys
m = email.message_from_bytes(sys.stdin.buffer.read(), policy=email.policy.default)
defects = [str(d) for p in m.walk() for d in p.defects] + [str(d) for v in m.values() for d in v.defects]
header = {}
for k, v in m.items(): header.setdefault(k.lower(), []).append(str(v))
text, html = (m.get_body([k]).get_content().replace("\r\n", "\n") for k in ("plain", "html"))
json.dump({"Header": header, "Text": text, "HTML": html, "Defects": defects}, sys.stdout)
`

// readPython reads a mail with Python's email package, which names defects.
func readPython(t testing.TB, raw []byte) (m readMail) {
	t.Helper()
	cmd := exec.Command(outside.Need(t, "python3"), "-c", pythonMail)
	cmd.Stdin = bytes.NewReader(raw)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var read struct {
		readMail
		Defects []string
	}
	if err := json.Unmarshal(out, &read); err != nil {
		t.Fatal(err)
	}
	if len(read.Defects) > 0 {
		t.Errorf("defects: %q", read.Defects)
	}
	return read.readMail
}

// Two libraries written by others read the same in every reminder, and what they read is what the standards ask for.
func TestRemindersReadBack(t *testing.T) {
	for name, r := range reminders() {
		t.Run(name, func(t *testing.T) {
			l := composed(t, larkspur, r)
			a, b := readGo(t, l.Raw), readPython(t, l.Raw)
			if a.Text != b.Text || a.HTML != b.HTML {
				t.Errorf("the two read different texts:\n%q\n%q", a.Text, b.Text)
			}
			if x, y := a.Header["subject"], b.Header["subject"]; !slices.Equal(x, y) {
				t.Errorf("the two read different subjects:\n%q\n%q", x, y)
			}
			checkHeader(t, a.Header, l)
			checkLines(t, l.Raw)
			sameInHTML(t, a.Text, a.HTML)
		})
	}
}

// checkHeader wants the fields of RFC 5322 section 3.6 once each, those of RFC 3834 section 5, and nothing that a name
// brought in.
func checkHeader(t *testing.T, h map[string][]string, l desk.Letter) {
	t.Helper()
	known := []string{"auto-submitted", "content-language", "content-type", "date", "from", "in-reply-to", "message-id", "mime-version", "references",
		"reply-to", "subject", "to", "x-auto-response-suppress"}
	for name, values := range h {
		if len(values) != 1 || !slices.Contains(known, name) {
			t.Errorf("%s: %q", name, values)
		}
	}
	for name, want := range map[string]string{"auto-submitted": "auto-generated", "date": "Mon, 02 Mar 2026 17:00:00 +0000", "content-language": "en",
		"from": `"Larkspur Vent Care" <office@larkspur.example.com>`, "reply-to": `"Larkspur office" <answers@larkspur.example.com>`,
		"message-id": "<" + l.MailID + ">"} {
		if got := strings.Join(h[name], "|"); got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
	if want := l.Thread; want != "" && h["references"][0] != "<"+want+">" {
		t.Errorf("references %q, want %q", h["references"], want)
	}
	to, err := netmail.ParseAddressList(h["to"][0])
	if err != nil || len(to) != 1 || to[0].Address != "ida@example.org" {
		t.Errorf("to %q: %v, %v", h["to"], to, err)
	}
}

// checkLines wants every line to end in CRLF and to hold at most 998 octets of ASCII (RFC 5322 section 2.1.1).
func checkLines(t *testing.T, raw []byte) {
	t.Helper()
	for line := range bytes.SplitSeq(bytes.TrimSuffix(raw, []byte("\r\n")), []byte("\r\n")) {
		if len(line) > 998 || bytes.ContainsAny(line, "\r\n\x00") || bytes.ContainsFunc(line, func(r rune) bool { return r > 126 }) {
			t.Errorf("line %q", line)
		}
	}
}

// sameInHTML wants the text's words to be the HTML's, in the same order.
func sameInHTML(t *testing.T, text, source string) {
	t.Helper()
	root, err := html.Parse(strings.NewReader(source))
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	for n := range root.Descendants() {
		switch {
		case n.Type == html.TextNode && n.Parent.Data != "title":
			words = append(words, strings.Fields(n.Data)...)
		case n.Type == html.ElementNode && (n.Data == "script" || n.Data == "img" || n.Data == "link" || n.Data == "form"):
			t.Errorf("a <%s>", n.Data)
		}
	}
	// Bullets, the mark before the small print and the address of the button are the text's own.
	own := regexp.MustCompile(`(?m)^- |^-- $|:\nhttps://\S+$`)
	if got := strings.Fields(own.ReplaceAllString(text, "")); !slices.Equal(got, words) {
		t.Errorf("text %q\nHTML %q", got, words)
	}
}

// The action and the date come first, in the subject and on top: whoever reads no further knows what to do when. The days
// are worked out by hand: 2 March 2026 was a Monday.
func TestActionAndDateComeFirst(t *testing.T) {
	all := reminders()
	for name, want := range map[string]struct{ subject, top string }{
		"coming":      {"Clean the dryer vent by Mon 9 March 2026: Maple House, flat 1", "Clean the dryer vent\nBy Mon 9 March 2026, in 7 days\n"},
		"month_ahead": {"Clean the dryer vent by Wed 1 April 2026: Maple House, flat 1", "Clean the dryer vent\nBy Wed 1 April 2026, in 30 days\n"},
		"today":       {"Clean the dryer vent today, Mon 2 March 2026: Maple House, flat 1", "Clean the dryer vent\nToday, Mon 2 March 2026\n"},
		"late":        {"Clean the dryer vent, was due Mon 16 February 2026: Maple House, flat 1", "Clean the dryer vent\nWas due Mon 16 February 2026, 14 days overdue\n"},
		"unknown":     {"Clean the dryer vent now, last cleaning not known: Maple House, flat 1", "Clean the dryer vent\nNow: nobody knows when it was last cleaned\n"},
		"stop":        {"STOP USING THE DRYER: Maple House, flat 1 and 1 more", "STOP USING THE DRYER\nMaple House, flat 1: do not use it until somebody has looked at it\n"},
		"several":     {"Clean the dryer vent, was due Tue 10 February 2026: Maple House, flat 3 and 2 more", "3 dryer vent jobs are due\nThe first: Tue 10 February 2026, 20 days overdue\n"},
	} {
		m := readGo(t, composed(t, larkspur, all[name]).Raw)
		if got := m.Header["subject"][0]; got != want.subject {
			t.Errorf("%s: subject %q\nwant %q", name, got, want.subject)
		}
		if !strings.HasPrefix(m.Text, want.top) {
			t.Errorf("%s: on top %.120q\nwant %q", name, m.Text, want.top)
		}
	}
}

// Cautions stand where they are needed: those of gas where a dryer burns gas or nobody knows.
func TestCautions(t *testing.T) {
	text := func(items ...desk.ReminderItem) string {
		return readGo(t, composed(t, larkspur, aReminder(items...)).Raw).Text
	}
	for name, c := range map[string]struct {
		text string
		gas  bool
	}{
		"electric": {text(item(1, 7)), false}, "gas": {text(item(1, 7, gas)), true}, "one of two": {text(item(1, 7), item(2, 8, gas)), true},
		"not known": {text(item(1, 7, func(it *desk.ReminderItem) { it.Dryer = vent.Appliance{} })), true},
	} {
		for _, always := range []string{"smells of burning", "breaker", "Local codes"} {
			if !strings.Contains(c.text, always) {
				t.Errorf("%s: %q is missing", name, always)
			}
		}
		if got := strings.Contains(c.text, "carbon monoxide") && strings.Contains(c.text, "licensed people"); got != c.gas {
			t.Errorf("%s: cautions of gas: %v", name, got)
		}
	}
}

// The button leads to the pages, for those who have them.
func TestButtonIsForWhoHasPages(t *testing.T) {
	all := reminders()
	for name, want := range map[string]bool{"coming": false, "several": true, "household": true} {
		if got := strings.Contains(string(composed(t, larkspur, all[name]).Raw), "vents.example.com/run"); got != want {
			t.Errorf("%s: a link: %v", name, got)
		}
	}
}

// The Message-ID is the message's while it says the same, and new when a day in it moves or something is taken out.
func TestMessageID(t *testing.T) {
	base := aReminder(item(1, 7), item(2, 8))
	id := composed(t, larkspur, base).MailID
	later := base
	later.Written, later.Today = base.Written+86400, base.Today+1
	if got := composed(t, larkspur, later).MailID; got != id {
		t.Errorf("tried a day later: %s, was %s", got, id)
	}
	other := base
	other.Message.ID = vent.ID{7}
	for name, r := range map[string]desk.Reminder{"another message": other, "one taken out": aReminder(item(1, 7)), "one moved": aReminder(item(1, 7), item(2, 9))} {
		if got := composed(t, larkspur, r).MailID; got == id {
			t.Errorf("%s: the same Message-ID", name)
		}
	}
	a, b := composed(t, larkspur, aReminder(item(1, 30))), composed(t, larkspur, aReminder(item(1, 7)))
	if a.Thread == "" || a.Thread != b.Thread {
		t.Errorf("two mails about one due: threads %q and %q", a.Thread, b.Thread)
	}
}

func TestSenderCheck(t *testing.T) {
	if err := larkspur.Check(); err != nil {
		t.Error(err)
	}
	long := strings.Repeat("office", 6) + "@example.com" // no room for a message's id in 64 octets
	for name, s := range map[string]Sender{"no address": {}, "two addresses": {From: netmail.Address{Address: "a@example.com, b@example.com"}},
		"too long": {From: netmail.Address{Address: long}}, "bad pages": {From: larkspur.From, Pages: "vents"}} {
		if name != "bad pages" && s.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if err := (Sender{From: netmail.Address{Address: long}, OneReturn: true}).Check(); err != nil {
		t.Error(err)
	}
}
