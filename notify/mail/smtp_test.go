package mail

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/rsa"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"ventdue/notify/mail/smtptest"
)

// job makes the n-th message to zoe@example.org.
func job(t testing.TB, n int) Job {
	t.Helper()
	l := reminder()
	l.MessageID, l.EnvelopeID = fmt.Sprintf("m%d@mail.example.com", n), fmt.Sprintf("m%d", n)
	j, err := Seal(l, nil)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func plain(s *smtptest.Server) SMTP { return SMTP{Addr: s.Addr(), Security: Plain} }

func open(t testing.TB, c Carrier) Conn {
	t.Helper()
	conn, err := c.Open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	return conn
}

func TestSMTPSendsFrozenBytes(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	conn := open(t, plain(s))
	var want [][]byte
	for n := range 3 {
		j := job(t, n)
		want = append(want, j.Raw)
		if o := conn.Send(t.Context(), j); o.Kind != Accepted || o.Code != 250 || !strings.Contains(o.Reason, "taken") || o.Closed || o.Ours {
			t.Fatalf("outcome %+v", o)
		}
	}
	if err := conn.Close(); err != nil {
		t.Error(err)
	}
	got := s.Messages()
	for i, m := range got {
		if !bytes.Equal(m.Raw, want[i]) {
			t.Errorf("message %d arrived changed:\n%q", i, m.Raw)
		}
		if m.From != fmt.Sprintf("office+m%d@example.com", i) || m.To != "zoe@example.org" || m.ID != fmt.Sprintf("m%d@mail.example.com", i) || m.Params != "" {
			t.Errorf("envelope: %+v", m)
		}
	}
	// The whole dialogue: nothing between the messages, and our address in EHLO for want of a name.
	one := func(n int) []string {
		return []string{fmt.Sprintf("MAIL FROM:<office+m%d@example.com>", n), "RCPT TO:<zoe@example.org>", "DATA"}
	}
	dialogue := slices.Concat([]string{"EHLO [127.0.0.1]"}, one(0), one(1), one(2), []string{"QUIT"})
	if got := s.Commands(); !slices.Equal(got, dialogue) {
		t.Errorf("dialogue %q", got)
	}
}

// Every way a server can fail, and what is known afterwards. kept is how many copies the server took.
func TestSMTPFaults(t *testing.T) {
	j := job(t, 1)
	for _, tc := range []struct {
		name  string
		fault smtptest.Fault
		kind  Kind
		ours  bool
		again bool // the same connection serves the next message
		kept  int
		words string
	}{
		{"421 at MAIL", smtptest.SayGoodbye(smtptest.Mail), Deferred, true, false, 0, "421"},
		{"421 at RCPT", smtptest.SayGoodbye(smtptest.Rcpt), Deferred, true, false, 0, "421"},
		{"421 after the dot", smtptest.SayGoodbye(smtptest.Dot), Deferred, true, false, 0, "421"},
		{"drop at MAIL", smtptest.Fault{At: smtptest.Mail, Drop: true}, Deferred, true, false, 0, "MAIL FROM: connection broke"},
		{"drop at DATA", smtptest.Fault{At: smtptest.Data, Drop: true}, Deferred, true, false, 0, "DATA: connection broke"},
		{"drop after the dot", smtptest.DropAfterDot(), Unknown, true, false, 1, "end of message: connection broke"},
		{"drop after the dot, not taken", smtptest.Fault{At: smtptest.Dot, Drop: true}, Unknown, true, false, 0, "end of message"},
		{"nonsense after the dot", smtptest.Fault{At: smtptest.Dot, Keep: true, Reply: "what?"}, Unknown, true, false, 1, "end of message"},
		{"451 at RCPT", smtptest.Answer(smtptest.Rcpt, "451 4.2.0 greylisted"), Deferred, false, true, 0, "greylisted"},
		{"550 at RCPT", smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no such user").For("zoe@example.org"), Failed, false, true, 0, "no such user"},
		{"550 for another", smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no such user").For("bob@example.org"), Accepted, false, true, 1, "250"},
		{"relay denied", smtptest.Answer(smtptest.Rcpt, "554 5.7.1 relay access denied"), Deferred, true, true, 0, "relay access denied"},
		{"5yz at MAIL", smtptest.Answer(smtptest.Mail, "553 5.7.1 sender not owned"), Deferred, true, true, 0, "sender not owned"},
		{"451 at DATA", smtptest.Answer(smtptest.Data, "451 4.3.0 later"), Deferred, true, true, 0, "later"},
		{"451 after the dot", smtptest.Answer(smtptest.Dot, "451 4.2.0 later"), Deferred, false, true, 0, "later"},
		{"554 after the dot", smtptest.Answer(smtptest.Dot, "554 not wanted"), Failed, false, true, 0, "not wanted"},
		{"RSET refused", smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no"), Failed, false, false, 0, "550"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := smtptest.Start(t, smtptest.Options{})
			s.Inject(tc.fault.Once())
			if tc.name == "RSET refused" {
				s.Inject(smtptest.Answer(smtptest.Reset, "500 what"))
			}
			conn := open(t, plain(s))
			o := conn.Send(t.Context(), j)
			if o.Kind != tc.kind || o.Ours != tc.ours || o.Closed == tc.again || !strings.Contains(o.Reason, tc.words) {
				t.Errorf("outcome %+v", o)
			}
			if got := s.Counts()["m1@mail.example.com"]; got != tc.kept {
				t.Errorf("server took %d copies, want %d", got, tc.kept)
			}
			next := conn.Send(t.Context(), job(t, 2))
			if tc.again != (next.Kind == Accepted) {
				t.Errorf("next message: %+v", next)
			}
		})
	}
}

// The server drops the connection while a long message is still being written: not taken, without doubt.
func TestSMTPDropBeforeDot(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(smtptest.DropBeforeDot())
	j := job(t, 1)
	j.Raw = append(j.Raw, bytes.Repeat([]byte("a line of seventy octets that goes on and on until it is long enough\r\n"), 300_000)...)
	o := open(t, plain(s)).Send(t.Context(), j)
	if o.Kind != Deferred || !o.Ours || !o.Closed || !strings.Contains(o.Reason, "message text: connection broke") {
		t.Errorf("outcome %+v", o)
	}
	if n := len(s.Messages()); n != 0 {
		t.Errorf("server took %d", n)
	}
}

// A short message is wholly in the network's hands before the server's drop is noticed. The sender cannot
// tell this from a lost answer and must say so.
func TestSMTPDropBeforeDotUnnoticed(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(smtptest.DropBeforeDot())
	if o := open(t, plain(s)).Send(t.Context(), job(t, 1)); o.Kind != Unknown && o.Kind != Deferred || !o.Closed {
		t.Errorf("outcome %+v", o)
	}
}

// The limits are short, but long enough for a loaded machine to get to the stage that hangs.
func TestSMTPHangEndsInTime(t *testing.T) {
	const limit = 300 * time.Millisecond
	for _, tc := range []struct {
		stage smtptest.Stage
		kind  Kind // 0: Open fails
	}{
		{smtptest.Connect, 0}, {smtptest.Hello, 0},
		{smtptest.Mail, Deferred}, {smtptest.Rcpt, Deferred}, {smtptest.Data, Deferred}, {smtptest.Dot, Unknown},
	} {
		t.Run(string(tc.stage), func(t *testing.T) {
			t.Parallel()
			s := smtptest.Start(t, smtptest.Options{})
			s.Inject(smtptest.HangAt(tc.stage))
			c := plain(s)
			c.CommandTimeout, c.FinalTimeout = limit, limit
			conn, err := c.Open(t.Context())
			if tc.kind == 0 {
				if err == nil || !strings.Contains(err.Error(), "timeout") {
					t.Errorf("opened: %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			if o := conn.Send(t.Context(), job(t, 1)); o.Kind != tc.kind || !o.Closed || !strings.Contains(o.Reason, "timeout") {
				t.Errorf("outcome %+v", o)
			}
		})
	}
}

func TestSMTPCancel(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(smtptest.HangAt(smtptest.Dot))
	conn := open(t, plain(s))
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		defer cancel()
		_ = s.Wait(ctx, func() bool { return slices.Contains(s.Commands(), "DATA") })
	}()
	if o := conn.Send(ctx, job(t, 1)); o.Kind == Accepted || !o.Closed || !strings.Contains(o.Reason, "context canceled") {
		t.Errorf("outcome %+v", o)
	}
	cancelled, stop := context.WithCancel(t.Context())
	stop()
	if _, err := plain(s).Open(cancelled); err == nil {
		t.Error("opened under a cancelled context")
	}
}

func TestSMTPSlowServerIsWaitedFor(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(smtptest.Fault{At: smtptest.Dot, Delay: 30 * time.Millisecond}, smtptest.Fault{At: smtptest.Rcpt, Delay: time.Millisecond})
	if o := open(t, plain(s)).Send(t.Context(), job(t, 1)); o.Kind != Accepted {
		t.Errorf("outcome %+v", o)
	}
}

func TestSMTPTLSAndLogin(t *testing.T) {
	full := smtptest.Options{OfferTLS: true, RequireTLS: true, User: "vents", Pass: "secret ü"}
	implicit := smtptest.Options{ImplicitTLS: true, User: "vents", Pass: "secret ü"}
	noTLS := smtptest.Options{}
	loginOnly, odd := full, full
	loginOnly.AuthWays, odd.AuthWays = "LOGIN", "GSSAPI NTLM"
	wrongName := full
	wrongName.Names = []string{"other.example"}

	for _, tc := range []struct {
		name   string
		server smtptest.Options
		change func(*SMTP)
		want   string // in the error; empty: works
	}{
		{"STARTTLS", full, nil, ""},
		{"implicit TLS", implicit, func(c *SMTP) { c.Security = ImplicitTLS }, ""},
		{"LOGIN", loginOnly, nil, ""},
		{"server name", wrongName, func(c *SMTP) { c.ServerName = "other.example" }, ""},
		{"wrong name", wrongName, nil, `certificate is not accepted for "127.0.0.1"`},
		{"unknown authority", full, func(c *SMTP) { c.RootCAs = nil }, "certificate is not accepted"},
		{"unknown authority, implicit", implicit, func(c *SMTP) { c.RootCAs, c.Security = nil, ImplicitTLS }, "certificate is not accepted"},
		{"no STARTTLS", noTLS, func(c *SMTP) { c.Username = "" }, "does not offer STARTTLS"},
		{"wrong password", full, func(c *SMTP) { c.Password = "guess" }, "535"},
		{"no known login", odd, nil, "GSSAPI NTLM"},
		{"no login offered", smtptest.Options{OfferTLS: true}, nil, "offers no login"},
		{"login in the clear", full, func(c *SMTP) { c.Security = Plain }, "offers no login"},
		{"TLS to a plain port", noTLS, func(c *SMTP) { c.Security = ImplicitTLS }, "TLS"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := smtptest.Start(t, tc.server)
			pool, err := LoadCAs(s.CAFile(t))
			if err != nil {
				t.Fatal(err)
			}
			c := SMTP{Addr: s.Addr(), RootCAs: pool, Username: "vents", Password: "secret ü", HelloName: "vents.example.com", CommandTimeout: 5 * time.Second}
			if tc.change != nil {
				tc.change(&c)
			}
			conn, err := c.Open(t.Context())
			if tc.want != "" {
				if err == nil || !strings.Contains(err.Error(), tc.want) || strings.Contains(err.Error(), "secret") {
					t.Fatalf("error %v, want %q", err, tc.want)
				}
				if o := notOpened(err); o.Kind != Deferred || !o.Ours {
					t.Errorf("outcome %+v", o)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			if o := conn.Send(t.Context(), job(t, 1)); o.Kind != Accepted {
				t.Fatalf("outcome %+v", o)
			}
			if m := s.Messages()[0]; !m.TLS || m.User != "vents" {
				t.Errorf("message came with %+v", m)
			}
			for _, line := range s.Commands() {
				if strings.HasPrefix(line, "EHLO") && line != "EHLO vents.example.com" {
					t.Errorf("said %q", line)
				}
			}
		})
	}
}

func TestSMTPOpenFails(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	for want, fault := range map[string]smtptest.Fault{
		"greeting":           smtptest.Refuse(),
		"554 go away":        {At: smtptest.Connect, Reply: "554 go away", Drop: true},
		"421 4.3.2 service":  smtptest.SayGoodbye(smtptest.Connect),
		"550 5.7.1 bad name": {At: smtptest.Hello, Reply: "550 5.7.1 bad name"},
		"longer than 65536":  {At: smtptest.Connect, Reply: strings.Repeat("220-blah\r\n", 10_000) + "220 x"},
	} {
		s.Heal()
		s.Inject(fault)
		if _, err := plain(s).Open(t.Context()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	s.Close()
	if _, err := plain(s).Open(t.Context()); err == nil || !strings.Contains(err.Error(), "cannot be reached") {
		t.Errorf("closed port: %v", err)
	}
}

func TestSMTPCheck(t *testing.T) {
	for want, c := range map[string]SMTP{
		"host:port": {Addr: "smtp.example.com"},
		"password":  {Addr: "smtp.example.com:25", Security: Plain, Username: "u"},
		"none of":   {Addr: "smtp.example.com:25", Security: 9},
		"between 1": {Addr: "smtp.example.com:25", PerConn: 51},
		"EHLO name": {Addr: "smtp.example.com:25", HelloName: "a\r\nMAIL"},
	} {
		if err := c.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", want, err)
		}
	}
	if err := (SMTP{Addr: "127.0.0.1:25", Security: Plain, Username: "u"}).Check(); err != nil {
		t.Error(err)
	}
}

// Addresses outside ASCII (RFC 6531), and addresses that would be commands.
func TestSMTPAddresses(t *testing.T) {
	with, without := smtptest.Start(t, smtptest.Options{}), smtptest.Start(t, smtptest.Options{NoSMTPUTF8: true, No8BITMIME: true})
	l := reminder()
	l.To.Address = "jörg@bücher.example"
	utf8, err := Seal(l, nil)
	if err != nil {
		t.Fatal(err)
	}
	if o := open(t, plain(with)).Send(t.Context(), utf8); o.Kind != Accepted {
		t.Errorf("outcome %+v", o)
	}
	if m := with.Messages()[0]; m.To != "jörg@xn--bcher-kva.example" || m.Params != "BODY=8BITMIME SMTPUTF8" {
		t.Errorf("%+v", m)
	}
	ascii := utf8
	ascii.Raw = job(t, 1).Raw
	conn := open(t, plain(without))
	if o := conn.Send(t.Context(), ascii); o.Kind != Failed || o.Closed || !strings.Contains(o.Reason, "SMTPUTF8") {
		t.Errorf("outcome %+v", o)
	}
	if o := conn.Send(t.Context(), utf8); o.Kind != Deferred || !strings.Contains(o.Reason, "8BITMIME") {
		t.Errorf("outcome %+v", o)
	}
	for _, to := range []string{"a@example.com>\r\nRCPT TO:<b@example.com", "a@example.com> NOTIFY=NEVER", "", "nobody"} {
		j := job(t, 2)
		j.To = to
		if o := conn.Send(t.Context(), j); o.Kind != Failed {
			t.Errorf("%q: %+v", to, o)
		}
		j.To, j.From = "a@example.com", to
		if o := conn.Send(t.Context(), j); o.Kind != Deferred || !o.Ours {
			t.Errorf("%q: %+v", to, o)
		}
	}
	if n := len(without.Messages()); n != 0 {
		t.Errorf("%d messages went out", n)
	}
	if o := conn.Send(t.Context(), job(t, 3)); o.Kind != Accepted {
		t.Errorf("connection is spoilt: %+v", o)
	}
}

// Against a server that shares no code with ours: emersion/go-smtp, its limits on, with a signed message.
func TestSMTPOtherServer(t *testing.T) {
	key, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	signer, err := NewSigner("example.com", "ventdue2026", key)
	if err != nil {
		t.Fatal(err)
	}
	got := &mailbox{}
	server := smtp.NewServer(got)
	server.ReadTimeout, server.WriteTimeout, server.MaxMessageBytes = 5*time.Second, 5*time.Second, 1<<20
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- server.Serve(l) }()
	defer func() { server.Close(); <-done }()

	conn := open(t, SMTP{Addr: l.Addr().String(), Security: Plain})
	want, err := Seal(reminder(), signer)
	if err != nil {
		t.Fatal(err)
	}
	refused := want
	refused.To = "unknown@example.org"
	for i, kind := range []Kind{Accepted, Failed, Accepted} {
		j := want
		if kind == Failed {
			j = refused
		}
		if o := conn.Send(t.Context(), j); o.Kind != kind {
			t.Fatalf("message %d: %+v", i, o)
		}
	}
	conn.Close()
	for _, raw := range got.raw {
		if _, err := verify(t, raw, record(t, key.Public())); err != nil {
			t.Errorf("signature broke on the way: %v", err)
		}
		if !bytes.Equal(raw, want.Raw) {
			t.Error("message changed on the way")
		}
	}
	if len(got.raw) != 2 {
		t.Errorf("%d messages", len(got.raw))
	}
}

// mailbox is a go-smtp backend that keeps everything but mail to unknown@example.org.
type mailbox struct{ raw [][]byte }

func (m *mailbox) NewSession(*smtp.Conn) (smtp.Session, error) { return m, nil }
func (m *mailbox) Reset()                                      {}
func (m *mailbox) Logout() error                               { return nil }
func (m *mailbox) Mail(string, *smtp.MailOptions) error        { return nil }
func (m *mailbox) Rcpt(to string, _ *smtp.RcptOptions) error {
	if to == "unknown@example.org" {
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such user"}
	}
	return nil
}
func (m *mailbox) Data(r io.Reader) error {
	raw, err := io.ReadAll(r)
	m.raw = append(m.raw, raw)
	return err
}
