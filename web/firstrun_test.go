package web

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// The first run as people do it, in a real browser: a household from the first page to its date and calendar; a business from
// the first page to a file with bad cells, put right and taken. Each page is as good on a phone.
func TestFirstRunInARealBrowser(t *testing.T) {
	ctx := chromeFor(t, 3*time.Minute)
	shots := os.Getenv("VENTDUE_SCREENSHOTS")
	if shots == "" {
		shots = t.TempDir()
	}
	at := func(h *house) tab { return tab{t: t, ctx: ctx, base: h.pages.URL, shots: shots} }
	found := func(b tab, kind, name string) {
		b.open("/")
		b.says("Set up Ventdue")
		b.do("say who", chromedp.Click(chromedp.CSS("input[name=kind][value="+kind+"]")), chromedp.SendKeys(chromedp.CSS("#name"), name),
			chromedp.SetValue(chromedp.CSS("#zone"), "America/Chicago"), chromedp.SendKeys(chromedp.CSS("#password"), "three wet towels"))
		b.press("form .main")
	}

	home := at(newHouse(t, nil))
	found(home, "household", "Ida Lund")
	home.says("Six questions about your dryer")
	home.look("household")
	home.do("answer", chromedp.SendKeys(chromedp.CSS("#address"), "9 Heron Lane"), chromedp.Click(chromedp.CSS("input[name=fuel][value=gas]")),
		chromedp.SendKeys(chromedp.CSS("#length"), "long"), chromedp.SendKeys(chromedp.CSS("#elbows"), "2"), chromedp.Click(chromedp.CSS("input[name=outlet][value=roof]")),
		chromedp.SetValue(chromedp.CSS("#cleaned"), "2026-09-01"))
	home.press("form .main")
	home.says("Give a length")
	home.do("put right", chromedp.SetValue(chromedp.CSS("#length"), "14"))
	home.press("form .main")
	home.says("What comes", "Clean the dryer vent", "Put it into your calendar", "nobody is reminded by mail")
	home.look("household-done")
	home.press("a.button")
	home.says("What is due and why", "14 ft")

	firm := at(newHouse(t, nil))
	found(firm, "customers", "Ridge Vent Service")
	firm.says("Bring in what you look after")
	file := filepath.Join(t.TempDir(), "fleet.csv")
	if err := os.WriteFile(file, []byte(fleet), 0o600); err != nil {
		t.Fatal(err)
	}
	firm.do("choose", chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
	firm.press("form .main")
	firm.says("Nothing is stored yet", "did you mean address")
	firm.look("check")
	firm.do("put right", chromedp.SetValue(chromedp.CSS(`[name="cell 1 adress"]`), "address"), chromedp.SetValue(chromedp.CSS(`[name="cell 3 fuel"]`), "gas"),
		chromedp.SetValue(chromedp.CSS(`[name="cell 4 last_cleaned"]`), "2025-10-02"))
	firm.press("button.main")
	firm.says("All 3 rows can be taken.")
	firm.press("button.main")
	firm.says("It is taken", "3 rows are stored")
	firm.look("taken")
	firm.press("a.button")
	firm.says("Today")
}
