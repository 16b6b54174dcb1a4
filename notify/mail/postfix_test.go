package mail

import (
	"bytes"
	"context"
	netmail "net/mail"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ventdue/notify/mail/postfixtest"
)

// A real mail server takes the messages over STARTTLS and delivers each of them once and unchanged; it
// refuses an unknown mailbox for good, and a foreign domain as a matter of its settings.
func TestSMTPPostfix(t *testing.T) {
	server := postfixtest.Start(t)
	ca := filepath.Join(t.TempDir(), "ca.pem")
	if err := os.WriteFile(ca, server.Authority.CA, 0o600); err != nil {
		t.Fatal(err)
	}
	pool, err := LoadCAs(ca)
	if err != nil {
		t.Fatal(err)
	}
	const n = 120
	q := newQueue(t, n)
	q.jobs[7].To = "unknown@example.org"
	q.jobs[8].To = "zoe@elsewhere.example"
	q.jobs[9].To = "jörg@example.org"
	want := map[string]Job{}
	for _, j := range q.jobs {
		want["<"+j.ID+"@mail.example.com>"] = j
	}
	carrier := SMTP{Addr: server.Addr, RootCAs: pool, HelloName: "vents.example.com"}
	tally, err := Deliver(t.Context(), carrier, q.next, q.settle)
	if err != nil || tally != (Tally{Accepted: n - 2, Failed: 1, Deferred: 1, Connections: 3}) {
		t.Fatalf("%+v, %v\n%s", tally, err, server.Log())
	}
	if q.kinds["m7"] != Failed || q.kinds["m8"] != Deferred {
		t.Errorf("unknown mailbox %v, foreign domain %v", q.kinds["m7"], q.kinds["m8"])
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	got, err := server.Wait(ctx, n-2)
	if err != nil {
		t.Fatal(err)
	}
	for _, raw := range got {
		m, err := netmail.ReadMessage(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		id := m.Header.Get("Message-Id")
		j, ok := want[id]
		delete(want, id)
		if !ok {
			t.Errorf("%s came twice, or was never sent", id)
			continue
		}
		if !bytes.HasSuffix(raw, bytes.ReplaceAll(j.Raw, []byte("\r\n"), []byte("\n"))) {
			t.Errorf("%s arrived changed:\n%s", id, raw)
		}
		if back := m.Header.Get("Return-Path"); back != "<"+j.From+">" {
			t.Errorf("%s: return path %s", id, back)
		}
		// "with ESMTPS" (RFC 3848) or UTF8SMTPS (RFC 6531): the S stands for TLS.
		if !strings.Contains(m.Header.Get("Received"), "SMTPS ") || !strings.Contains(m.Header.Get("Received"), "vents.example.com") {
			t.Errorf("%s: %s", id, m.Header.Get("Received"))
		}
	}
	if len(got) != n-2 || len(want) != 2 {
		t.Errorf("%d delivered, %d missing", len(got), len(want))
	}
}
