package hook

import (
	"context"
	"crypto/tls"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"go.uber.org/goleak"

	"ventdue/notify/mail"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var job = mail.Job{ID: "m1", Raw: []byte(`{"text":"hello"}`)}

func at(s int64) func() time.Time { return func() time.Time { return time.Unix(s, 0) } }

// send posts the job once.
func send(t *testing.T, h Hook) mail.Outcome {
	t.Helper()
	c, err := h.Open(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	return c.Send(t.Context(), job)
}

// What another program gives for the same bytes: printf '1800000000.{"text":"hello"}' | openssl dgst -sha256 -hmac Jefe
func TestSignature(t *testing.T) {
	if got := Sign([]byte("Jefe"), "1800000000", job.Raw); got != "9760dcc527945e1dffebe282a99c1ad90f377030d414ba285003a44f88cc594f" {
		t.Errorf("signed %s", got)
	}
}

// What arrives: the message as it is, its id, the moment, and a signature that the receiver can check.
func TestPosts(t *testing.T) {
	var got *http.Request
	var body []byte
	s := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		got = r
		body, _ = io.ReadAll(r.Body)
		w.WriteHeader(http.StatusAccepted)
	}))
	defer s.Close()
	config := s.Client().Transport.(*http.Transport).TLSClientConfig
	o := send(t, Hook{URL: s.URL + "/in?x=1", Secret: []byte("secret"), AllowPrivate: true, Now: at(1_800_000_000), TLS: config})
	if o.Kind != mail.Accepted {
		t.Fatal(o)
	}
	if got.Method != "POST" || got.RequestURI != "/in?x=1" || string(body) != string(job.Raw) || got.Header.Get("Content-Type") != "application/json" ||
		got.Header.Get(HeaderMessage) != "m1" || got.Header.Get(HeaderTime) != "1800000000" ||
		got.Header.Get(HeaderSignature) != Sign([]byte("secret"), "1800000000", job.Raw) {
		t.Errorf("%s %s %v %s", got.Method, got.RequestURI, got.Header, body)
	}
	if o := send(t, Hook{URL: s.URL, Secret: []byte("x"), AllowPrivate: true, TLS: &tls.Config{}}); o.Kind != mail.Deferred || !strings.Contains(o.Reason, "certificate") {
		t.Errorf("a certificate of nobody's: %v", o)
	}
}

func TestAnswers(t *testing.T) {
	for status, want := range map[int]mail.Outcome{
		200: {Kind: mail.Accepted}, 204: {Kind: mail.Accepted}, 299: {Kind: mail.Accepted},
		301: {Kind: mail.Deferred, Ours: true}, 307: {Kind: mail.Deferred, Ours: true},
		400: {Kind: mail.Deferred}, 422: {Kind: mail.Deferred},
		401: {Kind: mail.Deferred, Ours: true}, 404: {Kind: mail.Deferred, Ours: true}, 429: {Kind: mail.Deferred, Ours: true},
		410: {Kind: mail.Failed},
		500: {Kind: mail.Deferred, Ours: true}, 503: {Kind: mail.Deferred, Ours: true},
	} {
		var asked atomic.Int32
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			asked.Add(1)
			w.Header().Set("Location", "/elsewhere")
			w.WriteHeader(status)
			if status != 204 {
				_, _ = io.WriteString(w, "because\r\n\x00 of "+strings.Repeat("x", 10_000))
			}
		}))
		o := send(t, Hook{URL: s.URL, Secret: []byte("x"), AllowPrivate: true})
		s.Close()
		if o.Kind != want.Kind || o.Ours != want.Ours || o.Code != status || asked.Load() != 1 || len(o.Reason) > 410 || strings.ContainsAny(o.Reason, "\r\n\x00") {
			t.Errorf("%d: %+v, asked %d times", status, o, asked.Load())
		}
	}
}

// Where a connection breaks decides whether the message may have arrived.
func TestBrokenConnections(t *testing.T) {
	silent := make(chan struct{})
	hang := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-silent }))
	defer hang.Close()
	defer close(silent)
	if o := send(t, Hook{URL: hang.URL, Secret: []byte("x"), AllowPrivate: true, Timeout: 100 * time.Millisecond}); o.Kind != mail.Unknown || !o.Closed {
		t.Errorf("no answer: %+v", o)
	}
	drop := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, _ = io.ReadAll(r.Body)
		panic(http.ErrAbortHandler)
	}))
	defer drop.Close()
	if o := send(t, Hook{URL: drop.URL, Secret: []byte("x"), AllowPrivate: true}); o.Kind != mail.Unknown {
		t.Errorf("dropped after it was read: %+v", o)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	_ = l.Close()
	if o := send(t, Hook{URL: "http://" + address + "/secret-path", Secret: []byte("x"), AllowPrivate: true}); o.Kind != mail.Deferred || !o.Ours || strings.Contains(o.Reason, "secret-path") {
		t.Errorf("nobody listens: %+v", o)
	}
}

// Addresses of the own network, by number and by name, are refused unless they are allowed. The ranges are those of the IANA
// special-purpose registries (RFC 6890).
func TestPrivateTargets(t *testing.T) {
	s := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { t.Error("it was asked") }))
	defer s.Close()
	_, port, _ := net.SplitHostPort(s.Listener.Addr().String())
	for _, host := range []string{"127.0.0.1", "localhost", "[::1]", "[::ffff:127.0.0.1]", "0.0.0.0"} {
		o := send(t, Hook{URL: "http://" + host + ":" + port, Secret: []byte("x"), Timeout: 2 * time.Second})
		if o.Kind != mail.Deferred || !o.Ours {
			t.Errorf("%s: %+v", host, o)
		}
	}
	for a, public := range map[string]bool{
		"8.8.8.8": true, "2606:4700::1": true, "10.1.2.3": false, "172.16.0.1": false, "192.168.1.1": false, "169.254.169.254": false, "100.64.0.1": false,
		"127.9.9.9": false, "0.0.0.0": false, "224.0.0.1": false, "255.255.255.255": false, "198.18.0.1": false, "240.0.0.1": false, "::1": false, "::": false,
		"fe80::1": false, "fc00::1": false, "ff02::1": false, "64:ff9b::7f00:1": false, "2002:7f00:1::": false,
	} {
		if isPublic(netip.MustParseAddr(a)) != public {
			t.Errorf("%s is public: %v", a, !public)
		}
	}
	if err := publicOnly(context.Background(), "tcp", "[::ffff:10.0.0.1]:443", nil); err == nil {
		t.Error("a private address in the clothes of IPv6 is let through")
	}
}

func TestHooksThatCannotWork(t *testing.T) {
	for _, h := range []Hook{{URL: "", Secret: []byte("x")}, {URL: "ftp://example.com", Secret: []byte("x")}, {URL: "https://example.com"}} {
		if _, err := h.Open(t.Context()); err == nil {
			t.Errorf("%+v is opened", h)
		}
	}
}
