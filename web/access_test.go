package web

import (
	"bufio"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/bcrypt"
)

const password = "correct horse"

func locked(o *Options) { o.Open, o.Password = false, password }

func TestOptionsThatCannotBe(t *testing.T) {
	h := newHouse(t, nil)
	for name, o := range map[string]Options{
		"no desk":          {Open: true},
		"open and locked":  {Desk: h.desk, Open: true, Password: "x"},
		"two passwords":    {Desk: h.desk, Password: "x", PasswordHash: "y"},
		"no hash":          {Desk: h.desk, PasswordHash: "y"},
		"a long password":  {Desk: h.desk, Password: strings.Repeat("x", 73)},
		"no address":       {Desk: h.desk, Open: true, BaseURL: "http://a b"},
		"open with tokens": {Desk: h.desk, Open: true, Token: "x"},
	} {
		if _, err := New(o); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestSignIn(t *testing.T) {
	h := newHouse(t, locked)
	id := h.add(maple())[0]
	for _, path := range []string{"/", "/feeds", runPath(id.run)} {
		r := h.get(path)
		if r.status != http.StatusSeeOther || r.header.Get("Location") != "/signin?next="+url.QueryEscape(path) {
			t.Errorf("GET %s: %d to %s", path, r.status, r.header.Get("Location"))
		}
	}
	if r := h.post(runPath(id.run)+"/findings", visit()); r.status != http.StatusSeeOther {
		t.Errorf("recording without signing in: %d", r.status)
	}
	if view, _ := h.desk.Run(h.by(), id.run); len(view.Findings) != 0 {
		t.Error("a stranger recorded a finding")
	}
	form := h.page("/signin?next=" + url.QueryEscape(runPath(id.run)))
	checkPage(t, "signin", form)
	wantNoText(t, form, "Maple", "Hill Rentals", "Calendars")
	wrong := h.post("/signin", url.Values{"password": {"correct horsf"}, "name": {"Ana"}})
	if wrong.status != http.StatusForbidden {
		t.Errorf("a wrong password: %d", wrong.status)
	}
	checkPage(t, "wrong", wrong.body)
	wantText(t, wrong.body, "Name and password do not go together.")
	r := h.post("/signin", url.Values{"password": {password}, "name": {" Ana\tLópez\u0000 "}, "next": {runPath(id.run)}})
	if r.status != http.StatusSeeOther || r.header.Get("Location") != runPath(id.run) {
		t.Fatalf("signing in: %d to %s", r.status, r.header.Get("Location"))
	}
	for _, c := range r.header.Values("Set-Cookie") {
		if !strings.Contains(c, "HttpOnly") || !strings.Contains(c, "SameSite=Lax") {
			t.Errorf("cookie %s", c)
		}
	}
	h.post(runPath(id.run)+"/findings", visit())
	view, _ := h.desk.Run(h.by(), id.run)
	if len(view.Findings) != 1 || view.Findings[0].Recorder != "web Ana López 127.0.0.1" {
		t.Errorf("recorded as %+v", view.Findings)
	}
	h.post("/signout", nil)
	if r := h.get("/"); r.status != http.StatusSeeOther {
		t.Errorf("after signing out: %d", r.status)
	}
}

func (h *house) signIn(hc *http.Client, addr string) reply {
	h.t.Helper()
	req := h.request("POST", "/signin", strings.NewReader(url.Values{"password": {password}}.Encode()), "Content-Type", "application/x-www-form-urlencoded", "X-Forwarded-For", addr)
	return h.doAs(hc, req)
}

func TestSessionEnds(t *testing.T) {
	h := newHouse(t, locked)
	here, there := h.browser(), h.browser()
	for _, hc := range []*http.Client{here, there} {
		if r := h.signIn(hc, ""); r.status != http.StatusSeeOther {
			t.Fatalf("signing in: %d", r.status)
		}
	}
	in := func(hc *http.Client) bool { return h.doAs(hc, h.request("GET", "/feeds", nil)).status == http.StatusOK }
	if !in(here) || !in(there) {
		t.Fatal("not signed in")
	}
	again, err := New(Options{Desk: h.desk, Now: func() time.Time { return h.now }, Password: password})
	if err != nil {
		t.Fatal(err)
	}
	restarted := h.pages.Config.Handler
	h.pages.Config.Handler = again
	if !in(here) {
		t.Error("a restart ended the session")
	}
	h.pages.Config.Handler = restarted
	h.now = h.now.Add(29 * 24 * time.Hour)
	if !in(here) {
		t.Error("the session ended within 30 days")
	}
	h.now = h.now.Add(5 * 24 * time.Hour)
	if !in(here) {
		t.Error("a session in use was not renewed")
	}
	if in(there) {
		t.Error("a session of 34 days without a visit still lets in")
	}
	h.signIn(there, "")
	if r := h.doAs(there, h.request("POST", "/signout/everywhere", nil)); r.status != http.StatusSeeOther || in(here) || in(there) {
		t.Errorf("signing out everywhere: %d, here %v, there %v", r.status, in(here), in(there))
	}
	h.signIn(here, "")
	if !in(here) {
		t.Error("cannot sign in after everybody was signed out")
	}
	changed, err := New(Options{Desk: h.desk, Now: func() time.Time { return h.now }, Password: "another password"})
	if err != nil {
		t.Fatal(err)
	}
	h.pages.Config.Handler = changed
	if in(here) {
		t.Error("a session outlived the password")
	}
}

func TestForgedCookies(t *testing.T) {
	h := newHouse(t, locked)
	r := h.signIn(h.hc, "")
	good := between(r.header.Get("Set-Cookie"), "ventdue=", ";")
	body, sum, _ := strings.Cut(good, ".")
	stranger := h.browser()
	for name, value := range map[string]string{
		"cut":            body,
		"no sum":         body + ".",
		"other body":     body[:len(body)-2] + "fQ." + sum,
		"other sum":      body + "." + strings.Repeat("A", len(sum)),
		"device as name": between(strings.Join(r.header.Values("Set-Cookie"), " "), "ventdue-device=", ";"),
		"empty":          "",
	} {
		req := h.request("GET", "/", nil, "Cookie", "ventdue="+value)
		if got := h.doAs(stranger, req); got.status != http.StatusSeeOther {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	if got := h.doAs(stranger, h.request("GET", "/due", nil, "Cookie", "ventdue=x.y; ventdue="+good)); got.status != http.StatusOK {
		t.Errorf("the good one of two: %d", got.status)
	}
}

func TestGuessingIsSlowedForWhoGuesses(t *testing.T) {
	h := newHouse(t, func(o *Options) {
		locked(o)
		hash, _ := bcrypt.GenerateFromPassword([]byte(password), bcrypt.MinCost)
		o.Password, o.PasswordHash = "", string(hash)
		o.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}
	})
	owner := h.browser()
	if r := h.signIn(owner, "203.0.113.5"); r.status != http.StatusSeeOther {
		t.Fatalf("the owner: %d", r.status)
	}
	guess := func(addr string) reply {
		return h.doAs(h.browser(), h.request("POST", "/signin", strings.NewReader("password=guess"), "Content-Type", "application/x-www-form-urlencoded", "X-Forwarded-For", addr))
	}
	for i := range freeTries + 1 {
		if r := guess("203.0.113.5"); r.status != http.StatusForbidden {
			t.Fatalf("guess %d: %d", i, r.status)
		}
		if i == freeTries-1 {
			h.now = h.now.Add(time.Second)
		}
	}
	slowed := guess("203.0.113.5")
	if slowed.status != http.StatusTooManyRequests || slowed.header.Get("Retry-After") != "2" {
		t.Errorf("after %d guesses: %d, wait %s", freeTries+1, slowed.status, slowed.header.Get("Retry-After"))
	}
	if r := h.signIn(h.browser(), "203.0.113.5"); r.status != http.StatusTooManyRequests {
		t.Errorf("the right password in the waiting time: %d", r.status)
	}
	if r := h.signIn(h.browser(), "203.0.113.77"); r.status != http.StatusSeeOther {
		t.Errorf("from another address: %d", r.status)
	}
	// The owner's own browser is known, and waits for nobody, even behind the guesser's address.
	h.doAs(owner, h.request("POST", "/signout", nil))
	if r := h.signIn(owner, "203.0.113.5"); r.status != http.StatusSeeOther {
		t.Errorf("the owner is locked out: %d", r.status)
	}
	h.now = h.now.Add(longestTry)
	if r := guess("203.0.113.5"); r.status != http.StatusForbidden {
		t.Errorf("after the wait: %d", r.status)
	}
}

func TestGate(t *testing.T) {
	g, now := newGate(), time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	for i := range 40 {
		wait := g.try("a", now)
		if wait > longestTry {
			t.Fatalf("try %d waits %v", i, wait)
		}
		now = now.Add(wait)
	}
	for i := range 3 * maxTriers {
		g.try(netip.AddrFrom4([4]byte{10, byte(i >> 16), byte(i >> 8), byte(i)}).String(), now)
	}
	if len(g.triers) > maxTriers {
		t.Errorf("%d triers are remembered", len(g.triers))
	}
	a, b := netip.MustParseAddr("2001:db8:1:2:3::4"), netip.MustParseAddr("2001:db8:1:2:9::1")
	if trier("", a) != trier("", b) || trier("", a) == trier("", netip.MustParseAddr("2001:db8:1:3::1")) || trier("x", a) == trier("", a) {
		t.Error("addresses are told apart the wrong way")
	}
}

func TestClientAddress(t *testing.T) {
	s := &server{proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}
	for _, c := range []struct{ remote, forwarded, want string }{
		{"198.51.100.7:1", "", "198.51.100.7"},
		{"198.51.100.7:1", "203.0.113.9", "198.51.100.7"}, // nobody trusts this one
		{"10.0.0.1:1", "203.0.113.9", "203.0.113.9"},
		{"10.0.0.1:1", "6.6.6.6, 203.0.113.9, 10.0.0.2", "203.0.113.9"},
		{"10.0.0.1:1", "nonsense", "10.0.0.1"},
		{"[::ffff:198.51.100.7]:1", "", "198.51.100.7"},
		{"@", "203.0.113.9", "0.0.0.0"},
	} {
		r := &http.Request{RemoteAddr: c.remote, Header: http.Header{}}
		if c.forwarded != "" {
			r.Header.Set("X-Forwarded-For", c.forwarded)
		}
		if got := s.clientAddr(r).String(); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

func TestNextStaysHere(t *testing.T) {
	for _, bad := range []string{"", "//evil.example/x", "https://evil.example", `/\evil.example`, "javascript:alert(1)", "/\nx", "evil", "/signin", "/signin?next=/", "%zz"} {
		if got := localPath(bad); got != "/" {
			t.Errorf("%q leads to %q", bad, got)
		}
	}
	if got := localPath("/runs/1?x=y"); got != "/runs/1?x=y" {
		t.Errorf("our own page leads to %q", got)
	}
}

func TestOpenPagesAnswerLoopbackNamesOnly(t *testing.T) {
	h := newHouse(t, nil)
	for host, want := range map[string]int{
		"localhost": 200, "LOCALHOST:8017": 200, "localhost.": 200, "vents.localhost:80": 200, "127.0.0.1": 200, "127.1.2.3:9": 200, "[::1]:8017": 200, "[::1]": 200,
		"rebound.example": 403, "rebound.example:8017": 403, "127.0.0.1.rebound.example": 403, "localhost.rebound.example": 403, "192.168.1.7": 403, "notlocalhost": 403, "0.0.0.0": 403,
	} {
		for _, path := range []string{"/due", "/api/dues"} {
			req := h.request("GET", path, nil)
			req.Host = host
			if r := h.do(req); r.status != want {
				t.Errorf("Host %s, GET %s: %d, want %d", host, path, r.status, want)
			}
		}
	}
	if r := h.get("/", "X-Forwarded-For", "203.0.113.9"); r.status != http.StatusForbidden {
		t.Errorf("through a proxy: %d", r.status)
	}
	other := newHouse(t, locked)
	req := other.request("GET", "/signin", nil)
	req.Host = "vents.example.com"
	if r := other.do(req); r.status != http.StatusOK {
		t.Errorf("with a password any name will do: %d", r.status)
	}
}

func TestWritesFromOtherSitesAreRefused(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	for name, header := range map[string][]string{
		"another origin": {"Origin", "https://evil.example", "Sec-Fetch-Site", ""},
		"cross site":     {"Origin", "https://evil.example", "Sec-Fetch-Site", "cross-site"},
		"same site only": {"Sec-Fetch-Site", "same-site"},
		"null origin":    {"Origin", "null", "Sec-Fetch-Site", ""},
	} {
		for _, path := range []string{runPath(id.run) + "/findings", "/feeds", "/api" + runPath(id.run) + "/findings", "/signin"} {
			r := h.post(path, visit(), header...)
			if r.status != http.StatusForbidden {
				t.Errorf("%s, POST %s: %d", name, path, r.status)
			}
			if strings.HasPrefix(path, "/api") != strings.Contains(r.header.Get("Content-Type"), "problem+json") {
				t.Errorf("%s, POST %s answers %s", name, path, r.header.Get("Content-Type"))
			}
		}
	}
	if view, _ := h.desk.Run(h.by(), id.run); len(view.Findings) != 0 {
		t.Error("a foreign site recorded a finding")
	}
}

func TestHeadersAndLimits(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	page := h.get("/")
	style := "/static/" + between(page.body, `href="/static/`, `"`)
	for _, path := range []string{"/", "/nowhere", style, "/api/dues", "/feeds?made=x"} {
		r := h.get(path)
		csp := r.header.Get("Content-Security-Policy")
		if strings.Contains(csp, "unsafe") || !strings.Contains(csp, "script-src 'self'; worker-src 'self'; connect-src 'self';") || !strings.Contains(csp, "default-src 'none'") || !strings.Contains(csp, "frame-ancestors 'none'") ||
			r.header.Get("X-Content-Type-Options") != "nosniff" || r.header.Get("Referrer-Policy") != "same-origin" {
			t.Errorf("GET %s: %v", path, r.header)
		}
	}
	if r := h.get(style); r.status != 200 || r.header.Get("Content-Type") != "text/css; charset=utf-8" || !strings.Contains(r.header.Get("Cache-Control"), "immutable") {
		t.Errorf("the stylesheet: %d %v", r.status, r.header)
	}
	if r := h.do(h.request("HEAD", "/", nil)); r.status != 200 || r.body != "" {
		t.Errorf("HEAD /: %d, %d bytes", r.status, len(r.body))
	}
	for _, path := range []string{runPath(id.run) + "/findings", "/feeds", "/signin", "/api" + runPath(id.run) + "/findings"} {
		kind := "application/x-www-form-urlencoded"
		if strings.HasPrefix(path, "/api") {
			kind = "application/json"
		}
		body := `{"note":"` + strings.Repeat("x", maxBody) + `"}`
		if r := h.do(h.request("POST", path, strings.NewReader(body), "Content-Type", kind)); r.status != http.StatusRequestEntityTooLarge {
			t.Errorf("POST %s with %d bytes: %d", path, len(body), r.status)
		}
	}
	if r := h.do(h.request("POST", "/feeds", strings.NewReader("%zz=%"), "Content-Type", "application/x-www-form-urlencoded")); r.status != http.StatusBadRequest {
		t.Errorf("a broken form: %d", r.status)
	}
}

// The pages can stand below a path, whether the proxy takes it off or not.
func TestBelowAPath(t *testing.T) {
	h := newHouse(t, func(o *Options) {
		locked(o)
		o.BaseURL = "https://example.com/vents"
	})
	r := h.get("/vents/")
	if r.header.Get("Location") != "/vents/signin?next=%2F" {
		t.Errorf("to %s", r.header.Get("Location"))
	}
	for _, path := range []string{"/vents/signin", "/signin"} {
		page := h.page(path)
		checkPage(t, path, page)
		if !strings.Contains(page, `action="/vents/signin"`) || !strings.Contains(page, `href="/vents/static/`) {
			t.Errorf("GET %s leads out of the path", path)
		}
	}
	in := h.signIn(h.hc, "")
	cookie := in.header.Get("Set-Cookie")
	if in.header.Get("Location") != "/vents/" || !strings.HasPrefix(cookie, "__Secure-ventdue=") || !strings.Contains(cookie, "Path=/vents/") || !strings.Contains(cookie, "Secure") {
		t.Errorf("to %s with %s", in.header.Get("Location"), cookie)
	}
}

// A panic in one page is one page's trouble.
func TestPanicIsAnAnswer(t *testing.T) {
	h := newHouse(t, nil)
	s := newServer(t)
	s.log, s.pages, s.open = discard(), mustPages(t), true
	s.mux = http.NewServeMux()
	s.mux.HandleFunc("/", func(http.ResponseWriter, *http.Request) { panic("loose screw") })
	h.pages.Config.Handler = s.guard()
	r := h.get("/")
	if r.status != http.StatusInternalServerError {
		t.Errorf("status %d", r.status)
	}
	wantText(t, r.body, "Something went wrong here")
	wantNoText(t, r.body, "loose screw")
}

// Whoever talks nonsense gets an answer or a closed door, not a hang.
func TestRawNonsense(t *testing.T) {
	h := newHouse(t, nil)
	for _, line := range []string{"GET / HTTP/1.1\r\n\r\n", "GET / HTTP/1.0\r\n\r\n", "POST /feeds HTTP/1.1\r\nHost: localhost\r\nContent-Length: x\r\n\r\n", "GET //evil.example/%2e%2e HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"} {
		c, err := net.Dial("tcp", h.pages.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := c.Write([]byte(line)); err != nil {
			t.Fatal(err)
		}
		got, err := bufio.NewReader(c).ReadString('\n')
		if err != nil || strings.Contains(got, " 200 ") || strings.Contains(got, " 500 ") {
			t.Errorf("%q: %q, %v", line, got, err)
		}
		c.Close()
	}
}
