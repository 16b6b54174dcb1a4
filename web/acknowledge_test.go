package web

import (
	"net/http"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// stopped puts a stop on a run by a sign, and gives its fault and the customer's contact.
func (h *house) stopped(run vent.ID) (f vent.Fault, p vent.Person) {
	h.t.Helper()
	got, err := h.desk.ReportSign(h.by(), vent.Sign{RunID: run, Kind: vent.BurningSmell})
	if err != nil || got.Fault.ID.IsZero() {
		h.t.Fatalf("%+v, %v", got, err)
	}
	view, err := h.desk.Run(h.by(), run)
	if err != nil {
		h.t.Fatal(err)
	}
	if err := h.store.View(func(tx *store.Tx) (err error) {
		p, err = store.Persons.Get(tx, view.Customer.Persons[0])
		return err
	}); err != nil {
		h.t.Fatal(err)
	}
	return got.Fault, p
}

// A mail's link shows, its button notes: nobody signs in, and a program that follows links changes nothing.
func TestAcknowledgeByLink(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	f, p := h.stopped(id.run)
	links, err := h.desk.AckLinks(h.by())
	if err != nil {
		t.Fatal(err)
	}
	path := links.Path(f, p)
	for _, method := range []string{"GET", "HEAD", "GET"} {
		if r := h.do(h.request(method, path, nil)); r.status != http.StatusOK {
			t.Fatalf("%s: %d", method, r.status)
		}
	}
	if now := h.faultNow(f); len(now.Told) != 0 {
		t.Fatalf("looking changed it: %+v", now.Told)
	}
	page := h.page(path)
	checkPage(t, "ask", page)
	wantText(t, page, "Do not use the dryer", "Maple House, 3B", "I know: nobody uses the dryer", "switch off its breaker")
	wantNoText(t, page, "gate code")
	r := h.post(path, nil)
	if r.status != http.StatusOK {
		t.Fatalf("POST: %d", r.status)
	}
	checkPage(t, "noted", r.body)
	wantText(t, r.body, "It is noted that you know")
	if strings.Contains(r.body, "<button") && strings.Contains(r.body, "I know: nobody") {
		t.Error("the button is offered again")
	}
	if now := h.faultNow(f); len(now.Told) != 1 || !now.Told[0].Ackd || now.Told[0].Role != vent.ToldCustomer {
		t.Errorf("noted: %+v", now.Told)
	}
	if r := h.post(path+"x", nil); r.status != http.StatusNotFound {
		t.Errorf("a made-up address: %d", r.status)
	}
	if r := h.post(path, nil, "Origin", "https://elsewhere.example", "Sec-Fetch-Site", "cross-site"); r.status != http.StatusForbidden {
		t.Errorf("from another page: %d", r.status)
	}
}

// Who was told by telephone, what they said, and the tag: noted on the run's page.
func TestCallsAndTagOnThePage(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	f, _ := h.stopped(id.run)
	page := h.page(runPath(id.run))
	checkPage(t, "open", page)
	wantText(t, page, "Somebody was told", "The tag on the dryer", "Release the dryer")
	if r := h.closing(id.run, f, "call", "who", "Tomas Okafor", "how", "at the door", "role", "occupant", "ack", "yes"); r.status != http.StatusSeeOther {
		t.Fatalf("call: %d %s", r.status, text(r.body))
	}
	if r := h.closing(id.run, f, "tag", "hangs", "yes"); r.status != http.StatusSeeOther {
		t.Fatalf("tag: %d", r.status)
	}
	now := h.faultNow(f)
	if !now.Tagged || len(now.Told) != 1 || now.Told[0].Who != "Tomas Okafor" || now.Told[0].Role != vent.ToldOccupant || !now.Told[0].Ackd {
		t.Errorf("noted: %+v", now)
	}
	page = h.page(runPath(id.run))
	wantText(t, page, "A tag hangs on the dryer.", "Tomas Okafor was told Wed 25 November 2026, 10:00 (at the door). They said that they know.")
	if r := h.closing(id.run, f, "tag", "hangs", "no"); r.status != http.StatusSeeOther || h.faultNow(f).Tagged {
		t.Errorf("tag taken off: %d", r.status)
	}
	for _, bad := range [][]string{{"who", "", "how", "phone"}, {"who", "Ida", "how", ""}, {"who", "Ida", "how", "phone", "role", "king"}} {
		r := h.closing(id.run, f, "call", bad...)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", bad, r.status)
		}
		checkPage(t, "refused", r.body)
	}
	if len(h.faultNow(f).Told) != 1 {
		t.Error("a refused call was noted")
	}
	foil := h.fault(runFault(id.run, "foil_transition", vent.Fix))
	if r := h.closing(id.run, foil, "tag", "hangs", "yes"); r.status != http.StatusUnprocessableEntity {
		t.Errorf("a tag for what is no stop: %d", r.status)
	}
}
