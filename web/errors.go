package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"

	"ventdue/vent"
)

// refusal is an answer that the pages themselves give instead of what was asked for.
type refusal struct {
	status int
	key    string // page.error.<key> is its title, page.error.<key>.text what to do
}

func (e refusal) Error() string { return http.StatusText(e.status) + ": " + e.key }

// unreadable is a body or form that is not what it says it is.
type unreadable struct{ why string }

func (e unreadable) Error() string { return e.why }

// answer is what a person or a program is told of an error.
type answer struct {
	status   int
	key      string
	detail   string        // safe to show; "" where the key says it all
	problems vent.Problems // by field
	silent   bool          // whoever asked has gone
}

// answerTo turns an error into a status and words that are safe to show. Only an internal one is worth a log line.
func answerTo(err error) answer {
	var r refusal
	var tooLarge *http.MaxBytesError
	var body unreadable
	var problems vent.Problems
	switch {
	case errors.As(err, &body):
		return answer{status: http.StatusBadRequest, key: "unreadable", detail: body.why}
	case errors.As(err, &r):
		return answer{status: r.status, key: r.key}
	case errors.As(err, &tooLarge):
		return answer{status: http.StatusRequestEntityTooLarge, key: "large"}
	case errors.As(err, &problems):
		return answer{status: http.StatusUnprocessableEntity, key: "invalid", detail: problems.Error(), problems: problems}
	case errors.Is(err, vent.ErrNotFound):
		return answer{status: http.StatusNotFound, key: "missing"}
	case errors.Is(err, vent.ErrConflict):
		return answer{status: http.StatusConflict, key: "conflict", detail: plain(err, vent.ErrConflict)}
	case errors.Is(err, vent.ErrInvalid):
		return answer{status: http.StatusUnprocessableEntity, key: "invalid", detail: plain(err, vent.ErrInvalid)}
	case errors.Is(err, context.Canceled):
		return answer{silent: true}
	}
	return answer{status: http.StatusInternalServerError, key: "internal"}
}

// plain gives a refusal's words without the sentinel at their end.
func plain(err, sentinel error) string { return strings.TrimSuffix(err.Error(), ": "+sentinel.Error()) }

// tell gives the answer to an error, and logs it where somebody must act.
func (s *server) tell(r *http.Request, v visitor, err error) answer {
	a := answerTo(err)
	if a.status == http.StatusInternalServerError {
		s.log.Error("a page could not be made", "method", r.Method, "path", r.URL.Path, "actor", v.actor(), "err", err)
	}
	return a
}

// fail answers a request that reached no page of its own.
func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	if strings.HasPrefix(r.URL.Path, s.root+"/api/") || strings.HasPrefix(r.URL.Path, "/api/") {
		s.failAPI(w, r, s.stranger(r), err)
		return
	}
	s.failPage(w, r, s.stranger(r), err)
}

// errorPage is what a person sees instead of what they asked for.
type errorPage struct {
	page
	Text, Detail string
}

func (s *server) failPage(w http.ResponseWriter, r *http.Request, v visitor, err error) {
	a := s.tell(r, v, err)
	if a.silent {
		return
	}
	p := errorPage{page: s.newPage(v, "")}
	if !v.inside {
		p.Mark = anyMark // whoever asked may be signed in: nobody looked
	}
	p.Title, p.Text, p.Detail = p.Say("page.error."+a.key), p.Say("page.error."+a.key+".text"), a.detail
	if err := s.render(w, a.status, "error", p); err != nil {
		s.log.Error("the error page could not be made", "err", err)
		http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
	}
}

// problemDetails is RFC 9457's form of an error, with what is wrong field by field.
type problemDetails struct {
	Type     string        `json:"type"`
	Title    string        `json:"title"`
	Status   int           `json:"status"`
	Detail   string        `json:"detail,omitempty"`
	Problems vent.Problems `json:"problems,omitempty"`
	Slots    []apiSlot     `json:"slots,omitempty"` // that could be had, where a time is refused
}

func (s *server) failAPI(w http.ResponseWriter, r *http.Request, v visitor, err error) {
	a := s.tell(r, v, err)
	if a.silent {
		return
	}
	words := s.words(v)
	p := problemDetails{Type: "about:blank", Title: http.StatusText(a.status), Status: a.status, Detail: a.detail, Problems: a.problems}
	if p.Detail == "" {
		p.Detail = words.Say("page.error." + a.key + ".text")
	}
	var taken slotTaken
	if errors.As(err, &taken) {
		p.Slots = taken.slots
	}
	if a.status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", `Bearer realm="ventdue"`)
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(a.status)
	_ = json.NewEncoder(w).Encode(p) // whoever asked may have gone
}
