package web

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"ventdue/vent"
)

// links are the pages behind the links of mails, of a busy house.
func (h *house) links(first, second added) []scene {
	h.t.Helper()
	f, p := h.stopped(first.run)
	acks, err := h.desk.AckLinks(h.by())
	if err != nil {
		h.t.Fatal(err)
	}
	book, err := h.desk.BookingLink(h.by(), second.person, vent.Scope{Kind: vent.KindSite, ID: second.site})
	if err != nil {
		h.t.Fatal(err)
	}
	return []scene{{"choices", h.choiceLink(p.ID)}, {"acknowledge", acks.Path(f, p)}, {"booking", book}}
}

// taken is an import that was put right and taken.
func (h *house) taken() scene {
	h.t.Helper()
	at := h.sendFile("fleet.csv", []byte(fleet)).header.Get("Location")
	h.post(at, url.Values{"do": {"take"}, "cell 1 adress": {"address"}})
	h.post(at, url.Values{"do": {"take"}, "cell 3 fuel": {"gas"}, "cell 4 last_cleaned": {""}})
	if page := h.page(at); !strings.Contains(page, "It is taken") {
		h.t.Fatal(text(page))
	}
	return scene{"taken", at}
}

// planned are the pages of visits: proposed, one booked by its customer.
func (h *house) planned() []scene {
	h.t.Helper()
	first := vent.NewDate(2026, 11, 30)
	technician, clients := h.guests(3, first, first.AddDays(20))
	offered := slotButton.FindStringSubmatch(h.page(clients[0].path))
	h.press(clients[0].path, url.Values{"slot": {offered[1]}})
	h.press(clients[0].path, url.Values{"days": {"any Saturday"}})
	h.press("/visits/propose", url.Values{})
	all := h.visits()
	if len(all) < 3 {
		h.t.Fatalf("%d visits", len(all))
	}
	visit := "/visits/" + all[0].ID.String()
	return []scene{{"visits", "/visits"}, {"visit", visit}, {"day", "/days/" + all[0].On.String() + "/" + technician.String()}, {"ahead", "/ahead"},
		{"booked", clients[0].path}, {"moving", clients[0].path + "?move=" + all[0].ID.String()}, {"offered", clients[1].path}}
}

// withCode asks whoever sets it up for a code.
func withCode(o *Options) { o.Open, o.SetupCode = false, "ABCDEFGHIJKLMNOPQRSTUVWXYZ" }

// own reports every request that leaves for another host than ours.
func (b tab) own() (seen *int) {
	b.t.Helper()
	seen = new(int)
	if err := chromedp.Listen(b.ctx, func(ev any) {
		e, ok := ev.(*network.EventRequestWillBeSent)
		if !ok {
			return
		}
		*seen++
		if !strings.HasPrefix(e.Request.URL, b.base+"/") && !strings.HasPrefix(e.Request.URL, "data:") {
			b.t.Errorf("%s is asked for by %s", e.Request.URL, e.DocumentURL)
		}
	}); err != nil {
		b.t.Fatal(err)
	}
	return seen
}

// Everything that the Tab key stops at, in the order of the page: of a group of radio buttons one.
const stops = `[...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")]
	.filter(e => e.checkVisibility() && !e.disabled && e.tabIndex >= 0 && !e.closest("svg"))
	.filter((e, i, all) => e.type !== "radio" || e === (all.find(o => o.type === "radio" && o.name === e.name && o.form === e.form && o.checked) || all.find(o => o.type === "radio" && o.name === e.name && o.form === e.form)))`

// byKeyboard walks through the page that is open with the Tab key: every link, button and field is reached, in the order of
// the page, and shows that it is focused; the first leads past the navigation.
func (b tab) byKeyboard(name string) {
	b.t.Helper()
	const most = 60 // the rest of a long list is like its beginning
	n := min(most, ask[int](b, `document.activeElement.blur(), window.walked = [], document.addEventListener("focusin", e => {
		const s = getComputedStyle(e.target), r = e.target.getBoundingClientRect()
		walked.push({of: e.target, shown: s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 && r.right > 0})
	}), window.stops = `+stops+`, window.getSelection().setPosition(document.body, 0), stops.length`))
	inside := ask[int](b, `4 * stops.filter(e => ["date", "time", "month"].includes(e.type)).length`) // day, month and year are stops of their own
	b.do("walk", chromedp.KeyEvent(strings.Repeat("\t", n+inside)))
	for _, x := range ask[[]string](b, fmt.Sprintf(`(() => {
		const say = e => e ? e.outerHTML.slice(0, 120) : "nothing", got = walked.filter((w, i) => stops.includes(w.of) && (!i || walked[i-1].of !== w.of)), bad = []
		for (let i = 0; i < Math.min(%d, stops.length) && bad.length < 3; i++)
			if (!got[i] || got[i].of !== stops[i]) bad.push("Tab comes to " + say(got[i] && got[i].of) + " instead of " + say(stops[i]))
		for (const w of walked) if (!w.shown && bad.length < 6) bad.push("the focus is not seen on " + say(w.of))
		if (document.querySelector("header nav") && !(stops[0].matches(".skip") && document.querySelector(stops[0].getAttribute("href")))) bad.push("the first stop leads not past the navigation")
		return bad
	})()`, n)) {
		b.t.Errorf("%s: %s", name, x)
	}
}

func (b tab) media(kind string, features ...*emulation.MediaFeature) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind, Features: features}); err != nil {
		b.t.Fatal(err)
	}
}

// suits holds the page that is open against what people set in their browsers: letters twice as big, no motion, a printer, a
// keyboard alone.
func (b tab) suits(name string) {
	b.t.Helper()
	b.do("zoom", chromedp.EmulateViewport(640, 450, chromedp.EmulateScale(2))) // 1280 by 900 at 200 %
	if wide := ask[int](b, `document.documentElement.scrollWidth`); wide > 640 {
		b.t.Errorf("%s: at 200 %% it is %d px wide in a window of 640", name, wide)
	}
	b.byKeyboard(name)
	b.do("zoom", chromedp.ResetViewport())
	b.media("", &emulation.MediaFeature{Name: "prefers-reduced-motion", Value: "reduce"})
	if moves := ask[[]string](b, `[...document.querySelectorAll("*")].filter(e => { const s = getComputedStyle(e); return s.scrollBehavior !== "auto" || s.animationName !== "none" || s.transitionDuration.split(",").some(d => parseFloat(d) > 0) }).map(e => e.outerHTML.slice(0, 80))`); len(moves) > 0 {
		b.t.Errorf("%s: moves although nothing should: %q", name, moves)
	}
	b.media("print")
	if left := ask[[]string](b, `[...document.querySelectorAll("nav, .skip, .search, button:not([name=slot])")].filter(e => e.checkVisibility()).map(e => e.outerHTML.slice(0, 80))`); len(left) > 0 {
		b.t.Errorf("%s: on paper there is %q", name, left)
	}
	b.media("")
}

// scripts turns the page's own scripts on or off.
func (b tab) scripts(on bool) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		b.t.Fatal(err)
	}
}

// Every page, full and empty, in one browser: with letters twice as big nothing sticks out; the keyboard comes everywhere and
// is seen there; nothing moves where it should not; no navigation is printed; no other host is asked; and without scripts
// the page has all its content.
func TestEveryPageSuitsEverybody(t *testing.T) {
	ctx := chromeFor(t, 6*time.Minute)
	full, bare, visits, fresh, coded := newHouse(t, nil), newHouse(t, nil), newHouse(t, nil), newHouse(t, nil), newHouse(t, withCode)
	for _, x := range []struct {
		name  string
		house *house
		pages []scene
	}{
		{"full", full, full.busy()}, {"empty", bare, bare.empty()}, {"visits", visits, visits.planned()}, {"new", fresh, []scene{{"welcome", "/welcome"}}}, {"coded", coded, []scene{{"code", "/welcome/code"}}},
	} {
		t.Run(x.name, func(t *testing.T) {
			own, cancel := chromedp.NewContext(ctx)
			defer cancel()
			b := tab{t: t, ctx: own, base: x.house.pages.URL}
			b.open(x.pages[0].path)
			asked := b.own()
			for _, page := range x.pages {
				name := x.name + "-" + page.name
				b.open(page.path)
				b.suits(name)
				b.scripts(false)
				b.open(page.path)
				if words := ask[int](b, `document.querySelector("main").innerText.trim().length`); words < 40 || ask[int](b, `document.querySelectorAll("h1").length`) != 1 {
					t.Errorf("%s: without scripts its content has %d letters", name, words)
				}
				b.scripts(true)
			}
			if *asked < len(x.pages) {
				t.Errorf("%d requests were seen: the check sees nothing", *asked)
			}
		})
	}
}
