package web

import (
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
)

// maxBody is the largest request body without photos, in bytes: many times what the largest form can hold.
const maxBody = 64 << 10

// policy is what a page may load and who may frame it: our own files, nobody. Our own script files run, nothing that stands
// in a page.
const policy = "default-src 'none'; script-src 'self'; worker-src 'self'; connect-src 'self'; style-src 'self'; img-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// guard puts around all addresses what must hold for each of them.
func (s *server) guard() http.Handler {
	crossOrigin := http.NewCrossOriginProtection()
	crossOrigin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, refusal{status: http.StatusForbidden, key: "cross"})
	}))
	// A mail program's one click comes from wherever it likes. The address itself is the permission; no cookie counts there.
	crossOrigin.AddInsecureBypassPattern(choicesRoute)
	next := crossOrigin.Handler(http.HandlerFunc(s.dispatch))
	if s.root != "" {
		next = s.stripRoot(next)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		secureHeaders(w.Header())
		defer s.recovered(w, r)
		if s.openNow() && !localRequest(r) {
			s.fail(w, r, refusal{status: http.StatusForbidden, key: "host"})
			return
		}
		next.ServeHTTP(w, r)
	})
}

// secureHeaders sets what every answer carries. The referrer policy is not "no-referrer": browsers would then send
// "Origin: null" with our own forms, which is refused.
func secureHeaders(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
	h.Set("Cache-Control", "private, no-cache")
}

// dispatch sends a request to its address, and gives our own answer where there is none.
func (s *server) dispatch(w http.ResponseWriter, r *http.Request) {
	h, pattern := s.mux.Handler(r)
	r.Body = http.MaxBytesReader(w, r.Body, max(maxBody, s.largest[pattern]))
	if pattern != "" {
		s.mux.ServeHTTP(w, r)
		return
	}
	seen := statusOnly{ResponseWriter: w}
	h.ServeHTTP(&seen, r)
	key := "missing"
	if seen.status == http.StatusMethodNotAllowed {
		key = "method"
	}
	w.Header().Del("Content-Length")
	s.fail(w, r, refusal{status: seen.status, key: key})
}

// statusOnly takes down an answer's status and headers and drops its body.
type statusOnly struct {
	http.ResponseWriter
	status int
}

func (w *statusOnly) WriteHeader(status int)      { w.status = status }
func (w *statusOnly) Write(b []byte) (int, error) { return len(b), nil }

// stripRoot takes the base address' path off, whether or not a proxy did so already.
func (s *server) stripRoot(next http.Handler) http.Handler {
	inside := http.StripPrefix(s.root, next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, s.root+"/") {
			inside.ServeHTTP(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// recovered turns a panic into an answer, so that one page's fault is not the whole house's.
func (s *server) recovered(w http.ResponseWriter, r *http.Request) {
	p := recover()
	if p == nil {
		return
	}
	if p == http.ErrAbortHandler {
		panic(p)
	}
	s.log.Error("a page panicked", "method", r.Method, "path", r.URL.Path, "panic", p, "stack", string(debug.Stack()))
	s.fail(w, r, refusal{status: http.StatusInternalServerError, key: "internal"})
}

// localRequest reports whether a request to an open listener comes from this machine by a loopback name, and not through
// a proxy that would let others in.
func localRequest(r *http.Request) bool {
	if r.Header.Get("X-Forwarded-For") != "" || r.Header.Get("Forwarded") != "" {
		return false
	}
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.ToLower(strings.TrimSuffix(host, "."))
	if host == "localhost" || strings.HasSuffix(host, ".localhost") {
		return true
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return err == nil && ip.IsLoopback()
}

// clientAddr gives the address of whoever asks: the last one in X-Forwarded-For that no trusted proxy has, when
// the connection comes from a trusted proxy.
func (s *server) clientAddr(r *http.Request) netip.Addr {
	port, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.IPv4Unspecified() // a Unix socket or a test
	}
	addr := port.Addr().Unmap()
	said := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(said) - 1; i >= 0 && s.trusted(addr); i-- {
		next, err := netip.ParseAddr(strings.TrimSpace(said[i]))
		if err != nil {
			break
		}
		addr = next.Unmap()
	}
	return addr
}

func (s *server) trusted(a netip.Addr) bool {
	for _, p := range s.proxies {
		if p.Contains(a) {
			return true
		}
	}
	return false
}
