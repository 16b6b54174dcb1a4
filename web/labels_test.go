package web

import (
	"net/http"
	"strings"
	"testing"

	"ventdue/vent"
)

func TestLabels(t *testing.T) {
	h := newHouse(t, func(o *Options) { o.BaseURL = "https://vents.example.com" })
	h.setOperator(vent.US)
	elm := maple()
	elm.site, elm.address, elm.customer, elm.unit = "Elm Row 4", "4 Elm Row", "Elm", "House"
	ids := h.add(maple(), elm)
	list := h.page("/labels")
	checkPage(t, "list", list)
	wantText(t, list, "Maple House", "Elm Row 4")
	found := h.page("/labels?q=elm")
	wantText(t, found, "Elm Row 4")
	wantNoText(t, found, "Maple House")
	sheet := h.page("/labels?site=" + ids[0].site.String())
	checkPage(t, "sheet", sheet)
	wantText(t, sheet, "Maple House, 3B", "call the emergency number", "Letter, 3 × 10 labels of 2.625 in × 1 in", "A4, 3 × 7 labels of 63.5 mm × 38.1 mm")
	if n := strings.Count(sheet, `class="labels labels-`); n != 1 {
		t.Errorf("%d sheets", n)
	}
	a4 := h.page("/labels?site=" + ids[0].site.String() + "&sheet=a4-3x7&skip=20")
	if !strings.Contains(a4, `width="210.00mm" height="297.00mm"`) {
		t.Error("the sheet is not in the paper's size")
	}
	for _, bad := range []string{"&skip=-1", "&skip=x", "&sheet=a4-3x7&skip=21"} {
		r := h.get("/labels?site=" + ids[0].site.String() + bad)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", bad, r.status)
		}
		checkPage(t, bad, r.body)
	}
	if r := h.get("/labels?site=nowhere"); r.status != http.StatusNotFound {
		t.Errorf("no such building: %d", r.status)
	}
	// Both are reachable from the code: the form for the occupant, and from it the form that records a visit for whoever signs in.
	links, err := h.desk.SignLinks(h.by())
	if err != nil {
		t.Fatal(err)
	}
	form := h.page(links.Path(ids[0].run))
	checkPage(t, "form", form)
	if !strings.Contains(form, `href="`+runPath(ids[0].run)+`/visit"`) {
		t.Error("the form does not lead to the one that records a visit")
	}
	if !strings.Contains(h.page(runPath(ids[0].run)), "/labels?site="+ids[0].site.String()+"&amp;run="+ids[0].run.String()) {
		t.Error("the run's page does not lead to its label")
	}
}
