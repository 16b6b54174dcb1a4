package notify

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	netmail "net/mail"
	"strings"
	"testing"
	"time"

	"ventdue/internal/scene"
	"ventdue/notify/mail"
	"ventdue/notify/mail/postfixtest"
	"ventdue/notify/mail/smtptest"
	"ventdue/store"
	"ventdue/vent"
)

// post is the outbox of a scene over a carrier.
func post(s *scene.Scene, c mail.Carrier) Outbox {
	return Outbox{Desk: s.Desk, Carrier: c, Sender: larkspur, Now: s.Clock, Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Actor: "clock"}
}

// work decides and delivers once, as the clock does, and gives when to come again.
func work(s *scene.Scene, o Outbox) (next time.Time, err error) {
	s.TB.Helper()
	tell, err := s.Desk.Tell(s.TB.Context(), s.By())
	if err != nil {
		s.TB.Fatal(err)
	}
	next, err = o.Deliver(s.TB.Context(), s.Now)
	if next.IsZero() || !tell.IsZero() && tell.Before(next) {
		next = tell
	}
	return next, err
}

// alwaysOpen lets mail go at any hour, so that a test's hours can pass without waiting for the morning.
func alwaysOpen(s *scene.Scene) {
	p := s.Desk.Policy()
	p.Cadence.Opens, p.Cadence.Shuts = 0, 24*60
	s.Desk.SetPolicy(p)
}

// neighbours adds n persons with a house each and one due three weeks ahead.
func neighbours(s *scene.Scene, n int, address string) (ids map[string]vent.ID) {
	ids = map[string]vent.ID{}
	for i := range n {
		mail := fmt.Sprintf(address, i)
		id := s.Person(fmt.Sprintf("Person %d", i), mail)
		s.Due(s.House(fmt.Sprintf("House %d", i), "America/New_York", id), march2.AddDays(20))
		ids[mail] = id
	}
	return ids
}

// arrivals groups what a server took by recipient.
func arrivals(messages []smtptest.Message) map[string][]smtptest.Message {
	all := map[string][]smtptest.Message{}
	for _, m := range messages {
		all[m.To] = append(all[m.To], m)
	}
	return all
}

// copies counts the messages beyond one for each recipient, and wants them to be the same message.
func copies(t *testing.T, all map[string][]smtptest.Message) (n int) {
	t.Helper()
	for to, got := range all {
		for _, m := range got[1:] {
			n++
			if m.ID != got[0].ID || !bytes.Equal(m.Raw, got[0].Raw) {
				t.Errorf("%s got two different messages, %s and %s", to, got[0].ID, m.ID)
			}
		}
	}
	return n
}

func TestOutboxSendsEachOnce(t *testing.T) {
	s := scene.Start(t, noon)
	server := smtptest.Start(t, smtptest.Options{OfferTLS: true, RequireTLS: true, User: "vents", Pass: "s3cret"})
	neighbours(s, 60, "p%d@example.com")
	o := post(s, mail.SMTP{Addr: server.Addr(), RootCAs: server.Authority.Pool(), Username: "vents", Password: "s3cret"})
	for range 3 {
		if _, err := work(s, o); err != nil {
			t.Fatal(err)
		}
	}
	all := arrivals(server.Messages())
	if len(all) != 60 || copies(t, all) != 0 {
		t.Errorf("%d recipients, %d messages", len(all), len(server.Messages()))
	}
	for to, got := range all {
		id, ok := mail.EnvelopeID(got[0].From)
		message, err := vent.ParseID(id)
		if !ok || err != nil {
			t.Fatalf("envelope sender %q: %v", got[0].From, err)
		}
		row := scene.Get(s, store.Messages, message) // a bounce finds its row
		if row.To != to || row.State != vent.MessageAccepted || row.MailID != got[0].ID || row.Raw != nil {
			t.Errorf("%s: %+v", to, row)
		}
	}
}

// A server that does everything wrong, in a random order from a stated seed: every reachable person gets the message,
// copies come only from lost answers, and no refused address is tried again.
func TestOutboxAgainstAFaultyServer(t *testing.T) {
	s := scene.Start(t, noon)
	alwaysOpen(s)
	server := smtptest.Start(t, smtptest.Options{})
	const n, seed = 300, 7
	neighbours(s, n, "p%d@example.com")
	lost := faults(server, rand.New(rand.NewPCG(seed, seed)), n)
	for i := range n / 30 {
		server.Inject(smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no such mailbox").For(fmt.Sprintf("p%d@example.com", 30*i)))
	}
	o := post(s, mail.SMTP{Addr: server.Addr(), Security: mail.Plain, CommandTimeout: time.Minute, FinalTimeout: 200 * time.Millisecond})
	runs := 0
	for at := s.Now; !at.IsZero() && at.Before(noon.AddDate(0, 0, 4)) && runs < 2000; runs++ {
		s.Now = at
		next, err := work(s, o)
		if err != nil || !next.After(at) { // stopped by trouble of our own, or not through yet
			next = at.Add(10 * time.Minute)
		}
		at = next
	}
	all := arrivals(server.Messages())
	got := copies(t, all)
	t.Logf("%d persons, %d runs, %d connections: %d got the message, %d copies of %d lost answers", n, runs, server.Connections(), len(all), got, lost)
	if len(all) != n-n/30 || got > lost {
		t.Errorf("%d of %d got the message, %d copies", len(all), n-n/30, got)
	}
	s.View(func(tx *store.Tx) error {
		unsettled, err := store.CountMessagesWaiting(tx)
		if unsettled != 0 || err != nil {
			t.Errorf("%d messages still wait, %v", unsettled, err)
		}
		for i := range n {
			for p, err := range store.PersonsByMail(tx, fmt.Sprintf("p%d@example.com", i)) {
				if err != nil || (p.Undeliverable != "") != (i%30 == 0) {
					t.Errorf("%s: %q, %v", p.Email, p.Undeliverable, err)
				}
			}
		}
		return nil
	})
}

// faults gives the server many faults that strike once each, and counts those after which nobody knows.
func faults(server *smtptest.Server, rng *rand.Rand, n int) (lost int) {
	later := []smtptest.Fault{
		smtptest.Refuse(), smtptest.SayGoodbye(smtptest.Hello), smtptest.SayGoodbye(smtptest.Mail), smtptest.SayGoodbye(smtptest.Data),
		smtptest.Answer(smtptest.Mail, "452 4.3.1 full"), smtptest.Answer(smtptest.Rcpt, "451 4.7.1 grey"), smtptest.Answer(smtptest.Data, "451 4.3.0 later"),
		smtptest.Answer(smtptest.Dot, "451 4.3.0 later"), smtptest.SayGoodbye(smtptest.Dot), smtptest.DropBeforeDot(),
	}
	unknown := []smtptest.Fault{smtptest.DropAfterDot(), {At: smtptest.Dot, Keep: true, Hang: true}}
	for range n / 3 {
		server.Inject(later[rng.IntN(len(later))].After(rng.IntN(4)).Once())
	}
	for range n / 20 {
		lost++
		server.Inject(unknown[rng.IntN(len(unknown))].After(rng.IntN(n / 10)).Once())
	}
	return lost
}

// A real mail server, another program on other principles, gets every message once, and refuses one address for good.
func TestOutboxThroughPostfix(t *testing.T) {
	server := postfixtest.Start(t)
	s := scene.Start(t, noon)
	n := tortured(t, 100)
	persons := neighbours(s, n, "p%d@example.org")
	gone := s.Person("Nobody", "unknown@example.org")
	s.Due(s.House("Empty house", "America/New_York", gone), march2.AddDays(7))
	o := post(s, mail.SMTP{Addr: server.Addr, RootCAs: server.Authority.Pool(), HelloName: "vents.example.com"})
	for range 2 {
		if _, err := work(s, o); err != nil {
			t.Fatalf("%v\n%s", err, server.Log())
		}
	}
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	got, err := server.Wait(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	for _, raw := range got {
		m, err := netmail.ReadMessage(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		to := m.Header.Get("Delivered-To")
		if _, waits := persons[to]; !waits || !strings.HasPrefix(m.Header.Get("Subject"), "Clean the dryer vent by Sun 22 March 2026: House ") {
			t.Errorf("to %q, %q: came twice, or was never sent", to, m.Header.Get("Subject"))
		}
		delete(persons, to)
	}
	if len(persons) != 0 || len(got) != n {
		t.Errorf("%d mails, %d persons got none", len(got), len(persons))
	}
	if p := scene.Get(s, store.Persons, gone); p.Undeliverable == "" {
		t.Error("the unknown mailbox is believed to work")
	}
	t.Logf("%d persons, %d mails in the mailboxes, %d of them distinct", n, len(got), n-len(persons))
}
