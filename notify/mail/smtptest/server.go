package smtptest

import (
	"bytes"
	"context"
	"crypto/tls"
	"net"
	netmail "net/mail"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
)

// Options are what a server offers and wants. The zero value takes everything, without TLS or login.
type Options struct {
	Addr        string   // where to listen; empty: a free port of 127.0.0.1
	OfferTLS    bool     // STARTTLS is offered
	RequireTLS  bool     // and nothing is taken without it
	ImplicitTLS bool     // TLS from the first octet
	Names       []string // in the certificate; empty: localhost, 127.0.0.1 and ::1
	User, Pass  string   // login that is wanted before MAIL; empty: none is offered
	AuthWays    string   // ways to log in that are offered; empty: "PLAIN LOGIN"
	No8BITMIME  bool
	NoSMTPUTF8  bool
}

// Message is one message the server took responsibility for.
type Message struct {
	ID       string // Message-ID without brackets; empty when there is none
	From, To string // envelope, without brackets
	Params   string // what followed the address in MAIL
	Raw      []byte // content exactly as sent, dots unstuffed
	TLS      bool   // came over TLS
	User     string // logged in as
	Conn     int    // number of the connection it came over, from 1
}

// Server is a running test server. All methods are safe for concurrent use.
type Server struct {
	Authority *Authority // of its certificate; made whether or not TLS is offered

	opts     Options
	tls      *tls.Config
	listener net.Listener
	done     chan struct{}
	wg       sync.WaitGroup

	mu       sync.Mutex
	faults   []*Fault
	messages []Message
	commands []string
	conns    map[net.Conn]struct{}
	accepted int
	changed  chan struct{} // closed, and made anew, whenever something happened
}

// Start runs a server until the test ends.
func Start(tb testing.TB, o Options) *Server {
	tb.Helper()
	s, err := New(o)
	if err != nil {
		tb.Fatalf("start SMTP test server: %v", err)
	}
	tb.Cleanup(s.Close)
	return s
}

// New runs a server until it is closed.
func New(o Options) (*Server, error) {
	if o.Addr == "" {
		o.Addr = "127.0.0.1:0"
	}
	if o.Names == nil {
		o.Names = []string{"localhost", "127.0.0.1", "::1"}
	}
	if o.AuthWays == "" {
		o.AuthWays = "PLAIN LOGIN"
	}
	authority, err := NewAuthority(o.Names...)
	if err != nil {
		return nil, err
	}
	config, err := authority.serverConfig()
	if err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", o.Addr)
	if err != nil {
		return nil, err
	}
	s := &Server{
		Authority: authority, opts: o, tls: config, listener: l,
		done: make(chan struct{}), conns: map[net.Conn]struct{}{}, changed: make(chan struct{}),
	}
	s.wg.Go(s.serve)
	return s, nil
}

// Addr is the server's host:port.
func (s *Server) Addr() string { return s.listener.Addr().String() }

// CAFile writes the certificate authority to a file of the test's temporary folder.
func (s *Server) CAFile(tb testing.TB) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "ca.pem")
	if err := os.WriteFile(path, s.Authority.CA, 0o600); err != nil {
		tb.Fatal(err)
	}
	return path
}

// Close stops the server, closes every connection and waits for their end.
func (s *Server) Close() {
	s.mu.Lock()
	select {
	case <-s.done:
	default:
		close(s.done)
	}
	_ = s.listener.Close()
	for c := range s.conns {
		_ = c.Close()
	}
	s.mu.Unlock()
	s.wg.Wait()
}

// Messages returns what was taken, in order.
func (s *Server) Messages() []Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.messages)
}

// Counts returns how often each Message-ID was taken.
func (s *Server) Counts() map[string]int {
	counts := map[string]int{}
	for _, m := range s.Messages() {
		counts[m.ID]++
	}
	return counts
}

// Commands returns the verbs received, in order, with their arguments; of AUTH only the way, and content
// is left out.
func (s *Server) Commands() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.commands)
}

// Connections is the number of connections made so far, refused ones included.
func (s *Server) Connections() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.accepted
}

// Wait returns when done, which may call any method of s, first returns true: it is asked at once, and again
// whenever a connection, a command or a message came in. It returns the context's error when that ends first.
func (s *Server) Wait(ctx context.Context, done func() bool) error {
	for {
		s.mu.Lock()
		changed := s.changed
		s.mu.Unlock()
		if done() {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// happened wakes those who wait. The caller holds mu.
func (s *Server) happened() {
	close(s.changed)
	s.changed = make(chan struct{})
}

func (s *Server) serve() {
	for {
		conn, err := s.listener.Accept()
		if err != nil {
			return // closed
		}
		number, open := s.track(conn)
		if !open {
			return
		}
		s.wg.Go(func() {
			defer s.forget(conn)
			s.handle(conn, number)
		})
	}
}

// track registers a connection, or closes it when the server is closing.
func (s *Server) track(conn net.Conn) (number int, open bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	select {
	case <-s.done:
		_ = conn.Close()
		return 0, false
	default:
	}
	s.conns[conn] = struct{}{}
	s.accepted++
	s.happened()
	return s.accepted, true
}

func (s *Server) forget(conn net.Conn) {
	_ = conn.Close()
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.conns, conn)
}

func (s *Server) note(command string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.commands = append(s.commands, command)
	s.happened()
}

func (s *Server) keep(m Message) {
	if parsed, err := netmail.ReadMessage(bytes.NewReader(m.Raw)); err == nil {
		id := parsed.Header.Get("Message-Id")
		if len(id) > 2 && id[0] == '<' {
			m.ID = id[1 : len(id)-1]
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.messages = append(s.messages, m)
	s.happened()
}
