// Package hook posts messages to a web address, signed, so that a text-message gateway or a chat can pass them on.
//
// It is a way out like that of mails (see mail.Carrier): one message at a time, and what is known of it afterwards. A message is
// posted again until it is answered, so a receiver may get one twice: it tells them apart by their id.
package hook

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/tls"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptrace"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"syscall"
	"time"

	"ventdue/notify/mail"
)

// The header fields of what is posted.
const (
	// HeaderMessage is the message's id: the same however often it is posted.
	HeaderMessage = "Ventdue-Message"
	// HeaderTime is when it was signed, in seconds since 1970 in UTC. A receiver refuses what is minutes old.
	HeaderTime = "Ventdue-Time"
	// HeaderSignature is the hexadecimal HMAC-SHA256, under the secret, of the time as it stands in its field, a dot,
	// and the body.
	HeaderSignature = "Ventdue-Signature"
)

// Hook is where messages are posted.
type Hook struct {
	URL     string
	Secret  []byte
	Timeout time.Duration // of one message; 0 is 15 s
	// AllowPrivate permits addresses inside the own network and of this machine. Without it a name that leads there is
	// refused, whoever answers for the name.
	AllowPrivate bool
	Now          func() time.Time // nil: time.Now
	TLS          *tls.Config      // nil: as the system does
}

// Sign gives the signature of a body at a moment.
func Sign(secret []byte, at string, body []byte) string {
	m := hmac.New(sha256.New, secret)
	m.Write([]byte(at + "."))
	m.Write(body)
	return hex.EncodeToString(m.Sum(nil))
}

// Open makes ready to post. It is an error only where the settings can never work.
func (h Hook) Open(context.Context) (mail.Conn, error) {
	u, err := url.Parse(h.URL)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" {
		return nil, fmt.Errorf("webhook %q is not a web address", h.URL)
	}
	if len(h.Secret) == 0 {
		return nil, errors.New("webhook has no secret: nobody could tell its messages from another's")
	}
	if h.Timeout == 0 {
		h.Timeout = 15 * time.Second
	}
	if h.Now == nil {
		h.Now = time.Now
	}
	dialer := net.Dialer{Timeout: h.Timeout}
	if !h.AllowPrivate {
		dialer.ControlContext = publicOnly
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	if h.TLS != nil {
		config = h.TLS.Clone()
	}
	return &conn{Hook: h, client: &http.Client{
		Timeout:       h.Timeout,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		// No proxy: it would be asked to go where we would not.
		Transport: &http.Transport{DialContext: dialer.DialContext, TLSClientConfig: config, MaxIdleConnsPerHost: 1,
			IdleConnTimeout: 30 * time.Second, TLSHandshakeTimeout: h.Timeout, MaxResponseHeaderBytes: 64 << 10, ForceAttemptHTTP2: true},
	}}, nil
}

// publicOnly refuses to connect to an address that is not the public network's. It is asked with the address itself, after
// the name was looked up.
func publicOnly(_ context.Context, _, address string, _ syscall.RawConn) error {
	port, err := netip.ParseAddrPort(address)
	if err != nil {
		return fmt.Errorf("webhook leads to %q, which is no address", address)
	}
	if a := port.Addr().Unmap(); !isPublic(a) {
		return fmt.Errorf("webhook leads to %s, inside the own network: set webhook.allow_private to true if that is meant", a)
	}
	return nil
}

// inside are networks that lead to no public machine, or to another address in disguise, besides those that netip knows:
// shared space (RFC 6598), "this network" (RFC 1122), benchmarks (RFC 2544), reserved (RFC 1112), and IPv4 inside IPv6
// (RFC 6052, RFC 8215, RFC 3056, RFC 4380).
var inside = func() (all []netip.Prefix) {
	for _, p := range strings.Fields("100.64.0.0/10 0.0.0.0/8 198.18.0.0/15 240.0.0.0/4 192.0.0.0/24 64:ff9b::/96 64:ff9b:1::/48 2002::/16 2001::/32") {
		all = append(all, netip.MustParsePrefix(p))
	}
	return all
}()

func isPublic(a netip.Addr) bool {
	if !a.IsGlobalUnicast() || a.IsPrivate() || a.IsLoopback() {
		return false
	}
	for _, p := range inside {
		if p.Contains(a) {
			return false
		}
	}
	return true
}

type conn struct {
	Hook
	client *http.Client
}

// maxAnswer is as much of an answer as is read, in octets.
const maxAnswer = 2 << 10

// Send posts a message once. 2xx is accepted and 410 says that this person is not reached here any more; everything else is
// tried again. A message that was sent and not answered may have arrived.
func (c *conn) Send(ctx context.Context, job mail.Job) mail.Outcome {
	sent := false
	ctx = httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{WroteRequest: func(i httptrace.WroteRequestInfo) { sent = i.Err == nil }})
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, c.URL, bytes.NewReader(job.Raw))
	if err != nil {
		return mail.Outcome{Kind: mail.Deferred, Ours: true, Closed: true, Reason: reason("webhook: %v", err)}
	}
	at := strconv.FormatInt(c.Now().Unix(), 10)
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "Ventdue")
	req.Header.Set(HeaderMessage, job.ID)
	req.Header.Set(HeaderTime, at)
	req.Header.Set(HeaderSignature, Sign(c.Secret, at, job.Raw))
	resp, err := c.client.Do(req)
	switch {
	case err != nil && sent:
		return mail.Outcome{Kind: mail.Unknown, Ours: true, Closed: true, Reason: reason("webhook: no answer: %v", bare(err))}
	case err != nil:
		return mail.Outcome{Kind: mail.Deferred, Ours: true, Closed: true, Reason: reason("webhook cannot be reached: %v", bare(err))}
	}
	defer resp.Body.Close()
	said, _ := io.ReadAll(io.LimitReader(resp.Body, maxAnswer)) // the status has said it already
	return answered(resp.StatusCode, resp.Header.Get("Location"), string(said))
}

// answered is the rule that turns an answer into an outcome.
func answered(status int, location, said string) mail.Outcome {
	o := mail.Outcome{Kind: mail.Deferred, Code: status, Reason: reason("webhook answered %d %s", status, said)}
	switch {
	case status/100 == 2:
		o.Kind = mail.Accepted
	case status == http.StatusGone:
		o.Kind = mail.Failed
	case status/100 == 3:
		o.Ours, o.Reason = true, reason("webhook answered %d and leads to %q: set webhook.url to its last address, nothing is followed", status, location)
	case status == http.StatusBadRequest, status == http.StatusUnprocessableEntity, status == http.StatusRequestEntityTooLarge:
		// about this message
	default:
		o.Ours = true
	}
	return o
}

// bare takes the address out of an error: it may hold what is secret.
func bare(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

// reason makes a printable line of at most 400 octets.
func reason(format string, args ...any) string {
	s := strings.Join(strings.FieldsFunc(strings.ToValidUTF8(fmt.Sprintf(format, args...), ""), func(r rune) bool { return r <= ' ' || r == 0x7f }), " ")
	if len(s) > 400 {
		s = strings.ToValidUTF8(s[:400], "") + " ..."
	}
	return s
}

// Close lets go of the connection.
func (c *conn) Close() error {
	c.client.CloseIdleConnections()
	return nil
}
