package smtptest

import (
	"slices"
	"strings"
	"time"
)

// Stage is a moment of the dialogue at which a fault can strike.
type Stage string

const (
	Connect  Stage = "connect"  // before the greeting
	Hello    Stage = "hello"    // EHLO or HELO
	StartTLS Stage = "starttls" // before the TLS handshake
	Auth     Stage = "auth"     // the credentials have arrived
	Mail     Stage = "mail"
	Rcpt     Stage = "rcpt"
	Data     Stage = "data" // the command, before any content
	Body     Stage = "body" // after the first line of content, before the final dot
	Dot      Stage = "dot"  // after the final dot
	Reset    Stage = "reset"
)

// Fault is one way to misbehave. The parts happen in this order: Delay, Keep, Hang, Reply, Drop. A fault
// with neither Hang, Reply nor Drop only delays (and then the usual answer follows).
type Fault struct {
	At    Stage
	To    string        // only for this recipient, or those of this domain ("@example.org") (Rcpt and later); empty: for any
	Skip  int           // lets so many pass first
	Times int           // strikes so often; 0: always
	Delay time.Duration // waits first
	Keep  bool          // at Dot: the message counts as accepted, whatever is answered
	Hang  bool          // says nothing more until the server is closed
	Reply string        // answers this line, such as "451 4.3.0 later"
	Drop  bool          // closes the connection
}

// Refuse closes a connection at once.
func Refuse() Fault { return Fault{At: Connect, Drop: true} }

// Answer gives this reply at the stage and goes on.
func Answer(at Stage, reply string) Fault { return Fault{At: at, Reply: reply} }

// SayGoodbye answers 421 at the stage and closes the connection.
func SayGoodbye(at Stage) Fault {
	return Fault{At: at, Reply: "421 4.3.2 service shutting down", Drop: true}
}

// DropBeforeDot closes the connection in the middle of the content; the message is not kept.
func DropBeforeDot() Fault { return Fault{At: Body, Drop: true} }

// DropAfterDot takes the message and closes the connection without an answer.
func DropAfterDot() Fault { return Fault{At: Dot, Keep: true, Drop: true} }

// HangAt goes silent at the stage.
func HangAt(at Stage) Fault { return Fault{At: at, Hang: true} }

// fits tells whether the fault strikes a recipient.
func (f *Fault) fits(to string) bool {
	return f.To == "" || f.To == to || f.To[0] == '@' && strings.HasSuffix(to, f.To)
}

// harmless tells whether the usual answer follows.
func (f *Fault) harmless() bool { return f == nil || !f.Hang && !f.Drop && f.Reply == "" }

// Once is the fault striking one time.
func (f Fault) Once() Fault { f.Times = 1; return f }

// After is the fault striking only when n chances have passed.
func (f Fault) After(n int) Fault { f.Skip = n; return f }

// For is the fault striking this recipient only.
func (f Fault) For(recipient string) Fault { f.To = recipient; return f }

// Inject adds faults. Where several fit, the one injected first strikes.
func (s *Server) Inject(faults ...Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, f := range faults {
		s.faults = append(s.faults, &f)
	}
}

// Heal takes all faults away.
func (s *Server) Heal() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.faults = nil
}

// strike returns the fault that is due, or nil, and counts it.
func (s *Server) strike(at Stage, to string) *Fault {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, f := range s.faults {
		if f.At != at || !f.fits(to) {
			continue
		}
		if f.Skip > 0 {
			f.Skip--
			continue
		}
		hit := *f
		if f.Times == 1 {
			s.faults = slices.Delete(s.faults, i, i+1)
		}
		f.Times--
		return &hit
	}
	return nil
}
