package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/vent"
)

// A write under a key happens once, whatever is sent again, as draft-ietf-httpapi-idempotency-key-header describes the header.
func TestOnce(t *testing.T) {
	h := newHouse(t, func(o *Options) { locked(o); o.Token = token })
	id := h.add(maple())[0]
	other, err := h.desk.MakeToken(h.by(), "meter reader", vent.TokenRecord)
	if err != nil {
		t.Fatal(err)
	}
	path := "/api" + runPath(id.run) + "/findings"
	body := `{"date":"2026-11-20","by":{"kind":"us"},"outcome":"looked","note":"first"}`
	bad := strings.Replace(body, "looked", "wandered", 1)
	send := func(secret, key, body string) reply {
		t.Helper()
		return h.do(h.request("POST", path, strings.NewReader(body), "Content-Type", "application/json", "Authorization", "Bearer "+secret, "Idempotency-Key", key))
	}
	if r := send(token, "k1", bad); r.status != http.StatusUnprocessableEntity {
		t.Fatalf("a bad one: %d %s", r.status, r.body)
	}
	first := send(token, "k1", body) // a refusal used up no key
	if first.status != http.StatusCreated {
		t.Fatalf("%d %s", first.status, first.body)
	}
	if again := send(token, "k1", body); again.status != first.status || again.body != first.body || again.header.Get("Location") != first.header.Get("Location") {
		t.Errorf("the same again: %d %s, first %d %s", again.status, again.body, first.status, first.body)
	}
	if r := send(token, "k1", strings.Replace(body, "first", "second", 1)); r.status != http.StatusUnprocessableEntity || !strings.Contains(r.body, "another request") {
		t.Errorf("another write under the key: %d %s", r.status, r.body)
	}
	if r := send(other.Secret, "k1", body); r.status != http.StatusOK {
		t.Errorf("another program's own key: %d %s", r.status, r.body)
	}
	if r := send(token, strings.Repeat("k", maxOnceKey+1), body); r.status != http.StatusUnprocessableEntity {
		t.Errorf("a key without end: %d", r.status)
	}
	if run, err := h.desk.Run(h.by(), id.run); err != nil || len(run.Findings) != 1 {
		t.Errorf("%d findings, %v", len(run.Findings), err)
	}
	h.now = h.now.Add(25 * time.Hour)
	if r := send(token, "k1", strings.Replace(body, "2026-11-20", "2026-11-21", 1)); r.status != http.StatusCreated {
		t.Errorf("the key a day later: %d %s", r.status, r.body)
	}
}

// A write that was begun and never answered, as when the process was killed in the middle, is not done again blindly.
func TestOnceKilled(t *testing.T) {
	h := newHouse(t, func(o *Options) { locked(o); o.Token = token })
	id := h.add(maple())[0]
	path := "/api" + runPath(id.run) + "/findings"
	body := `{"date":"2026-11-20","by":{"kind":"us"},"outcome":"looked"}`
	request := "POST " + path + " application/json\n" + body
	if _, _, done, err := h.desk.BeginOnce(desk.By{Now: h.now, Actor: "test"}, "the installation's own", "k", []byte(request)); done || err != nil {
		t.Fatal(done, err)
	}
	r := h.do(h.request("POST", path, strings.NewReader(body), "Content-Type", "application/json", "Authorization", "Bearer "+token, "Idempotency-Key", "k"))
	if r.status != http.StatusConflict || !strings.Contains(r.body, "look whether it was done") {
		t.Errorf("%d %s", r.status, r.body)
	}
}
