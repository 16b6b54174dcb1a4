package web

import (
	"context"
	"fmt"
	"html/template"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// house is an office with a real store in a temporary directory, its pages, and a browser without a screen.
type house struct {
	t     testing.TB
	desk  *desk.Desk
	store *store.Store
	pages *httptest.Server
	now   time.Time
	hc    *http.Client // follows nothing

	server     *server // behind the guard
	reading    sync.Once
	reader     *apiReader
	readerTurn sync.Mutex
}

// newHouse opens pages over an empty store. The clock stands at 25 November 2026, 10:00 in New York.
func newHouse(t testing.TB, change func(*Options)) *house {
	t.Helper()
	s, err := store.Open(filepath.Join(t.TempDir(), "ventdue.db"), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	h := &house{t: t, store: s, desk: desk.New(s, desk.DefaultPolicy(), nil), now: time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)}
	h.desk.KeepPhotosIn(filepath.Join(t.TempDir(), "photos"))
	o := Options{Desk: h.desk, Now: func() time.Time { return h.now }, Log: discard(), Open: true, Version: "test"}
	if change != nil {
		change(&o)
	}
	handler, err := build(o)
	if err != nil {
		t.Fatal(err)
	}
	h.server = handler
	h.pages = httptest.NewServer(handler.guard())
	t.Cleanup(func() {
		h.pages.Close()
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	h.hc = h.browser()
	return h
}

// browser is a client with its own cookies that does not follow redirects.
func (h *house) browser() *http.Client {
	jar, _ := cookiejar.New(nil)
	return &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

func (h *house) by() desk.By { return desk.By{Now: h.now, Actor: "test"} }

// door is one customer's dryer with its run, as a test describes it.
type door struct {
	customer, site, address, unit, run string
	fuel                               vent.Fuel
	route                              *airflow.Duct
	roof                               bool
	mail                               string
	note                               string
}

// maple is an ordinary door: 17 ft of 4 in smooth duct with three mitred elbows.
func maple() door {
	return door{customer: "Hill Rentals", site: "Maple House", address: "12 Maple Street, Springfield", unit: "3B", run: "dryer vent",
		fuel: vent.Electric, mail: "office@hill.example", route: &airflow.Duct{
			Transition: airflow.Section{Material: airflow.SemiRigid, Length: airflow.Feet(6), Diameter: airflow.Inches(4)},
			Sections:   []airflow.Section{{Material: airflow.SmoothMetal, Length: airflow.Feet(17), Diameter: airflow.Inches(4)}},
			Fittings:   []airflow.Fitting{{Kind: airflow.Mitered90, Count: 3}},
			Outlet:     airflow.Outlet{Kind: airflow.OutletLouvered},
		}}
}

// added are the ids of one door.
type added struct{ person, customer, site, unit, dryer, run vent.ID }

func (h *house) update(f func(tx *store.Tx) error) {
	h.t.Helper()
	if err := h.store.Update(h.by(), f); err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) setOperator(units vent.UnitSystem) {
	h.t.Helper()
	err := h.desk.SetOperator(h.by(), vent.Operator{Kind: vent.Customers, Name: "Ridge Vent Service", Zone: "America/New_York", Units: units, Language: "en"})
	if err != nil {
		h.t.Fatal(err)
	}
}

// add stores doors and plans their runs; doors that follow each other with one customer and site share them.
func (h *house) add(doors ...door) []added {
	h.t.Helper()
	all := make([]added, len(doors))
	h.update(func(tx *store.Tx) error {
		for i, d := range doors {
			a := added{unit: tx.NewID(), dryer: tx.NewID(), run: tx.NewID()}
			same := i > 0 && doors[i-1].customer == d.customer && doors[i-1].site == d.site
			if same {
				a.customer, a.site, a.person = all[i-1].customer, all[i-1].site, all[i-1].person
			} else if err := putPlace(tx, d, &a); err != nil {
				return err
			}
			all[i] = a
			if err := putRun(tx, d, a); err != nil {
				return err
			}
		}
		return nil
	})
	h.replan()
	return all
}

func putPlace(tx *store.Tx, d door, a *added) error {
	a.customer, a.site = tx.NewID(), tx.NewID()
	c := vent.Customer{ID: a.customer, Name: d.customer}
	if d.mail != "" {
		a.person = tx.NewID()
		c.Persons = []vent.ID{a.person}
		if err := store.Persons.Put(tx, vent.Person{ID: a.person, Name: "Pat " + d.customer, Email: d.mail}, "test"); err != nil {
			return err
		}
	}
	if err := store.Customers.Put(tx, c, "test"); err != nil {
		return err
	}
	return store.Sites.Put(tx, vent.Site{ID: a.site, CustomerID: a.customer, Name: d.site, Address: d.address, Zone: "America/New_York",
		Access: vent.Access{Codes: "gate code 4711", Keys: "key hook 9", Dog: true, Parking: "behind the house"}}, "test")
}

func putRun(tx *store.Tx, d door, a added) error {
	if err := store.Units.Put(tx, vent.Unit{ID: a.unit, SiteID: a.site, Kind: vent.Flat, Name: d.unit}, "test"); err != nil {
		return err
	}
	dryer := vent.Appliance{ID: a.dryer, UnitID: a.unit, Kind: vent.Dryer, Fuel: d.fuel, Maker: "Northbrook", Model: "D-40"}
	if err := store.Appliances.Put(tx, dryer, "test"); err != nil {
		return err
	}
	return store.Runs.Put(tx, vent.Run{ID: a.run, SiteID: a.site, UnitID: a.unit, Name: d.run, Shape: vent.Single, Note: d.note,
		Known: tx.Now().DateIn(time.UTC), Versions: []vent.Version{{DryerID: a.dryer, Route: d.route, RoofOutlet: d.roof}}}, "run added")
}

func (h *house) replan() {
	h.t.Helper()
	if _, err := h.desk.ReplanAll(h.by(), "test"); err != nil {
		h.t.Fatal(err)
	}
	if _, err := h.desk.Replan(context.Background(), h.by()); err != nil {
		h.t.Fatal(err)
	}
}

// cleaned records a full cleaning.
func (h *house) cleaned(run vent.ID, on vent.Date) vent.Finding {
	h.t.Helper()
	out, err := h.desk.Record(h.by(), vent.Finding{RunID: run, Date: on, Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full, Reach: vent.ReachThrough})
	if err != nil {
		h.t.Fatal(err)
	}
	return out.Finding
}

// stop makes a run's open dues forbid the dryer.
func (h *house) stop(run vent.ID) {
	h.t.Helper()
	h.update(func(tx *store.Tx) error {
		dues, err := store.Collect(store.DuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: run}))
		for _, d := range dues {
			d.Severity = vent.Stop
			if err := store.Dues.Put(tx, d, ""); err != nil {
				return err
			}
		}
		return err
	})
}

// reply is what came back.
type reply struct {
	status int
	header http.Header
	body   string
}

func (h *house) do(req *http.Request) reply {
	h.t.Helper()
	return h.doAs(h.hc, req)
}

func (h *house) doAs(hc *http.Client, req *http.Request) reply {
	h.t.Helper()
	sent := sentBody(h.t, req)
	resp, err := hc.Do(req)
	if err != nil {
		h.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatal(err)
	}
	got := reply{resp.StatusCode, resp.Header, string(b)}
	h.held(req, sent, got)
	return got
}

// sentBody gives what a request will send.
func sentBody(t testing.TB, req *http.Request) []byte {
	if req.GetBody == nil {
		return nil
	}
	body, err := req.GetBody()
	if err != nil {
		t.Fatal(err)
	}
	defer body.Close()
	b, err := io.ReadAll(body)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (h *house) request(method, path string, body io.Reader, header ...string) *http.Request {
	h.t.Helper()
	req, err := http.NewRequest(method, h.pages.URL+path, body)
	if err != nil {
		h.t.Fatal(err)
	}
	for i := 0; i+1 < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	return req
}

func (h *house) get(path string, header ...string) reply {
	h.t.Helper()
	return h.do(h.request("GET", path, nil, header...))
}

// post sends a form as a browser does from our own page.
func (h *house) post(path string, form url.Values, header ...string) reply {
	h.t.Helper()
	return h.do(h.request("POST", path, strings.NewReader(form.Encode()),
		append([]string{"Content-Type", "application/x-www-form-urlencoded", "Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin"}, header...)...))
}

// page gets an address that must be a page.
func (h *house) page(path string) string {
	h.t.Helper()
	r := h.get(path)
	if r.status != http.StatusOK {
		h.t.Fatalf("GET %s: %d\n%s", path, r.status, r.body)
	}
	return r.body
}

func runPath(id vent.ID) string { return "/runs/" + id.String() }

// visit is the form of a full cleaning as it is posted from the page.
func visit(change ...string) url.Values {
	v := url.Values{"date": {"2026-11-25"}, "by": {"us"}, "by_name": {"Lee"}, "outcome": {"full"}, "reach": {"through"}, "lint_before": {"mat"},
		"lint_after": {"bare"}, "speed_before": {"900"}, "static_before": {""}, "speed_after": {"1250 fpm"}, "static_after": {"0.45"}, "note": {"birds"}}
	for i := 0; i+1 < len(change); i += 2 {
		v.Set(change[i], change[i+1])
	}
	return v
}

// hostile are names that people or attackers give.
func hostile() []string {
	return []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onmouseover='alert(1)`, "{{.Title}} ${x}", "javascript:alert(1)",
		"שלום עולם", "\u202egnp.exe\u202c", strings.Repeat("W", 300), strings.Repeat("long words ", 30), "🧺🔥👩‍🔧", "a\u0000b", "line\nbreak\ttab", "</title></textarea></style>",
	}
}

func many(n int) []door {
	all := make([]door, n)
	for i := range all {
		d := maple()
		d.customer, d.site = fmt.Sprintf("Customer %04d", i/10), fmt.Sprintf("Site %04d", i/5)
		d.unit = fmt.Sprintf("Flat %d", i)
		all[i] = d
	}
	return all
}

func discard() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

func mustPages(t *testing.T) map[string]*template.Template {
	t.Helper()
	pages, err := parsePages()
	if err != nil {
		t.Fatal(err)
	}
	return pages
}
