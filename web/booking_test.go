package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// client is one customer with a booking link.
type client struct {
	person, customer, site, unit, due vent.ID
	path                              string
}

// guests adds a technician who works daily from 8 to 18 and takes an hour for everything, and n customers next door to each other whose
// cleanings are due within the days.
func (h *house) guests(n int, earliest, latest vent.Date) (technician vent.ID, all []client) {
	h.t.Helper()
	h.setOperator(vent.US)
	p := h.desk.Policy()
	p.Visits.TripMinutes = 0
	h.desk.SetPolicy(p)
	week, err := vent.ParseWeek("daily 08:00-18:00")
	if err != nil {
		h.t.Fatal(err)
	}
	lat, lon := 40.0, -75.0
	err = h.store.Update(h.by(), func(tx *store.Tx) error {
		technician, all = tx.NewID(), nil
		if err := store.Persons.Put(tx, vent.Person{ID: technician, Name: "Ida Lund", Role: vent.Technician, Hours: week, RunMinutes: 60,
			Home: &vent.Point{Lat: lat, Lon: lon}}, ""); err != nil {
			return err
		}
		for i := range n {
			c := client{person: tx.NewID(), customer: tx.NewID(), site: tx.NewID(), unit: tx.NewID()}
			run := tx.NewID()
			name := fmt.Sprintf("Ash %d", i)
			w := vent.Wanted{Kind: vent.DueClean, Opener: run, Earliest: earliest, Day: earliest, Latest: latest}
			for _, err := range []error{
				store.Persons.Put(tx, vent.Person{ID: c.person, Name: name, Email: fmt.Sprintf("ash%d@example.com", i)}, ""),
				store.Customers.Put(tx, vent.Customer{ID: c.customer, Name: name, Persons: []vent.ID{c.person}}, ""),
				store.Sites.Put(tx, vent.Site{ID: c.site, CustomerID: c.customer, Name: name + " house", Zone: "America/New_York", Lat: &lat, Lon: &lon,
					Access: vent.Access{Codes: "gate 4711", Keys: "blue pot"}}, ""),
				store.Units.Put(tx, vent.Unit{ID: c.unit, SiteID: c.site, Kind: vent.House, Name: "house"}, ""),
				store.Runs.Put(tx, vent.Run{ID: run, SiteID: c.site, UnitID: c.unit, Name: vent.UsualRunName, Shape: vent.Single, Known: earliest, Versions: []vent.Version{{}}}, ""),
			} {
				if err != nil {
					return err
				}
			}
			at := vent.Subject{Kind: vent.KindRun, ID: run}
			if _, err := store.Reconcile(tx, store.Place{Subject: at, Site: c.site, Customer: c.customer}, []vent.Wanted{w}, vent.OperatorSubject); err != nil {
				return err
			}
			for d, err := range store.OpenDuesOf(tx, at) {
				if c.due = d.ID; err != nil {
					return err
				}
			}
			all = append(all, c)
		}
		return nil
	})
	if err != nil {
		h.t.Fatal(err)
	}
	for i := range all {
		if all[i].path, err = h.desk.BookingLink(h.by(), all[i].person, vent.Scope{Kind: vent.KindSite, ID: all[i].site}); err != nil {
			h.t.Fatal(err)
		}
	}
	return technician, all
}

// press posts one button of a booking page, as a browser does.
func (h *house) press(path string, form url.Values) reply {
	h.t.Helper()
	return h.doAs(h.hc, h.request("POST", path, strings.NewReader(form.Encode()), "Content-Type", "application/x-www-form-urlencoded",
		"Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin"))
}

func (h *house) visits() (all []vent.Visit) {
	h.t.Helper()
	err := h.store.View(func(tx *store.Tx) (err error) {
		all, err = store.Collect(store.Visits.All(tx))
		return err
	})
	if err != nil {
		h.t.Fatal(err)
	}
	return all
}

var slotButton = regexp.MustCompile(`name="slot" value="([^"]+)"`)

// 500 customers press a button for one of the same 100 times at once, five for each: 100 are booked, 400 are told the next
// times, and nobody is booked twice.
func TestFiveHundredWantAHundredTimes(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 27)
	technician, clients := h.guests(500, first, first.AddDays(60))
	h.hc.Transport = &http.Transport{MaxConnsPerHost: 64, MaxIdleConnsPerHost: 64}
	defer h.hc.CloseIdleConnections()
	codes := make([]int, len(clients))
	offered := make([]int, len(clients))
	var all sync.WaitGroup
	start := make(chan struct{})
	for i, c := range clients {
		all.Go(func() {
			<-start
			n := i % 100 // ten days with ten hours each, from 8 to 17
			slot := fmt.Sprintf("%s %s %d", technician, first.AddDays(n/10), 480+60*(n%10))
			r := h.press(c.path, url.Values{"slot": {slot}})
			codes[i], offered[i] = r.status, len(slotButton.FindAllString(r.body, -1))
		})
	}
	close(start)
	all.Wait()
	count := map[int]int{}
	for i, code := range codes {
		count[code]++
		if code == http.StatusConflict && offered[i] == 0 {
			t.Errorf("client %d was told no next time", i)
		}
	}
	if count[200] != 100 || count[409] != 400 {
		t.Fatalf("answers %v, want 100 of 200 and 400 of 409", count)
	}
	taken := map[string]int{}
	for _, v := range h.visits() {
		taken[fmt.Sprint(v.TechnicianID, v.On, v.Start)]++
		if v.State != vent.Booked || v.Minutes != 60 {
			t.Errorf("a visit is %s, %d minutes", v.State, v.Minutes)
		}
	}
	if len(taken) != 100 || len(h.visits()) != 100 {
		t.Errorf("%d visits at %d times, want 100 at 100", len(h.visits()), len(taken))
	}
	if err := h.store.Verify().Err(); err != nil {
		t.Errorf("verify: %v", err)
	}
}

// A booking link from the first look to the last button: looking changes nothing, the same button twice is one booking, the
// page never shows a way in.
func TestBookingByLink(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 30)
	_, clients := h.guests(2, first, first.AddDays(20))
	c := clients[0]
	for _, method := range []string{"GET", "HEAD", "GET"} {
		if r := h.do(h.request(method, c.path, nil)); r.status != 200 {
			t.Fatalf("%s: %d", method, r.status)
		}
	}
	if n := len(h.visits()); n != 0 {
		t.Fatalf("looking booked %d visits", n)
	}
	page := h.page(c.path)
	checkPage(t, "booking", page)
	wantText(t, page, "Ash 0 house", "Choose a time", "emergency number")
	wantNoText(t, page, "4711", "blue pot", "Ash 1")
	slots := slotButton.FindAllStringSubmatch(page, -1)
	if len(slots) < 3 {
		t.Fatalf("%d times are offered", len(slots))
	}
	for range 2 {
		r := h.press(c.path, url.Values{"slot": {slots[0][1]}})
		if r.status != 200 {
			t.Fatalf("booking: %d %s", r.status, text(r.body))
		}
		checkPage(t, "booked", r.body)
		wantText(t, r.body, "Booked: Mon 30 November 2026, 8:00 am to 9:00 am.", "Agreed")
	}
	all := h.visits()
	if len(all) != 1 || all[0].Sequence != 0 {
		t.Fatalf("visits %+v", all)
	}
	// The neighbour sees that time no more, and gets 409 for it.
	if r := h.press(clients[1].path, url.Values{"slot": {slots[0][1]}}); r.status != 409 || len(slotButton.FindAllString(r.body, -1)) == 0 {
		t.Errorf("the neighbour: %d", r.status)
	}
	// Another's visit cannot be touched through one's own link.
	for _, form := range []url.Values{{"cancel": {all[0].ID.String()}}, {"agree": {all[0].ID.String()}}, {"visit": {all[0].ID.String()}, "slot": {slots[1][1]}}} {
		if r := h.press(clients[1].path, form); r.status != 404 {
			t.Errorf("%v by another link: %d", form, r.status)
		}
	}
	moving := h.page(c.path + "?move=" + all[0].ID.String())
	checkPage(t, "moving", moving)
	to := slotButton.FindAllStringSubmatch(moving, -1)[1][1]
	for range 2 {
		if r := h.press(c.path, url.Values{"visit": {all[0].ID.String()}, "slot": {to}}); r.status != 200 {
			t.Fatalf("moving: %d %s", r.status, text(r.body))
		}
	}
	if v := h.visits()[0]; v.Sequence != 1 || v.Was.On != first || v.On == first && v.Start == 480 {
		t.Errorf("moved: %+v", v)
	}
	if r := h.press(c.path, url.Values{"days": {"any Saturday, please <b>"}}); r.status != 200 {
		t.Errorf("wishing: %d", r.status)
	} else {
		wantText(t, r.body, "You asked for: any Saturday, please <b>")
	}
	for range 2 {
		if r := h.press(c.path, url.Values{"cancel": {all[0].ID.String()}}); r.status != 200 {
			t.Errorf("cancelling: %d", r.status)
		}
	}
	if v := h.visits()[0]; v.State != vent.Cancelled || v.Sequence != 2 {
		t.Errorf("cancelled: %+v", v)
	}
	if r := h.page(c.path); len(slotButton.FindAllString(r, -1)) == 0 {
		t.Error("after calling it off nothing can be booked")
	}
}

// After the cut-off nothing changes by link; a link that was tampered with, is of nobody's business any more, or is too old
// leads nowhere.
func TestBookingLinksEnd(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 30)
	_, clients := h.guests(1, first, first.AddDays(20))
	c := clients[0]
	slot := slotButton.FindStringSubmatch(h.page(c.path))[1]
	if r := h.press(c.path, url.Values{"slot": {slot}}); r.status != 200 {
		t.Fatal(r.status)
	}
	v := h.visits()[0]
	h.now = v.On.At(v.Start, time.UTC).Add(-10 * time.Hour) // less than 24 h before
	if r := h.press(c.path, url.Values{"cancel": {v.ID.String()}}); r.status != 409 {
		t.Errorf("called off after the cut-off: %d", r.status)
	} else {
		wantText(t, r.body, "too late to change this visit here")
	}
	for _, form := range []url.Values{{}, {"slot": {"x"}}, {"slot": {"x y z"}}, {"slot": {strings.Repeat("1", 5000)}}, {"cancel": {"1"}}, {"days": {" \n "}},
		{"slot": {c.person.String() + " 9999-12-31 99999"}}, {"slot": {c.person.String() + " 2026-12-03 540"}}} {
		if r := h.press(c.path, form); r.status != 422 && r.status != 409 {
			t.Errorf("%v: %d", form, r.status)
		}
	}
	for i := 3; i < len(c.path); i += 7 {
		bad := []byte(c.path)
		bad[i] ^= 1
		if r := h.do(h.request("GET", string(bad), nil)); r.status != 404 && r.status != 400 {
			t.Errorf("byte %d changed: %d", i, r.status)
		}
	}
	later := h.now
	h.now = later.AddDate(0, 7, 0)
	if r := h.do(h.request("GET", c.path, nil)); r.status != 410 {
		t.Errorf("seven months later: %d", r.status)
	}
	h.now = later
	if err := h.store.Update(h.by(), func(tx *store.Tx) error {
		x, err := store.Customers.Get(tx, c.customer)
		if err != nil {
			return err
		}
		x.Persons = nil
		return store.Customers.Put(tx, x, "")
	}); err != nil {
		t.Fatal(err)
	}
	if r := h.do(h.request("GET", c.path, nil)); r.status != 404 {
		t.Errorf("no longer a contact: %d", r.status)
	}
}

// A landlord whose building takes more than a day agrees to proposed days; the occupant of one flat moves only their own door.
func TestBookingABuilding(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 30)
	_, clients := h.guests(1, first, first.AddDays(11))
	c := clients[0]
	var flat vent.ID
	var tenant vent.ID
	if err := h.store.Update(h.by(), func(tx *store.Tx) error {
		for i := range 14 {
			unit, run := tx.NewID(), tx.NewID()
			u := vent.Unit{ID: unit, SiteID: c.site, Kind: vent.Flat, Name: fmt.Sprintf("%dB", i+1)}
			if i == 0 {
				flat, tenant = unit, tx.NewID()
				if err := store.Persons.Put(tx, vent.Person{ID: tenant, Name: "Tom", Email: "tom@example.com"}, ""); err != nil {
					return err
				}
				u.Occupancies = []vent.Occupancy{{PersonID: tenant, From: first.AddDays(-300)}}
			}
			if err := store.Units.Put(tx, u, ""); err != nil {
				return err
			}
			if err := store.Runs.Put(tx, vent.Run{ID: run, SiteID: c.site, UnitID: unit, Name: vent.UsualRunName, Shape: vent.Single, Known: first, Versions: []vent.Version{{}}}, ""); err != nil {
				return err
			}
			if _, err := store.Reconcile(tx, store.Place{Subject: vent.Subject{Kind: vent.KindRun, ID: run}, Site: c.site, Customer: c.customer},
				[]vent.Wanted{{Kind: vent.DueClean, Opener: run, Earliest: first, Day: first, Latest: first.AddDays(11)}}, vent.OperatorSubject); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if p, err := h.desk.Propose(context.Background(), h.by()); err != nil || p.New < 2 || len(p.Late) > 0 {
		t.Fatalf("proposed %+v, %v", p, err)
	}
	page := h.page(c.path)
	checkPage(t, "building", page)
	agree := regexp.MustCompile(`name="agree" value="([^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(agree) < 2 {
		t.Fatalf("%d days can be agreed to; %s", len(agree), text(page))
	}
	for _, a := range agree {
		if r := h.press(c.path, url.Values{"agree": {a[1]}}); r.status != 200 {
			t.Errorf("agreeing: %d %s", r.status, text(r.body))
		}
	}
	path, err := h.desk.BookingLink(h.by(), tenant, vent.Scope{Kind: vent.KindUnit, ID: flat})
	if err != nil {
		t.Fatal(err)
	}
	page = h.page(path)
	checkPage(t, "flat", page)
	wantNoText(t, text(page), "2B", "3B")
	id := regexp.MustCompile(`name="cancel" value="([^"]+)"`).FindStringSubmatch(page)[1]
	var before vent.Appointment
	own := func() (a vent.Appointment) {
		if err := h.store.View(func(tx *store.Tx) error {
			for x, err := range store.AppointmentsBehind(tx, flat) {
				if a = x; err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		return a
	}
	before = own()
	slots := slotButton.FindAllStringSubmatch(h.page(path+"?move="+id), -1)
	if len(slots) == 0 {
		t.Fatal("no time to move one door to")
	}
	booked := len(h.visits())
	if r := h.press(path, url.Values{"visit": {id}, "slot": {slots[0][1]}}); r.status != 200 {
		t.Fatalf("moving one door: %d %s", r.status, text(r.body))
	}
	if after := own(); after.UID != before.UID || after.Sequence != before.Sequence+1 || after.VisitID == before.VisitID || len(h.visits()) != booked+1 {
		t.Errorf("the door went from %+v to %+v; %d visits, were %d", before, after, len(h.visits()), booked)
	}
	if err := h.store.Verify().Err(); err != nil {
		t.Errorf("verify: %v", err)
	}
}
