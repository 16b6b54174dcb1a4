package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ventdue/vent"
)

// label gives the path of a run's sign form, as it stands on the run's page.
func (h *house) label(run vent.ID) string {
	h.t.Helper()
	return "/s/" + between(h.page(runPath(run)), `href="/s/`, `"`)
}

func (h *house) signs(run vent.ID) []vent.Sign {
	h.t.Helper()
	view, err := h.desk.Run(h.by(), run)
	if err != nil {
		h.t.Fatal(err)
	}
	return view.Signs
}

// A smell of burning at night, told without an account: they read what to do, and the dryer is stopped.
func TestBurningSmellIsToldWithoutAnAccount(t *testing.T) {
	h := newHouse(t, locked)
	id := h.add(maple())[0]
	h.post("/signin", url.Values{"password": {password}})
	path := h.label(id.run)
	stranger := h.browser()
	r := h.doAs(stranger, h.request("GET", path, nil))
	if r.status != http.StatusOK {
		t.Fatalf("GET %s: %d", path, r.status)
	}
	checkPage(t, "form", r.body)
	wantText(t, r.body, "What did you notice at the dryer?", "3B", "a smell of burning", "a CO alarm sounded", "clothes need a second cycle", "Everybody out")
	wantNoText(t, r.body, "Hill Rentals", "12 Maple Street", "gate code", `href="/feeds"`)
	if n := len(h.signs(id.run)); n != 0 {
		t.Fatalf("opening the form told %d signs", n)
	}
	tell := func(form url.Values, header ...string) reply {
		return h.doAs(stranger, h.request("POST", path, strings.NewReader(form.Encode()), append([]string{"Content-Type", "application/x-www-form-urlencoded"}, header...)...))
	}
	ours := []string{"Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin"}
	for range 2 {
		r = tell(url.Values{"kind": {"burning_smell"}, "name": {"Sam"}}, ours...)
		if r.status != http.StatusOK {
			t.Fatalf("telling: %d %s", r.status, text(r.body))
		}
		checkPage(t, "told", r.body)
		wantText(t, r.body, "Taken down: a smell of burning", "call the emergency number from outside", "Nobody uses the dryer until")
	}
	view, err := h.desk.Run(h.by(), id.run)
	if err != nil {
		t.Fatal(err)
	}
	if len(view.Signs) != 1 || view.Signs[0].By != "Sam" || view.Signs[0].Kind != vent.BurningSmell {
		t.Errorf("told twice it is %+v", view.Signs)
	}
	stopped := false
	for _, f := range view.Faults {
		stopped = stopped || f.Severity == vent.Stop && f.State == vent.FaultOpen
	}
	if !stopped {
		t.Error("the dryer was not stopped")
	}
	wantText(t, h.page(runPath(id.run)), "do not use", "a smell of burning")

	if r := tell(url.Values{"kind": {"co_alarm_rang"}}, "Origin", "https://elsewhere.example", "Sec-Fetch-Site", "cross-site"); r.status != http.StatusForbidden {
		t.Errorf("told from another site: %d", r.status)
	}
}

func TestSignFormRefuses(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	path := h.label(id.run)
	other := []byte(path) // one letter of the code differs
	if at := len(other) - 5; other[at] == 'A' {
		other[at] = 'B'
	} else {
		other[at] = 'A'
	}
	for _, bad := range []string{"/s/x", path[:len(path)-1], path + "A", string(other), "/s/" + strings.Repeat("A", 43), strings.ToUpper(path[:3]) + path[3:]} {
		if r := h.get(bad); r.status != http.StatusNotFound {
			t.Errorf("GET %s: %d", bad, r.status)
		}
		if r := h.post(bad, url.Values{"kind": {"hot_top"}}); r.status != http.StatusNotFound {
			t.Errorf("POST %s: %d", bad, r.status)
		}
	}
	for _, kind := range []string{"", "martians", "HOT_TOP"} {
		r := h.post(path, url.Values{"kind": {kind}, "note": {"<b>x</b>"}})
		checkPage(t, kind, r.body)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("kind %q: %d", kind, r.status)
		}
	}
	long := h.post(path, url.Values{"kind": {"burning_smell"}, "note": {strings.Repeat("n", 20_000)}})
	checkPage(t, "long", long.body)
	if long.status == http.StatusUnprocessableEntity {
		wantText(t, long.body, "Everybody out") // they are told what to do, taken down or not
	}
	for _, n := range hostile() {
		checkPage(t, n, h.post(path, url.Values{"kind": {"damp_room"}, "name": {n}, "note": {n}}).body)
	}
}

// Whoever tells one thing over and over waits; another thing is taken at once, and what to do stands there all the same.
func TestSignsAreSlowedApart(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	path := h.label(id.run)
	var r reply
	for i := range 30 {
		r = h.post(path, url.Values{"kind": {"hot_top"}, "note": {strings.Repeat("x", i+1)}})
	}
	if r.status != http.StatusTooManyRequests || r.header.Get("Retry-After") == "" {
		t.Errorf("the thirtieth: %d", r.status)
	}
	wantText(t, r.body, "If it smells of burning, stop")
	if n := len(h.signs(id.run)); n > freeTries+2 {
		t.Errorf("%d signs were taken down", n)
	}
	if r := h.post(path, url.Values{"kind": {"burning_smell"}}); r.status != http.StatusOK {
		t.Errorf("another thing: %d", r.status)
	}
	h.now = h.now.Add(time.Hour)
	if r := h.post(path, url.Values{"kind": {"hot_top"}, "note": {"an hour later"}}); r.status != http.StatusOK {
		t.Errorf("an hour later: %d", r.status)
	}
}
