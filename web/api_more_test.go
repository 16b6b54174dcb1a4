package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ventdue/vent"
)

// A program does with faults what the office does with them on the pages. Every exchange is held against the document too.
func TestAPIFaults(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	var recorded apiRecorded
	finding := `{"date":"2026-11-24","by":{"kind":"us","name":"Lee"},"outcome":"full","reach":"through","faults":["foil_transition"]}`
	if r := h.json("POST", "/api"+runPath(id.run)+"/findings", finding, &recorded); r.status != 201 || len(recorded.Faults) == 0 || len(recorded.Missing) == 0 {
		t.Fatalf("%d %s", r.status, r.body)
	}
	var list apiFaultList
	if h.json("GET", "/api/faults?run="+id.run.String(), "", &list); list.Total == 0 || len(list.Faults) != list.Total {
		t.Fatalf("%+v", list)
	}
	wantNoText(t, h.get("/api/faults").body, "gate code", "key hook")
	var foil vent.ID
	for _, x := range list.Faults {
		if x.Fault.Rule == "foil_transition" {
			foil = x.Fault.ID
			if x.Site.Name != "Maple House" || x.Unit == nil || len(x.Sources) == 0 || x.Do == "" {
				t.Errorf("%+v", x)
			}
		}
	}
	path := "/api/faults/" + foil.String()
	var one apiFault
	if r := h.json("POST", path+"/waive", `{"by":"Ana Hill","until":"2027-01-15","why":"the duct is on order"}`, &one); r.status != 200 || one.Fault.State != vent.FaultWaived {
		t.Errorf("put off: %d %s", r.status, r.body)
	}
	if r := h.json("POST", path+"/fix", `{"by":"Lee","how":"rigid duct fitted"}`, &one); r.status != 200 || one.Fault.State != vent.FaultFixed {
		t.Errorf("put right: %d %s", r.status, r.body)
	}
	if r := h.json("GET", path, "", &one); r.status != 200 || one.Fault.State != vent.FaultFixed {
		t.Errorf("%d %s", r.status, r.body)
	}
	var p problemDetails
	for _, c := range []struct {
		path, body string
		status     int
	}{
		{path + "/waive", `{"by":"","until":"2027-01-15","why":""}`, 422}, {path + "/waive", `{"until":"soon"}`, 400}, {path + "/fix", `{"who":"Lee"}`, 400},
		{"/api/faults/x/fix", `{}`, 404}, {"/api/faults/" + id.run.String() + "/fix", `{"by":"Lee"}`, 404}, {path + "/tag", `{"hangs":true}`, 422},
	} {
		if r := h.json("POST", c.path, c.body, &p); r.status != c.status && r.status != http.StatusConflict {
			t.Errorf("%s %s: %d %s", c.path, c.body, r.status, r.body)
		}
	}
	for _, bad := range []string{"site=x", "run=x", "max=0"} {
		if r := h.json("GET", "/api/faults?"+bad, "", &p); r.status != 422 || len(p.Problems) != 1 {
			t.Errorf("%s: %d %s", bad, r.status, r.body)
		}
	}
}

// A sign told by a program stops a dryer like one told on the page; tag, call and release follow.
func TestAPIStop(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	path := "/api" + runPath(id.run) + "/signs"
	var taken apiSignTaken
	if r := h.json("POST", path, `{"kind":"burning_smell","by":"Tomas Okafor"}`, &taken); r.status != 201 || !taken.Emergency || taken.Fault == nil || taken.Fault.Severity != vent.Stop || taken.Say == "" {
		t.Fatalf("%d %s", r.status, r.body)
	}
	if r := h.json("POST", path, `{"kind":"burning_smell","by":"Tomas Okafor"}`, &taken); r.status != 200 || !taken.Known {
		t.Errorf("the same again: %d %s", r.status, r.body)
	}
	var p problemDetails
	if r := h.json("POST", path, `{"kind":"a feeling"}`, &p); r.status != 422 {
		t.Errorf("%d %s", r.status, r.body)
	}
	fault := "/api/faults/" + taken.Fault.ID.String()
	var one apiFault
	if r := h.json("POST", fault+"/fix", `{"by":"Lee"}`, &p); r.status < 400 {
		t.Errorf("a stop was put right without being released: %s", r.body)
	}
	if r := h.json("POST", fault+"/tag", `{"hangs":true}`, &one); r.status != 200 {
		t.Errorf("%d %s", r.status, r.body)
	}
	if r := h.json("POST", fault+"/calls", `{"who":"Tomas Okafor","how":"telephone","role":"occupant","acknowledged":true}`, &one); r.status != 200 || len(one.Fault.Told) != 1 {
		t.Errorf("%d %s", r.status, r.body)
	}
	if r := h.json("POST", fault+"/release", `{"name":"Marlon Fay","as":"electrician, licence 88","licensed":true,"what":"cord replaced"}`, &one); r.status != 200 || one.Fault.State != vent.FaultFixed {
		t.Errorf("%d %s", r.status, r.body)
	}
}

func TestAPICorrection(t *testing.T) {
	h := newHouse(t, nil)
	id := h.add(maple())[0]
	var out apiRecorded
	body := `{"date":"2026-11-24","by":{"kind":"us"},"outcome":"full","reach":"through"}`
	h.json("POST", "/api"+runPath(id.run)+"/findings", body, &out)
	path, better := "/api/findings/"+out.Finding.ID.String()+"/correction", strings.Replace(body, "full", "one_end", 1)
	old := out.Finding.ID
	if r := h.json("POST", path, better, &out); r.status != 201 || out.Finding.Corrects != old || out.Finding.Outcome != vent.OneEnd {
		t.Fatalf("%d %s", r.status, r.body)
	}
	if r := h.json("POST", path, better, &out); r.status != 200 || !out.Known || len(out.Dues) == 0 {
		t.Errorf("the same again: %d %s", r.status, r.body)
	}
	var p problemDetails
	if r := h.json("POST", "/api/findings/"+id.run.String()+"/correction", better, &p); r.status != 404 {
		t.Errorf("%d %s", r.status, r.body)
	}
}

// A new address is told once; the list never tells one.
func TestAPIFeeds(t *testing.T) {
	h := newHouse(t, func(o *Options) { o.BaseURL = "https://vents.example.com" })
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	var made apiNewFeed
	if r := h.json("POST", "/api/feeds", `{"scope":{"kind":"site","id":"`+id.site.String()+`"}}`, &made); r.status != 201 || made.Feed.Name != "Maple House" || !strings.HasPrefix(made.Address, "https://vents.example.com/feed/") {
		t.Fatalf("%d %s", r.status, r.body)
	}
	var changed apiNewFeed
	if r := h.json("POST", "/api/feeds/"+made.Feed.ID.String()+"/address", `{}`, &changed); r.status != 201 || changed.Address == made.Address {
		t.Errorf("%d %s", r.status, r.body)
	}
	var done apiDone
	if r := h.json("POST", "/api/feeds/"+changed.Feed.ID.String()+"/revoke", `{}`, &done); r.status != 200 || !done.Done {
		t.Errorf("%d %s", r.status, r.body)
	}
	var list apiFeedList
	r := h.json("GET", "/api/feeds", "", &list)
	if len(list.Feeds) != 2 || strings.Contains(r.body, "/feed/") || strings.Contains(r.body, "token") {
		t.Errorf("%s", r.body)
	}
	var p problemDetails
	for body, want := range map[string]int{`{"scope":{"kind":"house"}}`: 422, `{"scope":{"kind":"site","id":"` + id.run.String() + `"}}`: 404, `{}`: 422} {
		if r := h.json("POST", "/api/feeds", body, &p); r.status != want {
			t.Errorf("%s: %d %s", body, r.status, r.body)
		}
	}
}

// A file with a bad row stores nothing and names the cell; mended, it is taken.
func TestAPIImport(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	good := "customer_name,site_name,unit_name,fuel,duct_length,last_cleaned\nHill Rentals,Heron House,2A,electric,25 ft,2026-03-01\n"
	bad := good + "Hill Rentals,Heron House,2B,coal,25 ft,2026-03-01\n"
	send := func(query, kind, body string) (reply, apiImported) {
		t.Helper()
		var out apiImported
		return h.json("POST", "/api/import?"+query, body, &out, "Content-Type", kind), out
	}
	if r, out := send("", "text/csv", bad); r.status != 422 || out.Stored || len(out.Problems) != 1 || out.Problems[0].Row != 3 || out.Problems[0].Column != "fuel" || out.Problems[0].Remedy == "" {
		t.Errorf("%d %s", r.status, r.body)
	}
	if r, out := send("check=true", "text/csv; charset=utf-8", bad); r.status != 200 || out.Stored || len(out.Problems) != 1 {
		t.Errorf("%d %s", r.status, r.body)
	}
	if r, out := send("", "text/csv", good); r.status != 200 || !out.Stored || out.Records[vent.KindRun].New != 1 {
		t.Errorf("%d %s", r.status, r.body)
	}
	if r, out := send("", "text/csv", good); r.status != 200 || out.Records[vent.KindRun].Unchanged != 1 || out.Records[vent.KindRun].New != 0 {
		t.Errorf("%d %s", r.status, r.body)
	}
	var p problemDetails
	if r := h.json("POST", "/api/import", good, &p, "Content-Type", "text/html"); r.status != http.StatusUnsupportedMediaType {
		t.Errorf("%d", r.status)
	}
	if r := h.json("POST", "/api/import?units=cubits", good, &p, "Content-Type", "text/csv"); r.status != 422 {
		t.Errorf("%d", r.status)
	}
}

func TestAPIOffice(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	d := maple()
	d.mail = ""
	id := h.add(d)[0]
	var us apiOperator
	if r := h.json("GET", "/api/operator", "", &us); us.Name != "Ridge Vent Service" || us.Today.String() != "2026-11-25" {
		t.Errorf("%s", r.body)
	}
	var fits apiNames
	if h.json("GET", "/api/sites?q="+url.QueryEscape("maple springfield"), "", &fits); len(fits.Fits) != 1 || fits.Fits[0].ID != id.site {
		t.Errorf("%+v", fits)
	}
	if h.json("GET", "/api/customers?q=hill", "", &fits); len(fits.Fits) != 1 || fits.Fits[0].ID != id.customer {
		t.Errorf("%+v", fits)
	}
	var untold apiUntold
	if h.json("GET", "/api/untold", "", &untold); untold.Total != 1 || untold.Customers[0].ID != id.customer {
		t.Errorf("%+v", untold)
	}
	var mail struct {
		Messages []any `json:"messages"`
	}
	if r := h.json("GET", "/api/messages", "", &mail); r.status != 200 || mail.Messages == nil {
		t.Errorf("%d %s", r.status, r.body)
	}
	var p problemDetails
	for _, bad := range []string{"/api/sites", "/api/sites?q=", "/api/untold?max=0", "/api/messages?max=x"} {
		if r := h.json("GET", bad, "", &p); r.status != 422 || len(p.Problems) == 0 {
			t.Errorf("%s: %d %s", bad, r.status, r.body)
		}
	}
}
