package notify

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ventdue/internal/scene"
	"ventdue/notify/hook"
	"ventdue/store"
	"ventdue/vent"
)

// gateway is a webhook's receiver that answers as it is told.
type gateway struct {
	*httptest.Server
	mu     sync.Mutex
	answer func(Posted) int // 0: takes it and hangs up
	got    []Posted
	raw    []string
}

func newGateway(t *testing.T, secret string) *gateway {
	g := &gateway{answer: func(Posted) int { return 200 }}
	g.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		if r.Header.Get(hook.HeaderSignature) != hook.Sign([]byte(secret), r.Header.Get(hook.HeaderTime), body) {
			t.Error("a signature that does not fit")
		}
		var p Posted
		if err := json.Unmarshal(body, &p); err != nil || p.ID.String() != r.Header.Get(hook.HeaderMessage) {
			t.Errorf("%s: %v", body, err)
		}
		g.mu.Lock()
		status := g.answer(p)
		if status == 0 || status/100 == 2 {
			g.got, g.raw = append(g.got, p), append(g.raw, string(body))
		}
		g.mu.Unlock()
		if status == 0 {
			panic(http.ErrAbortHandler)
		}
		w.WriteHeader(status)
	}))
	t.Cleanup(g.Close)
	return g
}

// hooked is an installation that mails and posts.
type hooked struct {
	*scene.Scene
	mails    *tray
	gateway  *gateway
	out, web Outbox
}

func newHooked(t *testing.T) *hooked {
	s := scene.Start(t, noon)
	p := s.Desk.Policy()
	p.Cadence.Opens, p.Cadence.Shuts, p.Webhook = 0, 24*60, true
	s.Desk.SetPolicy(p)
	h := &hooked{Scene: s, mails: &tray{}, gateway: newGateway(t, "a secret of our own")}
	h.out = post(s, h.mails)
	h.web = h.out
	h.web.Channel, h.web.Carrier = vent.ByWebhook, hook.Hook{URL: h.gateway.URL, Secret: []byte("a secret of our own"), AllowPrivate: true, Timeout: 5 * time.Second, Now: s.Clock}
	return h
}

// work decides and delivers once, by both ways.
func (h *hooked) work(later time.Duration) {
	h.TB.Helper()
	h.Now = h.Now.Add(later)
	if _, err := h.Desk.Tell(h.TB.Context(), h.By()); err != nil {
		h.TB.Fatal(err)
	}
	for _, o := range []Outbox{h.out, h.web} {
		_, _ = o.Deliver(h.TB.Context(), h.Now) // trouble of one way is part of the test
	}
}

func (h *hooked) person(name, phone string, channels ...vent.Channel) vent.ID {
	id := h.Person(name, name+"@example.com")
	scene.Change(h.Scene, store.Persons, id, func(p *vent.Person) { p.Phone, p.Channels = phone, channels })
	h.Due(h.House(name, "America/New_York", id), march2.AddDays(20))
	return id
}

// Each is told by the channels they have, once by each, and the webhook says what the mail says.
func TestWebhookTellsToo(t *testing.T) {
	h := newHooked(t)
	h.person("both", "555-0110", vent.ByMail, vent.ByWebhook)
	h.person("posted", "555-0111", vent.ByWebhook)
	h.person("mailed", "555-0112")
	for range 3 {
		h.work(time.Hour)
	}
	var mailed, posted []string
	for _, j := range h.mails.jobs {
		mailed = append(mailed, j.To)
	}
	for _, p := range h.gateway.got {
		posted = append(posted, p.Person.Name+" "+p.Person.Phone)
	}
	slices.Sort(mailed)
	slices.Sort(posted)
	if strings.Join(mailed, ",") != "both@example.com,mailed@example.com" || strings.Join(posted, ",") != "both 555-0110,posted 555-0111" {
		t.Errorf("mailed %v, posted %v", mailed, posted)
	}
	p := h.gateway.got[0]
	if p.Class != "reminder" || p.Language != "en" || p.Operator.Name != "Larkspur Vent Care" || !strings.HasPrefix(p.Subject, "Clean the dryer vent by Sun 22 March 2026") ||
		!strings.Contains(p.Text, "If it smells of burning") || strings.Contains(p.Text, "\r") || strings.Contains(p.Text, "=\n") {
		t.Errorf("posted %+v", p)
	}
}

// Refused for now, tried again; unanswered, once more with the same bytes; gone, and that person is mailed instead. The mail server's
// trouble holds no post back, nor the webhook's any mail.
func TestWebhookTroubles(t *testing.T) {
	h := newHooked(t)
	for _, name := range []string{"later", "silent", "gone"} {
		h.person(name, "555-0110", vent.ByWebhook)
	}
	tries := map[string]int{}
	h.gateway.answer = func(p Posted) int {
		tries[p.Person.Name]++
		switch first := tries[p.Person.Name] == 1; {
		case p.Person.Name == "later" && first:
			return 503
		case p.Person.Name == "silent" && first:
			return 0
		case p.Person.Name == "gone":
			return 410
		}
		return 200
	}
	for range 6 {
		h.work(40 * time.Minute)
	}
	if tries["later"] != 2 || tries["silent"] != 2 || tries["gone"] != 1 {
		t.Errorf("tries %v", tries)
	}
	var silent []string
	for i, p := range h.gateway.got {
		if p.Person.Name == "silent" {
			silent = append(silent, h.gateway.raw[i])
		}
	}
	if len(silent) != 2 || silent[0] != silent[1] {
		t.Errorf("the unanswered one was posted as %q", silent)
	}
	if len(h.mails.jobs) != 1 || h.mails.jobs[0].To != "gone@example.com" {
		t.Errorf("mailed %v", h.mails.jobs)
	}
}

// Where no webhook is set any more, what waits for it ends and says so; whoever has no other channel is named as not reached.
func TestNoWebhook(t *testing.T) {
	h := newHooked(t)
	id := h.person("posted", "555-0111", vent.ByWebhook)
	h.gateway.answer = func(Posted) int { return 500 }
	h.work(0)
	p := h.Desk.Policy()
	p.Webhook = false
	h.Desk.SetPolicy(p)
	h.work(time.Hour)
	m := scene.Get(h.Scene, store.Messages, messageOf(t, h.Scene, id))
	if m.State != vent.MessageSuppressed || !strings.Contains(m.Answer, "webhook.url") {
		t.Errorf("%s: %s", m.State, m.Answer)
	}
}

// The receiver of the README, run as it stands there, takes what is signed and fresh, and nothing else.
func TestExampleReceiver(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		if os.Getenv("VENTDUE_REQUIRE_TOOLS") == "1" {
			t.Fatal("python3 is missing, and VENTDUE_REQUIRE_TOOLS=1")
		}
		t.Skip("python3 is missing")
	}
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(readme), "```python\n")
	code, _, closed := strings.Cut(rest, "```")
	if !found || !closed {
		t.Fatal("the README has no example receiver")
	}
	// The example asks WSGI's way for a request; here it is asked without a network.
	script := filepath.Join(t.TempDir(), "receiver.py")
	if err := os.WriteFile(script, []byte(code+testReceiver), 0o600); err != nil {
		t.Fatal(err)
	}
	body := `{"id":"m1","person":{"phone":"555-0110"},"subject":"Clean the dryer vent"}`
	cmd := exec.Command(python, script, "1800000000", hook.Sign([]byte("change me"), "1800000000", []byte(body)), body)
	cmd.Env = append(os.Environ(), "VENTDUE_HOOK_SECRET=change me")
	out, err := cmd.CombinedOutput()
	if err != nil || strings.TrimSpace(string(out)) != "text to 555-0110: Clean the dryer vent\n204 204 403 403 403" {
		t.Errorf("%v\n%s", err, out)
	}
}

// testReceiver asks the example five times: right, the same again, an hour late, changed, with another signature.
const testReceiver = `
if __name__ == "__main__":
    import sys
    at, signature, body = sys.argv[1], sys.argv[2], sys.argv[3].encode()
    now = int(at)
    print(take(body, at, signature, now), take(body, at, signature, now + 5), take(body, at, signature, now + 3600),
          take(body + b" ", at, signature, now), take(body, at, "0" * 64, now))
`
