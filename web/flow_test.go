package web

import (
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// The page of a run, the file and the JSON show the same picture: one day, one limit, one text.
func TestFlowOverTime(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.SI)
	d := maple()
	d.site = `</title><script>alert("x")</script>`
	id := h.add(d)[0]
	page := runPath(id.run)
	h.cleaned(id.run, vent.NewDate(2026, 3, 2))
	_, err := h.desk.Record(h.by(), vent.Finding{RunID: id.run, Date: vent.NewDate(2026, 10, 2), Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly,
		Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 6.5}, {Quantity: vent.Static, Value: 120}}})
	if err != nil {
		t.Fatal(err)
	}
	shown := h.page(page)
	checkPage(t, "run", shown)
	if strings.Count(shown, `class="flow"`) != 1 || strings.Contains(shown, "<script>") {
		t.Error("the page has one picture, and names are text in it")
	}
	file := h.get(page + "/flow.svg")
	if file.status != http.StatusOK || file.header.Get("Content-Type") != "image/svg+xml" || !strings.Contains(file.header.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Fatalf("flow.svg: %d %v", file.status, file.header)
	}
	for x := xml.NewDecoder(strings.NewReader(file.body)); ; {
		if _, err := x.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("flow.svg is not well-formed: %v", err)
		}
	}
	var view apiRunView
	h.json("GET", "/api"+page, "", &view)
	if len(view.Flow.Readings) != 2 || len(view.Flow.Cleanings) != 1 || len(view.Flow.Likely) == 0 || view.Flow.Due == nil || view.Picture != page+"/flow.svg" {
		t.Fatalf("flow %+v, picture %q", view.Flow, view.Picture)
	}
	for _, text := range []string{shown, file.body} {
		wantText(t, text, strings.ReplaceAll(view.FlowText, "\u00a0", " "))
	}
	wantText(t, view.FlowText, "static pressure at the dryer 120 Pa", "2 March 2026")
	if r := h.get("/runs/0197f000-0000-7000-8000-000000000000/flow.svg"); r.status != http.StatusNotFound {
		t.Errorf("a run that is not there: %d", r.status)
	}
}

// What the tool cannot judge is told where somebody can mend it.
func TestDoubtsAreTold(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	d := maple()
	id := h.add(d)[0]
	h.update(func(tx *store.Tx) error {
		run, err := store.Runs.Get(tx, id.run)
		if err != nil {
			return err
		}
		run.Versions[0].Route = nil
		return store.Runs.Put(tx, run, "nobody described it")
	})
	page := h.page(runPath(id.run))
	checkPage(t, "run", page)
	wantText(t, page, "Cannot be judged as it is recorded", "nobody described the run: enter its pieces and fittings")
	var view apiRunView
	h.json("GET", "/api"+runPath(id.run), "", &view)
	if len(view.Doubts) != 1 || view.Doubts[0].Rule != "code_length_over" {
		t.Errorf("doubts %+v", view.Doubts)
	}
}
