package notify

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"ventdue/store"
	"ventdue/vent"
)

// BenchmarkFeedPoll measures polls of an unchanged feed over loopback HTTP beside a bare net/http handler that compares one
// ETag, in turns, and prints the ratio of their rates: "of_bare". Both answer 304 over kept connections.
func BenchmarkFeedPoll(b *testing.B) {
	p := publish(b)
	h := p.House("Lund", "America/New_York")
	p.Due(h, march2.AddDays(30))
	f := p.feed(vent.KindCustomer, h.Customer)
	etag := p.get(f.Token).Header.Get("ETag")
	p.feeds.o.Now = time.Now
	mux := http.NewServeMux()
	mux.Handle(FeedPath, p.feeds)
	ours := newPoller(b, mux, FeedPath+f.Token+".ics", etag)
	bare := newPoller(b, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("ETag", etag)
		if r.Header.Get("If-None-Match") == etag {
			w.WriteHeader(http.StatusNotModified)
		}
	}), FeedPath+f.Token+".ics", etag)

	const turn = 500
	var ourTime, bareTime time.Duration
	polls := 0
	for b.Loop() {
		bareTime += bare.run(turn)
		ourTime += ours.run(turn)
		polls += turn
	}
	b.ReportMetric(float64(bareTime)/float64(ourTime), "of_bare")
	b.ReportMetric(float64(polls)/ourTime.Seconds(), "polls/s")
	b.ReportMetric(float64(polls)/bareTime.Seconds(), "bare/s")
}

// poller sends one prepared request over one kept connection and reads the answer's head: what a reader costs is small
// and the same for both.
type poller struct {
	tb      testing.TB
	conn    net.Conn
	in      *bufio.Reader
	request []byte
}

func newPoller(tb testing.TB, h http.Handler, path, etag string) *poller {
	server := httptest.NewServer(h)
	tb.Cleanup(server.Close)
	conn, err := net.Dial("tcp", strings.TrimPrefix(server.URL, "http://"))
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { conn.Close() })
	return &poller{tb, conn, bufio.NewReader(conn),
		fmt.Appendf(nil, "GET %s HTTP/1.1\r\nHost: vents.example.com\r\nUser-Agent: Reader/1.0\r\nIf-None-Match: %s\r\n\r\n", path, etag)}
}

func (p *poller) run(n int) time.Duration {
	start := time.Now()
	for range n {
		if _, err := p.conn.Write(p.request); err != nil {
			p.tb.Fatal(err)
		}
		for first := true; ; first = false {
			line, err := p.in.ReadSlice('\n')
			if err != nil || first && !strings.Contains(string(line), "304") {
				p.tb.Fatalf("%q, %v", line, err)
			}
			if len(line) == 2 {
				break
			}
		}
	}
	return time.Since(start)
}

// BenchmarkFeedRender measures what a changed feed costs once: loading, writing and packing a full calendar.
func BenchmarkFeedRender(b *testing.B) {
	p := publish(b)
	p.Update(func(tx *store.Tx) error { return fill(tx, 1000, march2) })
	f := p.feed(vent.KindOperator, vent.ID{})
	for b.Loop() {
		s, err := p.feeds.render(f.Token, 0)
		if err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(len(s.plain.body)))
	}
}
