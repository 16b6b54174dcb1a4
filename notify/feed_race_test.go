package notify

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"testing"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/calendar/strict"
	"ventdue/store"
	"ventdue/vent"
)

// Many readers poll while somebody writes. Whatever they get is whole and strictly right; a reader never gets an older
// calendar after a newer one, and the last poll shows the last write.
func TestManyReadersWhileOthersWrite(t *testing.T) {
	p := publish(t)
	h := p.House("Lund", "America/New_York")
	p.Due(h, march2)
	feeds := []desk.NewFeed{p.feed(vent.KindCustomer, h.Customer), p.feed(vent.KindOperator, vent.ID{})}
	const writes = 150
	done := make(chan struct{})
	var readers sync.WaitGroup
	for i := range 8 {
		readers.Go(func() { poll(t, p, feeds[i%2].Token, done) })
	}
	for i := range writes {
		switch i % 10 {
		case 9:
			scene.Change(p.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Name = fmt.Sprintf("Lund house %d", i) })
		default:
			p.Due(h, march2.AddDays(i%300))
		}
		if i%30 == 0 {
			if err := p.feeds.Flush(p.By()); err != nil {
				t.Error(err)
			}
		}
	}
	last := p.Due(h, march2.AddDays(77))
	close(done)
	readers.Wait()
	for _, f := range feeds {
		if got := sequence(t, p.body(f.Token)); got != last.Sequence {
			t.Errorf("the last poll shows SEQUENCE %d, want %d", got, last.Sequence)
		}
	}
}

func poll(t *testing.T, p *publisher, token string, done <-chan struct{}) {
	etag, newest := "", 0
	for polls := 0; ; polls++ {
		select {
		case <-done:
			return
		default:
		}
		r := p.get(token, "If-None-Match", etag)
		if r.StatusCode == http.StatusNotModified {
			continue
		}
		body := readAll(t, r.Body)
		if r.StatusCode != http.StatusOK || r.Header.Get("Content-Length") != strconv.Itoa(len(body)) {
			t.Errorf("%s, %d bytes", r.Status, len(body))
			return
		}
		if problems := strict.Check(body); len(problems) > 0 {
			t.Errorf("%v in\n%s", problems, body)
			return
		}
		n := sequence(t, body)
		if n < newest {
			t.Errorf("SEQUENCE %d after %d", n, newest)
		}
		etag, newest = r.Header.Get("ETag"), n
	}
}

func sequence(t *testing.T, body []byte) int {
	_, after, _ := bytes.Cut(body, []byte("\r\nSEQUENCE:"))
	digits, _, _ := bytes.Cut(after, []byte("\r\n"))
	n, err := strconv.Atoi(string(digits))
	if err != nil {
		t.Errorf("no SEQUENCE in\n%s", body)
	}
	return n
}
