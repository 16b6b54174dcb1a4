package web

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"ventdue/internal/outside"
	"ventdue/vent"
)

// What people do with a browser beside recording, each in a tab of one real browser.
func TestWaysOfPeopleInARealBrowser(t *testing.T) {
	ctx := chromeFor(t, 3*time.Minute)
	for name, way := range map[string]func(t *testing.T, b tab){
		"buildings": foundBuildings, "booking": bookByLink, "paper": printRecord, "feed": revokeFeed, "technician": keepToOwnDay,
	} {
		t.Run(name, func(t *testing.T) {
			own, cancel := chromedp.NewContext(ctx)
			defer cancel()
			way(t, tab{t: t, ctx: own, shots: t.TempDir()})
		})
	}
}

// Somebody who looks after buildings sets up and brings in a list of flats.
func foundBuildings(t *testing.T, b tab) {
	h := newHouse(t, nil)
	b.base = h.pages.URL
	b.open("/")
	b.do("say who", chromedp.Click(chromedp.CSS("input[name=kind][value=buildings]")), chromedp.SendKeys(chromedp.CSS("#name"), "Hill Rentals"),
		chromedp.SetValue(chromedp.CSS("#zone"), "America/New_York"), chromedp.SendKeys(chromedp.CSS("#password"), "three wet towels"))
	b.press("form .main")
	b.says("Bring in what you look after")
	file := filepath.Join(t.TempDir(), "flats.csv")
	if err := os.WriteFile(file, []byte("site_name,address,unit_name,floor,fuel,duct_length,last_cleaned\nMaple House,12 Maple Street,1A,1,gas,12 ft,2025-09-02\nMaple House,12 Maple Street,2B,2,electric,17 ft,2026-04-14\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.do("choose", chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
	b.press("form .main")
	b.says("All 2 rows can be taken.")
	b.press("button.main")
	b.says("It is taken")
	b.open("/find?q=maple")
	b.press(`main a[href*="/sites/"]`)
	b.says("Maple House", "1A", "2B")
	if o, err := h.desk.Operator(); err != nil || o.Kind != vent.Buildings {
		t.Errorf("%+v, %v", o, err)
	}
}

// A customer opens the link of a mail, chooses a time, takes another, and calls it off.
func bookByLink(t *testing.T, b tab) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 30)
	_, clients := h.guests(1, first, first.AddDays(20))
	b.base = h.pages.URL
	b.open(clients[0].path)
	b.says("Ash 0 house", "Choose a time")
	b.press("button[name=slot]")
	b.says("Booked: Mon 30 November 2026, 8:00 am to 9:00 am.", "Agreed")
	b.press(`.trip a[href*="move="]`)
	b.press("button[name=slot]:nth-of-type(2)")
	b.says("Agreed")
	all := h.visits()
	if len(all) != 1 || all[0].Sequence != 1 || all[0].Was.On != first || all[0].Was.Start != 8*60 {
		t.Fatalf("moved: %+v", all)
	}
	b.press("button[name=cancel]")
	b.says("Choose a time")
	if v := h.visits()[0]; v.State != vent.Cancelled {
		t.Errorf("called off: %+v", v)
	}
}

// A service record comes out of the printer whole, and without what only a screen needs.
func printRecord(t *testing.T, b tab) {
	h := newHouse(t, nil)
	ids := h.fleet()
	b.base = h.pages.URL
	b.open(runPath(ids[1].run) + "/record")
	b.print("record")
	pdftotext := outside.Need(t, "pdftotext")
	for _, paper := range []string{"a4", "letter"} {
		out, err := exec.Command(pdftotext, "-layout", filepath.Join(b.shots, "record-"+paper+".pdf"), "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		printed := strings.Join(strings.Fields(string(out)), " ")
		for _, want := range []string{"Service record", "Maple House", "2B", "Hill Rentals", "Flap opens fully.", "1300 ft/min", "14 April 2026"} {
			if !strings.Contains(printed, want) {
				t.Errorf("%s: %q is not printed:\n%s", paper, want, printed)
			}
		}
		for _, way := range []string{"Settings", "Skip to", "Sign out"} {
			if strings.Contains(printed, way) {
				t.Errorf("%s: %q is printed", paper, way)
			}
		}
	}
}

// A calendar address that was withdrawn on its page stands among the ended, and opens no calendar of work any more.
func revokeFeed(t *testing.T, b tab) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	h.add(maple())
	b.base = h.pages.URL
	b.open("/feeds")
	b.do("name it", chromedp.SendKeys(chromedp.CSS("#name"), "Office wall"))
	b.press("form .main")
	secret := ask[string](b, `document.querySelector("#address").value`)
	token := strings.TrimSuffix(secret[strings.LastIndex(secret, "/")+1:], ".ics")
	if head, err := h.desk.FeedHead(token, h.now); err != nil || head.Feed.Revoked != 0 {
		t.Fatalf("before: %+v, %v", head, err)
	}
	b.do("withdraw", chromedp.Click(chromedp.CSS(`details:has([action$="/revoke"]) > summary`)))
	b.press(`[action$="/revoke"] button`)
	b.says("Addresses that ended")
	head, err := h.desk.FeedHead(token, h.now)
	if err != nil || head.Feed.Revoked == 0 {
		t.Errorf("afterwards: %+v, %v", head, err)
	}
	if left := ask[int](b, `document.querySelectorAll('[action$="/revoke"]').length`); left != 0 {
		t.Errorf("%d addresses can still be withdrawn", left)
	}
}

// A technician signs in and finds the own day alone: no list of the office leads anywhere, and no building without a visit opens.
func keepToOwnDay(t *testing.T, b tab) {
	s := newStaff(t)
	b.base = s.pages.URL
	b.open("/signin")
	b.do("sign in", chromedp.SendKeys(chromedp.CSS("#name"), "the technician"), chromedp.SendKeys(chromedp.CSS("#password"), password))
	b.press("form .main")
	b.says("My visits", "Maple House")
	if said := ask[string](b, `document.body.innerText`); strings.Contains(said, "Oak Court") {
		t.Errorf("another's building is shown:\n%s", said)
	}
	for _, path := range []string{"/due", "/month", "/settings", "/accounts", "/feeds", "/import", "/customers/" + s.here.customer.String()} {
		b.open(path)
		b.says("Not for your account")
		if ask[int](b, `document.querySelectorAll('header a[href="`+path+`"]').length`) > 0 {
			t.Errorf("a way leads to %s", path)
		}
	}
	b.open(runPath(s.here.run))
	b.says("What is due and why")
	b.open(runPath(s.there.run))
	if said := ask[string](b, `document.body.innerText`); strings.Contains(said, "Oak") || strings.Contains(said, "What is due and why") {
		t.Errorf("another's run is shown:\n%s", said)
	}
}
