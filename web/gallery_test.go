package web

import (
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"ventdue/internal/outside"
	"ventdue/store"
	"ventdue/vent"
)

// scene is one page as somebody comes to it.
type scene struct{ name, path string }

// busy fills a house with everything that a page can show: dues of every state, visits, a message that did not arrive,
// accounts, tokens.
func (h *house) busy() []scene {
	h.t.Helper()
	ids := h.fleet()
	tech := vent.Person{Name: "Lee Brandt", Role: vent.Technician}
	h.update(func(tx *store.Tx) error {
		tech.ID = tx.NewID()
		if err := store.Persons.Put(tx, tech, "test"); err != nil {
			return err
		}
		for i, on := range []int{0, 3} {
			v := vent.Visit{ID: tx.NewID(), SiteID: ids[i*3].site, TechnicianID: tech.ID, On: vent.NewDate(2026, 11, 25).AddDays(on), Start: 540 + 90*i, Minutes: 90,
				Zone: "America/New_York", State: vent.Booked, UID: fmt.Sprintf("visit-%d", i)}
			if err := store.Visits.Put(tx, v, "booked"); err != nil {
				return err
			}
		}
		for i := range 5 {
			u, err := store.Units.Get(tx, ids[i%3].unit)
			if err != nil {
				return err
			}
			u.Floor = fmt.Sprint(i%3 + 1)
			if err := store.Units.Put(tx, u, "test"); err != nil {
				return err
			}
		}
		return store.Messages.Put(tx, vent.Message{ID: tx.NewID(), PersonID: ids[0].person, On: vent.NewDate(2026, 11, 24), Channel: vent.ByMail, Class: "reminder", To: "office@hill.example",
			State: vent.MessageFailed, Created: tx.Now(), Settled: tx.Now(), Answer: "550 5.1.1 no such user"}, "")
	})
	if _, err := h.desk.MakeToken(h.by(), "till", vent.TokenRecord); err != nil {
		h.t.Fatal(err)
	}
	at := h.sendFile("fleet.csv", []byte(fleet)).header.Get("Location")
	site, customer := ids[0].site.String(), ids[0].customer.String()
	all := []scene{{"today", "/"}, {"due", "/due"}, {"month", "/month"}, {"find", "/find?q=maple"}, {"site", "/sites/" + site}, {"customer", "/customers/" + customer},
		{"run", runPath(ids[1].run)}, {"onsite", runPath(ids[1].run) + "/visit"}, {"waiting", "/waiting"}, {"stopped", runPath(ids[3].run)}, {"mail", "/mail"}, {"person", "/people/" + ids[0].person.String() + "/mail"}, {"feeds", "/feeds"}, {"labels", "/labels?site=" + site},
		{"checks", "/sites/" + site + "/checks"}, {"record", runPath(ids[1].run) + "/record"}, {"building", "/sites/" + site + "/record"}, {"import", "/import"}, {"check", at},
		{"settings", "/settings"}, {"accounts", "/accounts"}, {"tokens", "/tokens"}, {"sign", h.label(ids[0].run)}, {"missing", "/nowhere"}, {"home", "/welcome/home"}}
	return append(append(all, h.taken()), h.links(ids[2], ids[0])...)
}

// empty are the pages of a house that was just set up.
func (h *house) empty() []scene {
	h.t.Helper()
	h.setOperator(vent.US)
	return []scene{{"today", "/"}, {"due", "/due"}, {"month", "/month"}, {"find", "/find"}, {"mail", "/mail"}, {"feeds", "/feeds"}, {"labels", "/labels"}, {"import", "/import"},
		{"settings", "/settings"}, {"accounts", "/accounts"}, {"tokens", "/tokens"}, {"visits", "/visits"}, {"ahead", "/ahead"}}
}

// Every page, full and empty, on a phone and at a desk, light and dark: axe-core (WCAG 2.2 A and AA, and its own best
// practices) finds nothing serious or critical, and nothing sticks out sideways. With VENTDUE_SCREENSHOTS the pages are
// written there to be looked at.
func TestEveryPageIsAccessible(t *testing.T) {
	source, err := os.ReadFile(filepath.Join(outside.Module(t, "axe-core"), "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	full, bare, visits, fresh := newHouse(t, nil), newHouse(t, nil), newHouse(t, nil), newHouse(t, nil)
	coded, locked := newHouse(t, withCode), newHouse(t, locked)
	for _, x := range []struct {
		name  string
		house *house
		pages []scene
	}{
		{"full", full, full.busy()}, {"empty", bare, bare.empty()}, {"visits", visits, visits.planned()}, {"coded", coded, []scene{{"code", "/welcome/code"}}},
		{"new", fresh, []scene{{"welcome", "/welcome"}}}, {"locked", locked, []scene{{"signin", "/signin"}}},
	} {
		t.Run(x.name, func(t *testing.T) {
			b := tab{t: t, ctx: chromeFor(t, 6*time.Minute), base: x.house.pages.URL, shots: os.Getenv("VENTDUE_SCREENSHOTS")}
			for _, page := range x.pages {
				b.open(page.path)
				b.examine(x.name+"-"+page.name, string(source))
			}
		})
	}
	t.Run("technician", func(t *testing.T) {
		s := newStaff(t)
		b := tab{t: t, ctx: chromeFor(t, time.Minute), base: s.pages.URL, shots: os.Getenv("VENTDUE_SCREENSHOTS")}
		b.open("/signin")
		b.do("sign in", chromedp.SendKeys(chromedp.CSS("#name"), "the technician"), chromedp.SendKeys(chromedp.CSS("#password"), password))
		b.press("form .main")
		b.says("My visits", "Maple House")
		b.examine("technician-day", string(source))
		b.press(`.visits a[href*="/sites/"]`)
		b.says("Behind its doors", "3B")
		b.examine("technician-building", string(source))
		b.open("/me")
		b.examine("technician-me", string(source))
		b.open("/due")
		b.says("Not for your account")
	})
}

// examine holds the page that is open against axe-core's rules, on both screens.
func (b tab) examine(name, axe string) {
	b.t.Helper()
	for _, s := range screens {
		for _, scheme := range []string{"light", "dark"} {
			if (scheme == "dark") == s.thumb && b.shots == "" { // the phone by day, the desk by night
				continue
			}
			media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
			if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, media); err != nil {
				b.t.Fatal(err)
			}
			b.do("look", s.emulate())
			if b.shots != "" && (scheme == "light" || s.thumb) {
				shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
				if err == nil {
					err = os.WriteFile(filepath.Join(b.shots, fmt.Sprintf("%s-%d-%s.png", name, s.width, scheme)), shot, 0o600)
				}
				if err != nil {
					b.t.Fatal(err)
				}
			}
			if wide := ask[int64](b, `document.documentElement.scrollWidth`); wide > s.width {
				b.t.Errorf("%s: %d px wide on a screen of %d", name, wide, s.width)
			}
			b.axe(fmt.Sprintf("%s, %d px, %s", name, s.width, scheme), axe)
		}
	}
	b.do("look", chromedp.ResetViewport())
}

// axe runs axe-core in the page, from outside: the page itself may run nothing.
func (b tab) axe(name, source string) {
	b.t.Helper()
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](source+`
		axe.run(document, {resultTypes: ["violations"]}).then(r => JSON.stringify(r.violations.map(v => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + " " + (n.any[0] || n.all[0] || n.none[0] || {message: ""}).message)}))))`,
		chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: axe: %v", name, err)
	}
	var violations []struct {
		ID, Impact, Help string
		Nodes            []string
	}
	if err := json.Unmarshal([]byte(found), &violations); err != nil {
		b.t.Fatalf("%s: axe says %q: %v", name, found, err)
	}
	for _, v := range violations {
		if v.Impact == "serious" || v.Impact == "critical" {
			b.t.Errorf("%s: %s (%s): %s\n%q", name, v.ID, v.Impact, v.Help, v.Nodes)
		} else {
			b.t.Logf("%s: %s (%s): %s %q", name, v.ID, v.Impact, v.Help, v.Nodes)
		}
	}
}

// A building with hostile names, a customer, a month, a search and the day stay whole pages.
func TestHostileNamesOnTheNewPages(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	var doors []door
	for _, n := range hostile() {
		d := maple()
		d.customer, d.site, d.address, d.unit, d.run, d.note = n, n, n, n, "run "+n, n
		doors = append(doors, d)
	}
	ids := h.add(doors...)
	for _, path := range []string{"/", "/month", "/find", "/mail", "/settings"} {
		checkPage(t, path, h.page(path))
	}
	for i, id := range ids {
		h.update(func(tx *store.Tx) error {
			c, err := store.Customers.Get(tx, id.customer)
			if err != nil {
				return err
			}
			c.Note, c.Approvals = hostile()[i], []vent.Approval{{On: vent.NewDate(2026, 1, 1), What: hostile()[i], By: hostile()[i]}}
			u, err := store.Units.Get(tx, id.unit)
			if err != nil {
				return err
			}
			u.Floor = hostile()[i]
			if err := store.Units.Put(tx, u, ""); err != nil {
				return err
			}
			return store.Customers.Put(tx, c, "")
		})
		checkPage(t, hostile()[i], h.page("/sites/"+id.site.String()))
		checkPage(t, hostile()[i], h.page("/customers/"+id.customer.String()))
		checkPage(t, hostile()[i], h.get("/find?q="+url.QueryEscape(hostile()[i])).body)
		checkPage(t, hostile()[i], h.post("/settings", founders(hostile()[i], "name", hostile()[i], "zone", hostile()[i])).body)
		checkPage(t, hostile()[i], h.post("/settings/erase", map[string][]string{"who": {hostile()[i]}, "sure": {"yes"}}).body)
	}
	for _, bad := range []string{"/month?m=2026-13", "/month?m=x", "/find?skip=-1", "/sites/x", "/customers/0197f000-0000-7000-8000-000000000000"} {
		r := h.get(bad)
		if r.status != 404 && r.status != 422 {
			t.Errorf("GET %s: %d", bad, r.status)
		}
		checkPage(t, bad, r.body)
	}
	for _, far := range []string{"/month?m=0001-01", "/month?m=9999-12"} {
		checkPage(t, far, h.get(far).body)
	}
}

// Five thousand dues: the day, the list, a month, a building and a search answer in pages of a bounded size.
func TestFiveThousandDues(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	ids := h.add(many(5000)...)
	for _, path := range []string{"/", "/due", "/due?show=overdue", "/month", "/find?q=flat", "/sites/" + ids[0].site.String(), "/customers/" + ids[0].customer.String(), "/due?q=flat+4999"} {
		page := h.page(path)
		if len(page) > 200_000 {
			t.Errorf("GET %s: %d bytes", path, len(page))
		}
		checkPage(t, path, page)
	}
	wantText(t, h.page("/find?q=flat+4999"), "1 fits", "Flat 4999")
	wantText(t, h.page("/find?q=flat&skip=40"), "5 000 fit")
	if day, err := h.desk.Day(h.by(), 8); err != nil || day.Counts.All < 5000 || len(day.Soon)+len(day.Overdue) > 16 {
		t.Errorf("%d dues, %d and %d listed, %v", day.Counts.All, len(day.Soon), len(day.Overdue), err)
	}
}

// A month as it stands on the wall: 2026-02 has four weeks; with weeks that begin on Sunday, its first is a Sunday (by hand, from
// any calendar of 2026).
func TestMonth(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	page := h.page("/month?m=2026-02")
	if n := strings.Count(page, "<tr>"); n != 1+4 {
		t.Errorf("%d rows in February 2026", n)
	}
	h.setOperator(vent.SI) // from Monday it needs five
	if n := strings.Count(h.page("/month?m=2026-02"), "<tr>"); n != 1+5 {
		t.Errorf("%d rows in February 2026, from Monday", n)
	}
	h.update(func(tx *store.Tx) error {
		return store.Visits.Put(tx, vent.Visit{ID: tx.NewID(), SiteID: id.site, On: vent.NewDate(2026, 11, 30), Start: 9*60 + 5, Minutes: 55, Zone: "America/New_York", State: vent.Booked, UID: "v"}, "")
	})
	wantText(t, h.page("/month?m=2026-11"), "09:05–10:00 Maple House", "November 2026")
	if day, err := h.desk.Day(h.by(), 5); err != nil || len(day.Visits) != 1 || day.Visits[0].Site.Name != "Maple House" {
		t.Errorf("%+v, %v", day.Visits, err)
	}
}
