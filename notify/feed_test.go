package notify

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	ical "github.com/emersion/go-ical"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/calendar"
	"ventdue/notify/calendar/strict"
	"ventdue/store"
	"ventdue/vent"
)

// noon is twelve o'clock in New York on 2 March 2026.
var noon = time.Date(2026, 3, 2, 17, 0, 0, 0, time.UTC)

var march2 = vent.NewDate(2026, 3, 2)

// publisher is an installation whose calendars are served.
type publisher struct {
	*scene.Scene
	feeds *Feeds
	log   *bytes.Buffer
}

func publish(t testing.TB) *publisher {
	p := &publisher{Scene: scene.Start(t, noon), log: new(bytes.Buffer)}
	p.feeds = NewFeeds(FeedOptions{Desk: p.Desk, Now: p.Clock, Log: slog.New(slog.NewTextHandler(p.log, nil)), Base: "https://vents.example.com"})
	if err := p.Desk.MoveHorizon(p.By()); err != nil {
		t.Fatal(err)
	}
	return p
}

// feed makes an address for a scope.
func (p *publisher) feed(kind vent.Kind, id vent.ID) desk.NewFeed {
	p.TB.Helper()
	f, err := p.Desk.CreateFeed(p.By(), vent.Feed{Scope: vent.Scope{Kind: kind, ID: id}, Name: "test"})
	if err != nil {
		p.TB.Fatal(err)
	}
	return f
}

func (p *publisher) serve(method, path string, header ...string) *http.Response {
	r := httptest.NewRequest(method, path, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	p.feeds.ServeHTTP(w, r)
	return w.Result()
}

func (p *publisher) get(token string, header ...string) *http.Response {
	return p.serve(http.MethodGet, FeedPath+token+".ics", header...)
}

// body gives a feed's bytes and wants them whole and strictly right.
func (p *publisher) body(token string) []byte {
	p.TB.Helper()
	r := p.get(token)
	b := readAll(p.TB, r.Body)
	if r.StatusCode != http.StatusOK || r.Header.Get("Content-Length") != fmt.Sprint(len(b)) {
		p.TB.Fatalf("%s, Content-Length %s of %d\n%s", r.Status, r.Header.Get("Content-Length"), len(b), b)
	}
	for _, problem := range strict.Check(b) {
		p.TB.Errorf("strict checker: %s", problem)
	}
	return b
}

func readAll(t testing.TB, r io.Reader) []byte {
	t.Helper()
	b, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// entries reads a calendar's entries by UID.
func entries(t testing.TB, body []byte) map[string]ical.Event {
	t.Helper()
	cal, err := calendar.Decode(bytes.NewReader(body), calendar.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]ical.Event{}
	for _, e := range cal.Events() {
		uid := prop(e, ical.PropUID)
		if _, twice := all[uid]; twice {
			t.Errorf("UID %s stands twice", uid)
		}
		all[uid] = e
	}
	return all
}

func prop(e ical.Event, name string) string {
	if p := e.Props.Get(name); p != nil {
		return p.Value
	}
	return ""
}

// visit books a visit at a home with a part for its customer, and publishes it, as the booking does.
func (p *publisher) visit(h scene.Home, on vent.Date, zone string, state vent.VisitState) (v vent.Visit) {
	p.TB.Helper()
	p.Update(func(tx *store.Tx) error {
		v = vent.Visit{ID: tx.NewID(), SiteID: h.Site, On: on, Start: 9 * 60, Minutes: 90, Zone: zone, State: state, UID: tx.NewID().String(),
			Created: tx.Now(), Modified: tx.Now()}
		a := vent.Appointment{ID: tx.NewID(), VisitID: v.ID, CustomerID: h.Customer, Start: 9*60 + 30, Minutes: 30, State: vent.Booked,
			UID: tx.NewID().String(), Created: tx.Now(), Modified: tx.Now()}
		if err := store.Visits.Put(tx, v, "booked"); err != nil {
			return err
		}
		if err := store.Appointments.Put(tx, a, "booked"); err != nil {
			return err
		}
		return tx.BumpPlace(h.Site, h.Customer)
	})
	return v
}

func TestFeedShowsWhatIsDue(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	p.Due(h, march2.AddDays(30))
	customer, operator := p.feed(vent.KindCustomer, h.Customer), p.feed(vent.KindOperator, vent.ID{})
	for _, f := range []desk.NewFeed{customer, operator, p.feed(vent.KindSite, h.Site)} {
		all := entries(t, p.body(f.Token))
		if len(all) != 1 {
			t.Fatalf("%s: %d entries", f.Feed.Scope, len(all))
		}
		for uid, e := range all {
			want := map[string]string{ // RFC 5545: an all-day entry ends on the day after
				ical.PropDateTimeStart: "20260401", ical.PropDateTimeEnd: "20260402", ical.PropTransparency: "TRANSPARENT",
				ical.PropSummary: `Clean the dryer vent: Lund house\, house`, ical.PropLocation: "12 Larkspur Lane",
			}
			for name, value := range want {
				if got := prop(e, name); got != value {
					t.Errorf("%s: %s is %q, want %q", f.Feed.Scope, name, got, value)
				}
			}
			if strings.Contains(uid, "@") || len(uid) < 22 {
				t.Errorf("UID %q", uid)
			}
			if e.Props.Get(ical.PropRecurrenceRule) != nil || len(e.Children) != 0 {
				t.Error("the entry repeats, or has an alarm that nobody asked for")
			}
		}
	}
	// A customer has no account for the pages; the customer's name is for the operator.
	if b := p.body(customer.Token); bytes.Contains(b, []byte("URL:")) || bytes.Contains(b, []byte("Customer: Lund")) {
		t.Errorf("the customer's calendar:\n%s", b)
	}
	if b := p.body(operator.Token); !bytes.Contains(b, []byte("URL:")) || !bytes.Contains(b, []byte("Customer: Lund")) {
		t.Errorf("the operator's calendar:\n%s", b)
	}
}

// The head of a calendar: RFC 7986 and what readers ask for besides.
func TestFeedHead(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	f := p.feed(vent.KindCustomer, h.Customer)
	b := string(p.body(f.Token))
	for _, want := range []string{"NAME:Dryer vents: Lund\r\n", "X-WR-CALNAME:Dryer vents: Lund\r\n", "REFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n",
		"X-PUBLISHED-TTL:PT6H\r\n", "COLOR:teal\r\n", "BEGIN:VTIMEZONE\r\nTZID:America/New_York\r\n", "SOURCE;VALUE=URI:"} {
		if !strings.Contains(b, want) {
			t.Errorf("%q is missing in\n%s", want, b)
		}
	}
	if strings.Contains(b, "METHOD") || strings.Contains(b, "VEVENT") {
		t.Errorf("an empty calendar:\n%s", b)
	}
	got := p.get(f.Token)
	for name, want := range map[string]string{"Content-Type": "text/calendar; charset=utf-8", "Cache-Control": "private, max-age=900",
		"X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer", "Content-Disposition": "", "Content-Encoding": "", "Vary": "Accept-Encoding"} {
		if got.Header.Get(name) != want {
			t.Errorf("%s: %q, want %q", name, got.Header.Get(name), want)
		}
	}
}

func TestUnchangedFeed(t *testing.T) {
	p := publish(t)
	h, other := p.House("Lund", "America/New_York"), p.House("Ash", "America/New_York")
	p.Due(h, march2.AddDays(30))
	f := p.feed(vent.KindCustomer, h.Customer)
	first := p.get(f.Token)
	body, etag, modified := readAll(t, first.Body), first.Header.Get("ETag"), first.Header.Get("Last-Modified")
	if etag == "" || modified == "" || strings.HasPrefix(etag, "W/") {
		t.Fatalf("ETag %q, Last-Modified %q", etag, modified)
	}
	p.Now = noon.Add(50 * time.Hour) // and other customers live on
	p.Due(other, march2.AddDays(9))
	if again := p.body(f.Token); !bytes.Equal(again, body) {
		t.Error("fetched again, the bytes differ")
	}
	packed := p.get(f.Token, "Accept-Encoding", "br, gzip;q=0.8")
	gzEtag := packed.Header.Get("ETag")
	if gzEtag == etag || packed.Header.Get("Content-Encoding") != "gzip" {
		t.Errorf("gzip: ETag %s, Content-Encoding %q", gzEtag, packed.Header.Get("Content-Encoding"))
	}
	z, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(readAll(t, z), body) {
		t.Error("unpacked, the bytes differ")
	}
	for _, c := range []struct {
		name   string
		header []string
		want   int
	}{
		{"its ETag", []string{"If-None-Match", etag}, 304},
		{"its ETag, weak", []string{"If-None-Match", "W/" + etag}, 304},
		{"one of several", []string{"If-None-Match", `"x", ` + etag + ` , "y"`}, 304},
		{"any", []string{"If-None-Match", "*"}, 304},
		{"another ETag", []string{"If-None-Match", `"x"`}, 200},
		{"part of it", []string{"If-None-Match", etag[:9] + `"`}, 200},
		{"the packed one's", []string{"If-None-Match", gzEtag}, 200},
		{"the packed one's, packed", []string{"If-None-Match", gzEtag, "Accept-Encoding", "gzip"}, 304},
		{"its date", []string{"If-Modified-Since", modified}, 304},
		{"a later date", []string{"If-Modified-Since", "Sat, 01 Jan 2028 00:00:00 GMT"}, 304},
		{"an earlier date", []string{"If-Modified-Since", "Sun, 01 Mar 2026 00:00:00 GMT"}, 200},
		{"no date", []string{"If-Modified-Since", "yesterday"}, 200},
		{"another ETag and its date", []string{"If-None-Match", `"x"`, "If-Modified-Since", modified}, 200}, // RFC 9110 section 13.2.2
		{"gzip refused", []string{"If-None-Match", etag, "Accept-Encoding", "gzip;q=0, identity"}, 304},
	} {
		r := p.get(f.Token, c.header...)
		b := readAll(t, r.Body)
		if r.StatusCode != c.want || c.want == 304 && (len(b) > 0 || r.Header.Get("ETag") == "" || r.Header.Get("Cache-Control") == "") {
			t.Errorf("%s: %s with %d bytes, ETag %q", c.name, r.Status, len(b), r.Header.Get("ETag"))
		}
		if c.want == 200 && len(b) != len(body) {
			t.Errorf("%s: %d bytes of %d", c.name, len(b), len(body))
		}
	}
	head := p.serve(http.MethodHead, FeedPath+f.Token+".ics")
	if b := readAll(t, head.Body); len(b) != 0 || head.StatusCode != 200 || head.Header.Get("Content-Length") != fmt.Sprint(len(body)) || head.Header.Get("ETag") != etag {
		t.Errorf("HEAD: %s, %d bytes, %v", head.Status, len(b), head.Header)
	}
}

// A new program on the same data file gives the same bytes and the same ETag.
func TestFeedOutlivesTheProgram(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	p.Due(h, march2.AddDays(30))
	f := p.feed(vent.KindCustomer, h.Customer)
	first := p.get(f.Token)
	p.feeds = NewFeeds(p.feeds.o)
	again := p.get(f.Token, "If-None-Match", first.Header.Get("ETag"))
	if again.StatusCode != http.StatusNotModified || again.Header.Get("Last-Modified") != first.Header.Get("Last-Modified") {
		t.Errorf("%s, Last-Modified %s, was %s", again.Status, again.Header.Get("Last-Modified"), first.Header.Get("Last-Modified"))
	}
}

// changes gives the UIDs whose entries differ, came or went.
func changes(was, is map[string]ical.Event) (uids []string) {
	for uid, e := range is {
		if old, had := was[uid]; !had || fmt.Sprint(old.Props) != fmt.Sprint(e.Props) {
			uids = append(uids, uid)
		}
	}
	for uid := range was {
		if _, has := is[uid]; !has {
			uids = append(uids, uid)
		}
	}
	return uids
}

// One changed due changes exactly one entry. Its SEQUENCE and LAST-MODIFIED rise, whatever changed of what is shown; a new
// cycle has a new UID. Everything happens within one second, which LAST-MODIFIED cannot tell apart.
func TestOneChangeChangesOneEntry(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	due := p.Due(h, march2.AddDays(30))
	for _, name := range []string{"Ash", "Beech", "Cedar"} {
		p.Due(p.House(name, "America/New_York"), march2.AddDays(10))
	}
	f := p.feed(vent.KindOperator, vent.ID{})
	was := entries(t, p.body(f.Token))
	etag, modified := p.get(f.Token).Header.Get("ETag"), p.get(f.Token).Header.Get("Last-Modified")
	for _, c := range []struct {
		name   string
		change func()
	}{
		{"moved", func() { p.Due(h, march2.AddDays(31)) }},
		{"moved again", func() { p.Due(h, march2.AddDays(30)) }},
		{"site renamed", func() { scene.Change(p.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Name = "Lund Lodge" }) }},
		{"address", func() {
			scene.Change(p.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Address = "14 Larkspur Lane" })
		}},
		{"unit renamed", func() { scene.Change(p.Scene, store.Units, h.Unit, func(u *vent.Unit) { u.Name = "upper house" }) }},
		{"run renamed", func() { scene.Change(p.Scene, store.Runs, h.Run, func(r *vent.Run) { r.Name = "laundry" }) }},
		{"customer renamed", func() { scene.Change(p.Scene, store.Customers, h.Customer, func(c *vent.Customer) { c.Name = "Berg" }) }},
	} {
		c.change()
		is := entries(t, p.body(f.Token))
		if got := changes(was, is); !slices.Equal(got, []string{due.UID}) {
			t.Fatalf("%s: changed %v", c.name, got)
		}
		before, after := was[due.UID], is[due.UID]
		for _, name := range []string{ical.PropSequence, ical.PropLastModified, ical.PropDateTimeStamp} {
			if a, b := prop(before, name), prop(after, name); len(a) > len(b) || len(a) == len(b) && a >= b {
				t.Errorf("%s: %s from %s to %s", c.name, name, a, b)
			}
		}
		r := p.get(f.Token, "If-None-Match", etag)
		since := p.get(f.Token, "If-Modified-Since", modified)
		if r.StatusCode != 200 || since.StatusCode != 200 {
			t.Errorf("%s: unchanged by ETag %d, by date %d", c.name, r.StatusCode, since.StatusCode)
		}
		was, etag, modified = is, r.Header.Get("ETag"), r.Header.Get("Last-Modified")
	}
	next := p.Want(h, vent.KindFinding, scene.Clean(vent.ID{9}, march2.AddDays(365)))[0]
	is := entries(t, p.body(f.Token))
	if got := changes(was, is); len(got) != 2 || next.UID == due.UID || !slices.Contains(got, next.UID) || !slices.Contains(got, due.UID) {
		t.Errorf("a new cycle: changed %v, was %s, is %s", got, due.UID, next.UID)
	}
}

// Visits have the site's own hours, whatever its zone does: the instants are those of the zones' rules (IANA time zone
// database: New York leaves winter on 8 March 2026, Lord Howe goes back by half an hour on 5 April, Santiago goes back at
// the end of 4 April, Apia has had no summer time since 2021).
func TestVisitsInTheirZones(t *testing.T) {
	p := publish(t)
	f := p.feed(vent.KindOperator, vent.ID{})
	want := map[string]string{}
	for _, c := range []struct{ zone, on, utc string }{
		{"America/New_York", "2026-03-07", "2026-03-07T14:00:00Z"}, {"America/New_York", "2026-03-08", "2026-03-08T13:00:00Z"},
		{"Australia/Lord_Howe", "2026-04-04", "2026-04-03T22:00:00Z"}, {"Australia/Lord_Howe", "2026-04-05", "2026-04-04T22:30:00Z"},
		{"America/Santiago", "2026-04-04", "2026-04-04T12:00:00Z"}, {"America/Santiago", "2026-04-05", "2026-04-05T13:00:00Z"},
		{"Pacific/Apia", "2026-03-07", "2026-03-06T20:00:00Z"},
	} {
		on, err := vent.ParseDate(c.on)
		if err != nil {
			t.Fatal(err)
		}
		want[p.visit(p.House(c.zone, c.zone), on, c.zone, vent.Booked).UID] = c.utc
	}
	body := p.body(f.Token)
	for _, e := range entries(t, body) {
		if prop(e, ical.PropTransparency) == "TRANSPARENT" {
			t.Error("a visit does not block time")
		}
	}
	for _, e := range readEverywhere(t, body) {
		if e.Start != want[e.UID] {
			t.Errorf("%s starts at %s, want %s", e.Summary, e.Start, want[e.UID])
		}
		delete(want, e.UID)
	}
	if len(want) > 0 {
		t.Errorf("missing: %v", want)
	}
}

// A cancelled visit stays, marked, for a month at least, and a customer sees their own part of it alone.
func TestCancelledVisit(t *testing.T) {
	p := publish(t)
	h, other := p.House("Lund", "America/New_York"), p.House("Ash", "America/New_York")
	v := p.visit(h, march2.AddDays(9), "America/New_York", vent.Booked)
	f, foreign := p.feed(vent.KindCustomer, h.Customer), p.feed(vent.KindCustomer, other.Customer)
	before := entries(t, p.body(f.Token))
	p.Now = noon.Add(time.Hour)
	p.Update(func(tx *store.Tx) error {
		v.State = vent.Cancelled
		_, err := store.SetVisit(tx, v, "cancelled")
		return err
	})
	after := entries(t, p.body(f.Token))
	if len(before) != 1 || len(after) != 1 || len(entries(t, p.body(foreign.Token))) != 0 {
		t.Fatalf("%d entries, then %d; the neighbour sees %d", len(before), len(after), len(entries(t, p.body(foreign.Token))))
	}
	for uid, e := range after {
		if prop(e, ical.PropStatus) != "CANCELLED" || !strings.HasPrefix(prop(e, ical.PropSummary), "Cancelled: ") ||
			prop(e, ical.PropSequence) <= prop(before[uid], ical.PropSequence) || prop(e, ical.PropDateTimeStart) != "20260311T093000" {
			t.Errorf("the cancelled visit: %v, was %v", e.Props, before[uid].Props)
		}
	}
	p.Now = noon.AddDate(0, 0, 29)
	p.moveHorizon()
	if n := len(entries(t, p.body(f.Token))); n != 1 {
		t.Error("gone within a month")
	}
	p.Now = noon.AddDate(0, 0, 62)
	p.moveHorizon()
	if n := len(entries(t, p.body(f.Token))); n != 0 {
		t.Error("still there after two months")
	}
}

func (p *publisher) moveHorizon() {
	p.TB.Helper()
	if err := p.Desk.MoveHorizon(p.By()); err != nil {
		p.TB.Fatal(err)
	}
}

// The month's turn cuts feeds anew. An unchanged one keeps its bytes; readers by date notice the others.
func TestHorizon(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	near := p.House("Ash", "America/New_York")
	p.Due(near, march2.AddDays(5))
	p.Due(h, vent.NewDate(2028, 3, 20)) // over two years ahead
	lund, ash := p.feed(vent.KindCustomer, h.Customer), p.feed(vent.KindCustomer, near.Customer)
	ashTag, modified := p.get(ash.Token).Header.Get("ETag"), p.get(lund.Token).Header.Get("Last-Modified")
	if n := len(entries(t, p.body(lund.Token))); n != 0 {
		t.Fatalf("%d entries beyond two years", n)
	}
	p.Now = time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC)
	p.moveHorizon()
	if r := p.get(lund.Token, "If-Modified-Since", modified); r.StatusCode != 200 {
		t.Errorf("by date unchanged: %s", r.Status)
	}
	if n := len(entries(t, p.body(lund.Token))); n != 1 {
		t.Errorf("%d entries", n)
	}
	if r := p.get(ash.Token, "If-None-Match", ashTag); r.StatusCode != 304 {
		t.Errorf("the other feed: %s", r.Status)
	}
}
