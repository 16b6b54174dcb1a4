package web

import (
	"bytes"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"ventdue/desk"
	"ventdue/vent"
)

type dueQuery = desk.DueQuery

func founders(kind string, change ...string) url.Values {
	v := url.Values{"kind": {kind}, "name": {"Ida Lund"}, "zone": {"America/New_York"}, "units": {"us"}, "language": {"en"}, "owner": {""}, "password": {"three wet towels"}}
	for i := 0; i+1 < len(change); i += 2 {
		v.Set(change[i], change[i+1])
	}
	return v
}

func household(change ...string) url.Values {
	v := url.Values{"once": {"ABCDEFGHIJ"}, "name": {"Ida Lund"}, "email": {"ida@example.com"}, "address": {"9 Heron Lane, Springfield"}, "fuel": {"electric"}, "length": {"12"},
		"elbows": {"2"}, "material": {"smooth_metal"}, "outlet": {"flap"}, "loads": {"4"}, "cleaned": {"2026-10-02"}}
	for i := 0; i+1 < len(change); i += 2 {
		v.Set(change[i], change[i+1])
	}
	return v
}

// A household: who they are, six questions, first date and calendar on one page.
func TestFirstRunOfAHousehold(t *testing.T) {
	h := newHouse(t, func(o *Options) { o.Zone = "America/Chicago" })
	form := h.get("/welcome", "Accept-Language", "es-MX")
	checkPage(t, "welcome", form.body)
	if !strings.Contains(form.body, `<option value="America/Chicago" selected>`) || !strings.Contains(form.body, `value="si" checked`) || !strings.Contains(form.body, `lang="es"`) {
		t.Error("zone, units and language are not guessed")
	}
	r := h.post("/welcome", founders("household"))
	if r.status != http.StatusSeeOther || r.header.Get("Location") != "/welcome/home" {
		t.Fatalf("%d to %s\n%s", r.status, r.header.Get("Location"), text(r.body))
	}
	if r := h.doAs(h.browser(), h.request("GET", "/", nil)); r.status != http.StatusSeeOther || !strings.HasPrefix(r.header.Get("Location"), "/signin") {
		t.Errorf("a stranger afterwards: %d", r.status)
	}
	checkPage(t, "home", h.page("/welcome/home"))
	done := h.post("/welcome/home", household())
	h.post("/welcome/home", household()) // sent twice
	page := h.page(done.header.Get("Location"))
	checkPage(t, "done", page)
	wantText(t, page, "Clean the dryer vent", "Reminders go to ida@example.com", "Put it into your calendar")
	if !strings.Contains(page, "/feed/") || !strings.Contains(page, "webcal://") {
		t.Error("no calendar address")
	}
	list, err := h.desk.Dues(h.by(), dueQuery{})
	if err != nil || list.Total == 0 {
		t.Errorf("%d dues, %v", list.Total, err)
	}
	feeds, _ := h.desk.Feeds()
	if len(feeds) != 1 {
		t.Errorf("%d feeds of one form", len(feeds))
	}
	run, err := h.desk.FindRun("home-ABCDEFGH")
	if err != nil {
		t.Fatal(err)
	}
	view, err := h.desk.Run(h.by(), run)
	if err != nil || len(view.Findings) != 1 || view.Findings[0].By.Kind != vent.ByCustomer || math.Abs(view.Run.Current().Route.Sections[0].Length.Feet()-12) > 1e-9 || view.Customer.Name != "Ida Lund" {
		t.Errorf("%+v, %s, %+v, %v", view.Findings, view.Customer.Name, view.Run.Current().Route, err)
	}
	if r := h.get("/welcome"); r.status != http.StatusNotFound {
		t.Errorf("setting up again: %d", r.status)
	}
	if r := h.post("/welcome", founders("customers")); r.status != http.StatusNotFound {
		t.Errorf("setting up again: %d", r.status)
	}
}

// The name is kept as it was typed, or refused; it is never cut in silence.
func TestALongNameIsNotCut(t *testing.T) {
	h := newHouse(t, nil)
	if r := h.post("/welcome", founders("buildings", "name", strings.Repeat("x", 201))); r.status != http.StatusUnprocessableEntity || !strings.Contains(text(r.body), "at most 200") {
		t.Errorf("201 letters: %d", r.status)
	}
	firm := strings.Repeat("Würz und Söhne ", 13) + "KGaA" // 199 letters
	if r := h.post("/welcome", founders("buildings", "name", firm, "owner", "Ida")); r.status != http.StatusSeeOther {
		t.Fatalf("199 letters: %d %s", r.status, text(r.body))
	}
	if o, err := h.desk.Operator(); err != nil || o.Name != firm {
		t.Errorf("%d letters are kept, %v: %q", len([]rune(o.Name)), err, o.Name)
	}
	if r := h.post("/settings", founders("buildings", "name", strings.Repeat("x", 201))); r.status != http.StatusUnprocessableEntity {
		t.Errorf("201 letters in the settings: %d", r.status)
	}
}

func TestHouseholdAnswers(t *testing.T) {
	h := newHouse(t, nil)
	h.post("/welcome", founders("household", "password", ""))
	bad := h.post("/welcome/home", household("email", "ida", "length", "long", "elbows", "-1", "loads", "many", "cleaned", "2027-01-01", "fuel", ""))
	checkPage(t, "bad", bad.body)
	if bad.status != http.StatusUnprocessableEntity {
		t.Fatalf("%d", bad.status)
	}
	wantText(t, bad.body, "Give a length", "Give a number from 0 to 50", "Give a number of loads")
	wantText(t, h.post("/welcome/home", household("fuel", "")).body, "Choose one: it decides")
	r := h.post("/welcome/home", household("once", "FIRST", "outlet", "room", "cleaned", "", "fuel", "gas", "length", ""))
	if r.status != http.StatusSeeOther {
		t.Fatal(text(r.body))
	}
	page := h.page(r.header.Get("Location"))
	wantText(t, page, "do not use", "Nobody uses the dryer") // gas that blows into the room is a stop
	r = h.post("/welcome/home", household("once", "SECOND", "fuel", "ventless", "address", "the cellar", "email", ""))
	page = h.page(r.header.Get("Location"))
	checkPage(t, "ventless", page)
	wantText(t, page, "has no vent to keep open")
	for _, name := range hostile() {
		r := h.post("/welcome/home", household("once", "X"+name, "name", name, "address", name, "email", name, "length", name, "outlet", name, "material", name))
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", name, r.status)
		}
		checkPage(t, name, r.body)
	}
}

// Only this machine, or whoever has the code, sets up a new installation.
func TestTheSetupCode(t *testing.T) {
	const code = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	h := newHouse(t, func(o *Options) { o.Open, o.SetupCode = false, code })
	for _, path := range []string{"/", "/welcome", "/signin", "/accounts"} {
		r := h.get(path)
		for i := 0; r.status == http.StatusSeeOther && i < 3; i++ {
			r = h.get(r.header.Get("Location"))
		}
		if !strings.Contains(text(r.body), "Set-up code") {
			t.Errorf("GET %s leads to %s", path, text(r.body))
		}
	}
	if r := h.post("/welcome", founders("customers")); r.status != http.StatusSeeOther || r.header.Get("Location") != "/welcome/code" {
		t.Errorf("without the code: %d", r.status)
	}
	if yes, _ := h.desk.Founded(); yes {
		t.Fatal("a stranger set it up")
	}
	if r := h.post("/welcome/code", url.Values{"code": {"wrong"}}); r.status != http.StatusForbidden {
		t.Errorf("a wrong code: %d", r.status)
	}
	for range freeTries {
		h.post("/welcome/code", url.Values{"code": {"wrong"}})
	}
	if r := h.post("/welcome/code", url.Values{"code": {code}}); r.status != http.StatusTooManyRequests {
		t.Errorf("after many wrong ones: %d", r.status)
	}
	h.now = h.now.Add(longestTry)
	if r := h.get("/welcome/code?code=" + strings.ToLower(code)); r.status != http.StatusSeeOther || r.header.Get("Location") != "/welcome" {
		t.Fatalf("the printed address: %d", r.status)
	}
	checkPage(t, "welcome", h.page("/welcome"))
	bad := h.post("/welcome", founders("shop", "name", " ", "zone", "Mars/Base", "units", "x", "email", "ida", "password", "", "phone", "5"))
	checkPage(t, "bad", bad.body)
	if bad.status != http.StatusUnprocessableEntity {
		t.Errorf("without a password: %d", bad.status)
	}
	bad = h.post("/welcome", founders("shop", "name", " ", "zone", "Mars/Base", "units", "x", "email", "ida"))
	wantText(t, bad.body, "Choose one.", "The name is missing", "Choose a time zone.", "That is not an e-mail address.")
	if strings.Contains(bad.body, "three wet towels") {
		t.Error("the password stands on the page")
	}
	if r := h.post("/welcome", founders("buildings", "owner", "Ida", "language", "es")); r.header.Get("Location") != "/import" {
		t.Fatalf("setting up: %d to %s\n%s", r.status, r.header.Get("Location"), text(r.body))
	}
	if r := h.doAs(h.browser(), h.request("GET", "/welcome/code?code="+code, nil)); r.status != http.StatusNotFound {
		t.Errorf("the code afterwards: %d", r.status)
	}
	h.in("ida", "three wet towels")
	if a, _ := h.desk.AccountNamed("Ida"); a.Role != vent.Owner {
		t.Errorf("made %+v", a)
	}
	wantText(t, h.page("/import"), "Traer lo que usted cuida")
}

// sendFile sends a file as the page's own form does.
func (h *house) sendFile(name string, data []byte) reply {
	h.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	part, err := w.CreateFormFile("file", name)
	if err != nil {
		h.t.Fatal(err)
	}
	_, _ = part.Write(data)
	_ = w.WriteField("units", "us")
	_ = w.Close()
	return h.do(h.request("POST", "/import", &b, "Content-Type", w.FormDataContentType(), "Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin"))
}

const fleet = "customer_name,adress,fuel,duct_length,last_cleaned\nIda Lund,9 Heron Lane,gas,25 ft,2025-10-02\nPer Holm,4 Alder Court,coal,12 ft,\n<script>alert(1)</script>,5 Alder Court,gas,7 ft,soon\n"

func TestImportOnThePages(t *testing.T) {
	var book bytes.Buffer
	x := excelize.NewFile()
	for i, line := range strings.Split(strings.TrimSpace(fleet), "\n") {
		for j, cell := range strings.Split(line, ",") {
			at, _ := excelize.CoordinatesToCellName(j+1, i+1)
			_ = x.SetCellValue("Sheet1", at, cell)
		}
	}
	if err := x.Write(&book); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"fleet.csv": []byte(fleet), "fleet.xlsx": book.Bytes()} {
		h := newHouse(t, nil)
		h.setOperator(vent.US)
		checkPage(t, "import", h.page("/import"))
		r := h.sendFile(name, data)
		at := r.header.Get("Location")
		page := h.page(at)
		checkPage(t, name, page)
		wantText(t, page, "Nothing is stored yet", "adress", "did you mean address")
		// What is put right is remembered while the rest is checked again.
		h.post(at, url.Values{"do": {"check"}, "cell 1 adress": {"address"}})
		page = h.page(at)
		checkPage(t, name, page)
		wantText(t, page, "Cells put right here so far: 1.", "2 of 3 rows cannot be taken")
		if !strings.Contains(page, `name="cell 3 fuel" value="coal"`) || !strings.Contains(page, `value="good"`) {
			t.Errorf("%s: no cell to put right", name)
		}
		h.post(at, url.Values{"do": {"take"}, "cell 3 fuel": {"gas"}, "cell 4 last_cleaned": {"soon"}})
		page = h.page(at)
		wantText(t, page, "1 of 3 rows cannot be taken", "so far: 2")
		if list, _ := h.desk.Dues(h.by(), dueQuery{}); list.Total != 0 {
			t.Fatalf("%s: %d dues before everything is good", name, list.Total)
		}
		h.post(at, url.Values{"do": {"check"}, "cell 4 last_cleaned": {""}})
		wantText(t, h.page(at), "All 3 rows can be taken.", "Customers: 3 new")
		h.post(at, url.Values{"do": {"take"}})
		wantText(t, h.page(at), "It is taken", "3 rows are stored")
		if list, _ := h.desk.Dues(h.by(), dueQuery{}); list.Total < 3 {
			t.Errorf("%s: %d dues", name, list.Total)
		}
		if r := h.post(at, url.Values{"do": {"take"}}); r.status != http.StatusNotFound {
			t.Errorf("taken twice: %d", r.status)
		}
	}
}

func TestImportTakesTheGoodRows(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	at := h.sendFile("fleet.csv", []byte(strings.Replace(fleet, "adress", "address", 1))).header.Get("Location")
	h.post(at, url.Values{"do": {"good"}})
	wantText(t, h.page(at), "It is taken", "1 rows are stored")
	at = h.sendFile("fleet.csv", []byte(fleet)).header.Get("Location")
	h.post(at, url.Values{"do": {"drop"}})
	if r := h.get(at); r.status != http.StatusNotFound {
		t.Errorf("forgotten: %d", r.status)
	}
	at = h.sendFile("fleet.csv", []byte(fleet)).header.Get("Location")
	h.now = h.now.Add(uploadFor + time.Second)
	if r := h.get(at); r.status != http.StatusNotFound {
		t.Errorf("after an hour: %d", r.status)
	}
	if r := h.sendFile("", nil); r.status != http.StatusUnprocessableEntity {
		t.Errorf("no file: %d", r.status)
	}
	checkPage(t, "none", h.sendFile("", nil).body)
	for name, data := range map[string][]byte{"empty.csv": []byte("\n"), "noise.csv": {0, 1, 2, 0xff, 'P', 'K'}, "book.xlsx": []byte("PK\x03\x04broken"), "names\".csv": []byte("a,b\n1,2\n"),
		"export.jsonl": []byte(`{"kind":"ventdue_export","version":1}` + "\n" + `{"kind":"account","record":{"id":"0197f000-0000-7000-8000-000000000009","name":"eve","role":"owner","password_hash":"x"}}` + "\n"),
		"wide.csv":     []byte(strings.Repeat("a,", 2000) + "\n1\n")} {
		r := h.sendFile(name, data)
		if r.status != http.StatusSeeOther {
			t.Errorf("%s: %d", name, r.status)
			continue
		}
		page := h.page(r.header.Get("Location"))
		checkPage(t, name, page)
		if r := h.post(r.header.Get("Location"), url.Values{"do": {"good"}}); r.status != http.StatusSeeOther {
			t.Errorf("%s: %d", name, r.status)
		}
		checkPage(t, name, h.page(r.header.Get("Location")))
	}
	if all, _ := h.desk.Accounts(); len(all) != 0 {
		t.Error("a file brought an account with it")
	}
	var many strings.Builder
	many.WriteString("customer_name,address,fuel\n")
	for range 5000 {
		many.WriteString("x,y,coal\n")
	}
	at = h.sendFile("many.csv", []byte(many.String())).header.Get("Location")
	checkPage(t, "many", h.page(at))
	wantText(t, h.page(at), "Problems that are not listed yet")
}

// Uploads are bounded: the oldest go first, by number and by size.
func TestUploadsAreBounded(t *testing.T) {
	u, now := newUploads(), time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	for i := range 3 * uploadsMax {
		u.keep(string(rune('a'+i)), broughtFile{data: []byte("x")}, now.Add(time.Duration(i)*time.Second))
	}
	if len(u.kept) != uploadsMax {
		t.Errorf("%d files", len(u.kept))
	}
	u.keep("big", broughtFile{data: make([]byte, uploadsHold)}, now.Add(time.Minute))
	if _, ok := u.get("big", now); !ok || len(u.kept) != 1 {
		t.Errorf("%d files beside the big one", len(u.kept)-1)
	}
}

// Every zone that is offered can be loaded; the list is that of the tz database.
func TestZones(t *testing.T) {
	if n := len(zoneNames()); n < 300 {
		t.Errorf("%d zones", n)
	}
	for _, name := range zoneNames() {
		if _, err := time.LoadLocation(name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	tab, err := os.ReadFile("/usr/share/zoneinfo/zone1970.tab")
	if err != nil {
		t.Skip("the tz database is not installed here")
	}
	for _, m := range regexp.MustCompile(`(?m)^[A-Z,]+\t\S+\t(\S+)`).FindAllStringSubmatch(string(tab), -1) {
		if !strings.Contains(zoneFile, m[1]+"\n") {
			t.Errorf("%s is missing", m[1])
		}
	}
}
