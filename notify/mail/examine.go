package mail

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"net/textproto"
	"strconv"
	"strings"
	"time"

	gosmtp "github.com/wneessen/go-mail/smtp"
)

// Standing says how one thing that was looked at stands.
type Standing string

// The standings.
const (
	Good    Standing = "good"
	Doubted Standing = "doubted" // it works, and something about it should be changed
	Wrong   Standing = "wrong"   // it does not work
	Open    Standing = "open"    // it cannot be looked at from here
)

// Finding is one thing that was looked at on the way of a mail.
type Finding struct {
	Step     string            // what was looked at: "server", "tls", "login", "sender", "recipient", "message", ...
	Standing Standing          // how it stands
	Problem  string            // what is wrong, as a key; "" where nothing is
	Facts    map[string]string // what was seen, by name
	Words    string            // what the server or the system said, on one line
}

// certificateSoon is how long before its end a certificate is named: time enough for somebody to renew it by hand. Ours.
const certificateSoon = 14 * 24 * time.Hour

// Examine walks the way of one mail to the server step by step and sends it, unless only looking is asked for. It stops at
// the first step without which the next cannot be taken.
func (s SMTP) Examine(ctx context.Context, job Job, send bool, now time.Time) []Finding {
	e := &examination{SMTP: s, now: now}
	if err := s.Check(); err != nil {
		return append(e.found, Finding{Step: "server", Standing: Wrong, Problem: "settings", Words: oneLine(err.Error())})
	}
	host, _, _ := net.SplitHostPort(s.Addr)
	e.host = host
	dialer := net.Dialer{Timeout: cmp.Or(s.DialTimeout, 30*time.Second)}
	raw, err := dialer.DialContext(ctx, "tcp", s.Addr)
	if err != nil {
		e.wrong("server", dialProblem(err), err, "server", s.Addr)
		return e.found
	}
	defer raw.Close()
	stop := context.AfterFunc(ctx, func() { raw.Close() })
	defer stop()
	e.line = &limited{Conn: raw}
	if e.greet(ctx) && e.secure() && e.signIn() {
		e.transact(job, send)
		e.line.allow(farewell)
		_ = e.client.Quit() // the server may answer by closing
	}
	return e.found
}

// examination is one walk.
type examination struct {
	SMTP
	host   string
	line   *limited
	client *gosmtp.Client
	found  []Finding
	now    time.Time
}

func (e *examination) good(step string, facts ...string) {
	e.found = append(e.found, Finding{Step: step, Standing: Good, Facts: pairs(facts)})
}

func (e *examination) doubt(step, problem string, facts ...string) {
	e.found = append(e.found, Finding{Step: step, Standing: Doubted, Problem: problem, Facts: pairs(facts)})
}

func (e *examination) wrong(step, problem string, err error, facts ...string) {
	e.found = append(e.found, Finding{Step: step, Standing: Wrong, Problem: problem, Facts: pairs(facts), Words: oneLine(explainReply(err).Error())})
}

func pairs(facts []string) map[string]string {
	m := map[string]string{}
	for i := 0; i+1 < len(facts); i += 2 {
		m[facts[i]] = oneLine(facts[i+1])
	}
	return m
}

func dialProblem(err error) string {
	var dns *net.DNSError
	var timeout net.Error
	switch {
	case errors.As(err, &dns):
		return "name"
	case errors.As(err, &timeout) && timeout.Timeout():
		return "silent"
	}
	return "refused"
}

func (e *examination) config() *tls.Config {
	return &tls.Config{ServerName: cmp.Or(e.ServerName, e.host), RootCAs: e.RootCAs, MinVersion: tls.VersionTLS12}
}

// greet hears the server out until it said what it can.
func (e *examination) greet(ctx context.Context) bool {
	conn := net.Conn(e.line)
	e.line.allow(e.commandTimeout())
	if e.Security == ImplicitTLS {
		secure := tls.Client(e.line, e.config())
		if err := secure.HandshakeContext(ctx); err != nil {
			e.good("server", "server", e.Addr)
			e.badTLS(err)
			return false
		}
		conn = secure
	}
	client, err := gosmtp.NewClient(conn, e.host)
	if err == nil {
		e.line.allow(e.commandTimeout())
		err = client.Hello(cmp.Or(e.HelloName, addressLiteral(e.line.LocalAddr())))
	}
	if err != nil {
		problem := "greeting"
		if reply := (*textproto.Error)(nil); !errors.As(err, &reply) && e.Security != ImplicitTLS {
			problem = "no_mail_server"
		}
		e.wrong("server", problem, err, "server", e.Addr)
		return false
	}
	e.client = client
	e.good("server", "server", e.Addr, "address", e.line.RemoteAddr().String())
	return true
}

func (e *examination) secure() bool {
	switch e.Security {
	case Plain:
		e.doubt("tls", "plain")
		return true
	case StartTLS:
		if ok, _ := e.client.Extension("STARTTLS"); !ok {
			e.found = append(e.found, Finding{Step: "tls", Standing: Wrong, Problem: "no_starttls", Facts: pairs([]string{"server", e.Addr})})
			return false
		}
		e.line.allow(e.commandTimeout())
		if err := e.client.StartTLS(e.config()); err != nil {
			e.badTLS(err)
			return false
		}
	}
	state, err := e.client.GetTLSConnectionState()
	if err != nil || len(state.PeerCertificates) == 0 {
		e.wrong("tls", "other", cmp.Or(err, errors.New("no certificate")))
		return false
	}
	facts := append(certificateFacts(state.PeerCertificates[0]), "version", tls.VersionName(state.Version))
	if left := state.PeerCertificates[0].NotAfter.Sub(e.now); left < certificateSoon {
		e.doubt("tls", "certificate_soon", append(facts, "days", strconv.Itoa(int(left.Hours()/24)))...)
		return true
	}
	e.good("tls", facts...)
	return true
}

func certificateFacts(c *x509.Certificate) []string {
	names := append([]string(nil), c.DNSNames...)
	for _, ip := range c.IPAddresses {
		names = append(names, ip.String())
	}
	return []string{"names", strings.Join(names, ", "), "issuer", c.Issuer.String(), "ends", c.NotAfter.UTC().Format("2006-01-02")}
}

// badTLS says why a secure connection could not be made.
func (e *examination) badTLS(err error) {
	facts := []string{"server", e.config().ServerName}
	var verify *tls.CertificateVerificationError
	if errors.As(err, &verify) && len(verify.UnverifiedCertificates) > 0 {
		facts = append(facts, certificateFacts(verify.UnverifiedCertificates[0])...)
	}
	var (
		name    x509.HostnameError
		invalid x509.CertificateInvalidError
		unknown x509.UnknownAuthorityError
		problem = "other"
	)
	switch {
	case errors.As(err, &name):
		problem = "certificate_name"
	case errors.As(err, &invalid) && invalid.Reason == x509.Expired:
		problem = "certificate_ended"
	case errors.As(err, &unknown):
		problem = "certificate_authority"
	}
	e.wrong("tls", problem, err, facts...)
}

func (e *examination) signIn() bool {
	offered, ways := e.client.Extension("AUTH")
	switch {
	case e.Username == "" && offered:
		e.doubt("login", "no_user", "ways", ways)
		return true
	case e.Username == "":
		e.good("login", "ways", "")
		return true
	case !offered:
		e.found = append(e.found, Finding{Step: "login", Standing: Wrong, Problem: "not_offered", Facts: pairs([]string{"user", e.Username})})
		return false
	}
	e.line.allow(e.commandTimeout())
	if err := e.login(e.client, e.host); err != nil {
		problem := "ways"
		if strings.HasPrefix(err.Error(), "login") { // the way was known and tried
			problem = "refused"
		}
		e.wrong("login", problem, err, "user", e.Username, "ways", ways)
		return false
	}
	e.good("login", "user", e.Username, "ways", ways)
	return true
}

// transact offers the mail's sender and receiver, and the mail itself where it is to be sent.
func (e *examination) transact(job Job, send bool) {
	conn := &smtpConn{client: e.client, line: e.line, left: 1, command: e.commandTimeout(), final: cmp.Or(e.FinalTimeout, 10*time.Minute)}
	options, bad := conn.options(job)
	if bad != nil {
		e.found = append(e.found, Finding{Step: "sender", Standing: Wrong, Problem: "address", Words: bad.Reason})
		return
	}
	if err := conn.ask(2, "MAIL FROM:<"+job.From+">"+options); err != nil {
		problem := "refused"
		if _, marked := EnvelopeID(job.From); marked {
			problem = "refused_marked"
		}
		e.wrong("sender", problem, err, "sender", job.From)
		return
	}
	e.good("sender", "sender", job.From)
	if err := conn.ask(2, "RCPT TO:<"+job.To+">"); err != nil {
		problem, o := "refused", classify(atRcpt, err)
		if o.Ours {
			problem = "ours"
		} else if o.Kind == Deferred {
			problem = "later"
		}
		e.wrong("recipient", problem, err, "recipient", job.To)
		return
	}
	e.good("recipient", "recipient", job.To)
	if !send {
		_ = conn.ask(2, "RSET") // nothing follows
		return
	}
	e.deliver(conn, job)
}

// deliver sends the mail's text.
func (e *examination) deliver(conn *smtpConn, job Job) {
	if err := conn.ask(354, "DATA"); err != nil {
		e.wrong("message", "refused", err)
		return
	}
	o := conn.content(job.Raw)
	switch o.Kind {
	case Accepted:
		e.found = append(e.found, Finding{Step: "message", Standing: Good, Words: o.Reason})
	case Unknown:
		e.found = append(e.found, Finding{Step: "message", Standing: Doubted, Problem: "no_answer", Words: o.Reason})
	default:
		e.found = append(e.found, Finding{Step: "message", Standing: Wrong, Problem: "refused", Words: o.Reason})
	}
}
