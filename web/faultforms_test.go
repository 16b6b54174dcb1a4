package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// closing posts one step's form of a fault.
func (h *house) closing(run vent.ID, f vent.Fault, step string, pairs ...string) reply {
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Set(fieldName(pairs[i], step, f.ID.String()), pairs[i+1])
	}
	return h.post(runPath(run)+"/faults/"+f.ID.String()+"/"+step, form)
}

func (h *house) faultNow(f vent.Fault) (now vent.Fault) {
	h.t.Helper()
	if err := h.store.View(func(tx *store.Tx) (err error) {
		now, err = store.Faults.Get(tx, f.ID)
		return err
	}); err != nil {
		h.t.Fatal(err)
	}
	return now
}

func TestFaultsArePutRightPutOffAndReleased(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	foil, screen := h.fault(runFault(id.run, "foil_transition", vent.Fix)), h.fault(runFault(id.run, "outlet_screen", vent.Fix))
	stop := runFault(id.run, "scorch_marks", vent.Stop)
	stop.Tagged, stop.Told = true, []vent.Call{{At: vent.InstantOf(h.now), Who: "Sam", How: "phone", Ackd: true, Role: vent.ToldOccupant}}
	scorched := h.fault(stop)
	page := h.page(runPath(id.run))
	checkPage(t, "open faults", page)
	wantText(t, page, "A tag hangs on the dryer.", "Sam was told Wed 25 November 2026, 10:00 (phone). They said that they know.", "It was put right", "Put it off", "Release the dryer", "To put it right:", "anybody may do it")

	if r := h.closing(id.run, foil, "fix", "who", "Lee", "on", "2026-11-24", "how", "semi-rigid fitted"); r.status != http.StatusSeeOther {
		t.Fatalf("fixing: %d %s", r.status, text(r.body))
	}
	if now := h.faultNow(foil); now.State != vent.FaultFixed || now.ClosedBy != "Lee" || now.Closed != vent.NewDate(2026, 11, 24) {
		t.Errorf("fixed it is %+v", now)
	}
	if r := h.closing(id.run, screen, "waive", "who", "Pat", "until", "2027-01-15", "why", "roof is iced"); r.status != http.StatusSeeOther {
		t.Fatalf("putting off: %d %s", r.status, text(r.body))
	}
	if r := h.closing(id.run, scorched, "release", "who", "Tove Lind", "as", "electrician, licence 12345", "licensed", "yes", "on", "2026-11-25", "what", "plug and socket replaced"); r.status != http.StatusSeeOther {
		t.Fatalf("releasing: %d %s", r.status, text(r.body))
	}
	page = h.page(runPath(id.run))
	checkPage(t, "closed faults", page)
	wantText(t, page, "put right Tue 24 November 2026 by Lee", "declined until Fri 15 January 2027 by Pat", "roof is iced", "put right Wed 25 November 2026 by Tove Lind")
	if strings.Contains(page, "Release the dryer") {
		t.Error("a released dryer can be released again")
	}
	if now := h.faultNow(scorched); now.ReleasedAs != "electrician, licence 12345" {
		t.Errorf("released it is %+v", now)
	}
}

// What is wrong stands at the field, what was typed stays, and nothing is changed.
func TestFaultFormsRefuse(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	foil, scorched := h.fault(runFault(id.run, "foil_transition", vent.Fix)), h.fault(runFault(id.run, "scorch_marks", vent.Stop))
	for _, c := range []struct {
		fault       vent.Fault
		step, field string
		says        string
		pairs       []string
	}{
		{foil, "fix", "who", "is no name", []string{"who", "", "on", "2026-11-24", "how", "kept text"}},
		{foil, "fix", "on", "in the future", []string{"who", "Lee", "on", "2026-11-26", "how", "kept text"}},
		{foil, "fix", "on", "before it was found", []string{"who", "Lee", "on", "2026-11-01", "how", "kept text"}},
		{foil, "fix", "on", "YYYY-MM-DD", []string{"who", "Lee", "on", "11/24/2026", "how", "kept text"}},
		{foil, "waive", "until", "is missing", []string{"who", "Pat", "until", "", "why", "kept text"}},
		{foil, "waive", "until", "months away", []string{"who", "Pat", "until", "2036-01-01", "why", "kept text"}},
		{foil, "waive", "why", "is empty", []string{"who", "kept text", "until", "2027-01-01", "why", " "}},
		{scorched, "release", "as", "by what right", []string{"who", "Lee", "as", "", "on", "2026-11-25", "what", "kept text"}},
		{scorched, "release", "what", "is empty", []string{"who", "kept text", "as", "electrician", "on", "2026-11-25", "what", ""}},
	} {
		r := h.closing(id.run, c.fault, c.step, c.pairs...)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s %v: %d", c.step, c.pairs, r.status)
			continue
		}
		checkPage(t, c.step, r.body)
		at := between(r.body, `id="`+fieldName(c.field, c.step, c.fault.ID.String())+`-problem"`, "</p>")
		if !strings.Contains(at, c.says) || !strings.Contains(r.body, `value="kept text"`) {
			t.Errorf("%s %v: at the field it says %q", c.step, c.pairs, at)
		}
		if h.faultNow(c.fault).State != vent.FaultOpen {
			t.Errorf("%s %v: it was closed", c.step, c.pairs)
		}
	}
	if r := h.closing(id.run, scorched, "fix", "who", "Lee"); r.status != http.StatusUnprocessableEntity || h.faultNow(scorched).State != vent.FaultOpen {
		t.Errorf("a stop fault fixed like any other: %d", r.status)
	}
	other := h.add(maple())[0]
	for _, bad := range []string{runPath(other.run) + "/faults/" + foil.ID.String() + "/fix", runPath(id.run) + "/faults/x/fix", runPath(id.run) + "/faults/" + foil.ID.String() + "/delete"} {
		if r := h.post(bad, url.Values{}); r.status != http.StatusNotFound {
			t.Errorf("POST %s: %d", bad, r.status)
		}
	}
	for _, n := range hostile() {
		r := h.closing(id.run, foil, "fix", "who", n, "on", n, "how", n)
		checkPage(t, n, r.body)
	}
}
