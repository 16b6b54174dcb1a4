package mail

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"net"
	"strings"
	"testing"
	"time"

	"ventdue/notify/mail/smtptest"
)

// walk gives what was found as "step:problem", a good step without a colon.
func walk(found []Finding) string {
	var all []string
	for _, f := range found {
		s := f.Step
		if f.Problem != "" {
			s += ":" + f.Problem
		}
		if f.Standing == Wrong {
			s += "!"
		}
		all = append(all, s)
	}
	return strings.Join(all, " ")
}

// Each fault of a server or of the settings is found at its own step, named, and ends the walk only where nothing can follow.
func TestExamine(t *testing.T) {
	secure := smtptest.Options{OfferTLS: true, RequireTLS: true, User: "vents", Pass: "s3cret"}
	implicit := smtptest.Options{ImplicitTLS: true, User: "vents", Pass: "s3cret"}
	other := secure
	other.Names = []string{"mail.elsewhere.example"}
	noWay := secure
	noWay.AuthWays = "GSSAPI"
	for _, c := range []struct {
		name   string
		server smtptest.Options
		faults []smtptest.Fault
		change func(*SMTP, *Job)
		want   string
	}{
		{"all is well", secure, nil, nil, "server tls login sender recipient message"},
		{"TLS from the first octet", implicit, nil, func(s *SMTP, _ *Job) { s.Security = ImplicitTLS }, "server tls login sender recipient message"},
		{"not encrypted", smtptest.Options{}, nil, func(s *SMTP, _ *Job) { s.Security, s.Username = Plain, "" }, "server tls:plain login sender recipient message"},
		{"no STARTTLS", smtptest.Options{User: "vents", Pass: "s3cret"}, nil, nil, "server tls:no_starttls!"},
		{"certificate of another name", other, nil, nil, "server tls:certificate_name!"},
		{"unknown authority", secure, nil, func(s *SMTP, _ *Job) { s.RootCAs = x509.NewCertPool() }, "server tls:certificate_authority!"},
		{"implicit TLS to a plain port", secure, nil, func(s *SMTP, _ *Job) { s.Security = ImplicitTLS }, "server tls:other!"},
		{"wrong password", secure, nil, func(s *SMTP, _ *Job) { s.Password = "guess" }, "server tls login:refused!"},
		{"no login offered", smtptest.Options{OfferTLS: true}, nil, nil, "server tls login:not_offered!"},
		{"no known way to log in", noWay, nil, nil, "server tls login:ways!"},
		{"login is offered and not used", secure, nil, func(s *SMTP, _ *Job) { s.Username = "" }, "server tls login:no_user sender:refused_marked!"},
		{"sender refused", secure, []smtptest.Fault{smtptest.Answer(smtptest.Mail, "550 5.1.8 not your address")}, nil, "server tls login sender:refused_marked!"},
		{"unmarked sender refused", secure, []smtptest.Fault{smtptest.Answer(smtptest.Mail, "550 5.1.8 not your address")}, func(_ *SMTP, j *Job) { j.From = "office@example.com" }, "server tls login sender:refused!"},
		{"no such mailbox", secure, []smtptest.Fault{smtptest.Answer(smtptest.Rcpt, "550 5.1.1 no such mailbox")}, nil, "server tls login sender recipient:refused!"},
		{"relaying denied", secure, []smtptest.Fault{smtptest.Answer(smtptest.Rcpt, "550 5.7.1 relaying denied")}, nil, "server tls login sender recipient:ours!"},
		{"grey list", secure, []smtptest.Fault{smtptest.Answer(smtptest.Rcpt, "451 4.7.1 come back later")}, nil, "server tls login sender recipient:later!"},
		{"DATA refused", secure, []smtptest.Fault{smtptest.Answer(smtptest.Data, "554 5.5.1 no")}, nil, "server tls login sender recipient message:refused!"},
		{"content refused", secure, []smtptest.Fault{smtptest.Answer(smtptest.Dot, "550 5.7.1 unwanted")}, nil, "server tls login sender recipient message:refused!"},
		{"no answer to the message", secure, []smtptest.Fault{smtptest.DropAfterDot()}, nil, "server tls login sender recipient message:no_answer"},
		{"hangs up at once", secure, []smtptest.Fault{smtptest.Refuse()}, nil, "server:no_mail_server!"},
		{"busy", secure, []smtptest.Fault{smtptest.Answer(smtptest.Connect, "421 4.3.2 busy")}, nil, "server:greeting!"},
		{"says nothing", secure, []smtptest.Fault{smtptest.HangAt(smtptest.Connect)}, func(s *SMTP, _ *Job) { s.CommandTimeout = 50 * time.Millisecond }, "server:no_mail_server!"},
		{"a password in the clear", secure, nil, func(s *SMTP, _ *Job) { s.Addr, s.Security = "mail.example.com:25", Plain }, "server:settings!"},
		{"no such server", secure, nil, func(s *SMTP, _ *Job) { s.Addr = "mail.invalid:587" }, "server:name!"}, // RFC 2606: .invalid never resolves
	} {
		t.Run(c.name, func(t *testing.T) {
			server := smtptest.Start(t, c.server)
			server.Inject(c.faults...)
			s := SMTP{Addr: server.Addr(), RootCAs: server.Authority.Pool(), Username: "vents", Password: "s3cret"}
			j := job(t, 1)
			if c.change != nil {
				c.change(&s, &j)
			}
			found := s.Examine(t.Context(), j, true, time.Now().AddDate(0, 0, -30))
			if got := walk(found); got != c.want {
				t.Errorf("found %s\nwant  %s\n%+v", got, c.want, found)
			}
			for _, f := range found {
				if f.Standing == Wrong && f.Words == "" && f.Problem != "no_starttls" && f.Problem != "not_offered" {
					t.Errorf("%s:%s does not say what happened", f.Step, f.Problem)
				}
				if strings.Contains(f.Words, "s3cret") || strings.Contains(f.Words, "guess") {
					t.Errorf("the password is shown: %s", f.Words)
				}
			}
		})
	}
}

// The certificate's names, issuer and end are shown; one that ends within two weeks is named; nothing is sent where only
// looking is asked for.
func TestExamineOnlyLooks(t *testing.T) {
	server := smtptest.Start(t, smtptest.Options{OfferTLS: true})
	s := SMTP{Addr: server.Addr(), RootCAs: server.Authority.Pool()}
	found := s.Examine(t.Context(), job(t, 1), false, time.Now())
	if got := walk(found); got != "server tls:certificate_soon login sender recipient" || len(server.Messages()) != 0 {
		t.Errorf("found %s, %d messages", got, len(server.Messages()))
	}
	tls := found[1]
	// The test authority's certificates hold for a day, for these three names.
	if tls.Facts["names"] != "localhost, 127.0.0.1, ::1" || tls.Facts["issuer"] != "CN=smtptest authority" || tls.Facts["version"] != "TLS 1.3" ||
		tls.Facts["ends"] != time.Now().UTC().Add(24*time.Hour).Format("2006-01-02") {
		t.Errorf("certificate: %+v", tls.Facts)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	nobody := l.Addr().String()
	_ = l.Close()
	if got := walk(SMTP{Addr: nobody}.Examine(t.Context(), job(t, 1), false, time.Now())); got != "server:refused!" {
		t.Errorf("nobody listens: %s", got)
	}
}

// A signature that others can check with the record that is to be published; short keys and foreign domains are named.
func TestExamineSignature(t *testing.T) {
	_, ed, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	short, err := rsa.GenerateKey(rand.Reader, 1024)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, domain, problem string
		signer                func(string) (*Signer, error)
		spoil                 func(string) string
	}{
		{"good", "example.com", "", func(d string) (*Signer, error) { return NewSigner(d, "s1", ed) }, nil},
		{"subdomain", "mail.example.com", "", func(d string) (*Signer, error) { return NewSigner(d, "s1", ed) }, nil},
		{"foreign domain", "example.net", "domain", func(d string) (*Signer, error) { return NewSigner(d, "s1", ed) }, nil},
		{"short key", "example.com", "short", func(d string) (*Signer, error) { return NewSigner(d, "s1", short) }, nil},
		{"changed on the way", "example.com", "verify", func(d string) (*Signer, error) { return NewSigner(d, "s1", ed) }, func(s string) string { return strings.Replace(s, "Subject: ", "Subject: x", 1) }},
	} {
		s, err := c.signer(c.domain)
		if err != nil {
			t.Fatal(err)
		}
		raw, err := s.Sign(job(t, 1).Raw)
		if err != nil {
			t.Fatal(err)
		}
		if c.spoil != nil {
			raw = []byte(c.spoil(string(raw)))
		}
		f := ExamineSignature(s, raw, "office@example.com")
		if f.Problem != c.problem || c.problem == "" && (!strings.Contains(f.Facts["fields"], "List-Unsubscribe-Post") || f.Facts["name"] != "s1._domainkey."+c.domain) {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}
