package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

// refused sends what is wrong, and wants the status and, where one is named, the field that is to blame.
func (h *house) refused(method, path, body string, status int, field string) problemDetails {
	h.t.Helper()
	var p problemDetails
	r := h.json(method, path, body, &p)
	if r.status != status || r.header.Get("Content-Type") != "application/problem+json" || field != "" && (len(p.Problems) == 0 || p.Problems[0].Field != field) {
		h.t.Errorf("%s %s %s: %d %s", method, path, body, r.status, r.body)
	}
	return p
}

// A program plans, proposes, agrees on, moves, closes and calls off visits as the office does on the pages.
func TestAPIVisits(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 26)
	technician, _ := h.guests(3, first, first.AddDays(20))
	var plan apiPlan
	var list apiVisitList
	if r := h.json("GET", "/api/plan", "", &plan); r.status != 200 || plan.New != 3 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	if h.json("GET", "/api/visits", "", &list); list.Total != 0 {
		t.Errorf("a dry run left %d visits", list.Total)
	}
	for range 2 { // the same key: the first answer once more
		if r := h.json("POST", "/api/plan", "{}", &plan, "Idempotency-Key", "plan"); r.status != 200 || plan.New != 3 || len(plan.Late) != 0 {
			t.Fatalf("%d %s", r.status, r.body)
		}
	}
	r := h.json("GET", "/api/visits?max=2&technician="+technician.String()+"&from=2026-11-26", "", &list)
	if list.Total != 3 || len(list.Visits) != 2 || list.Visits[0].State != vent.Proposed || list.Visits[0].Technician.Name != "Ida Lund" || len(list.Visits[0].Doors) != 1 || len(list.Visits[0].Doors[0].Dues) != 1 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	wantNoText(t, r.body, "4711", "blue pot")
	path := "/api/visits/" + list.Visits[0].ID.String()
	var c apiVisitChange
	for _, x := range []struct {
		do, body string
		good     func() bool
	}{
		{"freeze", `{}`, func() bool { return c.Visit.Frozen }},
		{"thaw", `{}`, func() bool { return !c.Visit.Frozen }},
		{"hold", `{"until":"2026-11-25T23:00:00Z"}`, func() bool { return c.Visit.State == vent.Held && c.Visit.Until.String() == "2026-11-25T23:00:00Z" }},
		{"book", `{}`, func() bool { return c.Visit.State == vent.Booked && !c.Known }},
		{"book", `{}`, func() bool { return c.Known }},
		{"move", `{"on":"2026-11-27","start_minutes":540,"why":"asked for Friday"}`, func() bool {
			return c.Visit.On == first.AddDays(1) && c.Visit.Start == 540 && c.Visit.Was != nil && c.Visit.Why == "asked for Friday"
		}},
	} {
		c = apiVisitChange{}
		if r := h.json("POST", path+"/"+x.do, x.body, &c); r.status != 200 || c.Visit == nil || !x.good() {
			t.Fatalf("%s: %d %s", x.do, r.status, r.body)
		}
	}
	// Outside the hours of work, 08:00 to 18:00, nobody comes; the answer names times that would do.
	if p := h.refused("POST", path+"/move", `{"start_minutes":180}`, 409, ""); len(p.Slots) == 0 || p.Slots[0].TechnicianID != technician || p.Slots[0].Start < 480 {
		t.Errorf("%+v", p)
	}
	h.refused("POST", path+"/move", `{}`, 422, "on")
	h.refused("POST", path+"/move", `{"start_minutes":1440}`, 422, "start_minutes")
	h.refused("POST", path+"/move", `{"when":"soon"}`, 400, "")
	h.refused("POST", path+"/hold", `{"until":"2026-11-20T12:00:00Z"}`, 422, "until")
	h.refused("POST", path+"/close", `{}`, 409, "") // before its day
	h.refused("POST", path+"/close", `{"doors":[{"id":"`+c.Visit.Doors[0].ID.String()+`","state":"eaten"}]}`, 422, "doors[0].state")
	h.refused("POST", "/api/visits/none/book", `{}`, 404, "")
	h.refused("POST", "/api/visits/"+technician.String()+"/book", `{}`, 404, "")
	for query, field := range map[string]string{"from=soon": "from", "technician=x": "technician", "site=x": "site", "max=0": "max", "from=2026-12-02&to=2026-12-01": "to"} {
		h.refused("GET", "/api/visits?"+query, "", 422, field)
	}

	h.now = vent.NewDate(2026, 11, 27).At(12*60, zoneOf("America/New_York"))
	var closed apiVisitClosed
	body := `{"doors":[{"id":"` + c.Visit.Doors[0].ID.String() + `","state":"nobody_home","why":"nobody opened"}]}`
	if r := h.json("POST", path+"/close", body, &closed); r.status != 200 || closed.Visit.State != vent.NobodyHome || len(closed.Findings) != 0 || len(closed.Left) != 1 {
		t.Errorf("%d %s", r.status, r.body)
	}
	if r := h.json("POST", path+"/close", `{}`, &closed); r.status != 200 || closed.Visit.State != vent.VisitDone || len(closed.Findings) != 1 || len(closed.Left) != 0 {
		t.Errorf("somebody was there after all: %d %s", r.status, r.body)
	}
	c = apiVisitChange{}
	if r := h.json("POST", "/api/visits/"+list.Visits[1].ID.String()+"/cancel", `{"why":"sold"}`, &c); r.status != 200 || !c.Dropped || c.Visit != nil {
		t.Errorf("%d %s", r.status, r.body)
	}
	var ahead apiAhead
	if r := h.json("GET", "/api/ahead", "", &ahead); r.status != 200 || ahead.Technicians != 1 || len(ahead.Weeks) < 52 {
		t.Errorf("%d, %d weeks", r.status, len(ahead.Weeks))
	}
}

// A program books for a customer what is offered; a time that is gone is refused with the next ones.
func TestAPISlots(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 26)
	technician, clients := h.guests(2, first, first.AddDays(20))
	var o apiOffer
	r := h.json("GET", "/api/slots?site="+clients[0].site.String(), "", &o)
	if r.status != 200 || len(o.Slots) < 2 || len(o.Dues) != 1 || len(o.Agreed) != 0 || o.Site.Name != "Ash 0 house" {
		t.Fatalf("%d %s", r.status, r.body)
	}
	wantNoText(t, r.body, "4711", "blue pot")
	at := func(site vent.ID, x apiSlot) string {
		return fmt.Sprintf(`{"site_id":%q,"technician_id":%q,"on":%q,"start_minutes":%d}`, site, x.TechnicianID, x.On, x.Start)
	}
	var c apiVisitChange
	if r := h.json("POST", "/api/slots", at(clients[0].site, o.Slots[0]), &c); r.status != 201 || c.Visit.State != vent.Booked || c.Visit.Start != o.Slots[0].Start {
		t.Fatalf("%d %s", r.status, r.body)
	}
	if r := h.json("POST", "/api/slots", at(clients[0].site, o.Slots[0]), &c); r.status != 200 || !c.Known {
		t.Errorf("the same again: %d %s", r.status, r.body)
	}
	if p := h.refused("POST", "/api/slots", at(clients[1].site, o.Slots[0]), 409, ""); len(p.Slots) == 0 || p.Slots[0] == o.Slots[0] {
		t.Errorf("%+v", p)
	}
	path, place := "/api/visits/"+c.Visit.ID.String(), "?site="+clients[0].site.String()
	var slots apiSlots
	if r := h.json("GET", path+"/slots"+place, "", &slots); r.status != 200 || len(slots.Slots) == 0 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	to := slots.Slots[len(slots.Slots)-1]
	if r := h.json("POST", path+"/slot", at(clients[0].site, to), &c); r.status != 200 || c.Visit.On != to.On || c.Visit.Start != to.Start {
		t.Errorf("%d %s", r.status, r.body)
	}
	h.refused("GET", path+"/slots?site="+clients[1].site.String(), "", 404, "") // another's visit
	h.refused("GET", "/api/slots", "", 422, "site")
	h.refused("GET", "/api/slots?site=x", "", 422, "site")
	h.refused("GET", "/api/slots?site="+technician.String(), "", 404, "")
	h.refused("POST", "/api/slots", `{"technician_id":"`+technician.String()+`","on":"2026-11-27","start_minutes":540}`, 422, "site_id")
	h.refused("POST", "/api/slots", `{"site_id":"`+clients[1].site.String()+`"}`, 422, "on")
	var done apiDone
	if r := h.json("POST", "/api/wishes", `{"site_id":"`+clients[1].site.String()+`","days":"any Saturday"}`, &done); r.status != 200 || !done.Done {
		t.Errorf("%d %s", r.status, r.body)
	}
	h.refused("POST", "/api/wishes", `{"site_id":"`+clients[1].site.String()+`","days":" "}`, 422, "days")
	var wishes apiWishList
	if h.json("GET", "/api/wishes", "", &wishes); len(wishes.Wishes) != 1 || wishes.Wishes[0].Days != "any Saturday" || wishes.Wishes[0].Site.ID != clients[1].site {
		t.Errorf("%+v", wishes)
	}
}

func TestAPITechnicians(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	var x apiTechnician
	body := `{"name":"Ida Lund","email":"ida@example.com","work_hours":"mon-fri 08:00-16:30","skills":["Gas"],"run_minutes":40,"home":{"lat":40,"lon":-75},"leave":[{"from":"2026-12-24","to":"2026-12-31"}]}`
	if r := h.json("POST", "/api/technicians", body, &x); r.status != 200 || x.RunMinutes != 40 || x.Skills[0] != "gas" || x.Home == nil || len(x.Leave) != 1 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	id := x.ID
	if r := h.json("POST", "/api/technicians", `{"email":"ida@example.com","max_dues":6}`, &x); r.status != 200 || x.ID != id || x.MaxDues != 6 || x.RunMinutes != 40 || x.Name != "Ida Lund" {
		t.Errorf("what is left out does not stay: %d %s", r.status, r.body)
	}
	var list apiTechnicianList
	if r := h.json("GET", "/api/technicians", "", &list); len(list.Technicians) != 1 || list.Technicians[0].Hours == "" {
		t.Errorf("%s", r.body)
	}
	h.refused("POST", "/api/technicians", `{}`, 422, "name")
	h.refused("POST", "/api/technicians", `{"name":"Ida Lund","work_hours":"always"}`, 422, "work_hours")
	h.refused("POST", "/api/technicians", `{"name":"Ida Lund","zone":"Nowhere/Else"}`, 422, "zone")
	h.refused("POST", "/api/technicians", `{"name":"Ida Lund","role":"owner"}`, 400, "")
	path := "/api/technicians/" + id.String() + "/blocks"
	var c apiVisitChange
	for _, want := range []int{201, 200} {
		if r := h.json("POST", path, `{"on":"2026-11-30","from_minutes":540,"to_minutes":600,"note":"van"}`, &c); r.status != want || c.Visit.Site != nil || c.Visit.Minutes != 60 {
			t.Errorf("%d %s", r.status, r.body)
		}
	}
	h.refused("POST", path, `{"on":"2026-11-30","from_minutes":570,"to_minutes":630}`, 409, "")
	h.refused("POST", path, `{"from_minutes":570,"to_minutes":630}`, 422, "on")
	h.refused("POST", path, `{"on":"2026-11-30","from_minutes":600,"to_minutes":540}`, 422, "to_minutes")
	h.refused("POST", "/api/technicians/none/blocks", `{}`, 404, "")
}

// Codes and keys are in the day sheet of the technician who is signed in, on the day itself: no program and no office gets them.
func TestAPIDaySheet(t *testing.T) {
	s := newStaff(t)
	s.update(func(tx *store.Tx) error {
		x, err := store.Sites.Get(tx, s.here.site)
		if err != nil {
			return err
		}
		x.Access.Codes, x.Access.Keys, x.Access.Dog = "gate 4711", "blue pot", true
		return store.Sites.Put(tx, x, "")
	})
	path := "/api/days/2026-11-25/" + s.person.String()
	for name, hc := range map[string]*http.Client{"technician": s.technician, "office": s.office, "program": nil} {
		req := s.request("GET", path, nil)
		if hc == nil {
			hc = s.stranger
			req.Header.Set("Authorization", "Bearer "+s.tokens[vent.TokenAll])
		}
		r := s.doAs(hc, req)
		var day apiDay
		if err := json.Unmarshal([]byte(r.body), &day); err != nil || r.status != 200 || len(day.Stops) != 1 || !day.Stops[0].Access.Dog {
			t.Fatalf("%s: %d %v %s", name, r.status, err, r.body)
		}
		if told := strings.Contains(r.body, "4711") && strings.Contains(r.body, "blue pot"); told != (name == "technician") {
			t.Errorf("codes for the %s: %v", name, told)
		}
	}
	visit := s.visits()[0].ID.String()
	if r := s.doAs(s.technician, s.request("GET", "/api/visits/"+visit, nil)); r.status != 200 || strings.Contains(r.body, "4711") {
		t.Errorf("%d %s", r.status, r.body)
	}
	for _, other := range []string{"/api/days/2026-11-25/" + s.here.site.String(), "/api/days/none/" + s.person.String(), "/api/days/2026-11-25/none"} {
		if r := s.doAs(s.technician, s.request("GET", other, nil)); r.status != 404 {
			t.Errorf("%s: %d", other, r.status)
		}
	}
	// Another technician has no part in the visit.
	if _, err := s.desk.AddAccount(s.by(), desk.Access{Name: "other hand", Role: vent.Technician}, password); err != nil {
		t.Fatal(err)
	}
	other := s.in("other hand", password)
	if r := s.doAs(other, s.request("GET", "/api/visits/"+visit, nil)); r.status != 404 {
		t.Errorf("another's visit: %d", r.status)
	}
	if r := s.doAs(other, s.request("POST", "/api/visits/"+visit+"/close", strings.NewReader("{}"), "Content-Type", "application/json", "Origin", s.pages.URL, "Sec-Fetch-Site", "same-origin")); r.status != 404 {
		t.Errorf("closing another's visit: %d %s", r.status, r.body)
	}
}
