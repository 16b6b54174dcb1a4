package smtptest_test

import (
	"context"
	"crypto/tls"
	"net/smtp"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"ventdue/notify/mail/smtptest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// send uses the standard library's client, which knows nothing of ours.
func send(t *testing.T, s *smtptest.Server, auth smtp.Auth, body string) error {
	t.Helper()
	c, err := smtp.Dial(s.Addr())
	if err != nil {
		return err
	}
	defer c.Close()
	if ok, _ := c.Extension("STARTTLS"); ok {
		if err := c.StartTLS(&tls.Config{RootCAs: s.Authority.Pool(), ServerName: "localhost"}); err != nil {
			return err
		}
	}
	if auth != nil {
		if err := c.Auth(auth); err != nil {
			return err
		}
	}
	if err := c.Mail("office@example.com"); err != nil {
		return err
	}
	if err := c.Rcpt("zoe@example.org"); err != nil {
		return err
	}
	w, err := c.Data()
	if err != nil {
		return err
	}
	if _, err := w.Write([]byte(body)); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	return c.Quit()
}

func TestServerKeepsExactlyWhatIsSent(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{OfferTLS: true, RequireTLS: true, User: "u", Pass: "p"})
	const body = "Message-ID: <m1@example.com>\r\n\r\n.dot\r\n..two\r\n\r\n"
	if err := send(t, s, smtp.PlainAuth("", "u", "p", "127.0.0.1"), body); err != nil {
		t.Fatal(err)
	}
	m := s.Messages()
	if len(m) != 1 || string(m[0].Raw) != body || m[0].ID != "m1@example.com" || !m[0].TLS || m[0].User != "u" || m[0].Conn != 1 {
		t.Errorf("%+v", m)
	}
	if err := send(t, s, nil, body); err == nil || !strings.Contains(err.Error(), "530") {
		t.Errorf("without login: %v", err)
	}
	if err := send(t, s, smtp.PlainAuth("", "u", "x", "127.0.0.1"), body); err == nil || !strings.Contains(err.Error(), "535") {
		t.Errorf("wrong password: %v", err)
	}
}

func TestFaultsStrikeAsScripted(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(
		smtptest.Answer(smtptest.Dot, "451 4.3.0 later").After(1).Once(),
		smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no").For("bob@example.org"),
	)
	for i, want := range []string{"", "451", "", ""} {
		err := send(t, s, nil, "Subject: x\r\n\r\n")
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("message %d: %v, want %q", i, err, want)
		}
	}
	s.Inject(smtptest.DropAfterDot())
	if err := send(t, s, nil, "Subject: x\r\n\r\n"); err == nil {
		t.Error("dropped connection was not seen")
	}
	s.Heal()
	if err := send(t, s, nil, "Subject: x\r\n\r\n"); err != nil {
		t.Error(err)
	}
	if n := len(s.Messages()); n != 5 {
		t.Errorf("%d kept, want 3 + 1 without an answer + 1", n)
	}
}

func TestWaitAndClose(t *testing.T) {
	s := smtptest.Start(t, smtptest.Options{})
	s.Inject(smtptest.HangAt(smtptest.Mail))
	done := make(chan error, 1)
	go func() { done <- send(t, s, nil, "x") }()
	if err := s.Wait(t.Context(), func() bool { return len(s.Commands()) == 2 }); err != nil {
		t.Error(err)
	}
	s.Close() // frees the one that hangs
	if err := <-done; err == nil {
		t.Error("hanging server answered")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Wait(ctx, func() bool { return false }); err == nil {
		t.Error("waited for nothing")
	}
}
