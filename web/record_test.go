package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ventdue/vent"
)

func TestRecordClosesAndOpens(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	before, err := h.desk.Run(h.by(), id.run)
	if err != nil {
		t.Fatal(err)
	}
	r := h.post(runPath(id.run)+"/findings", visit())
	if r.status != http.StatusSeeOther {
		t.Fatalf("recording: %d\n%s", r.status, text(r.body))
	}
	page := h.page(r.header.Get("Location"))
	checkPage(t, "recorded", page)
	wantText(t, page, "Recorded: cleaned from end to end, Wed 25 November 2026.", "Done: Clean the dryer vent, which was due", "Next: Clean the dryer vent on",
		"us, Lee", "a mat; air speed at the outlet 900 ft/min", "bare metal; air speed at the outlet 1250 ft/min; static pressure at the dryer 0.45 in w.c.", "birds")
	after, err := h.desk.Run(h.by(), id.run)
	if err != nil {
		t.Fatal(err)
	}
	if len(after.Findings) != 1 || len(after.Past) == 0 || after.Past[0].State != vent.DueDone || after.Dues[0].Day <= before.Dues[0].Day {
		t.Fatalf("the due did not move: %+v", after.Dues)
	}
	f := after.Findings[0]
	// 900 ft/min is 4.572 m/s, 0.45 in w.c. is 112.09 Pa (feet are 0.3048 m, NIST's inch of water is 249.0889 Pa).
	if f.Source != "visit" || f.By != (vent.Doer{Kind: vent.ByUs, Name: "Lee"}) || f.Before[0].Value < 4.5719 || f.Before[0].Value > 4.5721 ||
		f.Before[0].Given != "900 fpm" || f.After[0].Given != "1250 fpm" || f.After[1].Value < 112.08 || f.After[1].Value > 112.10 {
		t.Errorf("stored %+v", f)
	}
	if f.Recorder != "web 127.0.0.1" {
		t.Errorf("recorder %q", f.Recorder)
	}

	again := h.post(runPath(id.run)+"/findings", visit())
	if again.status != http.StatusSeeOther || again.header.Get("Location") != r.header.Get("Location") {
		t.Errorf("the same form again: %d to %s", again.status, again.header.Get("Location"))
	}
	if now, _ := h.desk.Run(h.by(), id.run); len(now.Findings) != 1 {
		t.Errorf("the same form twice made %d findings", len(now.Findings))
	}
}

func TestRecordConflictLeadsToCorrection(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	h.post(runPath(id.run)+"/findings", visit())
	r := h.post(runPath(id.run)+"/findings", visit("outcome", "partial", "note", "only half"))
	if r.status != http.StatusConflict {
		t.Fatalf("another word on the same day: %d", r.status)
	}
	checkPage(t, "conflict", r.body)
	wantText(t, r.body, "is recorded for this run already and says something else", "Correct that finding instead", "only half")
	link := between(r.body, `href="/runs/`+id.run.String()+"?correct=", `#`)
	page := h.page(runPath(id.run) + "?correct=" + link)
	checkPage(t, "correct", page)
	for _, kept := range []string{`value="900 fpm"`, `value="1250 fpm"`, `value="0.45 in w.c."`, `value="full" checked`, `value="Lee"`, "birds</textarea>"} {
		if !strings.Contains(page, kept) {
			t.Errorf("the form of the correction lost %s", kept)
		}
	}
	form := visit("outcome", "partial", "corrects", link, "note", "only half")
	done := h.post(runPath(id.run)+"/findings", form)
	if done.status != http.StatusSeeOther {
		t.Fatalf("correcting: %d %s", done.status, text(done.body))
	}
	page = h.page(done.header.Get("Location"))
	checkPage(t, "corrected", page)
	wantText(t, page, "Corrected: cleaned in part", "corrected later, no longer counts", "corrects an earlier word")
	if twice := h.post(runPath(id.run)+"/findings", form); twice.header.Get("Location") != done.header.Get("Location") {
		t.Errorf("the same correction again: %d to %s", twice.status, twice.header.Get("Location"))
	}
	if other := h.post(runPath(id.run)+"/findings", visit("outcome", "one_end", "corrects", link)); other.status != http.StatusConflict {
		t.Errorf("a second, different correction of the old finding: %d", other.status)
	}
	if r := h.get(runPath(id.run) + "?correct=" + link); r.status != http.StatusNotFound {
		t.Errorf("correcting what no longer counts: %d", r.status)
	}
	view, _ := h.desk.Run(h.by(), id.run)
	if len(view.Findings) != 2 {
		t.Errorf("%d findings, want the old and its correction", len(view.Findings))
	}
}

// A correction keeps what the form does not ask for.
func TestCorrectionKeepsTheRest(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	out, err := h.desk.Record(h.by(), vent.Finding{RunID: id.run, Date: vent.NewDate(2026, 11, 20), Source: "import", By: vent.Doer{Kind: vent.ByUs},
		Outcome: vent.Full, Sudden: true, LoadCounter: 812, Faults: []string{"nest_empty"},
		Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 4, Instrument: "vane", Conditions: []vent.Condition{vent.EmptyDrum}}, {Quantity: vent.Flap, Value: 0.5}}})
	if err != nil {
		t.Fatal(err)
	}
	page := h.page(runPath(id.run) + "?correct=" + out.Finding.ID.String())
	if !strings.Contains(page, `value="nest_empty" checked`) {
		t.Error("the form of the correction lost the fault that was seen")
	}
	speed := strings.NewReplacer("&#43;", "+").Replace(between(page, `name="speed_before" value="`, `"`))
	r := h.post(runPath(id.run)+"/findings", url.Values{"corrects": {out.Finding.ID.String()}, "date": {"2026-11-21"}, "by": {"us"}, "outcome": {"full"}, "speed_before": {speed}, "fault": {"nest_empty"}})
	if r.status != http.StatusSeeOther {
		t.Fatalf("%d %s", r.status, text(r.body))
	}
	view, _ := h.desk.Run(h.by(), id.run)
	f := view.Findings[0]
	if f.Date != vent.NewDate(2026, 11, 21) || f.Source != "import" || !f.Sudden || f.LoadCounter != 812 || len(f.Faults) != 1 || len(f.Before) != 2 {
		t.Fatalf("lost something: %+v", f)
	}
	for _, r := range f.Before {
		if r.Quantity == vent.AirSpeed && (r.Value != 4 || r.Instrument != "vane" || len(r.Conditions) != 1) {
			t.Errorf("the reading changed: %+v", r)
		}
	}
}

func TestRecordProblemsStandAtTheField(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	for _, c := range []struct {
		change []string
		field  string
		says   string
	}{
		{[]string{"date", ""}, "date", "On which day was it?"},
		{[]string{"date", "11/25/2026"}, "date", "YYYY-MM-DD"},
		{[]string{"date", "2026-11-26"}, "date", "in the future"},
		{[]string{"date", "1900-01-01"}, "date", "not a plausible day"},
		{[]string{"outcome", ""}, "outcome", "Choose one."},
		{[]string{"outcome", "splendid"}, "outcome", "is not known"},
		{[]string{"by", "martians"}, "by", "is not known"},
		{[]string{"reach", "moon"}, "reach", "is not known"},
		{[]string{"lint_before", "x"}, "lint_before", "is not known"},
		{[]string{"speed_before", "fast"}, "speed_before", "is not an air speed"},
		{[]string{"speed_before", "12 furlongs"}, "speed_before", "unknown unit"},
		{[]string{"speed_after", "1,250"}, "speed_after", "comma"},
		{[]string{"speed_after", "90000"}, "speed_after", "no dryer shows"},
		{[]string{"speed_before", "NaN"}, "speed_before", "is not an air speed"},
		{[]string{"static_after", "45 psi"}, "static_after", "unknown unit"},
		{[]string{"static_before", "60"}, "static_before", "60\u00a0in\u00a0w.c."}, // somebody forgot a point: 60 in w.c. is no dryer
		{[]string{"outcome", "looked"}, "speed_after", "cleaned nothing"},
		{[]string{"reach", "none"}, "reach", "reached somewhere"},
	} {
		r := h.post(runPath(id.run)+"/findings", visit(c.change...))
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d", c.change, r.status)
			continue
		}
		checkPage(t, strings.Join(c.change, "="), r.body)
		if at := between(r.body, `id="`+c.field+`-problem"`, "</p>"); !strings.Contains(at, c.says) {
			t.Errorf("%v: at %s it says %q, want %q", c.change, c.field, at, c.says)
		}
		if !strings.Contains(r.body, ">birds</textarea>") || !strings.Contains(r.body, `value="Lee"`) {
			t.Errorf("%v: what was typed is lost", c.change)
		}
	}
	if view, _ := h.desk.Run(h.by(), id.run); len(view.Findings) != 0 {
		t.Errorf("%d findings were stored", len(view.Findings))
	}
	if r := h.post("/runs/0197f000-0000-7000-8000-000000000000/findings", visit()); r.status != http.StatusNotFound {
		t.Errorf("recording on a run that is not there: %d", r.status)
	}
}

// A bare figure is read in the operator's unit; a unit that is written counts.
func TestReadingUnits(t *testing.T) {
	us, si := figures{newServer(t).words(visitor{})}, figures{newServer(t).words(visitor{})}
	us.Units, si.Units = vent.US, vent.SI
	for _, c := range []struct {
		f     figures
		q     vent.Quantity
		typed string
		want  float64 // by hand: 0.00508 m/s a ft/min, 249.0889 Pa an inch of water
	}{
		{us, vent.AirSpeed, "1200", 6.096}, {us, vent.AirSpeed, " 1200 fpm ", 6.096}, {us, vent.AirSpeed, "6.1 m/s", 6.1},
		{si, vent.AirSpeed, "6.1", 6.1}, {si, vent.AirSpeed, "6,1", 6.1}, {si, vent.AirSpeed, "1200 ft/min", 6.096},
		{us, vent.Static, "0.6", 149.45334}, {us, vent.Static, ".6", 149.45334}, {us, vent.Static, "150 Pa", 150},
		{si, vent.Static, "150", 150}, {si, vent.Static, "0.6 in w.c.", 149.45334}, {si, vent.Static, "-20", -20},
	} {
		r, err := c.f.parse(c.q, c.typed, "")
		if err != nil || r.Value < c.want-1e-6 || r.Value > c.want+1e-6 {
			t.Errorf("%s %q: %v, %v; want %v", c.f.Units, c.typed, r.Value, err, c.want)
		}
	}
}

func TestLongHistory(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	for i := range historyRows + 5 {
		h.cleaned(id.run, vent.NewDate(2020, 1, 1).AddDays(30*i))
	}
	page := h.page(runPath(id.run))
	checkPage(t, "long", page)
	if n := strings.Count(page, `class="look"`); n != historyRows {
		t.Errorf("%d findings are shown", n)
	}
	wantText(t, page, "Show the whole history", "and 26 earlier lines")
	all := h.page(runPath(id.run) + "?history=all")
	if n := strings.Count(all, `class="look"`); n != historyRows+5 {
		t.Errorf("%d findings are shown of all", n)
	}
}
