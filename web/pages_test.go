package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

func TestEmptyHouseTellsWhatToDo(t *testing.T) {
	h := newHouse(t, nil)
	if r := h.get("/"); r.status != http.StatusSeeOther || r.header.Get("Location") != "/welcome" {
		t.Errorf("a new installation: %d to %s", r.status, r.header.Get("Location"))
	}
	h.setOperator(vent.US)
	page := h.page("/due")
	checkPage(t, "board", page)
	wantText(t, page, "Bring in a file", "Nothing is kept here yet")
	checkPage(t, "feeds", h.page("/feeds"))
	for _, missing := range []string{"/runs/x", "/runs/0197f000-0000-7000-8000-000000000000", "/nowhere", "/due?site=0197f000-0000-7000-8000-000000000000"} {
		r := h.get(missing)
		if r.status != http.StatusNotFound {
			t.Errorf("GET %s: %d", missing, r.status)
		}
		checkPage(t, missing, r.body)
	}
	if r := h.do(h.request("DELETE", "/feeds", nil)); r.status != http.StatusMethodNotAllowed || r.header.Get("Allow") == "" {
		t.Errorf("DELETE /feeds: %d, Allow %q", r.status, r.header.Get("Allow"))
	}
	if r := h.get("/due?show=everything&from=03/04/2026&skip=-1&site=1"); r.status != http.StatusUnprocessableEntity || !strings.Contains(r.body, "YYYY-MM-DD") {
		t.Errorf("an address that cannot be: %d", r.status)
	}
}

func TestBoardParts(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	gas := maple()
	gas.customer, gas.site, gas.unit, gas.fuel, gas.mail = "Oak Court Owners", "Oak Court", "Laundry", vent.Gas, ""
	late, later := maple(), maple()
	late.customer, late.site, late.unit = "Birch Lane", "Birch Lane 4", "House"
	later.customer, later.site, later.unit = "Cedar Row", "Cedar Row 9", "House"
	ids := h.add(maple(), gas, late, later)
	h.cleaned(ids[2].run, vent.NewDate(2024, 3, 1))
	h.cleaned(ids[3].run, vent.NewDate(2026, 11, 20))
	h.stop(ids[1].run)
	page := h.page("/due")
	checkPage(t, "board", page)
	wantText(t, page, "Do not use these dryers", "Overdue", "Later", "last cleaning not known", "Today is Wed 25 November 2026.",
		"1 customer cannot be told", "Oak Court Owners : no contact is known", "Birch Lane 4 · Birch Lane")
	if strings.Index(page, "Do not use these") > strings.Index(page, "s-overdue") {
		t.Error("what must stop does not come first")
	}
	wantNoText(t, page, "gate code", "key hook")
	for show, want := range map[string]string{"stop": "Oak Court", "overdue": "Birch Lane 4", "later": "Cedar Row 9", "unknown": "Maple House"} {
		part := h.page("/due?show=" + show)
		checkPage(t, show, part)
		wantText(t, part, want)
		for other, name := range map[string]string{"overdue": "Birch Lane 4", "later": "Cedar Row 9", "stop": "Oak Court"} {
			if other != show && strings.Contains(part, name) {
				t.Errorf("show=%s also lists %s", show, name)
			}
		}
	}
	found := h.page("/due?q=" + url.QueryEscape("birch 4"))
	wantText(t, found, "Birch Lane 4")
	wantNoText(t, found, "Maple House")
	wantText(t, h.page("/due?q=nobody"), "Nothing open fits here.")
	site := h.page("/due?site=" + ids[3].site.String())
	wantText(t, site, "Only the site Cedar Row 9", "Make a calendar of this")
	wantNoText(t, site, "Maple House")
	wantText(t, h.page("/due?customer="+ids[0].customer.String()), "Only the customer Hill Rentals")
}

// What the pages call overdue, soon and later is what the due's own word says.
func TestSectionsAgreeWithWords(t *testing.T) {
	words := figures{newServer(t).words(visitor{})}
	today := vent.NewDate(2026, 11, 25)
	for _, days := range []int{-400, -1, 0, 1, 30, 31, 400} {
		d := desk.DueView{Due: vent.Due{Wanted: vent.Wanted{Kind: vent.DueClean, Day: today.AddDays(days)}}}
		b := desk.Board{Today: today, Dues: []desk.DueView{d}}
		sections := links{}.sections(words.Words, b)
		if row := sections[0].Rows[0]; row.State != sections[0].Name {
			t.Errorf("%d days: section %s, state %s", days, sections[0].Name, row.State)
		}
	}
}

func newServer(t *testing.T) *server {
	h := newHouse(t, nil)
	return &server{desk: h.desk}
}

func TestBoardPages(t *testing.T) {
	h := newHouse(t, nil)
	h.add(many(230)...)
	seen := map[string]int{}
	var addresses []string
	for path := "/due"; path != ""; {
		if len(addresses) > 10 {
			t.Fatal("the pages do not end")
		}
		addresses = append(addresses, path)
		page := h.page(path)
		checkPage(t, path, page)
		for _, row := range strings.Split(page, `<li class="due`)[1:] {
			link := between(row, `href="/runs/`, `"`)
			seen[link]++
		}
		path = strings.ReplaceAll(between(page, `rel="next" href="`, `"`), "&amp;", "&")
	}
	if len(addresses) != 5 || len(seen) != 230 {
		t.Errorf("%d pages with %d runs, want 5 with 230", len(addresses), len(seen))
	}
	for run, n := range seen {
		if n != 1 {
			t.Errorf("run %s is listed %d times", run, n)
		}
	}
	for i := len(addresses) - 1; i > 0; i-- { // and back again
		prev := strings.ReplaceAll(between(h.page(addresses[i]), `rel="prev" href="`, `"`), "&amp;", "&")
		if prev != addresses[i-1] {
			t.Errorf("before %s comes %s, want %s", addresses[i], prev, addresses[i-1])
		}
	}
}

func between(s, from, to string) string {
	_, rest, ok := strings.Cut(s, from)
	if !ok {
		return ""
	}
	found, _, _ := strings.Cut(rest, to)
	return found
}

func TestRunPage(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	page := h.page(runPath(id.run))
	checkPage(t, "run", page)
	// 17 ft and three mitred 90s count 32 ft and pass 35: hand count by IRC Table M1502.4.5.1.
	wantText(t, page, "32 ft of 35 ft allowed by IRC 2012 and later within the limit", "6 ft of 8 ft allowed", "3 × mitred 90° elbow",
		"17 ft smooth rigid metal, 4 in", "louvered hood", "cfm", "Unplug the dryer", "Nobody knows when this run was last cleaned",
		"Northbrook D-40", "0.6 in w.c.", "A dog is on the site.", "Parking: behind the house", "Nothing was recorded yet.")
	wantNoText(t, page, "gate code", "key hook")
	h.setOperator(vent.SI)
	// The same in metres: 32 ft is 9.75 m, 35 ft is 10.67 m, 0.6 in w.c. is 149 Pa (references: 10668 mm; 249.1 Pa an inch).
	wantText(t, h.page(runPath(id.run)), "9.75 m of 10.67 m allowed", "L/s", "149 Pa")

	bare := maple()
	bare.route, bare.fuel, bare.unit, bare.roof = nil, vent.Gas, "Basement", true
	other := h.add(bare)[0]
	page = h.page(runPath(other.run))
	checkPage(t, "bare run", page)
	wantText(t, page, "Nobody has described this run yet", "none is known: a gas dryer needs one nearby", "Close the gas valve first", "Roof and ladder work")
}

// Code lengths by hand from the rules' own tables: 31 ft and one mitred 90 are 36 ft and fail 35; a transition of 8.5 ft is
// over 8 ft.
func TestRunOverTheLimit(t *testing.T) {
	h := newHouse(t, nil)
	d := maple()
	d.route.Sections[0].Length, d.route.Fittings[0].Count, d.route.Concealed = d.route.Sections[0].Length*31/17, 1, true
	d.route.Transition.Length = d.route.Transition.Length * 8.5 / 6
	page := h.page(runPath(h.add(d)[0].run))
	wantText(t, page, "36 ft of 35 ft allowed by IRC 2012 and later over the limit", "8.5 ft of 8 ft allowed over the limit", "A permanent label")
}

func TestHostileNames(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	var doors []door
	for _, n := range hostile() {
		d := maple()
		d.customer, d.site, d.address, d.unit, d.run, d.note = n, n, n, n, "run "+n, n
		doors = append(doors, d)
	}
	ids := h.add(doors...)
	checkPage(t, "board", h.page("/due"))
	for i, id := range ids {
		name := hostile()[i]
		_, err := h.desk.Record(h.by(), vent.Finding{RunID: id.run, Date: vent.NewDate(2026, 1, 1), Source: name, By: vent.Doer{Kind: vent.ByUs, Name: name},
			Outcome: vent.Full, Note: name, Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 5, Given: name}}})
		if err != nil {
			t.Fatal(err)
		}
		h.update(func(tx *store.Tx) error {
			subject := vent.Subject{Kind: vent.KindRun, ID: id.run}
			if err := store.Faults.Put(tx, vent.Fault{ID: tx.NewID(), Subject: subject, Rule: name, Severity: vent.Stop, Found: 739000, State: vent.FaultOpen, Note: name}, name); err != nil {
				return err
			}
			return store.Signs.Put(tx, vent.Sign{ID: tx.NewID(), RunID: id.run, Kind: vent.HotTop, On: 739000, By: name, Note: name}, name)
		})
		page := h.page(runPath(id.run))
		checkPage(t, name, page)
		checkPage(t, name+" run record", h.page(runPath(id.run)+"/record"))
		checkPage(t, name+" site record", h.page("/sites/"+id.site.String()+"/record"))
		finding := between(page, "?correct=", "#")
		checkPage(t, name+" corrected", h.page(runPath(id.run)+"?correct="+finding))
		for _, scope := range []string{"site=" + id.site.String(), "customer=" + id.customer.String(), "q=" + url.QueryEscape(name)} {
			checkPage(t, name, h.page("/due?"+scope))
		}
		r := h.post(runPath(id.run)+"/findings", visit("note", name, "by_name", name, "speed_before", name))
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%q as a reading: %d", name, r.status)
		}
		checkPage(t, name+" typed", r.body)
		form := url.Values{"scope": {"site"}, "which": {name}, "name": {name}}
		if r := h.post("/feeds", form); r.status == http.StatusSeeOther {
			checkPage(t, name, h.page(r.header.Get("Location")))
		} else {
			checkPage(t, name, r.body)
		}
	}
	checkPage(t, "feeds", h.page("/feeds"))
}
