package web

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"

	"ventdue/desk"
)

// keptAnswer is what a phone is told of a visit that it kept and sent later.
type keptAnswer struct {
	Place    string            `json:"place,omitempty"` // address of the page that tells what the visit brought about
	Known    bool              `json:"known,omitempty"` // it had been recorded before
	Problem  string            `json:"problem,omitempty"`
	Fields   map[string]string `json:"fields,omitempty"`   // what is wrong, by field of the form
	Conflict string            `json:"conflict,omitempty"` // address of the finding that stands in the way
	SignIn   bool              `json:"sign_in,omitempty"`  // whoever kept it has to sign in again
	Again    bool              `json:"again,omitempty"`    // an earlier try was never answered: send it under a new key
}

// takeKept takes a visit that a phone kept while it had no signal: the fields of the form, photos named as POST /api/photos
// answered. It says who kept it, so that nothing is written down in the name of whoever signed in since. The same visit
// again, under the same key or not, is recorded once.
func (s *server) takeKept(w http.ResponseWriter, r *http.Request, v visitor) error {
	if who := r.Header.Get("Ventdue-Who"); who != v.mark() {
		return writeJSON(w, http.StatusConflict, keptAnswer{Problem: s.words(v).Say("page.kept.other"), SignIn: true})
	}
	err := s.once(s.recordKept)(w, r, v)
	if errors.Is(err, desk.ErrUnderWay) { // its finding has a key of its own: nothing is recorded twice
		return writeJSON(w, http.StatusServiceUnavailable, keptAnswer{Again: true})
	}
	if err != nil {
		a := s.tell(r, v, err)
		if a.silent {
			return nil
		}
		said := a.detail
		if said == "" {
			said = s.words(v).Say("page.error." + a.key + ".text")
		}
		return writeJSON(w, a.status, keptAnswer{Problem: said})
	}
	return nil
}

func (s *server) recordKept(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	words := figures{s.words(v)}
	form, out, err := s.takeVisit(v, view, sentVisit{fields: r.PostForm}, words)
	if err != nil {
		return err
	}
	if form.Bad() {
		return writeJSON(w, form.status(), form.refused(words))
	}
	s.rememberUnits(w, &form)
	status := http.StatusCreated
	if out.Known {
		status = http.StatusOK
	}
	return writeJSON(w, status, keptAnswer{Place: s.root + recordedAddress(out.Finding), Known: out.Known})
}

// refused tells what is wrong with the form.
func (f *recordForm) refused(words figures) keptAnswer {
	a := keptAnswer{Problem: f.General, Fields: map[string]string{}, Conflict: f.Conflict}
	if a.Problem == "" {
		a.Problem = words.Say("page.problem.form")
	}
	for _, x := range append(f.all(), &f.Bench.Symptom) {
		if x.Problem != "" {
			a.Fields[x.Name] = x.Problem
		}
	}
	for _, p := range f.Bench.Parts {
		if p.Problem != "" {
			a.Fields[p.Result.Name] = p.Problem
		}
	}
	return a
}

// mark tells visitors apart on a device that several people use: what one of them kept there is nobody else's. It is the same
// after signing in again. "" is a stranger.
func (v visitor) mark() string {
	switch {
	case !v.inside:
		return ""
	case v.account != nil:
		return v.account.ID.String()
	case v.session != nil:
		return "house " + strings.ToLower(v.session.Name)
	}
	return "open"
}

// showWaiting is the page that lists the visits that wait on the device. But for the mark, which the script beside the pages takes
// out, it is the same for everybody, so that a device may keep it.
func (s *server) showWaiting(w http.ResponseWriter, r *http.Request, v visitor) error {
	p := waitingPage{page: s.newPage(visitor{lang: v.lang}, "")}
	p.Title, p.Mark = p.Say("page.waiting.title"), v.mark()
	return s.render(w, http.StatusOK, "waiting", p)
}

// anyMark stands on a page that does not know whose it is.
const anyMark = "?"

type waitingPage struct{ page }

//go:embed worker.js
var workerScript string

// workerText puts before the script beside the pages what it is to keep.
func (s *server) workerText() ([]byte, error) {
	sum := sha256.New()
	shell := []string{s.root + "/waiting"}
	for _, name := range slices.Sorted(maps.Keys(s.assets)) {
		shell = append(shell, s.root+"/static/"+name)
	}
	fmt.Fprintln(sum, s.version, shell, workerScript)
	house, err := json.Marshal(map[string]any{"root": s.root, "shell": shell, "version": hex.EncodeToString(sum.Sum(nil)[:6])})
	return fmt.Appendf(nil, "\"use strict\";\nconst house = %s;\n%s", house, workerScript), err
}

// showWorker gives the script that runs beside the pages: it keeps those that a technician opened today, and the files beside
// them. What it is to keep stands before it, so that a new program brings a new worker.
func (s *server) showWorker(w http.ResponseWriter, _ *http.Request, _ visitor) error {
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	_, err := w.Write(s.worker)
	return err
}
