package notify

import (
	"bytes"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"ventdue/internal/outside"
	"ventdue/internal/scene"
	"ventdue/store"
	"ventdue/vent"
)

// readEverywhere has three parsers written by others read a calendar and find the same entries in it.
func readEverywhere(t *testing.T, body []byte) (read []outside.ParsedEvent) {
	t.Helper()
	want := len(entries(t, body))
	for _, parser := range outside.Parsers {
		t.Run(parser.Name, func(t *testing.T) {
			got := parser.Read(t, body)
			if len(got) != want {
				t.Errorf("read %d entries, want %d", len(got), want)
			}
			slices.SortFunc(got, func(a, b outside.ParsedEvent) int { return strings.Compare(a.UID, b.UID) })
			for i := range got {
				got[i].Categories = nil // libical hands them over unsplit
			}
			if read != nil && !slices.EqualFunc(read, got, sameEvent) {
				t.Errorf("read  %+v\nothers %+v", got, read)
			}
			read = got
		})
	}
	return read
}

func sameEvent(a, b outside.ParsedEvent) bool {
	return a.UID == b.UID && a.Summary == b.Summary && a.Description == b.Description && a.Location == b.Location &&
		a.Status == b.Status && a.URL == b.URL && a.Sequence == b.Sequence && a.Alarms == b.Alarms && a.Start == b.Start && a.End == b.End
}

// hostileNames are what somebody may call a building, by accident or not.
var hostileNames = []string{
	"Maple; House, \"3B\": the\\one", "line\nBEGIN:VEVENT\r\nUID:x", "\u2028\u2029\u0085split", "<b>bold</b> & co", strings.Repeat("long ", 60) + "end",
	strings.Repeat("ö", 90), "👩‍👩‍👧 family", "{what} {where}", "עברית and English", "=?utf-8?q?x?=", "%0d%0aX: y", "tab\there",
}

func TestHostileNames(t *testing.T) {
	p := publish(t)
	var homes []scene.Home
	for i, name := range hostileNames {
		h := p.House(name, "America/New_York")
		scene.Change(p.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Address = name })
		p.Due(h, march2.AddDays(i))
		homes = append(homes, h)
	}
	body := p.body(p.feed(vent.KindOperator, vent.ID{}).Token)
	if got := len(readEverywhere(t, body)); got != len(homes) {
		t.Errorf("%d entries of %d", got, len(homes))
	}
	for _, h := range homes {
		p.body(p.feed(vent.KindCustomer, h.Customer).Token) // the name is the calendar's title
	}
}

func TestEmptyFeedEverywhere(t *testing.T) {
	p := publish(t)
	readEverywhere(t, p.body(p.feed(vent.KindOperator, vent.ID{}).Token))
}

// A real subscriber over HTTP: it sees everything on its day, nothing change when nothing changed, one entry change when
// one did, and everything but a word go when the address is withdrawn.
func TestRealSubscriber(t *testing.T) {
	p := publish(t)
	h, other := p.House("Lund", "America/New_York"), p.House("Ash Mill", "Pacific/Apia")
	p.Due(h, march2.AddDays(30))
	p.Due(other, march2.AddDays(31))
	p.visit(other, march2.AddDays(8), "Pacific/Apia", vent.Booked)
	f := p.feed(vent.KindOperator, vent.ID{})
	server := httptest.NewServer(p.feeds)
	defer server.Close()

	s := outside.Subscribe(t, server.URL+FeedPath+f.Token+".ics", "America/New_York")
	if got := s.Sync(); len(got.Came) != 3 || len(got.Went) != 0 {
		t.Errorf("the first fetch brought %q", got)
	}
	if got := s.Sync(); len(got.Came)+len(got.Went) != 0 {
		t.Errorf("fetched again, changed: %q", got)
	}
	want := []outside.Listed{ // nine in Apia (UTC+13) on 10 March is 16:00 on the 9th in New York (UTC-4 since the 8th)
		{Day: "2026-03-09", Start: "16:00", End: "17:30", Title: "Dryer vent visit: Ash Mill house"},
		{Day: "2026-04-01", Title: "Clean the dryer vent: Lund house, house"},
		{Day: "2026-04-02", Title: "Clean the dryer vent: Ash Mill house, house"},
	}
	if got := s.List("2026-03-01", "2026-04-30"); !slices.Equal(got, want) {
		t.Errorf("agenda %+v\nwant   %+v", got, want)
	}
	p.Due(h, march2.AddDays(45))
	if got := s.Sync(); len(got.Came) != 1 || len(got.Went) != 1 || !strings.Contains(got.Came[0], "Lund") {
		t.Errorf("one day moved, changed: %q", got)
	}
	p.Done(h)
	if got := s.Sync(); len(got.Came) != 0 || len(got.Went) != 1 {
		t.Errorf("one done, changed: %q", got)
	}
	if err := p.Desk.RevokeFeed(p.By(), f.Feed.ID); err != nil {
		t.Fatal(err)
	}
	if got := s.Sync(); len(got.Went) != 2 || len(got.Came) != 1 || !strings.Contains(got.Came[0], "withdrawn") {
		t.Errorf("withdrawn, changed: %q", got)
	}
}

// The three copies of one installation's feed that other programs keep: one that takes every answer whole, one that
// changes an entry only where LAST-MODIFIED rose, and one that changes it only where SEQUENCE did.
func TestReadersThatKeepCopies(t *testing.T) {
	p := publish(t)
	var homes []scene.Home
	for _, name := range []string{"Ash", "Beech", "Cedar", "Elm"} {
		homes = append(homes, p.House(name, "America/New_York"))
	}
	f := p.feed(vent.KindOperator, vent.ID{})
	type entry struct{ text, modified, sequence string }
	readers := map[string]func(old, new entry) bool{
		"whole":         func(entry, entry) bool { return true },
		"last-modified": func(old, new entry) bool { return new.modified > old.modified },
		"sequence":      func(old, new entry) bool { return len(new.sequence) > len(old.sequence) || new.sequence > old.sequence },
	}
	copies := map[string]map[string]entry{"whole": {}, "last-modified": {}, "sequence": {}}
	etag := ""
	for i := range 200 {
		switch h := homes[i%4]; i % 7 {
		case 0, 1, 2:
			p.Due(h, march2.AddDays(i%50))
		case 3:
			p.Done(h)
		case 4:
			scene.Change(p.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Address = strings.Repeat("x", i%9) })
		case 5:
			p.Operator(vent.Operator{Kind: vent.Customers, Name: "Larkspur", Zone: "America/New_York", Units: []vent.UnitSystem{vent.US, vent.SI}[i%2]})
		}
		r := p.get(f.Token, "If-None-Match", etag)
		if r.StatusCode == 304 {
			continue
		}
		etag = r.Header.Get("ETag")
		body := readAll(t, r.Body)
		now := map[string]entry{}
		for uid, e := range entries(t, body) {
			var text strings.Builder
			for _, name := range []string{"SUMMARY", "DESCRIPTION", "LOCATION", "DTSTART", "URL", "STATUS"} {
				text.WriteString(prop(e, name) + "\n")
			}
			now[uid] = entry{text.String(), prop(e, "LAST-MODIFIED"), prop(e, "SEQUENCE")}
		}
		for name, takes := range readers {
			kept := copies[name]
			for uid, e := range now {
				if old, had := kept[uid]; !had || takes(old, e) {
					kept[uid] = e
				}
			}
			for uid := range kept {
				if _, still := now[uid]; !still {
					delete(kept, uid)
				}
			}
			for uid, e := range now {
				if kept[uid].text != e.text {
					t.Fatalf("step %d: the reader by %s keeps %q of %q", i, name, kept[uid].text, e.text)
				}
			}
		}
	}
	if bytes.Contains(p.log.Bytes(), []byte("level=ERROR")) {
		t.Errorf("log: %s", p.log)
	}
}
