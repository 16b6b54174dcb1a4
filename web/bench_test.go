package web

import (
	"net/http"
	"net/http/httptest"
	"testing"
)

// BenchmarkBoard is the first page of the list, and a search through it, over 5 000 and 20 000 open dues.
func BenchmarkBoard(b *testing.B) {
	for name, n := range map[string]int{"5000": 5000, "20000": 20000} {
		h := newHouse(b, nil)
		h.add(many(n)...)
		for what, path := range map[string]string{"first": "/", "search": "/?q=flat+17"} {
			b.Run(name+"/"+what, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					w := httptest.NewRecorder()
					r := httptest.NewRequest("GET", path, nil)
					r.Host = "localhost"
					h.pages.Config.Handler.ServeHTTP(w, r)
					if w.Code != http.StatusOK {
						b.Fatal(w.Code)
					}
				}
			})
		}
	}
}
