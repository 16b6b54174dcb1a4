package notify

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	ical "github.com/emersion/go-ical"

	"ventdue/internal/scene"
	"ventdue/notify/calendar"
	"ventdue/notify/calendar/strict"
	"ventdue/store"
	"ventdue/vent"
)

func TestWithdrawnAddress(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	p.Due(h, march2.AddDays(30))
	f := p.feed(vent.KindCustomer, h.Customer)
	etag := p.get(f.Token).Header.Get("ETag")
	p.Now = noon.Add(time.Hour)
	next, err := p.Desk.RotateFeed(p.By(), f.Feed.ID)
	if err != nil {
		t.Fatal(err)
	}
	for days, want := range map[int]int{0: 200, 29: 200, 31: 410} {
		p.Now = noon.Add(2*time.Hour).AddDate(0, 0, days)
		r := p.get(f.Token, "If-None-Match", etag)
		b := readAll(t, r.Body)
		if r.StatusCode != want {
			t.Errorf("after %d days: %s", days, r.Status)
		}
		if want != 200 {
			continue
		}
		all := entries(t, b)
		if problems := strict.Check(b); len(problems) > 0 || len(all) != 1 || !strings.Contains(string(b), "This calendar address was replaced") {
			t.Errorf("after %d days: %v\n%s", days, problems, b)
		}
	}
	if n := len(entries(t, p.body(next.Token))); n != 1 {
		t.Errorf("the new address: %d entries", n)
	}
	if err := p.Desk.RevokeFeed(p.By(), next.Feed.ID); err != nil {
		t.Fatal(err)
	}
	if b := p.body(next.Token); !bytes.Contains(b, []byte("withdrawn")) {
		t.Errorf("revoked:\n%s", b)
	}
}

// While nobody writes anything, the month of a withdrawn address ends all the same.
func TestWithdrawnAddressEndsWithoutAWrite(t *testing.T) {
	p := publish(t)
	f := p.feed(vent.KindOperator, vent.ID{})
	if err := p.Desk.RevokeFeed(p.By(), f.Feed.ID); err != nil {
		t.Fatal(err)
	}
	p.body(f.Token)
	p.Now = noon.AddDate(0, 0, 31)
	if r := p.get(f.Token); r.StatusCode != http.StatusGone {
		t.Error(r.Status)
	}
}

func TestWrongAddressesAndMethods(t *testing.T) {
	p := publish(t)
	f := p.feed(vent.KindOperator, vent.ID{})
	for _, c := range []struct {
		method, path string
		want         int
	}{
		{"GET", FeedPath + "nosuchtoken.ics", 404}, {"GET", FeedPath + f.Token, 404}, {"GET", FeedPath + ".ics", 404}, {"GET", FeedPath, 404},
		{"GET", FeedPath + f.Token + ".ics/more", 404}, {"GET", FeedPath + "x/" + f.Token + ".ics", 404},
		{"GET", FeedPath + strings.ToUpper(f.Token) + ".ics", 404}, {"GET", FeedPath + strings.Repeat("a", 5000) + ".ics", 404},
		{"GET", FeedPath + "%00%ff.ics", 404}, {"HEAD", FeedPath + "nosuchtoken.ics", 404},
		{"POST", FeedPath + f.Token + ".ics", 405}, {"PUT", FeedPath + f.Token + ".ics", 405}, {"DELETE", FeedPath + f.Token + ".ics", 405},
		{"PROPFIND", FeedPath + f.Token + ".ics", 405}, {"OPTIONS", FeedPath + f.Token + ".ics", 405},
	} {
		r := p.serve(c.method, c.path)
		if r.StatusCode != c.want || c.want == 405 && r.Header.Get("Allow") != "GET, HEAD" {
			t.Errorf("%s %.60s: %s, Allow %q", c.method, c.path, r.Status, r.Header.Get("Allow"))
		}
		if r.Header.Get("X-Robots-Tag") != "noindex" || r.Header.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s %.60s: %v", c.method, c.path, r.Header)
		}
	}
}

// When a feed cannot be made any more, readers keep getting the last good one, never less; a reader for whom there is none
// is asked to come back. The fault is logged without the secret.
func TestRenderingFails(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	due := p.Due(h, march2.AddDays(30))
	seen, unseen := p.feed(vent.KindCustomer, h.Customer), p.feed(vent.KindSite, h.Site)
	good := p.body(seen.Token)
	etag := p.get(seen.Token).Header.Get("ETag")
	breakIt := func(to vent.ID) {
		scene.Change(p.Scene, store.Dues, due.ID, func(d *vent.Due) { d.Subject.ID = to })
		p.Update(func(tx *store.Tx) error { return tx.BumpPlace(h.Site, h.Customer) })
	}
	breakIt(h.Site) // no run has this id
	if b := p.body(seen.Token); !bytes.Equal(b, good) {
		t.Errorf("not the last good one:\n%s", b)
	}
	if r := p.get(seen.Token, "If-None-Match", etag); r.StatusCode != 304 {
		t.Errorf("the last good one: %s", r.Status)
	}
	r := p.get(unseen.Token)
	if r.StatusCode != 503 || r.Header.Get("Retry-After") == "" || r.Header.Get("Content-Type") == "text/calendar; charset=utf-8" {
		t.Errorf("%s, %v", r.Status, r.Header)
	}
	if !strings.Contains(p.log.String(), "the last good one is served") {
		t.Errorf("log: %s", p.log)
	}
	breakIt(h.Run)
	p.body(unseen.Token)
	if r := p.get(seen.Token, "If-None-Match", etag); r.StatusCode != 200 && r.StatusCode != 304 {
		t.Error(r.Status)
	}
	noSecrets(t, p.log.String(), seen.Token, unseen.Token)
}

func noSecrets(t *testing.T, text string, secrets ...string) {
	t.Helper()
	for _, s := range secrets {
		if strings.Contains(text, s) {
			t.Errorf("%q stands in %s", s, text)
		}
	}
}

// No calendar tells how to get in.
func TestFeedsTellNoWayIn(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	p.Due(h, march2.AddDays(30))
	tech := p.Person("Tove Holm", "tove@example.com")
	v := p.visit(h, march2.AddDays(9), "America/New_York", vent.Booked)
	scene.Change(p.Scene, store.Visits, v.ID, func(v *vent.Visit) { v.TechnicianID, v.Note = tech, "gate 4711" })
	for kind, id := range map[vent.Kind]vent.ID{vent.KindCustomer: h.Customer, vent.KindSite: h.Site, vent.KindOperator: {}, vent.KindPerson: tech} {
		b := p.body(p.feed(kind, id).Token)
		noSecrets(t, string(b), "4711", "blue pot")
		if kind == vent.KindPerson && len(entries(t, b)) != 1 {
			t.Errorf("the technician's calendar:\n%s", b)
		}
	}
}

// More is due than one calendar can carry: what is near is kept, and the calendar says so itself.
func TestFullFeed(t *testing.T) {
	p := publish(t)
	const many = 1500
	p.Update(func(tx *store.Tx) error { return fill(tx, many, march2.AddDays(-300)) })
	f := p.feed(vent.KindOperator, vent.ID{})
	body := p.body(f.Token)
	all := entries(t, body)
	full := all[f.Feed.ID.String()+"-full"]
	if len(all) > calendar.MaxEvents || len(all) < calendar.MaxEvents*3/4 || len(body) > calendar.MaxBytes {
		t.Errorf("%d entries in %d bytes", len(all), len(body))
	}
	if full.Component == nil || prop(full, ical.PropDateTimeStart) != "20260301" || !strings.Contains(prop(full, ical.PropSummary), "full") {
		t.Error("the calendar does not say that it is full")
	}
	kept, left := 0, 0 // the farthest kept, the nearest left out, in days from the first of the month
	p.View(func(tx *store.Tx) error {
		for d, err := range store.OpenDues(tx, 0, 0) {
			if err != nil {
				return err
			}
			away := max(vent.NewDate(2026, 3, 1).DaysUntil(d.Day), d.Day.DaysUntil(vent.NewDate(2026, 3, 1)))
			if _, has := all[d.UID]; has {
				kept = max(kept, away)
			} else if left == 0 || away < left {
				left = away
			}
		}
		return nil
	})
	if kept > left {
		t.Errorf("kept up to %d days away, left out from %d", kept, left)
	}
	if !strings.Contains(p.log.String(), "left_out=") {
		t.Errorf("log: %s", p.log)
	}
	readEverywhere(t, body)
	if again := p.body(f.Token); !bytes.Equal(again, body) {
		t.Error("fetched again, the bytes differ")
	}
}

// fill stores a building with many runs, each with one due, one day after the other.
func fill(tx *store.Tx, many int, from vent.Date) error {
	customer, site := tx.NewID(), tx.NewID()
	if err := store.Customers.Put(tx, vent.Customer{ID: customer, Name: "Tall Trees"}, ""); err != nil {
		return err
	}
	if err := store.Sites.Put(tx, vent.Site{ID: site, CustomerID: customer, Name: "Tall Trees Tower", Zone: "America/New_York"}, ""); err != nil {
		return err
	}
	for i := range many {
		run := vent.Run{ID: tx.NewID(), SiteID: site, Name: fmt.Sprintf("flat %d", i+1), Shape: vent.Single, Known: from, Versions: []vent.Version{{}}}
		if err := store.Runs.Put(tx, run, ""); err != nil {
			return err
		}
		at := store.Place{Subject: vent.Subject{Kind: vent.KindRun, ID: run.ID}, Site: site, Customer: customer}
		if _, err := store.Reconcile(tx, at, []vent.Wanted{scene.Clean(run.ID, from.AddDays(i/2))}, vent.OperatorSubject); err != nil {
			return err
		}
	}
	return nil
}

// Who read a feed is written down now and then, cut to what a person can read.
func TestLastFetched(t *testing.T) {
	p := publish(t)
	f := p.feed(vent.KindOperator, vent.ID{})
	p.get(f.Token, "User-Agent", "Reader/1.0")
	p.Now = noon.Add(time.Hour)
	p.get(f.Token, "User-Agent", strings.Repeat("ä", 100), "If-None-Match", "*")
	if err := p.feeds.Flush(p.By()); err != nil {
		t.Fatal(err)
	}
	got := scene.Get(p.Scene, store.Feeds, f.Feed.ID)
	if got.Fetched != vent.InstantOf(p.Now) || got.FetchedBy != strings.Repeat("ä", 60) {
		t.Errorf("%s by %q", got.Fetched, got.FetchedBy)
	}
	commits := p.Store.Commits()
	if err := p.feeds.Flush(p.By()); err != nil || p.Store.Commits() != commits {
		t.Errorf("flushed twice: %v", err)
	}
}
