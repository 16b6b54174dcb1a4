package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"ventdue/vent"
)

const token = "0123456789abcdef0123456789abcdef"

func (h *house) json(method, path, body string, into any, header ...string) reply {
	h.t.Helper()
	r := h.do(h.request(method, path, strings.NewReader(body), append([]string{"Content-Type", "application/json"}, header...)...))
	if err := json.Unmarshal([]byte(r.body), into); err != nil {
		h.t.Fatalf("%s %s: %d, no JSON: %v\n%s", method, path, r.status, err, r.body)
	}
	return r
}

func TestAPIDues(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	for i, id := range h.add(many(25)...) {
		if i%2 == 0 {
			h.stop(id.run)
		}
	}
	seen := map[vent.ID]bool{}
	for path := "/api/dues?max=10"; path != ""; {
		var list apiDueList
		if r := h.json("GET", path, "", &list); r.status != 200 || r.header.Get("Content-Type") != "application/json" {
			t.Fatalf("GET %s: %d", path, r.status)
		}
		if list.Counts.All != 25 || list.Counts.Stop != 13 || len(list.Dues) == 0 || len(list.Dues) > 10 {
			t.Fatalf("%d dues of %d", len(list.Dues), list.Counts.All)
		}
		for _, d := range list.Dues {
			if seen[d.ID] || d.Site == nil || d.Customer == nil || len(d.Reasons) == 0 || d.RunID.IsZero() {
				t.Errorf("due %+v", d)
			}
			seen[d.ID] = true
		}
		path = list.Next
	}
	if len(seen) != 25 {
		t.Errorf("%d dues were listed", len(seen))
	}
	raw := h.get("/api/dues").body
	wantNoText(t, raw, "gate code", "key hook")
	for _, bad := range []string{"max=0", "max=x", "max=100000", "show=all", "from=soon", "site=1"} {
		var p problemDetails
		if r := h.json("GET", "/api/dues?"+bad, "", &p); r.status != 422 || p.Status != 422 || len(p.Problems) != 1 || r.header.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: %d %+v", bad, r.status, p)
		}
	}
}

func TestAPIRecord(t *testing.T) {
	h := newHouse(t, nil)
	h.setOperator(vent.US)
	id := h.add(maple())[0]
	path := "/api" + runPath(id.run)
	body := `{"date":"2026-11-25","by":{"kind":"us","name":"Lee"},"outcome":"full","reach":"through",
		"after":[{"quantity":"air_speed","value":6.35,"given":"1250 fpm","conditions":["empty_drum"]}]}`
	var out apiRecorded
	r := h.json("POST", path+"/findings", body, &out)
	if r.status != http.StatusCreated || out.Known || len(out.Dues) == 0 || out.Finding.After[0].Value != 6.35 || r.header.Get("Location") != path {
		t.Fatalf("%d %+v", r.status, out)
	}
	first := out.Finding.ID
	if r := h.json("POST", path+"/findings", body, &out); r.status != http.StatusOK || !out.Known || out.Finding.ID != first || len(out.Dues) == 0 {
		t.Errorf("the same again: %d %+v", r.status, out)
	}
	var run apiRunView
	if r := h.json("GET", path, "", &run); r.status != 200 || len(run.Findings) != 1 || run.Findings[0].Recorder != "web 127.0.0.1" || run.Dryer == nil || len(run.Cautions) == 0 {
		t.Errorf("%d %+v", r.status, run)
	}
	wantNoText(t, h.get(path).body, "gate code", "key hook")
	for _, c := range []struct {
		body   string
		status int
		says   string
	}{
		{strings.Replace(body, "full", "partial", 1), 409, "says something else"},
		{strings.Replace(body, "2026-11-25", "2027-01-01", 1), 422, "in the future"},
		{strings.Replace(body, "2026-11-25", "25.11.2026", 1), 400, "YYYY-MM-DD"},
		{strings.Replace(body, `"value":6.35,`, "", 1), 422, "is missing"},
		{strings.Replace(body, "6.35", "1250", 1), 422, "must be from 0 to 40"},
		{strings.Replace(body, "6.35", `"fast"`, 1), 400, "cannot be read"},
		{strings.Replace(body, "outcome", "outcomes", 1), 400, "outcomes"},
		{body + body, 400, "more after the object"},
		{"", 400, "cannot be read"}, {"[]", 400, "cannot be read"}, {"null", 422, "is missing"}, {strings.Repeat("[", 20000), 400, "cannot be read"},
	} {
		var p problemDetails
		r := h.json("POST", path+"/findings", c.body, &p)
		if r.status != c.status || p.Status != c.status || !strings.Contains(r.body, c.says) {
			t.Errorf("%.80s: %d %s, want %d and %q", c.body, r.status, r.body, c.status, c.says)
		}
	}
	var p problemDetails
	if r := h.json("POST", path+"/findings", body, &p, "Content-Type", "text/plain"); r.status != http.StatusUnsupportedMediaType {
		t.Errorf("as text: %d", r.status)
	}
	for _, missing := range []string{"/api/runs/x", "/api/nothing", "/api/runs/0197f000-0000-7000-8000-000000000000"} {
		if r := h.json("GET", missing, "", &p); r.status != 404 || p.Status != 404 {
			t.Errorf("GET %s: %d %+v", missing, r.status, p)
		}
	}
}

func TestAPIToken(t *testing.T) {
	h := newHouse(t, func(o *Options) { locked(o); o.Token = token })
	id := h.add(maple())[0]
	for header, want := range map[string]int{
		"": 401, "Bearer": 401, "Bearer ": 401, "Bearer " + token[1:]: 401, "Basic " + token: 401, token: 401, "Bearer " + token + "x": 401,
		"Bearer " + token: 200, "bearer " + token: 200,
	} {
		r := h.get("/api/dues", "Authorization", header)
		if r.status != want || want == 401 && r.header.Get("WWW-Authenticate") == "" {
			t.Errorf("%q: %d", header, r.status)
		}
	}
	if r := h.get("/", "Authorization", "Bearer "+token); r.status != http.StatusSeeOther {
		t.Errorf("the token opens the pages: %d", r.status)
	}
	body := fmt.Sprintf(`{"date":"2026-11-25","source":"meter","by":{"kind":"us"},"outcome":"looked","before":[{"quantity":"flap","value":%g}]}`, 0.5)
	var out apiRecorded
	if r := h.json("POST", "/api"+runPath(id.run)+"/findings", body, &out, "Authorization", "Bearer "+token); r.status != 201 || out.Finding.Source != "meter" || out.Finding.Recorder != "api 127.0.0.1" {
		t.Errorf("%d %+v", r.status, out)
	}
	only := newHouse(t, func(o *Options) { o.Open, o.Token = false, token })
	wantText(t, only.page("/signin"), "There is no account yet")
	if r := only.post("/signin", map[string][]string{"password": {""}}); r.status != http.StatusForbidden {
		t.Errorf("signing in where there is no password: %d", r.status)
	}
	if r := only.get("/api/dues"); r.status != 401 {
		t.Errorf("no token: %d", r.status)
	}
}
