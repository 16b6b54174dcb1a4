package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"

	"ventdue/store"
	"ventdue/vent"
)

// maxOnceKey bounds an Idempotency-Key, in bytes.
const maxOnceKey = 200

// once has a write that carries an Idempotency-Key happen once: sent again within a day it is answered as the first time. An
// answer that refuses is not kept: nothing was done, and the next try may succeed.
func (s *server) once(h handler) handler {
	return func(w http.ResponseWriter, r *http.Request, v visitor) error {
		key := r.Header.Get("Idempotency-Key")
		if key == "" {
			return h(w, r, v)
		}
		if len(key) > maxOnceKey {
			var p vent.Problems
			p.Add("Idempotency-Key", key[:20]+"...", "is longer than %d bytes", maxOnceKey)
			return p
		}
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return err
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		request := append(fmt.Appendf(nil, "%s %s %s\n", r.Method, r.URL.RequestURI(), r.Header.Get("Content-Type")), body...)
		turn, first, done, err := s.desk.BeginOnce(s.by(v), v.key(), key, request)
		if err != nil {
			return err
		}
		if done {
			return replay(w, first)
		}
		seen := &answerCopy{ResponseWriter: w, status: http.StatusOK}
		finished := false
		defer func() {
			if finished {
				return
			}
			// A panic: whether anything was done is not known, and the receipt goes on saying so.
			s.log.Error("a write under a key was not answered", "path", r.URL.Path)
		}()
		err = h(seen, r, v)
		finished = true
		kept := store.Receipt{Status: seen.status, Kind: w.Header().Get("Content-Type"), Place: w.Header().Get("Location"), Body: seen.body.Bytes()}
		if end := s.desk.EndOnce(s.by(v), turn, err == nil && seen.status < 400, kept); end != nil {
			s.log.Error("the answer to a write under a key could not be kept", "path", r.URL.Path, "err", end)
		}
		return err
	}
}

// key tells apart who sends keys: each program and each account has its own.
func (v visitor) key() string {
	switch {
	case v.token != nil:
		return "token " + v.token.ID.String()
	case v.account != nil:
		return "account " + v.account.ID.String()
	}
	return "the installation's own"
}

func replay(w http.ResponseWriter, first store.Receipt) error {
	if first.Place != "" {
		w.Header().Set("Location", first.Place)
	}
	w.Header().Set("Content-Type", first.Kind)
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(first.Status)
	_, _ = w.Write(first.Body) // whoever asked may have gone
	return nil
}

// answerCopy keeps what an answer says while it goes out.
type answerCopy struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

func (w *answerCopy) WriteHeader(status int) {
	w.status = status
	w.ResponseWriter.WriteHeader(status)
}

func (w *answerCopy) Write(b []byte) (int, error) {
	w.body.Write(b)
	return w.ResponseWriter.Write(b)
}
