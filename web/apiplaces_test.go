package web

import (
	"testing"

	"ventdue/vent"
)

// A program sees of buildings and customers what the pages show, without ways to get in.
func TestAPIPlaces(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	var taken apiSignTaken
	h.json("POST", "/api"+runPath(id.run)+"/signs", `{"kind":"burning_smell","by":"Tomas Okafor"}`, &taken)
	var site apiSite
	r := h.json("GET", "/api/sites/"+id.site.String(), "", &site)
	if r.status != 200 || site.Name != "Maple House" || site.Customer.ID != id.customer || len(site.Runs) != 1 || site.Runs[0].ID != id.run || site.Runs[0].State != "stop" || len(site.Runs[0].Faults) == 0 || site.Runs[0].Next == nil {
		t.Fatalf("%d %s", r.status, r.body)
	}
	wantNoText(t, r.body, "gate code", "key hook")
	var c apiCustomer
	if r := h.json("GET", "/api/customers/"+id.customer.String(), "", &c); r.status != 200 || len(c.Persons) != 1 || len(c.Sites) != 1 || c.Sites[0].Runs != 1 || c.Sites[0].Counts.Stop == 0 || c.Sites[0].Next == nil {
		t.Errorf("%d %s", r.status, r.body)
	}
	var day apiToday
	if r := h.json("GET", "/api/today", "", &day); r.status != 200 || len(day.Stop) == 0 || day.Stop[0].Site.ID != id.site || day.Today.String() != "2026-11-25" {
		t.Errorf("%d %s", r.status, r.body)
	}
	var hits apiHits
	if r := h.json("GET", "/api/find?q=mapl", "", &hits); r.status != 200 || hits.Total == 0 || hits.Hits[0].Name == "" {
		t.Errorf("%d %s", r.status, r.body)
	}
	if h.json("GET", "/api/find?q=zebra", "", &hits); hits.Total != 0 || len(hits.Hits) != 0 {
		t.Errorf("%+v", hits)
	}
	for path, field := range map[string]string{"find": "q", "find?q=+": "q", "find?q=a&skip=-1": "skip", "find?q=a&max=0": "max", "today?max=x": "max", "month?on=2026-13": "on", "month?on=May": "on"} {
		h.refused("GET", "/api/"+path, "", 422, field)
	}
	for _, path := range []string{"sites/none", "sites/" + id.run.String(), "customers/none", "customers/" + id.site.String()} {
		h.refused("GET", "/api/"+path, "", 404, "")
	}
}

// 2028 is a leap year: its February has 29 days. A booked visit stands on its day.
func TestAPIMonth(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2028, 2, 29)
	h.now = vent.NewDate(2028, 2, 20).At(12*60, zoneOf("America/New_York"))
	_, clients := h.guests(1, first, first.AddDays(20))
	var m apiMonth
	if r := h.json("GET", "/api/month?on=2028-02", "", &m); r.status != 200 || len(m.Days) != 29 || m.Days[28].On != first || m.Days[28].TotalDues != 1 || len(m.Days[28].Dues) != 1 || m.Days[28].Dues[0].Site.ID != clients[0].site {
		t.Fatalf("%d %s", r.status, r.body)
	}
	if h.json("GET", "/api/month", "", &m); m.Today.String() != "2028-02-20" || len(m.Days) != 29 {
		t.Errorf("%+v", m.Today)
	}
}
