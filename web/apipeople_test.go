package web

import (
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
)

// The office writes down what a person said on the telephone; what was not spoken of stays.
func TestAPIPeople(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	var c apiCustomer
	h.json("GET", "/api/customers/"+id.customer.String(), "", &c)
	path := "/api/people/" + c.Persons[0].ID.String()
	var p apiPerson
	if r := h.json("GET", path, "", &p); r.status != 200 || !slices.Equal(p.Wants, vent.Purposes()) || p.FirstDays != 0 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	for range 2 { // the second time nothing is left to change
		p = apiPerson{}
		body := `{"wants":["visit_soon"],"first_days":30,"paused_until":"2026-12-24","language":"es","channels":["mail","webhook"]}`
		if r := h.json("POST", path+"/choices", body, &p); r.status != 200 || !slices.Equal(p.Wants, []string{"visit_soon"}) || p.FirstDays != 30 || p.PausedUntil.String() != "2026-12-24" || p.Language != "es" || len(p.Channels) != 2 {
			t.Fatalf("%d %s", r.status, r.body)
		}
	}
	p = apiPerson{}
	if r := h.json("POST", path+"/choices", `{"paused_until":""}`, &p); r.status != 200 || p.PausedUntil != 0 || p.FirstDays != 30 || !slices.Equal(p.Wants, []string{"visit_soon"}) {
		t.Errorf("%d %s", r.status, r.body)
	}
	all, err := h.desk.People(p.ID)
	if err != nil || len(all[0].Consents) != 4 || all[0].Consents[0].How != "told the office" {
		t.Errorf("%v %+v", err, all)
	}
	for body, field := range map[string]string{`{"wants":["gossip"]}`: "wants", `{"first_days":5}`: "first_days", `{"paused_until":"2029-01-01"}`: "paused_until",
		`{"paused_until":"soon"}`: "paused_until", `{"language":"tlh"}`: "language", `{"channels":["pigeon"],"first_days":7}`: "channels"} {
		h.refused("POST", path+"/choices", body, 422, field)
	}
	h.refused("POST", path+"/choices", `{"email":"other@example.com"}`, 400, "")
	h.refused("POST", "/api/people/none/choices", `{}`, 404, "")
	h.refused("GET", "/api/people/"+id.site.String(), "", 404, "")
	if h.json("GET", path, "", &p); p.FirstDays != 30 {
		t.Errorf("a refused choice was kept in part: %+v", p)
	}
	var done apiDone
	if r := h.json("POST", path+"/links", "", &done); r.status != 200 || !done.Done || strings.Contains(r.body, "/m/") {
		t.Errorf("%d %s", r.status, r.body)
	}
}
