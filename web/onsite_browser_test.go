package web

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ventdue/internal/outside"
	"ventdue/store"
	"ventdue/vent"
)

// air is what is between a phone and the house: there may be no signal, or an answer may be lost after the house has taken what
// was sent.
type air struct {
	*httptest.Server
	down, cut atomic.Bool
	sent      atomic.Int64 // visits that reached the house
}

func (h *house) air() *air {
	a := &air{}
	inside := h.server.guard()
	a.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if a.down.Load() {
			panic(http.ErrAbortHandler)
		}
		if r.Method == http.MethodPost && strings.HasSuffix(r.URL.Path, "/visit") {
			a.sent.Add(1)
			if a.cut.CompareAndSwap(true, false) {
				inside.ServeHTTP(httptest.NewRecorder(), r)
				panic(http.ErrAbortHandler)
			}
		}
		inside.ServeHTTP(w, r)
	}))
	a.Server.Config.ErrorLog = nil
	h.t.Cleanup(a.Close)
	return a
}

// wide is a photo of 3000 by 1500 px.
func wide(t *testing.T) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, 3000, 1500))
	for i := range m.Pix {
		m.Pix[i] = uint8(i * i >> 3)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func promised[T any](b tab, script string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%.200s: %v", script, err)
	}
	return v
}

// until waits until the page says that something is so.
func (b tab) until(what, script string) {
	b.t.Helper()
	end := time.Now().Add(20 * time.Second) // the browser's clock, not ours
	for {
		v, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](script, chromedp.EvalAwaitPromise))
		if err == nil && v {
			return
		}
		if time.Now().After(end) {
			b.t.Fatalf("%s: not so in time: %v\n%s", what, err, ask[string](b, `location.href + "\n" + document.body.innerText.slice(0, 1500)`))
		}
		_, _ = chromedp.Run(b.ctx, chromedp.Evaluate[bool](`new Promise(done => setTimeout(() => done(true), 60))`, chromedp.EvalAwaitPromise)) // the page may go meanwhile
	}
}

// settled waits for the script beside the pages to have kept the page of a run.
func (b tab) settled(path string) {
	b.t.Helper()
	b.until("the page is kept", fmt.Sprintf(`(async () => { for (const n of await caches.keys()) if (n.endsWith(" pages") && await (await caches.open(n)).match(%q)) return true; return false })()`, path))
}

// fillIn writes a visit into the form that is open.
func (b tab) fillIn(day, before, note string) {
	b.t.Helper()
	b.do("fill in", chromedp.SetValue(chromedp.CSS("#date"), day), chromedp.SendKeys(chromedp.CSS("#speed_before"), before),
		chromedp.Click(chromedp.CSS("input[name=outcome][value=full]")), chromedp.SendKeys(chromedp.CSS("#note"), note))
}

func (b tab) send() {
	b.t.Helper()
	b.do("send", chromedp.Click(chromedp.CSS(".send .main")))
}

func (h *house) notes(run vent.ID) (all []string) {
	view, err := h.desk.Run(h.by(), run)
	if err != nil {
		h.t.Fatal(err)
	}
	for _, f := range view.Findings {
		if f.Note != "" {
			all = append(all, f.Note)
		}
	}
	return all
}

func onsite(t *testing.T) (*house, *air, tab, added) {
	ctx := chrome(t)
	h := newHouse(t, nil)
	h.now = time.Now() // the browser's own clock counts for what is kept today
	h.setOperator(vent.SI)
	id := h.read8()
	a := h.air()
	b := tab{t: t, ctx: ctx, base: a.URL, shots: os.Getenv("VENTDUE_SCREENSHOTS")}
	if b.shots == "" {
		b.shots = t.TempDir()
	}
	return h, a, b, id
}

// A visit that is recorded without signal, with a photo, is sent when there is some: once, though the first answer is lost.
func TestAVisitWithoutSignal(t *testing.T) {
	h, a, b, id := onsite(t)
	path := runPath(id.run) + "/visit"
	b.open(path)
	b.settled(path)
	b.do("type", chromedp.SendKeys(chromedp.CSS("#speed_before"), "4.8"))
	b.until("the server judges", `document.getElementById("speed_before-verdict").value.includes("past the limit")`)
	b.look("visit")

	a.down.Store(true)
	b.open(path)
	b.says("There is no signal. This page is as it was", "Maple House")
	photo := filepath.Join(t.TempDir(), "hood.jpg")
	if err := os.WriteFile(photo, wide(t), 0o600); err != nil {
		t.Fatal(err)
	}
	b.do("photo", chromedp.SetUploadFiles(chromedp.CSS("#photos"), []string{photo}))
	b.fillIn("2026-01-05", "4.8", "in the basement")
	b.until("the phone judges", `document.getElementById("speed_before-verdict").value.includes("% of clean: past the limit")`)
	b.look("visit-offline")
	b.send()
	b.until("it waits", `location.pathname === "/waiting" && document.body.innerText.includes("1 visit waits for signal")`)
	b.says("Maple House, 3B, dryer vent", "Waits for signal.", "Photos kept with this visit: 1.")
	if said := ask[[]string](b, `[document.getElementById("outbox").innerText.trim(), document.querySelector("#waiting strong").innerText]`); said[0] != "1 visit waits for signal" || said[1] != "Maple House, 3B, dryer vent" {
		t.Errorf("%q", said)
	}
	if w := promised[int](b, `(async () => {
		const base = await new Promise(done => { const r = indexedDB.open("ventdue ", 1); r.onsuccess = () => done(r.result) });
		const all = await new Promise(done => { const r = base.transaction("visits").objectStore("visits").getAll(); r.onsuccess = () => done(r.result) });
		base.close();
		return (await createImageBitmap(all[0].photos[0].blob)).width })()`); w != 2000 {
		t.Errorf("the photo is kept %d px wide", w)
	}
	b.look("waiting")
	b.open(path)
	b.fillIn("2026-01-06", "8", "a second one")
	b.send()
	b.until("both wait", `location.pathname === "/waiting" && document.body.innerText.includes("2 visits wait for signal")`)
	if n := h.notes(id.run); len(n) != 0 {
		t.Fatalf("recorded without signal: %v", n)
	}

	a.cut.Store(true)
	a.down.Store(false)
	b.do("send now", chromedp.Click(chromedp.CSS("#sendnow")))
	b.until("the first answer is lost", `document.body.innerText.includes("2 visits wait for signal")`)
	b.until("all is sent", `(document.getElementById("sendnow").click(), document.getElementById("outbox").hidden)`)
	b.says("Sent and recorded")
	if n := h.notes(id.run); len(n) != 2 || a.sent.Load() != 3 {
		t.Errorf("recorded %v after %d tries; want two, after three", n, a.sent.Load())
	}
	view, _ := h.desk.Run(h.by(), id.run)
	for _, f := range view.Findings {
		if f.Note == "in the basement" && (len(f.Photos) != 1 || f.Photos[0].Bytes == 0 || f.Before[0].Value != 4.8) {
			t.Errorf("%+v", f)
		}
	}
	ask[bool](b, `(document.querySelector("#waiting a").click(), true)`)
	b.until("what it brought about", `document.body.innerText.includes("Recorded: cleaned from end to end")`)
}

// What a phone shows at the dryer can be read aloud and used without a mouse.
func TestThePhonesPagesAreAccessible(t *testing.T) {
	source, err := os.ReadFile(filepath.Join(outside.Module(t, "axe-core"), "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	_, a, b, id := onsite(t)
	path := runPath(id.run) + "/visit"
	b.open(path)
	b.settled(path)
	for _, scheme := range []string{"light", "dark"} {
		b.open(path)
		media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
		if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, media); err != nil {
			t.Fatal(err)
		}
		ask[bool](b, `(document.querySelectorAll("details").forEach(d => { d.open = true }), true)`)
		b.do("type", chromedp.SendKeys(chromedp.CSS("#speed_before"), "4.8"))
		b.until("it is judged", `document.getElementById("speed_before-verdict").value.includes("past the limit")`)
		b.axe("visit, "+scheme, string(source))
	}
	a.down.Store(true)
	b.fillIn("2026-01-05", "", "waits")
	b.send()
	b.until("it waits", `location.pathname === "/waiting" && document.body.innerText.includes("Waits for signal.")`)
	b.axe("waiting", string(source))
}

// Two tabs of one phone send a visit once.
func TestTwoTabsSendOnce(t *testing.T) {
	h, a, b, id := onsite(t)
	path := runPath(id.run) + "/visit"
	b.open(path)
	b.settled(path)
	a.down.Store(true)
	b.fillIn("2026-01-05", "8", "from two tabs")
	b.send()
	b.until("it waits", `location.pathname === "/waiting"`)
	second, err := func() (tab, error) {
		ctx, cancel := chromedp.NewContext(b.ctx)
		t.Cleanup(cancel)
		x := b
		x.ctx = ctx
		return x, chromedp.Do(ctx, chromedp.Navigate(b.base+"/waiting"))
	}()
	if err != nil {
		t.Fatal(err)
	}
	second.until("the second tab sees it", `document.body.innerText.includes("1 visit waits for signal")`)
	a.down.Store(false)
	press := `(document.getElementById("sendnow").click(), true)`
	ask[bool](b, press)
	ask[bool](second, press)
	b.until("sent", `document.getElementById("outbox").hidden`)
	second.until("the other hears of it", `document.getElementById("outbox").hidden`)
	if n := h.notes(id.run); len(n) != 1 || a.sent.Load() != 1 {
		t.Errorf("recorded %v, sent %d times", n, a.sent.Load())
	}
}

// What the house refuses stays, with what is wrong, until it is put right.
func TestARefusedVisitStays(t *testing.T) {
	h, a, b, id := onsite(t)
	path := runPath(id.run) + "/visit"
	b.open(path)
	b.settled(path)
	b.fillIn("2026-01-05", "fast", "odd")
	b.send()
	b.until("it is refused", `document.body.innerText.includes('"fast" is not an air speed')`)
	b.says("Nothing was recorded yet", "1 visit waits")
	b.open("/waiting")
	b.until("it is listed", `document.body.innerText.includes("Not taken: put it right")`)
	b.says(`"fast" is not an air speed`)
	a.down.Store(true)
	b.do("open the form", chromedp.Click(chromedp.CSS("#waiting .pages a")))
	b.until("the form is filled", `document.getElementById("note") && document.getElementById("note").value === "odd"`)
	b.do("put right", chromedp.SetValue(chromedp.CSS("#speed_before"), "7.5"))
	b.send()
	b.until("it waits", `location.pathname === "/waiting" && document.body.innerText.includes("Waits for signal.")`)
	a.down.Store(false)
	b.do("send now", chromedp.Click(chromedp.CSS("#sendnow")))
	b.until("sent", `document.getElementById("outbox").hidden`)
	if n := h.notes(id.run); len(n) != 1 {
		t.Errorf("recorded %v", n)
	}
}

// A correction that was refused is still one when it is put right from the list.
func TestARefusedCorrectionCorrects(t *testing.T) {
	h, _, b, id := onsite(t)
	view, err := h.desk.Run(h.by(), id.run)
	if err != nil {
		t.Fatal(err)
	}
	b.open(runPath(id.run) + "/visit?correct=" + view.Findings[0].ID.String())
	b.do("spoil", chromedp.SetValue(chromedp.CSS("#speed_before"), "fast"), chromedp.SendKeys(chromedp.CSS("#note"), "corrected"))
	b.send()
	b.until("it is refused", `document.body.innerText.includes('"fast" is not an air speed')`)
	b.open("/waiting")
	b.until("it is listed", `!!document.querySelector("#waiting .pages a")`)
	ask[bool](b, `(document.querySelector("#waiting .pages a").click(), true)`)
	b.until("the form is filled", `document.getElementById("note") && document.getElementById("note").value === "corrected"`)
	b.do("put right", chromedp.SetValue(chromedp.CSS("#speed_before"), "7.5"))
	b.send()
	b.until("it is recorded", `location.search.startsWith("?recorded=")`)
	after, err := h.desk.Run(h.by(), id.run)
	if err != nil || len(after.Findings) != len(view.Findings)+1 || len(h.notes(id.run)) != 1 {
		t.Errorf("%d findings, %d before: %v", len(after.Findings), len(view.Findings), err)
	}
	for _, f := range after.Findings {
		if f.Note == "corrected" && f.Corrects != view.Findings[0].ID {
			t.Errorf("it corrects %s, not %s", f.Corrects, view.Findings[0].ID)
		}
	}
}

// Signing out forgets the pages that were kept, and says that a visit waits; it is sent when its keeper is back.
func TestSignedOutInBetween(t *testing.T) {
	ctx := chrome(t)
	s := newStaff(t)
	s.now = time.Now()
	s.update(bookToday(s))
	a := s.air()
	b := tab{t: t, ctx: ctx, base: a.URL, shots: t.TempDir()}
	path := runPath(s.here.run) + "/visit"
	signIn := func(name string) {
		b.do("name", chromedp.SendKeys(chromedp.CSS("#name"), name), chromedp.SendKeys(chromedp.CSS("#password"), password))
		b.press("button.main")
	}
	b.open(path)
	signIn("the technician")
	b.says("Record a visit")
	b.settled(path)
	a.down.Store(true)
	b.fillIn("2026-01-05", "8", "kept")
	b.send()
	b.until("it waits", `location.pathname === "/waiting"`)
	a.down.Store(false)
	ask[bool](b, `(fetch("/signout", {method: "POST"}), true)`)
	b.until("signed out", `fetch("/me", {redirect: "manual"}).then(r => r.type === "opaqueredirect")`)
	b.open("/signin")
	b.until("the pages are forgotten", `caches.keys().then(k => !k.some(n => n.endsWith(" pages")))`)
	b.until("it says that one waits", `document.body.innerText.includes("1 visit waits for signal")`)
	signIn("the owner")
	b.open("/waiting")
	b.until("it is another's", `document.body.innerText.includes("Kept by somebody else (the technician)")`)
	if n := s.notes(s.here.run); len(n) != 0 {
		t.Fatalf("recorded in another's name: %v", n)
	}
	ask[bool](b, `(fetch("/signout", {method: "POST"}), true)`)
	b.until("signed out", `fetch("/me", {redirect: "manual"}).then(r => r.type === "opaqueredirect")`)
	b.open("/signin")
	signIn("the technician")
	b.open("/waiting")
	b.until("it is sent", `document.body.innerText.includes("Sent and recorded")`)
	if n := s.notes(s.here.run); len(n) != 1 {
		t.Errorf("recorded %v", n)
	}
}

// Without scripts the form is sent as it is, and says afterwards how the readings stand.
func TestTheFormWithoutScripts(t *testing.T) {
	h, _, b, id := onsite(t)
	b.open("/waiting")
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	b.open(runPath(id.run) + "/visit")
	b.fillIn("2026-01-05", "4.8", "by hand")
	b.press(".send .main")
	b.says("Recorded: cleaned from end to end", "air speed at the outlet 4.8 m/s", "past the limit")
	if n := h.notes(id.run); len(n) != 1 {
		t.Errorf("recorded %v", n)
	}
	b.open("/waiting")
	b.says("This browser runs no scripts")
}

// bookToday gives the technician a visit on the browser's own day.
func bookToday(s staff) func(tx *store.Tx) error {
	return func(tx *store.Tx) error {
		return store.Visits.Put(tx, vent.Visit{ID: tx.NewID(), SiteID: s.here.site, TechnicianID: s.person, On: vent.DateOf(s.now), Start: 540, Minutes: 60,
			Zone: "America/New_York", State: vent.Booked, UID: "today"}, "booked")
	}
}

// Below a path everything a phone keeps stays below it.
func TestAVisitWithoutSignalBelowAPath(t *testing.T) {
	ctx := chrome(t)
	h := newHouse(t, func(o *Options) { o.BaseURL = "http://127.0.0.1/vents" })
	h.now = time.Now()
	id := h.read8()
	a := h.air()
	b := tab{t: t, ctx: ctx, base: a.URL, shots: t.TempDir()}
	path := "/vents" + runPath(id.run) + "/visit"
	b.open(path)
	b.settled(path)
	a.down.Store(true)
	b.open(path)
	b.fillIn("2026-01-05", "", "below")
	b.send()
	b.until("it waits", `location.pathname === "/vents/waiting" && document.body.innerText.includes("1 visit waits for signal")`)
	b.open("/vents/mail") // what is not kept leads to what waits
	b.until("the list instead", `document.body.innerText.includes("1 visit waits for signal")`)
	a.down.Store(false)
	b.open("/vents/waiting")
	b.until("sent", `document.body.innerText.includes("Sent and recorded")`)
	if n := h.notes(id.run); len(n) != 1 {
		t.Errorf("recorded %v", n)
	}
	if kept := promised[[]string](b, `(async () => { const all = []; for (const n of await caches.keys()) for (const r of await (await caches.open(n)).keys()) all.push(new URL(r.url).pathname); return all })()`); len(kept) == 0 {
		t.Error("nothing is kept")
	} else {
		for _, k := range kept {
			if !strings.HasPrefix(k, "/vents/static/") && k != "/vents/waiting" && !strings.HasPrefix(k, "/vents/runs/") {
				t.Errorf("%s is kept", k)
			}
		}
	}
}
