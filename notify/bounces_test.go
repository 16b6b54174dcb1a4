package notify

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/mail"
	"ventdue/notify/mail/postfixtest"
	"ventdue/store"
	"ventdue/vent"
)

// tray is a way out that takes everything.
type tray struct{ jobs []mail.Job }

func (y *tray) Open(context.Context) (mail.Conn, error) { return y, nil }
func (y *tray) Close() error                            { return nil }

func (y *tray) Send(_ context.Context, job mail.Job) mail.Outcome {
	y.jobs = append(y.jobs, job)
	return mail.Outcome{Kind: mail.Accepted, Reason: "taken"}
}

// take empties it.
func (y *tray) take() []mail.Job {
	all := y.jobs
	y.jobs = nil
	return all
}

// marked is an outbox whose messages can be told apart when they come back.
func marked(s *scene.Scene, c mail.Carrier) (Outbox, desk.ReturnMarks) {
	s.TB.Helper()
	o := post(s, c)
	marks, err := s.Desk.ReturnMarks(s.By())
	if err != nil {
		s.TB.Fatal(err)
	}
	o.Sender.Returns = marks
	return o, marks
}

// dsn is a report as RFC 3464 section 2 has it.
func dsn(returnPath, recipient, action, status string) string {
	return fmt.Sprintf("From: MAILER-DAEMON@mx.example.org\nTo: <%s>\nContent-Type: multipart/report; report-type=delivery-status; boundary=x\n\n"+
		"--x\nContent-Type: message/delivery-status\n\nReporting-MTA: dns; mx.example.org\n\nFinal-Recipient: rfc822; %s\nAction: %s\nStatus: %s\n"+
		"Diagnostic-Code: smtp; 550 %s the server's words\n\n--x--\n", returnPath, recipient, action, status, status)
}

func arf(returnPath, recipient string) string {
	return fmt.Sprintf("From: fbl@example.org\nTo: abuse@larkspur.example.com\nContent-Type: multipart/report; report-type=feedback-report; boundary=x\n\n"+
		"--x\nContent-Type: message/feedback-report\n\nFeedback-Type: abuse\nVersion: 1\nOriginal-Mail-From: <%s>\n%s\n--x--\n", returnPath, recipient)
}

func (y *tray) to(t *testing.T, address string) mail.Job {
	t.Helper()
	for _, j := range y.jobs {
		if j.To == address {
			return j
		}
	}
	t.Fatalf("nothing went to %s", address)
	return mail.Job{}
}

// What came back, true and forged: only a report that carries the signed mark, or the Message-ID with the address, counts; only
// one about the address itself ends mail to it.
func TestReturns(t *testing.T) {
	s := scene.Start(t, noon)
	alwaysOpen(s)
	y := &tray{}
	o, marks := marked(s, y)
	persons := neighbours(s, 12, "p%d@example.com")
	if _, err := work(s, o); err != nil {
		t.Fatal(err)
	}
	from := func(i int) string { return y.to(t, fmt.Sprintf("p%d@example.com", i)).From }
	mailID := func(i int) string {
		return scene.Get(s, store.Messages, messageOf(t, s, persons[fmt.Sprintf("p%d@example.com", i)])).MailID
	}
	unsigned := messageOf(t, s, persons["p5@example.com"]).String()
	forged := []byte(from(6))
	if at := strings.IndexByte(from(6), '@') - 2; forged[at] == 'a' {
		forged[at] = 'b'
	} else {
		forged[at] = 'a'
	}
	withID := func(report, id string) string {
		return strings.Replace(report, "--x--", "--x\nContent-Type: text/rfc822-headers\n\nMessage-ID: <"+id+">\n\n--x--", 1)
	}
	for i, c := range []struct {
		what, mail     string
		kind           vent.ReturnKind // "": nothing is taken
		dead, unwanted bool
	}{
		{"no such mailbox", dsn(from(0), "p0@example.com", "failed", "5.1.1"), vent.ReturnedBounce, true, false},
		{"refused for its content", dsn(from(1), "p1@example.com", "failed", "5.7.1"), vent.ReturnedBounce, false, false},
		{"still tried", dsn(from(2), "p2@example.com", "delayed", "4.4.1"), vent.ReturnedDelay, false, false},
		{"complaint", arf(from(3), ""), vent.ReturnedComplaint, false, true},
		{"complaint that names the address", arf(from(4), "Original-Rcpt-To: <P4@example.com>\n"), vent.ReturnedComplaint, false, true},
		{"mark without a code", dsn("office+"+unsigned+"@larkspur.example.com", "p5@example.com", "failed", "5.1.1"), "", false, false},
		{"mark with another code", dsn(string(forged), "p6@example.com", "failed", "5.1.1"), "", false, false},
		{"forwarded to another address", dsn(from(7), "else@example.net", "failed", "5.1.1"), vent.ReturnedBounce, false, false},
		{"no mark, its Message-ID", withID(dsn("office@larkspur.example.com", "p8@example.com", "failed", "5.1.1"), mailID(8)), vent.ReturnedBounce, true, false},
		{"no mark, another's Message-ID", withID(dsn("office@larkspur.example.com", "p9@example.com", "failed", "5.1.1"), mailID(10)), "", false, false},
		{"no mark, no Message-ID", dsn("office@larkspur.example.com", "p10@example.com", "failed", "5.1.1"), "", false, false},
		{"capitals kept nowhere", dsn(strings.ToUpper(from(11)), "P11@EXAMPLE.COM", "failed", "5.1.10"), vent.ReturnedBounce, true, false},
	} {
		id := persons[fmt.Sprintf("p%d@example.com", i)]
		for again := range 2 {
			taken, err := TakeReport(s.Desk, s.By(), marks, strings.NewReader(c.mail))
			if c.kind == "" {
				if !errors.Is(err, vent.ErrNotFound) {
					t.Errorf("%s: %+v, %v", c.what, taken, err)
				}
			} else if err != nil || len(taken) != 1 || taken[0].Kind != c.kind || taken[0].Person != id || taken[0].Known != (again == 1) {
				t.Errorf("%s: %+v, %v", c.what, taken, err)
			}
		}
		p, m := scene.Get(s, store.Persons, id), scene.Get(s, store.Messages, messageOf(t, s, id))
		if (p.Undeliverable != "") != c.dead || p.Wants(vent.PurposeDues) == c.unwanted {
			t.Errorf("%s: %+v", c.what, p)
		}
		if failed := c.kind == vent.ReturnedBounce && i != 7; m.ReturnKind != c.kind || (m.State == vent.MessageFailed) != failed || !failed && m.State != vent.MessageAccepted {
			t.Errorf("%s: %s, %q: %s", c.what, m.State, m.ReturnKind, m.Answer)
		}
	}
	if _, err := TakeReport(s.Desk, s.By(), marks, strings.NewReader("From: a@example.org\n\nThank you!\n")); !NoReport(err) {
		t.Errorf("an answer: %v", err)
	}
}

func messageOf(t *testing.T, s *scene.Scene, person vent.ID) (id vent.ID) {
	t.Helper()
	s.View(func(tx *store.Tx) error {
		all, err := store.Collect(store.MessagesTo(tx, person))
		if err != nil || len(all) == 0 {
			return fmt.Errorf("messages to %s: %d, %w", person, len(all), err)
		}
		id = all[0].ID
		return nil
	})
	return id
}

// After a bounce nothing goes to the address; a new one makes the same thing be told again, there.
func TestANewAddressIsToldWhatCameBack(t *testing.T) {
	s := scene.Start(t, noon)
	alwaysOpen(s)
	y := &tray{}
	o, marks := marked(s, y)
	id := s.Person("Ida", "old@example.com")
	s.Due(s.House("Ida", "America/New_York", id), march2.AddDays(20))
	again := func(days int) int {
		s.Now = s.Now.AddDate(0, 0, days)
		if _, err := work(s, o); err != nil {
			t.Fatal(err)
		}
		return len(y.jobs)
	}
	if again(0) != 1 {
		t.Fatal("nothing was told")
	}
	if _, err := TakeReport(s.Desk, s.By(), marks, strings.NewReader(dsn(y.jobs[0].From, "old@example.com", "failed", "5.1.1"))); err != nil {
		t.Fatal(err)
	}
	if again(1) != 1 {
		t.Error("a dead address was mailed")
	}
	scene.Change(s, store.Persons, id, func(p *vent.Person) { p.Email, p.Undeliverable = "new@example.com", "" })
	if again(1) != 2 || y.jobs[1].To != "new@example.com" {
		t.Errorf("the new address: %d messages", len(y.jobs))
	}
	if again(1) != 2 {
		t.Error("told twice")
	}
}

// A Maildir as a mail server fills it, looked through twice: reports are read, what a person should read stays unread.
func TestTakeMaildir(t *testing.T) {
	s := scene.Start(t, noon)
	y := &tray{}
	o, marks := marked(s, y)
	neighbours(s, 3, "p%d@example.com")
	alwaysOpen(s)
	if _, err := work(s, o); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, sub := range []string{"new", "tmp", "new/folder"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink("/etc/passwd", filepath.Join(dir, "new", "link")); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"1.bounce": dsn(y.to(t, "p0@example.com").From, "p0@example.com", "failed", "5.1.1"), "2.delay:2,": dsn(y.to(t, "p1@example.com").From, "p1@example.com", "delayed", "4.2.1"),
		"3.foreign": dsn("office+x@larkspur.example.com", "p2@example.com", "failed", "5.1.1"), "4.answer": "From: p2@example.com\n\nThanks, next week is fine.\n", "5.junk": "\x00\x01",
	} {
		if err := os.WriteFile(filepath.Join(dir, "new", name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for pass, want := range []BounceTally{{Taken: 2, Foreign: 1, Unclear: 2}, {}} {
		got, err := TakeMaildir(context.Background(), s.Desk, s.By, marks, dir)
		if err != nil || got != want {
			t.Errorf("pass %d: %+v, %v", pass+1, got, err)
		}
	}
	var names []string
	entries, err := os.ReadDir(filepath.Join(dir, "cur"))
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if got := strings.Join(names, " "); err != nil || got != "1.bounce:2,S 2.delay:2,S 3.foreign:2,S 4.answer:2, 5.junk:2," {
		t.Errorf("looked through: %s, %v", got, err)
	}
	if _, err := TakeMaildir(context.Background(), s.Desk, s.By, marks, filepath.Join(dir, "no")); err == nil {
		t.Error("a folder that is not there")
	}
}

// A real mail server takes a message, finds later that the mailbox is gone, and writes the report: another program's words,
// back at our own return path, end mail to that address.
func TestARealBounce(t *testing.T) {
	server := postfixtest.Start(t)
	s := scene.Start(t, noon)
	alwaysOpen(s)
	o, marks := marked(s, mail.SMTP{Addr: server.Addr, RootCAs: server.Authority.Pool(), HelloName: "vents.example.com"})
	o.Sender.Return = "office@example.com"
	id := s.Person("Ida", "removed-ida@example.org")
	s.Due(s.House("Ida", "America/New_York", id), march2.AddDays(20))
	if _, err := work(s, o); err != nil {
		t.Fatalf("%v\n%s", err, server.Log())
	}
	if m := scene.Get(s, store.Messages, messageOf(t, s, id)); m.State != vent.MessageAccepted {
		t.Fatalf("%s: %s", m.State, m.Answer)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	got, err := server.Wait(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	taken, err := TakeReport(s.Desk, s.By(), marks, strings.NewReader(string(got[0])))
	if err != nil || len(taken) != 1 || !taken[0].Ended {
		t.Fatalf("%+v, %v\n%s", taken, err, got[0])
	}
	if p := scene.Get(s, store.Persons, id); !strings.Contains(p.Undeliverable, "unknown user") {
		t.Errorf("believed dead: %q", p.Undeliverable)
	}
}

// What came back, and what a person chose, is in an export, and gone when the person is erased.
func TestErasureTakesWhatCameBack(t *testing.T) {
	s := scene.Start(t, noon)
	alwaysOpen(s)
	y := &tray{}
	o, marks := marked(s, y)
	neighbours(s, 1, "p%d@example.com")
	if _, err := work(s, o); err != nil {
		t.Fatal(err)
	}
	report := strings.Replace(dsn(y.jobs[0].From, "p0@example.com", "failed", "5.1.1"), "the server's words", "no mailbox <p0@example.com> here", 1)
	if _, err := TakeReport(s.Desk, s.By(), marks, strings.NewReader(report)); err != nil {
		t.Fatal(err)
	}
	links, err := s.Desk.ChoiceLinks(s.By())
	if err != nil {
		t.Fatal(err)
	}
	var person vent.Person
	s.View(func(tx *store.Tx) (err error) {
		for person, err = range store.PersonsByMail(tx, "p0@example.com") {
			break
		}
		return err
	})
	if err := s.Desk.Unsubscribe(s.By(), links, strings.TrimPrefix(links.Path(person, march2), "/m/"), desk.SaidOneClick); err != nil {
		t.Fatal(err)
	}
	export := func() string {
		var b strings.Builder
		if err := s.Desk.Export(&b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	told := []string{"p0@example.com", "no mailbox", "one-click", `"return_kind":"bounced"`}
	for _, word := range told {
		if !strings.Contains(export(), word) {
			t.Errorf("the export does not hold %q", word)
		}
	}
	if _, err := s.Desk.Erase(s.By(), "p0@example.com"); err != nil {
		t.Fatal(err)
	}
	left := export()
	for _, word := range told[:3] {
		if i := strings.Index(left, word); i >= 0 {
			t.Errorf("%q is left: %s", word, left[max(0, i-150):i+50])
		}
	}
}
