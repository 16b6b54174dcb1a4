package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
)

// who may come to each address: nobody (once it is set up), anybody, technician, office or owner; "duty" is a technician with a visit there. For
// programs the scope follows. It is written down here once more, by hand: an address that is added, or opened to others, has
// to be added here as well, with thought.
var doors = map[string]string{
	"GET /{$}":                              "technician",
	"GET /due":                              "office",
	"GET /month":                            "office",
	"GET /find":                             "office",
	"GET /sites/{id}":                       "duty",
	"GET /customers/{id}":                   "office",
	"GET /settings":                         "owner",
	"POST /settings":                        "owner",
	"POST /settings/erase":                  "owner",
	"GET /runs/{id}":                        "duty",
	"POST /runs/{id}/findings":              "duty",
	"GET /runs/{id}/visit":                  "duty",
	"POST /runs/{id}/visit":                 "duty",
	"POST /runs/{id}/judge":                 "duty",
	"GET /runs/{id}/flow.svg":               "duty",
	"GET /runs/{id}/record":                 "duty",
	"GET /runs/{id}/record.csv":             "office",
	"GET /findings/{id}/record":             "office",
	"GET /findings/{id}/record.csv":         "office",
	"GET /sites/{id}/record":                "office",
	"GET /sites/{id}/record.csv":            "office",
	"GET /sites/{id}/checks":                "office",
	"POST /sites/{id}/checks/{form}":        "office",
	"POST /runs/{id}/faults/{fault}/{step}": "duty",
	"GET /photos/{sum}":                     "technician",
	"GET /labels":                           "office",
	"GET /visits":                           "office",
	"POST /visits/propose":                  "office",
	"GET /visits/{id}":                      "technician",
	"POST /visits/{id}":                     "technician",
	"GET /days/{date}/{technician}":         "technician",
	"GET /ahead":                            "office",
	"GET /mail":                             "office",
	"GET /people/{id}/mail":                 "office",
	"GET /customers/{id}/mail":              "office",
	"POST /people/{id}/links":               "office",
	"POST /people/{id}/channels":            "office",
	"GET /feeds":                            "office",
	"POST /feeds":                           "office",
	"POST /feeds/{id}/address":              "office",
	"POST /feeds/{id}/revoke":               "office",
	"GET /welcome":                          "nobody",
	"POST /welcome":                         "nobody",
	"GET /welcome/code":                     "nobody",
	"POST /welcome/code":                    "nobody",
	"GET /welcome/home":                     "owner",
	"POST /welcome/home":                    "owner",
	"GET /welcome/done":                     "owner",
	"GET /import":                           "office",
	"POST /import":                          "office",
	"GET /import/{key}":                     "office",
	"POST /import/{key}":                    "office",
	"GET /me":                               "technician",
	"POST /me":                              "technician",
	"POST /me/password":                     "technician",
	"GET /accounts":                         "owner",
	"POST /accounts":                        "owner",
	"POST /accounts/{id}":                   "owner",
	"POST /accounts/{id}/password":          "owner",
	"POST /accounts/{id}/signout":           "owner",
	"POST /accounts/{id}/remove":            "owner",
	"POST /accounts/signout":                "owner",
	"GET /tokens":                           "owner",
	"POST /tokens":                          "owner",
	"POST /tokens/{id}/revoke":              "owner",
	"GET /s/{token}":                        "anybody",
	"POST /s/{token}":                       "anybody",
	"GET /m/{token}":                        "anybody",
	"GET /r/{token}":                        "anybody",
	"GET /v/{token}":                        "anybody",
	"POST /v/{token}":                       "anybody",
	"GET /a/{token}":                        "anybody",
	"POST /a/{token}":                       "anybody",
	"POST /m/{token}":                       "anybody",
	"GET /signin":                           "anybody",
	"POST /signin":                          "anybody",
	"POST /signout":                         "technician",
	"POST /signout/everywhere":              "technician",
	"GET /waiting":                          "anybody",
	"GET /worker.js":                        "anybody",
	"GET /static/{file}":                    "anybody",
	"GET /api/dues":                         "office read",
	"GET /api/runs/{id}":                    "duty read",
	"POST /api/runs/{id}/findings":          "duty record",
	"GET /api/sites/{id}/checks":            "office read",
	"POST /api/sites/{id}/checks":           "office record",
	"POST /api/sites/{id}/alarms":           "office record",
	"POST /api/photos":                      "technician record",
	"GET /api/openapi.json":                 "anybody",
	"POST /api/findings/{id}/correction":    "office record",
	"POST /api/runs/{id}/signs":             "duty record",
	"GET /api/faults":                       "office read",
	"GET /api/faults/{id}":                  "office read",
	"POST /api/faults/{id}/fix":             "office all",
	"POST /api/faults/{id}/waive":           "office all",
	"POST /api/faults/{id}/release":         "office all",
	"POST /api/faults/{id}/tag":             "office all",
	"POST /api/faults/{id}/calls":           "office all",
	"GET /api/feeds":                        "office read",
	"POST /api/feeds":                       "office all",
	"POST /api/feeds/{id}/address":          "office all",
	"POST /api/feeds/{id}/revoke":           "office all",
	"POST /api/import":                      "office all",
	"GET /api/operator":                     "office read",
	"GET /api/customers":                    "office read",
	"GET /api/sites":                        "office read",
	"GET /api/untold":                       "office read",
	"GET /api/messages":                     "office read",
	"GET /api/sites/{id}":                   "duty read",
	"GET /api/customers/{id}":               "office read",
	"GET /api/today":                        "office read",
	"GET /api/month":                        "office read",
	"GET /api/people/{id}":                  "office read",
	"POST /api/people/{id}/choices":         "office all",
	"POST /api/people/{id}/links":           "office all",
	"GET /api/find":                         "office read",
	"GET /api/visits":                       "office read",
	"GET /api/visits/{id}":                  "technician read",
	"GET /api/plan":                         "office read",
	"POST /api/plan":                        "office all",
	"GET /api/ahead":                        "office read",
	"POST /api/visits/{id}/book":            "office all",
	"POST /api/visits/{id}/hold":            "office all",
	"POST /api/visits/{id}/freeze":          "office all",
	"POST /api/visits/{id}/thaw":            "office all",
	"POST /api/visits/{id}/move":            "office all",
	"POST /api/visits/{id}/cancel":          "office all",
	"POST /api/visits/{id}/close":           "technician record",
	"GET /api/slots":                        "office read",
	"POST /api/slots":                       "office all",
	"GET /api/visits/{id}/slots":            "office read",
	"POST /api/visits/{id}/slot":            "office all",
	"GET /api/wishes":                       "office read",
	"POST /api/wishes":                      "office all",
	"GET /api/technicians":                  "office read",
	"POST /api/technicians":                 "office all",
	"POST /api/technicians/{id}/blocks":     "office all",
	"GET /api/days/{date}/{technician}":     "technician read",
}

// staff are browsers and tokens of everybody who can come.
type staff struct {
	*house
	owner, office, technician, stranger *http.Client
	tokens                              map[vent.TokenScope]string
	here, there                         added // the technician has a visit here, none there
	person                              vent.ID
}

func newStaff(t *testing.T) staff {
	t.Helper()
	h := newHouse(t, func(o *Options) { o.Open = true })
	s := staff{house: h, stranger: h.browser(), tokens: map[vent.TokenScope]string{}}
	other := maple()
	other.customer, other.site = "Oak Owners", "Oak Court"
	ids := h.add(maple(), other)
	s.here, s.there = ids[0], ids[1]
	for _, x := range []struct {
		role vent.Role
		hc   **http.Client
	}{{vent.Owner, &s.owner}, {vent.Office, &s.office}, {vent.Technician, &s.technician}} {
		a, err := h.desk.AddAccount(h.by(), desk.Access{Name: "the " + string(x.role), Role: x.role}, password)
		if err != nil {
			t.Fatal(err)
		}
		if x.role == vent.Technician {
			s.person = a.PersonID
		}
		*x.hc = s.in(a.Name, password)
	}
	h.update(func(tx *store.Tx) error {
		return store.Visits.Put(tx, vent.Visit{ID: tx.NewID(), SiteID: s.here.site, TechnicianID: s.person, On: vent.NewDate(2026, 11, 25), Start: 540, Minutes: 60,
			Zone: "America/New_York", State: vent.Booked, UID: "visit"}, "booked")
	})
	for _, scope := range []vent.TokenScope{vent.TokenRead, vent.TokenRecord, vent.TokenAll} {
		made, err := h.desk.MakeToken(h.by(), "program that may "+string(scope), scope)
		if err != nil {
			t.Fatal(err)
		}
		s.tokens[scope] = made.Secret
	}
	return s
}

// in signs in with a name and gives the browser.
func (h *house) in(name, password string) *http.Client {
	h.t.Helper()
	hc := h.browser()
	if r := h.postAs(hc, "/signin", url.Values{"name": {name}, "password": {password}}); r.status != http.StatusSeeOther {
		h.t.Fatalf("%s cannot sign in: %d\n%s", name, r.status, text(r.body))
	}
	return hc
}

func (h *house) postAs(hc *http.Client, path string, form url.Values, header ...string) reply {
	h.t.Helper()
	return h.doAs(hc, h.request("POST", path, strings.NewReader(form.Encode()),
		append([]string{"Content-Type", "application/x-www-form-urlencoded", "Origin", h.pages.URL, "Sec-Fetch-Site", "same-origin"}, header...)...))
}

// address fills the blanks of a pattern; what stands behind the door does not matter, only whether it opens.
func address(pattern string, at added) (method, path string) {
	method, path, _ = strings.Cut(pattern, " ")
	run9 := "0197f000-0000-7000-8000-000000000009"
	path = strings.NewReplacer("{$}", "", "{fault}", run9, "{step}", "fix", "{sum}", strings.Repeat("0", 64), "{token}", "none", "{file}", "none", "{key}", "none").Replace(path)
	if strings.Contains(path, "/runs/") {
		return method, strings.Replace(path, "{id}", at.run.String(), 1)
	}
	if strings.Contains(path, "/sites/") {
		return method, strings.Replace(path, "{id}", at.site.String(), 1)
	}
	return method, strings.Replace(path, "{id}", run9, 1)
}

// Every address lets in exactly those that the table names: every route with every role, and every token.
func TestEveryDoorHasItsRole(t *testing.T) {
	s := newStaff(t)
	known := map[string]bool{}
	routes := (&server{}).routes()
	slices.SortStableFunc(routes, func(a, b route) int { return strings.Compare(ends(a.pattern), ends(b.pattern)) })
	for _, rt := range routes {
		known[rt.pattern] = true
		want, ok := doors[rt.pattern]
		if !ok {
			t.Errorf("%s: no role is written down for it here", rt.pattern)
			continue
		}
		want, scope, _ := strings.Cut(want, " ")
		s.holds(t, rt.pattern, want)
		for held, secret := range s.tokens {
			method, path := address(rt.pattern, s.there)
			r := s.doAs(s.stranger, s.request(method, path, nil, "Authorization", "Bearer "+secret))
			let := want == "anybody" || scope != "" && held.Holds(vent.TokenScope(scope))
			if got := opened(r); got != let {
				t.Errorf("%s with a token to %s: %d", rt.pattern, held, r.status)
			}
		}
	}
	for pattern := range doors {
		if !known[pattern] {
			t.Errorf("%s: there is no such address any more", pattern)
		}
	}
}

func (s staff) holds(t *testing.T, pattern, want string) {
	t.Helper()
	ranks := map[string]int{"anybody": 0, "technician": 1, "duty": 1, "office": 2, "owner": 3, "nobody": 4}
	for who, hc := range map[string]*http.Client{"anybody": s.stranger, "technician": s.technician, "office": s.office, "owner": s.owner} {
		for _, at := range []added{s.here, s.there} {
			method, path := address(pattern, at)
			if ends(pattern) != "" {
				hc = s.again(hc, who)
			}
			let := ranks[who] >= ranks[want]
			if want == "duty" && who == "technician" {
				let = at == s.here
			}
			if r := s.doAs(hc, s.request(method, path, nil)); opened(r) != let {
				t.Errorf("%s for %s: %d, to %s", pattern, who, r.status, r.header.Get("Location"))
			}
		}
	}
}

// ends tells the addresses that end sign-ins: they come last, each in a browser of its own.
func ends(pattern string) string {
	if strings.Contains(pattern, "/signout") && !strings.Contains(pattern, "{id}") {
		return "last"
	}
	return ""
}

// again gives another browser in which the same person is signed in.
func (s staff) again(hc *http.Client, who string) *http.Client {
	if who == "anybody" {
		return hc
	}
	s.now = s.now.Add(time.Second)
	return s.in("the "+who, password)
}

// opened reports whether an address let somebody in, whatever it then said.
func opened(r reply) bool {
	away := r.status == http.StatusSeeOther && strings.HasPrefix(r.header.Get("Location"), "/signin?")
	shut := r.status == http.StatusForbidden && (strings.Contains(r.body, "Not for") || strings.Contains(r.body, "Not on your list") || strings.Contains(r.body, "may not") || strings.Contains(r.body, "your list"))
	return !away && !shut && !strings.Contains(r.body, "Set up already") && r.status != http.StatusUnauthorized
}

// The first account closes pages that were open, and whoever made it goes on.
func TestTheFirstAccountClosesTheHouse(t *testing.T) {
	h := newHouse(t, nil)
	checkPage(t, "accounts", h.page("/accounts"))
	wantText(t, h.page("/accounts"), "Nobody has to sign in yet")
	form := url.Values{"name": {"Ida Lund"}, "password": {"three wet towels"}, "role": {"technician"}}
	if r := h.post("/accounts", form); r.status != http.StatusUnprocessableEntity || !strings.Contains(text(r.body), "The first account has to be an owner") {
		t.Errorf("a technician first: %d", r.status)
	}
	form.Set("role", "owner")
	form.Set("password", "short")
	if r := h.post("/accounts", form); r.status != http.StatusUnprocessableEntity || !strings.Contains(text(r.body), "at least 10 characters") || strings.Contains(r.body, `value="short"`) {
		t.Errorf("a short password: %d\n%s", r.status, text(r.body))
	}
	form.Set("password", "three wet towels")
	if r := h.post("/accounts", form); r.status != http.StatusSeeOther || r.header.Get("Location") != "/accounts?done=made" {
		t.Fatalf("making the first account: %d to %s", r.status, r.header.Get("Location"))
	}
	wantText(t, h.page("/accounts?done=made"), "The account is made.", "Ida Lund", "this is you")
	if r := h.doAs(h.browser(), h.request("GET", "/", nil)); r.status != http.StatusSeeOther || !strings.HasPrefix(r.header.Get("Location"), "/signin") {
		t.Errorf("a stranger afterwards: %d", r.status)
	}
	h.in("ida  LUND", "three wet towels")
}

// What an owner does to an account holds at once.
func TestAccountsOnThePages(t *testing.T) {
	s := newStaff(t)
	id := func(name string) string {
		a, err := s.desk.AccountNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		return a.ID.String()
	}
	page := s.doAs(s.owner, s.request("GET", "/accounts", nil)).body
	checkPage(t, "accounts", page)
	wantText(t, page, "the office", "Last seen", "Never signed in.")
	status := func(hc *http.Client, path string) int { return s.doAs(hc, s.request("GET", path, nil)).status }

	if r := s.postAs(s.owner, "/accounts/"+id("the office"), url.Values{"role": {"owner"}, "language": {"es"}}); r.status != http.StatusSeeOther {
		t.Errorf("changing: %d", r.status)
	}
	if got := s.doAs(s.office, s.request("GET", "/accounts", nil)); got.status != http.StatusOK || !strings.Contains(got.body, "Quién entra") || !strings.Contains(got.body, `lang="es"`) {
		t.Errorf("the office as an owner: %d", got.status)
	}
	s.postAs(s.owner, "/accounts/"+id("the office"), url.Values{"role": {"office"}})
	if got := status(s.office, "/accounts"); got != http.StatusForbidden {
		t.Errorf("the office as it was: %d", got)
	}
	if r := s.postAs(s.owner, "/accounts/"+id("the owner"), url.Values{"role": {"office"}}); r.status != http.StatusConflict || !strings.Contains(text(r.body), "The last owner stays") {
		t.Errorf("the last owner becomes office: %d", r.status)
	}
	s.now = s.now.Add(time.Second)
	s.postAs(s.owner, "/accounts/"+id("the office")+"/password", url.Values{"password": {"a new password"}})
	if got := status(s.office, "/"); got != http.StatusSeeOther {
		t.Errorf("after a new password: %d", got)
	}
	office := s.in("the office", "a new password")
	s.now = s.now.Add(time.Second)
	s.postAs(s.owner, "/accounts/"+id("the office")+"/signout", nil)
	if got := status(office, "/"); got != http.StatusSeeOther {
		t.Errorf("after signing out everywhere: %d", got)
	}
	s.postAs(s.owner, "/accounts/"+id("the technician")+"/remove", nil)
	if got := status(s.technician, "/me"); got != http.StatusSeeOther {
		t.Errorf("a removed technician: %d", got)
	}
	if got := status(s.owner, "/"); got != http.StatusOK {
		t.Errorf("the owner: %d", got)
	}
	if r := s.postAs(s.owner, "/accounts", url.Values{"name": {"The Office"}, "password": {password}, "role": {"office"}}); r.status != http.StatusConflict || !strings.Contains(text(r.body), "Somebody has this name already") {
		t.Errorf("a second one of the name: %d", r.status)
	}
	for _, name := range hostile() {
		r := s.postAs(s.owner, "/accounts", url.Values{"name": {name}, "password": {password}, "role": {"office"}, "person": {name}})
		checkPage(t, name, r.body)
		r = s.postAs(s.owner, "/accounts", url.Values{"name": {name}, "password": {password}, "role": {"technician"}})
		if r.status != http.StatusSeeOther && r.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", name, r.status)
		}
	}
	checkPage(t, "accounts with hostile names", s.doAs(s.owner, s.request("GET", "/accounts", nil)).body)
}

func TestOwnAccount(t *testing.T) {
	s := newStaff(t)
	other := s.in("the office", password)
	checkPage(t, "me", s.doAs(s.office, s.request("GET", "/me", nil)).body)
	if r := s.postAs(s.office, "/me/password", url.Values{"present": {"wrong"}, "password": {"a new password"}}); r.status != http.StatusForbidden {
		t.Errorf("with a wrong present one: %d", r.status)
	}
	s.now = s.now.Add(time.Minute)
	if r := s.postAs(s.office, "/me/password", url.Values{"present": {password}, "password": {"new"}}); r.status != http.StatusUnprocessableEntity {
		t.Errorf("too short: %d", r.status)
	}
	s.now = s.now.Add(time.Minute)
	if r := s.postAs(s.office, "/me/password", url.Values{"present": {password}, "password": {"a new password"}}); r.status != http.StatusSeeOther {
		t.Errorf("changing: %d", r.status)
	}
	if r := s.doAs(s.office, s.request("GET", "/me?done=password", nil)); r.status != http.StatusOK || !strings.Contains(r.body, "your other devices are signed out") {
		t.Errorf("the browser that changed it: %d", r.status)
	}
	if r := s.doAs(other, s.request("GET", "/me", nil)); r.status != http.StatusSeeOther {
		t.Errorf("the other browser: %d", r.status)
	}
	s.postAs(s.office, "/me", url.Values{"language": {"es"}, "role": {"owner"}})
	if r := s.doAs(s.office, s.request("GET", "/me", nil)); !strings.Contains(r.body, "Mi cuenta") {
		t.Error("the language stays")
	}
	if a, _ := s.desk.AccountNamed("the office"); a.Role != vent.Office {
		t.Errorf("the office made itself %s", a.Role)
	}
	// Out everywhere is of one's own sign-ins.
	s.now = s.now.Add(time.Second)
	s.postAs(s.office, "/signout/everywhere", nil)
	if r := s.doAs(s.owner, s.request("GET", "/", nil)); r.status != http.StatusOK {
		t.Errorf("the office signed the owner out: %d", r.status)
	}
}

func (s staff) tokenCalled(name string) (id vent.ID) {
	all, _ := s.desk.Tokens()
	for _, x := range all {
		if x.Name == name {
			id = x.ID
		}
	}
	return id
}

// An export brings accounts with it: no program and nobody of the office brings one in.
func TestNoAccountComesWithAFile(t *testing.T) {
	s := newStaff(t)
	eve := `{"kind":"ventdue_export","version":1}` + "\n" + `{"kind":"account","record":{"id":"0197f000-0000-7000-8000-000000000009","name":"eve","role":"owner","password_hash":"x","created":"2026-01-01T00:00:00Z","epoch":"2026-01-01T00:00:00Z"}}` + "\n"
	for _, kind := range []string{"application/jsonl", "application/x-ndjson", "text/csv"} {
		r := s.doAs(s.stranger, s.request("POST", "/api/import?keep_good=true", strings.NewReader(eve), "Content-Type", kind, "Authorization", "Bearer "+s.tokens[vent.TokenAll]))
		if r.status != http.StatusUnprocessableEntity || kind != "text/csv" && !strings.Contains(r.body, "export") {
			t.Errorf("%s: %d %s", kind, r.status, r.body)
		}
	}
	if all, _ := s.desk.Accounts(); len(all) != 3 {
		t.Errorf("%d accounts", len(all))
	}
}

func TestTokensOnThePages(t *testing.T) {
	s := newStaff(t)
	form := url.Values{"name": {"till"}, "scope": {"read"}, "once": {"k1"}}
	r := s.postAs(s.owner, "/tokens", form)
	s.postAs(s.owner, "/tokens", form) // sent twice, it makes one
	page := s.doAs(s.owner, s.request("GET", r.header.Get("Location"), nil))
	checkPage(t, "tokens", page.body)
	secret := between(page.body, "readonly>", "<")
	if len(secret) != 32 || page.header.Get("Cache-Control") != "no-store" || strings.Count(page.body, "<bdi>till</bdi>") != 2 {
		t.Fatalf("%q, %s", secret, page.header.Get("Cache-Control"))
	}
	asked := func() int {
		return s.doAs(s.stranger, s.request("GET", "/api/dues", nil, "Authorization", "bearer "+secret)).status
	}
	if got := asked(); got != http.StatusOK {
		t.Errorf("with the token: %d", got)
	}
	wantText(t, s.doAs(s.owner, s.request("GET", "/tokens", nil)).body, "Last used Wed 25 November 2026")
	wantNoText(t, s.doAs(s.owner, s.request("GET", "/tokens", nil)).body, secret)
	if r := s.postAs(s.owner, "/tokens/"+s.tokenCalled("till").String()+"/revoke", nil); r.status != http.StatusSeeOther || asked() != http.StatusUnauthorized {
		t.Errorf("revoking: %d, then %d", r.status, asked())
	}
	h := s.now
	s.now = h.Add(keepFor + time.Second)
	wantText(t, s.doAs(s.owner, s.request("GET", r.header.Get("Location"), nil)).body, "cannot be shown again")
	for _, bad := range []url.Values{{"name": {""}, "scope": {"read"}}, {"name": {"x"}, "scope": {"erase"}}} {
		if r := s.postAs(s.owner, "/tokens", bad); r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", bad, r.status)
		}
	}
	if r := s.do(s.request("POST", "/api"+runPath(s.here.run)+"/findings", strings.NewReader(`{"date":"2026-11-25","outcome":"full","by":{"kind":"us"}}`),
		"Content-Type", "application/json", "Authorization", "Bearer "+s.tokens[vent.TokenRecord])); r.status != http.StatusCreated {
		t.Errorf("recording with a token: %d %s", r.status, r.body)
	}
	if view, _ := s.desk.Run(s.by(), s.here.run); len(view.Findings) != 1 || view.Findings[0].Recorder != "api program that may record 127.0.0.1" {
		t.Errorf("recorded %+v", view.Findings)
	}
}

// Guessing somebody's password keeps nobody out: neither them, nor others at the same address; and whoever has an account
// cannot guess another's from a device that is known for their own.
func TestGuessingLocksNobodyElseOut(t *testing.T) {
	s := newStaff(t)
	guess := func(hc *http.Client, name string) int {
		return s.postAs(hc, "/signin", url.Values{"name": {name}, "password": {"guess"}}).status
	}
	for range 2 * freeTries {
		guess(s.browser(), "the owner")
	}
	if got := guess(s.browser(), "The  OWNER"); got != http.StatusTooManyRequests {
		t.Errorf("after many guesses: %d", got)
	}
	if got := guess(s.browser(), "nobody"); got != http.StatusForbidden {
		t.Errorf("another name: %d", got)
	}
	s.postAs(s.owner, "/signout", nil)
	if r := s.postAs(s.owner, "/signin", url.Values{"name": {"the owner"}, "password": {password}}); r.status != http.StatusSeeOther {
		t.Errorf("the owner's own browser: %d", r.status)
	}
	s.in("the office", password)
	// The technician's device is known for the technician alone.
	s.postAs(s.technician, "/signout", nil)
	if got := guess(s.technician, "the owner"); got != http.StatusTooManyRequests {
		t.Errorf("from the technician's device: %d", got)
	}
	if r := s.postAs(s.technician, "/signin", url.Values{"name": {"the technician"}, "password": {password}}); r.status != http.StatusSeeOther {
		t.Errorf("the technician: %d", r.status)
	}
}

// The pages of strangers speak the language of their browser, those of staff the account's or the installation's.
func TestLanguages(t *testing.T) {
	h := newHouse(t, locked)
	for asked, want := range map[string]string{"": "en", "es-MX,es;q=0.9": "es", "de,es;q=0.5": "es", "de": "en", "en-GB": "en", "!!": "en", "fr;q=0.9, es;q=0.1": "es"} {
		r := h.get("/signin", "Accept-Language", asked)
		if !strings.Contains(r.body, `lang="`+want+`"`) {
			t.Errorf("%q: %s", asked, between(r.body, "lang=", ">"))
		}
	}
	h.signIn(h.hc, "")
	if r := h.get("/due", "Accept-Language", "es"); !strings.Contains(r.body, `lang="en"`) {
		t.Error("the installation's own password comes with the browser's language")
	}
}

// With the installation's password somebody is an owner, and nobody's account.
func TestInstallationPassword(t *testing.T) {
	h := newHouse(t, locked)
	if _, err := h.desk.AddAccount(h.by(), desk.Access{Name: "Per", Role: vent.Office}, "three wet towels"); err != nil {
		t.Fatal(err)
	}
	hc := h.in("Ida", password)
	if r := h.doAs(hc, h.request("GET", "/accounts", nil)); r.status != http.StatusOK {
		t.Errorf("the installation's password: %d", r.status)
	}
	if r := h.postAs(h.browser(), "/signin", url.Values{"name": {"per"}, "password": {password}}); r.status != http.StatusForbidden {
		t.Errorf("as Per: %d", r.status)
	}
	checkPage(t, "me", h.doAs(hc, h.request("GET", "/me", nil)).body)
}
