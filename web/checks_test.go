package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// gasHome is a household's house with a gas dryer and alarms, as an import brings it.
func (h *house) gasHome() (site vent.ID, run vent.ID) {
	h.t.Helper()
	if err := h.desk.SetOperator(h.by(), vent.Operator{Kind: vent.Household, Name: "Ida Lund", Zone: "America/New_York", Units: vent.US, Language: "en"}); err != nil {
		h.t.Fatal(err)
	}
	rows := "address,unit_name,fuel,installed,smoke_alarm_made,co_alarm_made\n9 Heron Lane,House,gas,2026-10-31,2017-03-01,2022-09-01\n"
	if r, err := h.desk.Import(context.Background(), h.by(), desk.Source{Name: "home.csv", Reader: strings.NewReader(rows)}, desk.ImportOptions{}); err != nil || !r.Stored {
		h.t.Fatal(err, r.Problems.Listed)
	}
	dues, err := h.desk.Dues(h.by(), desk.DueQuery{})
	if err != nil {
		h.t.Fatal(err)
	}
	for _, d := range dues.Dues {
		site = d.Site.ID
		if d.Due.Subject.Kind == vent.KindRun {
			run = d.Run.ID
		}
	}
	return site, run
}

// checks gives the site's checks as a program sees them.
func (h *house) checks(site vent.ID) (s wording.CheckSheet) {
	h.t.Helper()
	if r := h.json("GET", "/api/sites/"+site.String()+"/checks", "", &s); r.status != 200 {
		h.t.Fatalf("%d %s", r.status, r.body)
	}
	return s
}

func refOf(s wording.CheckSheet, rule string) (ref string, day vent.Date) {
	for _, l := range s.Lines {
		for _, c := range l.Checks {
			if c.Rule == rule {
				return c.Ref, c.Day
			}
		}
	}
	return "", 0
}

func TestChecksPage(t *testing.T) {
	h := newHouse(t, nil)
	site, run := h.gasHome()
	path := checksAddress(site)
	page := h.page(path)
	checkPage(t, "checks", page)
	wantText(t, page, "Recurring checks", "Checks at the dryer", "Walk round the building", "For a licensed person", "By a licensed person only.", "Never climb for a look.",
		"Replace the alarm: House, smoke alarm, made 2017-03-01", "next Mon 1 March 2027")
	if n := strings.Count(page, `<section class="card`); n != 5 {
		t.Errorf("%d lines for a household, want five", n)
	}
	board := h.page("/due?site=" + site.String())
	checkPage(t, "board with checks", board)
	if !strings.Contains(board, `href="`+path+`"`) {
		t.Error("the list does not lead to the checks")
	}
	wantText(t, board, "House : Test the alarms", "9 Heron Lane : Look at the outlet flaps")
	ofRun := h.page(runPath(run))
	checkPage(t, "run with checks", ofRun)
	wantText(t, ofRun, "Recurring checks here", "Test the CO alarm", "every month")

	s := h.checks(site)
	flap, _ := refOf(s, rules.CheckFlap)
	post := func(form string, v url.Values) reply { return h.post(path+"/"+form, v) }
	if r := post("outside", url.Values{"do": {"done"}, "check": {flap}, "who-outside": {"Ida"}, "on-outside": {"2026-11-24"}}); r.status != http.StatusSeeOther {
		t.Fatalf("done: %d %s", r.status, text(r.body))
	}
	s = h.checks(site)
	if _, day := refOf(s, rules.CheckFlap); day != vent.NewDate(2027, 2, 24) { // three months by the calendar
		t.Errorf("next on %s", day)
	}
	wantText(t, h.page(path), "last done Tue 24 November 2026 by Ida")
	smoke, _ := refOf(s, rules.CheckSmokeTest)
	if r := post("alarms", url.Values{"do": {"change"}, "change": {"putoff"}, "check": {smoke}, "who-alarms": {"Ida"}, "why-alarms": {"<b>ladder</b> is lent"}, "until-alarms": {"2027-01-10"}}); r.status != http.StatusSeeOther {
		t.Fatalf("put off: %d %s", r.status, text(r.body))
	}
	page = h.page(path)
	checkPage(t, "put off", page)
	wantText(t, page, "put off until Sun 10 January 2027 by Ida: <b>ladder</b> is lent")
	if r := post("alarms", url.Values{"do": {"change"}, "change": {"off"}, "check": {smoke}, "who-alarms": {"Ida"}, "why-alarms": {"wired to the panel"}}); r.status != http.StatusSeeOther {
		t.Fatalf("off: %d %s", r.status, text(r.body))
	}
	page = h.page(path)
	checkPage(t, "off", page)
	wantText(t, page, "Turned off or over", "by Ida: wired to the panel")
	if r := post("on", url.Values{"do": {"on"}, "check": {smoke}}); r.status != http.StatusSeeOther {
		t.Fatalf("on: %d %s", r.status, text(r.body))
	}
	if r := post("alarm", url.Values{"kind": {"co_alarm"}, "unit": {h.unitOf(site)}, "made-alarm": {"2024-02-29"}}); r.status != http.StatusSeeOther {
		t.Fatalf("alarm: %d %s", r.status, text(r.body))
	}
	wantText(t, h.page(path), "CO alarm, made 2024-02-29", "next Fri 28 February 2031") // seven years, and no 29th then
}

func TestChecksFormsRefuseWhatCannotBe(t *testing.T) {
	h := newHouse(t, nil)
	site, _ := h.gasHome()
	path := checksAddress(site)
	s := h.checks(site)
	flap, _ := refOf(s, rules.CheckFlap)
	replace, _ := refOf(s, rules.CheckAlarmReplace)
	for name, x := range map[string]struct {
		form string
		v    url.Values
		want string
	}{
		"nobody":       {"outside", url.Values{"do": {"done"}, "check": {flap}}, "Who is no name"},
		"tomorrow":     {"outside", url.Values{"do": {"done"}, "check": {flap}, "who-outside": {"Ida"}, "on-outside": {"2026-11-26"}}, "Day it was done is in the future"},
		"no day":       {"outside", url.Values{"do": {"done"}, "check": {flap}, "who-outside": {"Ida"}, "on-outside": {"soon"}}, "Day it was done is not a day"},
		"no reason":    {"outside", url.Values{"do": {"change"}, "change": {"skip"}, "check": {flap}, "who-outside": {"Ida"}}, "Why is empty"},
		"which":        {"outside", url.Values{"do": {"done"}, "who-outside": {"Ida"}}, "is empty: say which"},
		"what":         {"outside", url.Values{"do": {"change"}, "check": {flap}}, "choose what is to be done"},
		"months":       {"outside", url.Values{"do": {"change"}, "change": {"set"}, "check": {flap}, "months-outside": {"x"}}, "is not a number of months"},
		"far":          {"outside", url.Values{"do": {"change"}, "change": {"putoff"}, "check": {flap}, "who-outside": {"Ida"}, "why-outside": {"x"}, "until-outside": {"2030-01-01"}}, "is too far away"},
		"alarm's date": {"alarms", url.Values{"do": {"done"}, "check": {replace}, "who-alarms": {"Ida"}}, "look on the alarm"},
		"foreign":      {"outside", url.Values{"do": {"done"}, "check": {vent.ID{9}.String()}, "who-outside": {"Ida"}}, "is no check of this site"},
		"alarm where":  {"alarm", url.Values{"kind": {"co_alarm"}}, "say where the alarm is"},
		"alarm kind":   {"alarm", url.Values{"kind": {"dryer"}, "unit": {h.unitOf(site)}}, "must be smoke_alarm or co_alarm"},
	} {
		r := h.post(path+"/"+x.form, x.v)
		if r.status != http.StatusUnprocessableEntity || !strings.Contains(text(r.body), x.want) {
			t.Errorf("%s: %d, want 422 and %q:\n%s", name, r.status, x.want, text(r.body))
		}
		checkPage(t, name, r.body)
	}
	for _, form := range []string{"cellar", "outside/..", ""} {
		if r := h.post(path+"/"+form, url.Values{"do": {"done"}}); r.status != http.StatusNotFound && r.status != http.StatusMethodNotAllowed && r.status != http.StatusTemporaryRedirect && r.status != http.StatusMovedPermanently {
			t.Errorf("%q: %d", form, r.status)
		}
	}
	if r := h.get(checksAddress(vent.ID{7})); r.status != http.StatusNotFound {
		t.Errorf("a site that is not there: %d", r.status)
	}
	if _, day := refOf(h.checks(site), rules.CheckFlap); day != vent.NewDate(2026, 12, 25) {
		t.Errorf("something was changed: %s", day)
	}
}

// unitOf gives the id of the site's only unit.
func (h *house) unitOf(site vent.ID) string {
	h.t.Helper()
	s, err := h.desk.CheckSheet(h.by(), site)
	if err != nil || len(s.Units) != 1 {
		h.t.Fatal(err, s.Units)
	}
	return s.Units[0].ID.String()
}

func TestChecksAPI(t *testing.T) {
	h := newHouse(t, nil)
	site, _ := h.gasHome()
	path := "/api/sites/" + site.String() + "/checks"
	s := h.checks(site)
	if len(s.Lines) != 5 || len(s.Left) != 0 || s.Today != vent.NewDate(2026, 11, 25) {
		t.Fatalf("%+v", s)
	}
	gas, _ := refOf(s, rules.CheckGas)
	var after wording.CheckSheet
	if r := h.json("POST", path, `{"do":"done","checks":["`+gas+`"],"by":"Tove Lind","date":"2026-11-20"}`, &after); r.status != 200 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	if _, day := refOf(after, rules.CheckGas); day != vent.NewDate(2027, 11, 20) {
		t.Errorf("next on %s", day)
	}
	if r := h.json("POST", path, `{"do":"set","checks":["`+gas+`"],"months":6}`, &after); r.status != 200 {
		t.Errorf("set: %d %s", r.status, r.body)
	}
	var list apiDueList
	h.json("GET", "/api/dues", "", &list)
	checks := 0
	for _, d := range list.Dues {
		if d.Kind == vent.DueCheck {
			checks++
			if d.Subject != (vent.Subject{Kind: vent.KindSite, ID: site}) || !d.RunID.IsZero() || d.Text == "" || len(d.Reasons) == 0 {
				t.Errorf("%+v", d)
			}
		}
	}
	if checks < 5 {
		t.Errorf("%d dues of checks", checks)
	}
	for body, field := range map[string]string{
		`{"do":"done","checks":["` + gas + `"]}`:                                "by",
		`{"do":"skip","checks":["` + gas + `"],"by":"Ida"}`:                     "why",
		`{"do":"done","checks":[]}`:                                             "checks",
		`{"do":"done","checks":["x"],"by":"Ida"}`:                               "checks",
		`{"do":"melt","checks":["` + gas + `"]}`:                                "do",
		`{"do":"set","checks":["` + gas + `"],"months":-4}`:                     "months",
		`{"do":"done","checks":["` + gas + `"],"by":"Ida","date":"2031-01-01"}`: "date",
	} {
		var p problemDetails
		if r := h.json("POST", path, body, &p); r.status != 422 || len(p.Problems) == 0 || p.Problems[0].Field != field {
			t.Errorf("%s: %d %+v, want a problem of %s", body, r.status, p, field)
		}
	}
	if r := h.json("POST", "/api/sites/"+site.String()+"/alarms", `{"unit_id":"`+h.unitOf(site)+`","kind":"smoke_alarm","made":"2025-06-01"}`, &after); r.status != 201 {
		t.Errorf("alarm: %d %s", r.status, r.body)
	}
	var p problemDetails
	if r := h.json("POST", "/api/sites/"+site.String()+"/alarms", `{"unit_id":"`+vent.ID{3}.String()+`","kind":"smoke_alarm"}`, &p); r.status != 422 || p.Problems[0].Field != "unit_id" {
		t.Errorf("foreign unit: %d %+v", r.status, p)
	}
}
