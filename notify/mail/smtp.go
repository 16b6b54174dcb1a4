package mail

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"os"
	"strings"
	"time"

	gosmtp "github.com/wneessen/go-mail/smtp"
)

// Security is how a connection to the mail server is protected.
type Security uint8

const (
	// StartTLS upgrades a plain connection before anything else is said, or fails: never opportunistic.
	StartTLS Security = iota
	// ImplicitTLS speaks TLS from the first octet (usually port 465).
	ImplicitTLS
	// Plain sends everything readable; whether that is allowed is for the caller to decide.
	Plain
)

// MaxPerConn is the most messages sent over one connection.
const MaxPerConn = 50

// SMTP carries messages to a mail server (a smarthost, or a server of one's own) that takes responsibility
// for them. The zero value of every field but Addr is usable.
type SMTP struct {
	Addr       string         // host:port
	Security   Security       // StartTLS when zero
	ServerName string         // name the certificate must have; empty: the host of Addr
	RootCAs    *x509.CertPool // who may sign the certificate (see [LoadCAs]); nil: the system's list
	Username   string         // empty: no login
	Password   string
	HelloName  string // our name in EHLO; empty: the address of our end, as RFC 5321 4.1.4 wants without a name
	PerConn    int    // messages per connection, 1 to MaxPerConn; 0: MaxPerConn

	// Time limits; 0: those of RFC 5321 4.5.3.2. Final is for the answer to the final dot: a short limit
	// there makes copies.
	DialTimeout, CommandTimeout, FinalTimeout time.Duration
}

// Check finds settings that can never work.
func (s SMTP) Check() error {
	host, port, err := net.SplitHostPort(s.Addr)
	switch {
	case err != nil || host == "" || port == "":
		return fmt.Errorf("mail server address %q is not host:port, such as smtp.example.com:587", s.Addr)
	case s.Security > Plain:
		return fmt.Errorf("mail server security %d is none of StartTLS, ImplicitTLS and Plain", s.Security)
	case s.Security == Plain && s.Username != "" && !isLoopback(host):
		return fmt.Errorf("mail server %s: a password is not sent without TLS to another machine: use STARTTLS or implicit TLS", s.Addr)
	case s.PerConn < 0 || s.PerConn > MaxPerConn:
		return fmt.Errorf("messages per connection %d is not between 1 and %d", s.PerConn, MaxPerConn)
	case strings.ContainsFunc(s.HelloName, func(r rune) bool { return r <= ' ' || r >= 0x7f }):
		return fmt.Errorf("EHLO name %q is not a host name", s.HelloName)
	}
	return nil
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// LoadCAs returns the system's certificate authorities and those of a PEM file.
func LoadCAs(file string) (*x509.CertPool, error) {
	pem, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read certificate authorities: %w", err)
	}
	pool, err := x509.SystemCertPool()
	if err != nil {
		pool = x509.NewCertPool()
	}
	if !pool.AppendCertsFromPEM(pem) {
		return nil, fmt.Errorf("%s holds no certificate in PEM form", file)
	}
	return pool, nil
}

// Open dials, greets, starts TLS and logs in.
func (s SMTP) Open(ctx context.Context) (Conn, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	dialer := net.Dialer{Timeout: cmp.Or(s.DialTimeout, 30*time.Second)}
	raw, err := dialer.DialContext(ctx, "tcp", s.Addr)
	if err != nil {
		return nil, fmt.Errorf("mail server %s cannot be reached: %w", s.Addr, err)
	}
	line := &limited{Conn: raw}
	stop := context.AfterFunc(ctx, func() { raw.Close() })
	client, err := s.session(ctx, line)
	if !stop() && err == nil {
		err = context.Cause(ctx)
	}
	if err != nil {
		raw.Close()
		if ctx.Err() != nil {
			err = fmt.Errorf("given up: %w", context.Cause(ctx))
		}
		return nil, fmt.Errorf("mail server %s: %w", s.Addr, err)
	}
	return &smtpConn{
		client: client, line: line, left: cmp.Or(s.PerConn, MaxPerConn),
		command: s.commandTimeout(), final: cmp.Or(s.FinalTimeout, 10*time.Minute),
	}, nil
}

func (s SMTP) commandTimeout() time.Duration { return cmp.Or(s.CommandTimeout, 5*time.Minute) }

// session brings a fresh connection to the point where a message can be sent. It leaves closing to Open.
func (s SMTP) session(ctx context.Context, line *limited) (*gosmtp.Client, error) {
	host, _, _ := net.SplitHostPort(s.Addr)
	config := &tls.Config{ServerName: cmp.Or(s.ServerName, host), RootCAs: s.RootCAs, MinVersion: tls.VersionTLS12}
	conn := net.Conn(line)
	line.allow(s.commandTimeout())
	if s.Security == ImplicitTLS {
		secure := tls.Client(line, config)
		if err := secure.HandshakeContext(ctx); err != nil {
			return nil, explainTLS(err, config.ServerName)
		}
		conn = secure
	}
	client, err := gosmtp.NewClient(conn, host)
	if err != nil {
		return nil, fmt.Errorf("greeting: %w", explainReply(err))
	}
	line.allow(s.commandTimeout())
	if err := client.Hello(cmp.Or(s.HelloName, addressLiteral(line.LocalAddr()))); err != nil {
		return nil, fmt.Errorf("EHLO: %w", explainReply(err))
	}
	if s.Security == StartTLS {
		line.allow(s.commandTimeout())
		if err := startTLS(client, config); err != nil {
			return nil, err
		}
	}
	if s.Username != "" {
		line.allow(s.commandTimeout())
		if err := s.login(client, host); err != nil {
			return nil, err
		}
	}
	return client, nil
}

func startTLS(client *gosmtp.Client, config *tls.Config) error {
	if ok, _ := client.Extension("STARTTLS"); !ok {
		return errors.New("does not offer STARTTLS, and nothing is sent without it: use the port for submission (587), or implicit TLS (465)")
	}
	if err := client.StartTLS(config); err != nil {
		return explainTLS(err, config.ServerName)
	}
	return nil
}

// login uses the first way that both sides know. Under TLS the plain ones are the ones that work everywhere.
func (s SMTP) login(client *gosmtp.Client, host string) error {
	ok, offered := client.Extension("AUTH")
	if !ok {
		return errors.New("a user name is set, but the server offers no login (AUTH) here: try another port, or remove the user name")
	}
	ways := []struct {
		name string
		auth gosmtp.Auth
	}{
		{"PLAIN", gosmtp.PlainAuth("", s.Username, s.Password, host, true)},
		{"LOGIN", gosmtp.LoginAuth(s.Username, s.Password, host, true)},
		{"SCRAM-SHA-256", gosmtp.ScramSHA256Auth(s.Username, s.Password)},
		{"CRAM-MD5", gosmtp.CRAMMD5Auth(s.Username, s.Password)},
	}
	names := strings.Fields(strings.ToUpper(offered))
	for _, way := range ways {
		for _, name := range names {
			if name != way.name {
				continue
			}
			if err := client.Auth(way.auth); err != nil {
				return fmt.Errorf("login as %q refused (AUTH %s), check user name and password: %w", s.Username, name, explainReply(err))
			}
			return nil
		}
	}
	return fmt.Errorf("offers only these ways to log in, none of which is known here: %s", oneLine(offered))
}

// explainTLS says what to look at when a secure connection could not be made.
func explainTLS(err error, name string) error {
	var cert *tls.CertificateVerificationError
	if errors.As(err, &cert) {
		return fmt.Errorf("certificate is not accepted for %q, check the server's name and the file of certificate authorities: %w", name, err)
	}
	return fmt.Errorf("TLS: %w", explainReply(err))
}

// explainReply makes one printable line of a server's reply.
func explainReply(err error) error {
	var reply *textproto.Error
	if errors.As(err, &reply) {
		return fmt.Errorf("server said %d %s", reply.Code, oneLine(reply.Msg))
	}
	return err
}

// addressLiteral writes our end of the connection as RFC 5321 4.1.3 does.
func addressLiteral(addr net.Addr) string {
	tcp, ok := addr.(*net.TCPAddr)
	if !ok {
		return "localhost"
	}
	if ip := tcp.IP.To4(); ip != nil {
		return "[" + ip.String() + "]"
	}
	return "[IPv6:" + tcp.IP.String() + "]"
}

// limited is a connection whose use is limited step by step: in time, and in what the server may send, so
// that a reply without end fills no memory.
type limited struct {
	net.Conn
	left int // octets that may still be read in this step
}

const maxReply = 64 << 10 // octets: replies, TLS handshake and certificates of one step

// allow starts a step.
func (l *limited) allow(d time.Duration) {
	l.left = maxReply
	_ = l.SetDeadline(time.Now().Add(d)) // fails on a closed connection, as the next use of it will
}

func (l *limited) Read(p []byte) (int, error) {
	if l.left <= 0 {
		return 0, fmt.Errorf("reply is longer than %d octets", maxReply)
	}
	n, err := l.Conn.Read(p[:min(len(p), l.left)])
	l.left -= n
	return n, err
}
