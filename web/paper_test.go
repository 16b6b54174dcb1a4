package web

import (
	"encoding/csv"
	"mime"
	"net/http"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

func (h *house) fault(f vent.Fault) vent.Fault {
	h.t.Helper()
	h.update(func(tx *store.Tx) error {
		f.ID = tx.NewID()
		return store.Faults.Put(tx, f, "test")
	})
	return f
}

func runFault(run vent.ID, rule string, s vent.Severity) vent.Fault {
	return vent.Fault{Subject: vent.Subject{Kind: vent.KindRun, ID: run}, Rule: rule, Severity: s, State: vent.FaultOpen,
		Found: vent.NewDate(2026, 11, 20), Deadline: vent.NewDate(2026, 12, 20)}
}

// story is a run with a visit, faults in every state and a sign.
func (h *house) story() added {
	h.t.Helper()
	h.setOperator(vent.US)
	d := maple()
	d.note = "owes us for the last visit"
	id := h.add(d)[0]
	// 6.35 m/s is 1250 ft/min, 112.09 Pa 0.45 in w.c., by hand.
	_, err := h.desk.Record(h.by(), vent.Finding{RunID: id.run, Date: vent.NewDate(2026, 11, 20), Source: "visit", By: vent.Doer{Kind: vent.ByUs, Name: "Lee"}, Outcome: vent.Full,
		Reach: vent.ReachThrough, LintBefore: vent.Mat, LintAfter: vent.Bare, Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 4.572}},
		After: []vent.Reading{{Quantity: vent.AirSpeed, Value: 6.35}, {Quantity: vent.Static, Value: 112.09}}, Faults: []string{"foil_transition"},
		Symptom: vent.NoHeat, Parts: []vent.PartCheck{{Part: "thermal_fuse", Result: "open", Replaced: true}}, CloseOut: []string{"pushed_back"}, Note: "Hood was painted shut."})
	if err != nil {
		h.t.Fatal(err)
	}
	h.update(func(tx *store.Tx) error { // whatever recording raised: here the faults are the test's own
		faults, err := store.Collect(store.FaultsOf(tx, vent.Subject{Kind: vent.KindRun, ID: id.run}))
		for _, f := range faults {
			if err := store.Faults.Delete(tx, f.ID, "test"); err != nil {
				return err
			}
		}
		return err
	})
	h.fault(runFault(id.run, "foil_transition", vent.Fix))
	late := runFault(id.run, "transition_unlisted", vent.Note)
	late.Deadline = vent.NewDate(2026, 11, 24)
	h.fault(late)
	fixed := runFault(id.run, "outlet_screen", vent.Fix)
	fixed.State, fixed.Closed, fixed.ClosedBy = vent.FaultFixed, vent.NewDate(2026, 11, 21), "Lee"
	h.fault(fixed)
	waived := runFault(id.run, "transition_too_long", vent.Fix)
	waived.State, waived.Closed, waived.ClosedBy, waived.Until, waived.Why = vent.FaultWaived, vent.NewDate(2026, 11, 21), "Pat", vent.NewDate(2027, 1, 5), "kitchen is rebuilt in January"
	h.fault(waived)
	worn := runFault(id.dryer, "device_bypassed", vent.Stop)
	worn.Subject.Kind = vent.KindAppliance
	h.fault(worn)
	h.update(func(tx *store.Tx) error {
		return store.Signs.Put(tx, vent.Sign{ID: tx.NewID(), RunID: id.run, Kind: vent.HotTop, On: vent.NewDate(2026, 11, 24), By: "3B"}, "test")
	})
	return id
}

func TestRunPaper(t *testing.T) {
	h := newHouse(t, nil)
	id := h.story()
	wantText(t, h.page(runPath(id.run)), "Service record")
	page := h.page(runPath(id.run) + "/record")
	checkPage(t, "run paper", page)
	wantText(t, page, "Ridge Vent Service", "Written Wed 25 November 2026.", "3B, dryer vent , Maple House · 12 Maple Street, Springfield · for Hill Rentals", "How it stands today: do not use",
		"cleaned from end to end", "Ridge Vent Service, Lee", "a mat; air speed at the outlet 900 ft/min", "bare metal; air speed at the outlet 1250 ft/min; static pressure at the dryer 0.45 in w.c.",
		"thermal fuse: open, replaced", "dryer pushed back into its place", "Hood was painted shut.", "it runs without heat",
		"thin foil on a wire coil", "put right by Sun 20 December 2026", "overdue, to be put right by Tue 24 November 2026", "declined until Tue 5 January 2027 by Pat", "kitchen is rebuilt",
		"put right Sat 21 November 2026 by Lee", "the dryer's top gets very hot", "Unplug the dryer", "What comes next, and why", "Clean the dryer vent:", "32 ft of 35 ft allowed")
	wantNoText(t, page, "gate code", "key hook", "owes us", "<nav", "<form")
	if open, stop := strings.Index(page, "thin foil"), strings.Index(page, "do not use"); stop > open {
		t.Error("what must stop does not come first")
	}
	h.setOperator(vent.SI)
	wantText(t, h.page(runPath(id.run)+"/record"), "6.3 m/s", "112 Pa") // 6.35 rounds to the even tenth of its binary form
}

func TestFindingPaper(t *testing.T) {
	h := newHouse(t, nil)
	id := h.story()
	view, _ := h.desk.Run(h.by(), id.run)
	first := view.Findings[0]
	h.cleaned(id.run, vent.NewDate(2025, 1, 2))
	path := "/findings/" + first.ID.String() + "/record"
	page := h.page(path)
	checkPage(t, "visit paper", page)
	wantText(t, page, "Service record of Fri 20 November 2026", "Hood was painted shut.", "Done by: name, signature, day")
	wantNoText(t, page, "2 January 2025")
	better := first
	better.Note = "Hood was frozen shut."
	out, err := h.desk.Correct(h.by(), first.ID, better)
	if err != nil {
		t.Fatal(err)
	}
	wantText(t, h.page(path), "no longer counts", "painted shut")
	wantText(t, h.page("/findings/"+out.Finding.ID.String()+"/record"), "frozen shut")
	wantNoText(t, h.page(runPath(id.run)+"/record"), "painted shut")
}

func TestSitePaper(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	flat := func(unit string) door { d := maple(); d.unit = unit; return d }
	ids := h.add(flat("10A"), flat("2B"), flat("2A"), flat("1A"))
	h.cleaned(ids[0].run, vent.NewDate(2026, 11, 20))
	h.cleaned(ids[1].run, vent.NewDate(2024, 3, 1))
	h.fault(runFault(ids[2].run, "foil_transition", vent.Stop))
	path := "/sites/" + ids[0].site.String() + "/record"
	page := h.page(path)
	checkPage(t, "site paper", page)
	wantText(t, page, "Service record of a building", "1 do not use", "1 overdue", "1 later", "1 last cleaning not known", "Cleaned from end to end Fri 20 November 2026 (Ridge Vent Service).",
		"No cleaning from end to end is known.", "thin foil on a wire coil between dryer and wall : do not use")
	said := text(page)
	for i, next := range []string{"2A", "2B", "10A"} {
		if at := strings.Index(said, " "+next+" electric"); at < strings.Index(said, " "+[]string{"1A", "2A", "2B"}[i]+" electric") {
			t.Errorf("%s stands before %s", next, []string{"1A", "2A", "2B"}[i])
		}
	}
	wantText(t, h.page("/due?site="+ids[0].site.String()), "Service record of the building")

	h.update(func(tx *store.Tx) error {
		run, err := store.Runs.Get(tx, ids[3].run)
		if err != nil {
			return err
		}
		run.Ended = vent.NewDate(2026, 11, 1)
		return store.Runs.Put(tx, run, "test")
	})
	page = h.page(path)
	wantText(t, page, "1 run that is no longer kept is left out.")
	for _, missing := range []string{"/runs/x/record", "/sites/0197f000-0000-7000-8000-000000000000/record", "/findings/0197f000-0000-7000-8000-000000000000/record.csv", "/sites/1/record.csv"} {
		if r := h.get(missing); r.status != http.StatusNotFound {
			t.Errorf("GET %s: %d", missing, r.status)
		}
	}
	h.update(func(tx *store.Tx) error {
		return store.Sites.Put(tx, vent.Site{ID: ids[0].unit, CustomerID: ids[0].customer, Name: "Empty", Zone: "UTC"}, "test")
	})
	empty := h.page("/sites/" + ids[0].unit.String() + "/record")
	checkPage(t, "empty", empty)
	wantText(t, empty, "No run is kept in this building.")
}

// sheetOf reads a csv answer with another reader than wrote it: rows of names to cells.
func (h *house) sheetOf(path string) []map[string]string {
	h.t.Helper()
	r := h.get(path)
	kind, _, _ := mime.ParseMediaType(r.header.Get("Content-Type"))
	if r.status != http.StatusOK || kind != "text/csv" {
		h.t.Fatalf("GET %s: %d %s", path, r.status, r.header.Get("Content-Type"))
	}
	if how, p, err := mime.ParseMediaType(r.header.Get("Content-Disposition")); err != nil || how != "attachment" || !strings.HasSuffix(p["filename"], "-2026-11-25.csv") {
		h.t.Errorf("GET %s is given as %q", path, r.header.Get("Content-Disposition"))
	}
	body, marked := strings.CutPrefix(r.body, "\ufeff")
	if !marked || strings.Count(body, "\n") != strings.Count(body, "\r\n") {
		h.t.Errorf("GET %s: no mark, or lines that do not end in CRLF", path)
	}
	rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
	if err != nil {
		h.t.Fatal(err)
	}
	var all []map[string]string
	for _, row := range rows[1:] {
		cells := map[string]string{}
		for i, c := range row {
			cells[rows[0][i]] = c
		}
		all = append(all, cells)
	}
	return all
}

func TestSheets(t *testing.T) {
	h := newHouse(t, nil)
	id := h.story()
	visit := h.sheetOf(runPath(id.run) + "/record.csv")[0]
	for column, want := range map[string]string{"site": "Maple House", "unit": "3B", "date": "2026-11-20", "outcome": "full", "by": "us", "by_name": "Lee", "air_speed_before_fpm": "900",
		"air_speed_after_fpm": "1250", "static_pressure_after_inwc": "0.45", "static_pressure_before_inwc": "", "faults_seen": "foil_transition", "note": "Hood was painted shut.", "counts": "true"} {
		if got, ok := visit[column]; !ok || got != want {
			t.Errorf("%s is %q (there: %v), want %q", column, got, ok, want)
		}
	}
	site := h.sheetOf("/sites/" + id.site.String() + "/record.csv")[0]
	for column, want := range map[string]string{"state": "do not use", "last_cleaned": "2026-11-20", "air_speed_fpm": "1250", "first_deadline": "2026-11-24", "fuel": "electric", "customer": "Hill Rentals"} {
		if site[column] != want {
			t.Errorf("%s is %q, want %q", column, site[column], want)
		}
	}
	h.setOperator(vent.SI)
	view, _ := h.desk.Run(h.by(), id.run)
	if got := h.sheetOf("/findings/" + view.Findings[0].ID.String() + "/record.csv")[0]["air_speed_after_mps"]; got != "6.35" {
		t.Errorf("in SI the speed is %q", got)
	}
}

// What a spreadsheet would run is made text (OWASP, CSV injection: = + - @ tab and return at a cell's beginning, and their wide forms).
func TestSheetsRunNothing(t *testing.T) {
	for given, want := range map[string]string{
		"=1+1": "'=1+1", "+cmd|' /C calc'!A0": "'+cmd|' /C calc'!A0", "@SUM(A1)": "'@SUM(A1)", "-2+3": "'-2+3", "\t=1": "' =1", "\r=1": "' =1", " =1": "' =1", "\n=1": "'\n=1",
		"＝1": "'＝1", "-20": "-20", "+1.5": "+1.5", "-1e3": "-1e3", "a=b": "a=b", "": "", "3B": "3B", "a\x00b": "a b", "two\nlines": "two\nlines", "\xff": "\uFFFD",
	} {
		if got := harmless(given); got != want {
			t.Errorf("%q becomes %q, want %q", given, got, want)
		}
	}
	h := newHouse(t, nil)
	var doors []door
	for _, n := range append(hostile(), "=HYPERLINK(\"http://x.example\")", "a,b;\"c\"") {
		d := maple()
		d.customer, d.site, d.address, d.unit, d.run = n, n, n, n, n
		doors = append(doors, d)
	}
	for i, id := range h.add(doors...) {
		row := h.sheetOf("/sites/" + id.site.String() + "/record.csv")[0]
		if row["unit"] != harmless(doors[i].unit) || row["run_id"] != id.run.String() {
			t.Errorf("%q came out as %q", doors[i].unit, row["unit"])
		}
	}
}
