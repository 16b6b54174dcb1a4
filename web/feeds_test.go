package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

func TestFeedIsMadeOnceAndShownOnce(t *testing.T) {
	h := newHouse(t, func(o *Options) { o.BaseURL = "https://vents.example.com" })
	h.setOperator(vent.US)
	h.add(maple())
	once := between(h.page("/feeds"), `name="once" value="`, `"`)
	form := url.Values{"once": {once}, "scope": {"operator"}, "name": {"Office"}}
	r := h.post("/feeds", form)
	if r.status != http.StatusSeeOther {
		t.Fatalf("%d %s", r.status, text(r.body))
	}
	again := h.post("/feeds", form)
	shown := h.page(r.header.Get("Location"))
	checkPage(t, "made", shown)
	address := between(shown, `readonly>`, "<")
	if again.header.Get("Location") != r.header.Get("Location") || !strings.HasPrefix(address, "https://vents.example.com/feed/") || !strings.HasSuffix(address, ".ics") {
		t.Errorf("address %q", address)
	}
	if !strings.Contains(shown, `href="webcal://vents.example.com/feed/`) {
		t.Error("no address that opens a calendar program")
	}
	feeds, err := h.desk.Feeds()
	if err != nil || len(feeds) != 1 || feeds[0].Scope != vent.OperatorScope || feeds[0].Name != "Office" {
		t.Fatalf("feeds %+v, %v", feeds, err)
	}
	token := strings.TrimSuffix(strings.TrimPrefix(address, "https://vents.example.com/feed/"), ".ics")
	if head, err := h.desk.FeedHead(token, h.now); err != nil || head.Feed.ID != feeds[0].ID {
		t.Errorf("the address opens %+v, %v", head, err)
	}
	if strings.Contains(h.page("/feeds"), token) {
		t.Error("the secret stands in the list")
	}
	h.now = h.now.Add(11 * time.Minute)
	late := h.page(r.header.Get("Location"))
	wantText(t, late, "The new address is no longer shown.")
	wantNoText(t, late, token)
}

func TestFeedOfACustomerBySeveralWords(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	other := maple()
	other.customer, other.site, other.address = "Hill Farm", "Hill Farm", "1 Hill Road"
	ids := h.add(maple(), other)
	for _, c := range []struct {
		form url.Values
		says string
	}{
		{url.Values{"scope": {""}}, "Choose what the calendar shows."},
		{url.Values{"scope": {"person"}}, "Which customer or site?"},
		{url.Values{"scope": {"person"}, "which": {"pat"}}, "Nothing of that name"}, // a contact is no technician
		{url.Values{"scope": {"house"}}, "Choose what the calendar shows."},
		{url.Values{"scope": {"customer"}}, "Which customer or site?"},
		{url.Values{"scope": {"site"}, "which": {"nobody"}}, "Nothing of that name"},
		{url.Values{"scope": {"site"}, "which": {ids[0].customer.String()}}, "Nothing of that name"},
		{url.Values{"scope": {"customer"}, "which": {"hill"}}, "Several fit."},
		{url.Values{"scope": {"operator"}, "name": {strings.Repeat("x", 5000)}}, "at most"},
	} {
		r := h.post("/feeds", c.form)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", c.form, r.status)
		}
		checkPage(t, c.says, r.body)
		wantText(t, r.body, c.says)
	}
	r := h.post("/feeds", url.Values{"scope": {"site"}, "which": {"maple springfield"}})
	if r.status != http.StatusSeeOther {
		t.Fatalf("%d %s", r.status, text(r.body))
	}
	feeds, _ := h.desk.Feeds()
	if len(feeds) != 1 || feeds[0].Scope != (vent.Scope{Kind: vent.KindSite, ID: ids[0].site}) || feeds[0].Name != "Maple House" {
		t.Errorf("feeds %+v", feeds)
	}
	page := h.page("/feeds?scope=customer&which=" + ids[1].customer.String())
	checkPage(t, "named", page)
	if !strings.Contains(page, `value="`+ids[1].customer.String()+`" checked`) || !strings.Contains(page, `value="customer" checked`) {
		t.Error("the customer that the address names is not chosen")
	}
}

func TestFeedNewAddressAndEnd(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	made, err := h.desk.CreateFeed(h.by(), vent.Feed{Scope: vent.OperatorScope, Name: "Office"})
	if err != nil {
		t.Fatal(err)
	}
	if err := h.desk.FeedsFetched(h.by(), map[vent.ID]desk.Fetch{made.Feed.ID: {At: h.now, By: "Some Calendar/1"}}); err != nil {
		t.Fatal(err)
	}
	wantText(t, h.page("/feeds"), "Last fetched Wed 25 November 2026, 10:00 by Some Calendar/1.")
	path := "/feeds/" + made.Feed.ID.String()
	form := url.Values{"once": {"abc"}}
	r := h.post(path+"/address", form)
	page := h.page(r.header.Get("Location"))
	checkPage(t, "rotated", page)
	wantText(t, page, "Replaced by a new address", "Not fetched yet.")
	if again := h.post(path+"/address", form); again.status != http.StatusSeeOther {
		t.Errorf("the same form again: %d", again.status)
	}
	if other := h.post(path+"/address", url.Values{"once": {"def"}}); other.status != http.StatusConflict {
		t.Errorf("a new address of an ended feed: %d", other.status)
	}
	feeds, _ := h.desk.Feeds()
	if len(feeds) != 2 {
		t.Fatalf("%d feeds", len(feeds))
	}
	for _, f := range feeds {
		if f.Revoked != 0 {
			continue
		}
		if r := h.post("/feeds/"+f.ID.String()+"/revoke", nil); r.status != http.StatusSeeOther {
			t.Errorf("revoke: %d", r.status)
		}
		if r := h.post("/feeds/"+f.ID.String()+"/revoke", nil); r.status != http.StatusConflict {
			t.Errorf("revoke again: %d", r.status)
		}
	}
	wantText(t, h.page("/feeds"), "No calendar address was made yet.", "Addresses that ended")
	if r := h.post("/feeds/nothing/revoke", nil); r.status != http.StatusNotFound {
		t.Errorf("revoke nothing: %d", r.status)
	}
}
