package web

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/chromedp"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// chrome opens a real browser with nothing in it; the test is skipped where there is none, unless tools are required.
func chrome(t *testing.T) context.Context {
	t.Helper()
	return chromeFor(t, 2*time.Minute)
}

// chromeFor is chrome with another time for all that is done with it.
func chromeFor(t *testing.T, limit time.Duration) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("VENTDUE_REQUIRE_TOOLS") == "1" {
			t.Fatal("chromium is not installed, and VENTDUE_REQUIRE_TOOLS=1 asks for it")
		}
		t.Skip("chromium is not installed: install it to try the pages in a real browser")
	}
	flags := []chromedp.ExecAllocatorOption{chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(t.TempDir()), chromedp.Env("TMPDIR=" + t.TempDir())}
	for _, f := range []string{"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync", "disable-dev-shm-usage", "disable-extensions"} {
		flags = append(flags, chromedp.Flag(f, true))
	}
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, flags...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	return ctx
}

// tab is one tab of a real browser on our pages.
type tab struct {
	t     *testing.T
	ctx   context.Context
	base  string
	shots string // folder; every page seen is written there
}

func (b tab) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatalf("%s: %v", what, err)
	}
}

func ask[T any](b tab, script string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return v
}

func (b tab) open(path string) { b.t.Helper(); b.do("open "+path, chromedp.Navigate(b.base+path)) }

// press clicks something that leads to another page and waits for that.
func (b tab) press(selector string) {
	b.t.Helper()
	if _, err := chromedp.RunResponse(b.ctx, chromedp.Click(chromedp.CSS(selector))); err != nil {
		b.t.Fatalf("press %s: %v", selector, err)
	}
}

func (b tab) says(want ...string) {
	b.t.Helper()
	said := strings.Join(strings.Fields(ask[string](b, `document.body.innerText`)), " ")
	for _, w := range want {
		if !strings.Contains(said, w) {
			b.t.Errorf("the page does not say %q:\n%s", w, said)
		}
	}
}

// The two screens: a phone in the basement, a desk.
var screens = []screen{{390, 844, true}, {1280, 900, false}}

type screen struct {
	width, height int64
	thumb         bool // pressed with a thumb, not a mouse
}

func (s screen) emulate() chromedp.Action[chromedp.Void] {
	if s.thumb {
		return chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	return chromedp.EmulateViewport(s.width, s.height)
}

// look writes the page as it is seen on a phone and at a desk, light and dark, and holds it against what every page must
// keep there: nothing sticks out, what is pressed is big enough for a thumb.
func (b tab) look(name string) {
	b.t.Helper()
	for _, s := range screens {
		for _, scheme := range []string{"light", "dark"} {
			media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
			if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, media); err != nil {
				b.t.Fatal(err)
			}
			b.do("look", s.emulate())
			shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
			if err != nil {
				b.t.Fatal(err)
			}
			file := filepath.Join(b.shots, fmt.Sprintf("%s-%d-%s.png", name, s.width, scheme))
			if err := os.WriteFile(file, shot, 0o600); err != nil {
				b.t.Fatal(err)
			}
		}
		if wide := ask[int64](b, `document.documentElement.scrollWidth`); wide > s.width {
			b.t.Errorf("%s: %d px wide on a screen of %d", name, wide, s.width)
		}
		small := ask[[]string](b, fmt.Sprintf(`[...document.querySelectorAll("button, .button, input:not([type=hidden], [type=radio], [type=checkbox]), .options label, summary, .picks a, .pages a, .top nav a, .what a, .where a")]
			.filter(e => e.checkVisibility() && e.getBoundingClientRect().height < (!%v && e.matches(".what a, .where a") ? 24 : 44)).map(e => e.outerHTML.slice(0, 80) + " " + e.getBoundingClientRect().height)`, s.thumb))
		for _, x := range small {
			b.t.Errorf("%s at %d px: too small to press: %s", name, s.width, x)
		}
	}
	b.do("look", chromedp.ResetViewport())
}

// print writes the page as it comes out of a printer, on A4 and Letter, and checks that no way to elsewhere is on it.
func (b tab) print(name string) {
	b.t.Helper()
	for paper, size := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size)))
		if err != nil {
			b.t.Fatalf("print %s: %v", name, err)
		}
		if err := os.WriteFile(filepath.Join(b.shots, name+"-"+paper+".pdf"), pdf, 0o600); err != nil {
			b.t.Fatal(err)
		}
	}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		b.t.Fatal(err)
	}
	left := ask[[]string](b, `[...document.querySelectorAll("nav, button, .button, .screen, form")].filter(e => e.checkVisibility()).map(e => e.outerHTML.slice(0, 80))`)
	if len(left) > 0 {
		b.t.Errorf("%s: on paper there is %v", name, left)
	}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{}); err != nil {
		b.t.Fatal(err)
	}
}

// fleet is a small business's list with every state on it.
func (h *house) fleet() []added {
	h.t.Helper()
	h.setOperator(vent.US)
	at := func(customer, site, address, unit string, fuel vent.Fuel, feet float64) door {
		d := maple()
		d.customer, d.site, d.address, d.unit, d.run, d.fuel = customer, site, address, unit, unit, fuel
		d.route.Sections[0].Length = airflow.Feet(feet)
		return d
	}
	flat := func(unit string, feet float64) door {
		return at("Hill Rentals", "Maple House", "12 Maple Street, Springfield", unit, vent.Electric, feet)
	}
	roof := at("Oak Court Owners Association", "Oak Court", "88 Quarry Road, Springfield", "Laundry room", vent.Gas, 24)
	roof.roof, roof.route.Outlet.Kind, roof.route.Sections[0].Material = true, airflow.OutletRoofGooseneck, airflow.FoilFlex
	silent := at("Dana Whitfield", "5 Heron Close", "5 Heron Close, Springfield", "House", vent.Electric, 9)
	silent.mail = ""
	ids := h.add(flat("1A", 12), flat("2B", 17), flat("3B", 22), roof,
		silent, at("Sam Okafor", "31 Ferry Lane", "31 Ferry Lane, Springfield", "House", vent.Gas, 14))
	h.cleaned(ids[0].run, vent.NewDate(2025, 9, 2))
	h.cleaned(ids[1].run, vent.NewDate(2026, 4, 14))
	h.cleaned(ids[5].run, vent.NewDate(2026, 11, 3))
	if _, err := h.desk.Record(h.by(), vent.Finding{RunID: ids[1].run, Date: vent.NewDate(2026, 8, 20), Source: "visit", By: vent.Doer{Kind: vent.ByCustomer, Name: "Pat"},
		Outcome: vent.LookedOnly, LintBefore: vent.Fuzz, Note: "Flap opens fully.", Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 6.604, Given: "1300 fpm"}}}); err != nil {
		h.t.Fatal(err)
	}
	h.stop(ids[3].run)
	return ids
}

// From the list to a run, record a cleaning there, and the due has moved.
func TestInARealBrowser(t *testing.T) {
	ctx := chrome(t)
	h := newHouse(t, func(o *Options) { o.BaseURL = "http://127.0.0.1:8017" })
	b := tab{t: t, ctx: ctx, base: h.pages.URL, shots: os.Getenv("VENTDUE_SCREENSHOTS")}
	if b.shots == "" {
		b.shots = t.TempDir()
	}
	var complaints []string
	b.open("/")
	if err := chromedp.Listen(ctx, func(ev any) {
		if e, ok := ev.(*log.EventEntryAdded); ok && e.Entry.Source != log.EntrySourceNetwork { // a refused form is no complaint
			complaints = append(complaints, e.Entry.Text)
		}
	}); err != nil {
		t.Fatal(err)
	}
	b.look("empty")
	ids := h.fleet()

	b.open("/")
	b.says("Do not use these dryers", "Maple House", "1 customer cannot be told")
	b.look("list")
	b.open("/?q=maple+2b")
	b.press(`.due .what a`)
	b.says("What is due and why", "IRC 2012 and later", "Flap opens fully.")
	b.look("run")
	before, err := h.desk.Run(h.by(), ids[1].run)
	if err != nil {
		t.Fatal(err)
	}

	hood := filepath.Join(t.TempDir(), "hood.jpg")
	if err := os.WriteFile(hood, snap(t, 90), 0o600); err != nil {
		t.Fatal(err)
	}
	b.do("photo", chromedp.SetUploadFiles(chromedp.CSS("#photos"), []string{hood}), chromedp.Click(chromedp.CSS("details:has([value=outlet_screen]) > summary")),
		chromedp.Click(chromedp.CSS("input[value=outlet_screen]")), chromedp.Click(chromedp.CSS("input[value=pushed_back]")))
	b.do("fill in", chromedp.SetValue(chromedp.CSS("#date"), before.Today.String()), chromedp.SendKeys(chromedp.CSS("#by_name"), "Lee"),
		chromedp.SendKeys(chromedp.CSS("#speed_before"), "fast"), chromedp.Click(chromedp.CSS("input[name=outcome][value=full]")),
		chromedp.Click(chromedp.CSS("input[name=reach][value=through]")), chromedp.SendKeys(chromedp.CSS("#speed_after"), "1420"))
	b.send()
	b.until("it is refused", `document.body.innerText.includes("Nothing was recorded yet")`)
	b.says(`"fast" is not an air speed`)
	b.look("problem")
	b.do("put right", chromedp.SetValue(chromedp.CSS("#speed_before"), "1010"))
	b.send()
	b.until("it is recorded", `document.body.innerText.includes("Recorded: cleaned")`)
	b.says("Recorded: cleaned from end to end", "Done: Clean the dryer vent", "Next: Clean the dryer vent on", "air speed at the outlet 1420 ft/min")
	b.says("a screen or mesh over the outlet", "dryer pushed back into its place")
	b.until("the photo is seen", `(document.querySelector(".photos img").scrollIntoView(), [...document.querySelectorAll(".photos img")].filter(i => i.complete && i.naturalWidth === 40).length === 1)`)
	b.look("recorded")
	after, err := h.desk.Run(h.by(), ids[1].run)
	if err != nil {
		t.Fatal(err)
	}
	if len(after.Findings) != len(before.Findings)+1 || after.Dues[0].Day <= before.Dues[0].Day {
		t.Errorf("the due stayed on %s", after.Dues[0].Day)
	}

	b.press(`.jump a[href$="/record"]`)
	b.says("Service record", "Lee", "air speed at the outlet 1420 ft/min", "What comes next, and why")
	b.look("record")
	b.print("record")
	b.open("/sites/" + ids[0].site.String() + "/record")
	b.says("Service record of a building", "2B")
	b.look("building")
	b.print("building")

	b.open(h.label(ids[2].run))
	b.says("What did you notice at the dryer?")
	b.look("tell")
	b.do("enter", chromedp.SendKeys(chromedp.CSS("#name"), "Sam\r")) // the return key tells nothing by itself
	b.says("What did you notice")
	b.press("button[value=burning_smell]")
	b.says("Taken down: a smell of burning", "call the emergency number from outside")
	b.look("told")
	b.open(runPath(ids[2].run))
	b.says("do not use")
	b.do("release", chromedp.Click(chromedp.CSS(".fault.is-stop details:last-of-type summary")))
	b.look("stopped")
	b.do("release", chromedp.SendKeys(chromedp.CSS("[name^=who-release]"), "Tove Lind"), chromedp.SendKeys(chromedp.CSS("[name^=as-release]"), "appliance technician"),
		chromedp.SendKeys(chromedp.CSS("[name^=what-release]"), "motor bearing replaced"))
	b.press(".fault.is-stop details:last-of-type form button")
	b.says("put right Wed 25 November 2026 by Tove Lind")

	odd := maple()
	odd.customer, odd.site, odd.unit, odd.run, odd.note = strings.Repeat("W", 300), "\u202eשלום 🧺", strings.Repeat("long ", 60), "<b>x</b>", strings.Repeat("w", 900)
	strange := h.add(odd)[0]
	b.open("/due?site=" + strange.site.String())
	b.look("odd-list")
	b.open(runPath(strange.run))
	b.look("odd-run")

	b.open("/due?site=" + ids[0].site.String())
	b.look("site")
	b.press(".chip > a:last-child")
	b.press("form .main")
	b.says("The address of Maple House")
	b.look("calendar")
	if len(complaints) > 0 {
		t.Errorf("the browser complains: %s", strings.Join(slices.Compact(complaints), "\n"))
	}
}

// Signing in, as a person does it.
func TestSignInInARealBrowser(t *testing.T) {
	ctx := chrome(t)
	h := newHouse(t, locked)
	h.fleet()
	b := tab{t: t, ctx: ctx, base: h.pages.URL, shots: t.TempDir()}
	if dir := os.Getenv("VENTDUE_SCREENSHOTS"); dir != "" {
		b.shots = dir
	}
	b.open("/feeds")
	b.do("type", chromedp.SendKeys(chromedp.CSS("#password"), "wrong"))
	b.press("button.main")
	b.says("Name and password do not go together.")
	b.look("signin")
	b.do("type", chromedp.SendKeys(chromedp.CSS("#password"), password))
	b.press("button.main")
	b.says("Calendars", "Sign out")
	b.look("calendars")
	b.press("footer .quiet")
	b.says("Sign in")
	b.open("/")
	b.says("Password")
}
