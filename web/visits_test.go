package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

// The office proposes, books, moves and closes on the pages; the day sheet says where to go and keeps the codes to itself.
func TestVisitPages(t *testing.T) {
	h := newHouse(t, nil)
	first := vent.NewDate(2026, 11, 26)
	technician, clients := h.guests(3, first, first.AddDays(20))
	wantText(t, h.page("/visits"), "No visit stands in the calendar")
	r := h.press("/visits/propose", url.Values{})
	if r.status != 200 {
		t.Fatalf("proposing: %d", r.status)
	}
	checkPage(t, "visits", r.body)
	wantText(t, r.body, "3 proposed anew, 0 moved, 0 kept, 0 dropped; 0 cannot be done in time.", "Ash 0 house", "proposed")
	link := regexp.MustCompile(`/visits/[0-9a-f-]{36}`).FindString(r.body)
	checkPage(t, "visit", h.page(link))
	for _, do := range []string{"freeze", "thaw", "book", "book"} {
		if r = h.press(link, url.Values{"do": {do}}); r.status != 200 {
			t.Fatalf("%s: %d %s", do, r.status, text(r.body))
		}
	}
	wantText(t, r.body, "booked")
	for _, bad := range []url.Values{{"do": {"close"}}, {"do": {"move"}}, {"do": {"move"}, "on": {"2026-12-01"}, "at": {"03:00"}}, {"do": {"explode"}}, {}} {
		if r := h.press(link, bad); r.status != http.StatusConflict && r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", bad, r.status)
		}
	}
	if r = h.press(link, url.Values{"do": {"move"}, "on": {"2026-11-27"}, "at": {"09:00"}, "why": {"asked <for> Friday"}}); r.status != 200 {
		t.Fatalf("moving: %d %s", r.status, text(r.body))
	}
	checkPage(t, "moved", r.body)
	wantText(t, r.body, "Fri 27 November 2026, 9:00 am to 10:00 am", "It was", "asked <for> Friday")

	day := "/days/2026-11-27/" + technician.String()
	h.now = vent.NewDate(2026, 11, 27).At(12*60, zoneOf("America/New_York"))
	sheet := h.page(day)
	checkPage(t, "sheet", sheet)
	wantText(t, sheet, "Ida Lund", "Way there", "9:00 am", "Codes and keys are shown to the technician alone")
	wantNoText(t, sheet, "4711", "blue pot")
	if !strings.Contains(sheet, `href="geo:40.000000,-75.000000"`) {
		t.Error("no way there by coordinates")
	}
	v := h.visits()
	var id string
	for _, x := range v {
		if x.State == vent.Booked {
			if err := h.store.View(func(tx *store.Tx) error {
				for a, err := range store.AppointmentsOf(tx, x.ID) {
					if id = a.ID.String(); err != nil {
						return err
					}
				}
				return nil
			}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if r = h.press(link, url.Values{"do": {"close"}, "door-" + id: {"nobody_home"}, "why": {"nobody opened"}}); r.status != 200 {
		t.Fatalf("closing: %d %s", r.status, text(r.body))
	}
	wantText(t, r.body, "Written down: nobody home")
	ahead := h.page("/ahead")
	checkPage(t, "ahead", ahead)
	wantText(t, ahead, "The work ahead", "Week of")
	if r := h.press(clients[0].path, url.Values{"days": {"any Saturday"}}); r.status != 200 {
		t.Fatal(r.status)
	}
	wantText(t, h.page("/visits"), "Ash 0 house: any Saturday")
	for _, path := range []string{"/visits/none", "/visits/0197f000-0000-7000-8000-000000000009", "/days/2026-11-27/none", "/days/none/" + technician.String()} {
		if r := h.get(path); r.status != 404 {
			t.Errorf("%s: %d", path, r.status)
		}
	}
}

// A technician's own time stands among the visits, and leads, like them, to its page, the day sheet and the work ahead.
func TestOwnTimeStandsAmongTheVisits(t *testing.T) {
	h := newHouse(t, nil)
	today := vent.NewDate(2026, 11, 25)
	technician, _ := h.guests(1, today, today.AddDays(20))
	block, err := h.desk.BlockTime(h.by(), technician, today.AddDays(1), vent.Span{From: 13 * 60, To: 15 * 60}, "the van is at the garage")
	if err != nil {
		t.Fatal(err)
	}
	visit, sheet := "/visits/"+block.Visit.ID.String(), "/days/2026-11-26/"+technician.String()
	for _, path := range []string{"/", "/month", "/visits", visit, sheet} {
		wantText(t, h.page(path), "Own time")
	}
	first := h.page("/")
	checkPage(t, "today", first)
	wantText(t, first, "Own time: the van is at the garage", "1:00 pm")
	for _, link := range []string{visit, sheet, "/ahead", "/visits"} {
		if !strings.Contains(first, `href="`+link+`"`) {
			t.Errorf("the first page does not lead to %s", link)
		}
	}
	_, days, err := h.desk.OwnDay(h.by(), technician, 10)
	if err != nil || len(days) != 1 || !days[0].Site.ID.IsZero() {
		t.Errorf("the own day: %+v, %v", days, err)
	}
}

// A technician sees their own day with the codes, and neither another's day nor another's visit.
func TestOwnDaySheet(t *testing.T) {
	h := newHouse(t, locked)
	first := vent.NewDate(2026, 11, 26)
	technician, _ := h.guests(1, first, first.AddDays(5))
	if err := h.store.Update(h.by(), func(tx *store.Tx) error {
		due := vent.ID{}
		for d, err := range store.OpenDues(tx, 0, 0) {
			if due = d.ID; err != nil {
				return err
			}
		}
		d, err := store.Dues.Get(tx, due)
		if err != nil {
			return err
		}
		v, err := store.SetVisit(tx, vent.Visit{SiteID: d.SiteID, TechnicianID: technician, On: vent.NewDate(2026, 11, 25), Start: 600, Minutes: 60, Zone: "America/New_York", State: vent.Booked}, "")
		if err != nil {
			return err
		}
		_, err = store.SetAppointment(tx, vent.Appointment{VisitID: v.ID, CustomerID: d.CustomerID, Dues: []vent.ID{due}, Start: 600, Minutes: 60, State: vent.Booked}, "")
		return err
	}); err != nil {
		t.Fatal(err)
	}
	for _, x := range []desk.Access{{Name: "boss", Role: vent.Owner}, {Name: "ida", Role: vent.Technician, Person: technician.String()}} {
		if _, err := h.desk.AddAccount(h.by(), x, password); err != nil {
			t.Fatal(err)
		}
	}
	ida := h.in("ida", password)
	path := "/days/2026-11-25/" + technician.String()
	r := h.doAs(ida, h.request("GET", path, nil))
	if r.status != 200 {
		t.Fatalf("own day: %d", r.status)
	}
	wantText(t, r.body, "gate 4711", "blue pot")
	if r := h.doAs(ida, h.request("GET", "/days/2026-11-26/"+technician.String(), nil)); strings.Contains(r.body, "4711") {
		t.Error("codes of another day")
	}
	other := "/days/2026-11-25/0197f000-0000-7000-8000-000000000009"
	if r := h.doAs(ida, h.request("GET", other, nil)); r.status != 404 {
		t.Errorf("another's day: %d", r.status)
	}
	visit := "/visits/" + h.visits()[0].ID.String()
	if r := h.doAs(ida, h.request("GET", visit, nil)); r.status != 200 {
		t.Errorf("own visit: %d", r.status)
	}
	if r := h.postAs(ida, visit, url.Values{"do": {"cancel"}}); r.status != 404 {
		t.Errorf("a technician called a visit off: %d", r.status)
	}
	if r := h.postAs(ida, visit, url.Values{"do": {"close"}}); r.status != 200 {
		t.Errorf("a technician could not close: %d %s", r.status, text(r.body))
	}
}
