package web

import (
	"net/http"
	"testing"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

// A mail's link shows the record of that visit without an account, and nothing else of the house; it changes nothing, runs out,
// and ends with the person's links, address or concern.
func TestRecordByLink(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	day := vent.DateOf(h.by().Now)
	finding := h.cleaned(id.run, day)
	view, err := h.desk.Run(h.by(), id.run)
	if err != nil {
		t.Fatal(err)
	}
	links, err := h.desk.RecordLinks(h.by())
	if err != nil {
		t.Fatal(err)
	}
	person := h.person(view.Customer.Persons[0])
	path := links.Path(person, finding.ID, day)
	for _, method := range []string{"GET", "HEAD"} {
		if r := h.do(h.request(method, path, nil)); r.status != http.StatusOK {
			t.Fatalf("%s: %d", method, r.status)
		}
	}
	page := h.page(path)
	checkPage(t, "record", page)
	wantText(t, page, "Maple House", "If it smells of burning")
	wantNoText(t, page, "gate code", "record.csv", "/runs/", "/photos/")
	status := func(path string) int { return h.do(h.request("GET", path, nil)).status }
	for name, bad := range map[string]string{
		"changed":            path[:len(path)-2] + "AA",
		"longer":             path + "AA",
		"of another finding": links.Path(person, id.run, day),
		"by a key of nobody": desk.DeadLinks().Records.Path(person, finding.ID, day),
		"too old":            links.Path(person, finding.ID, day.AddMonths(-30)),
		"of nobody":          links.Path(vent.Person{Email: person.Email}, finding.ID, day),
	} {
		if got := status(bad); got != http.StatusNotFound {
			t.Errorf("%s: %d", name, got)
		}
	}
	if r := h.post(path, nil); r.status != http.StatusMethodNotAllowed && r.status != http.StatusNotFound {
		t.Errorf("POST: %d", r.status)
	}
	if err := h.store.Update(h.by(), func(tx *store.Tx) error {
		c := view.Customer
		c.Persons = nil
		return store.Customers.Put(tx, c, "changed")
	}); err != nil {
		t.Fatal(err)
	}
	if got := status(path); got != http.StatusNotFound {
		t.Errorf("who is no longer a contact: %d", got)
	}
}
