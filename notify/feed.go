package notify

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"ventdue/desk"
	"ventdue/notify/calendar"
	"ventdue/vent"
)

// renderer is raised whenever the same rows give other bytes than before: it is part of the ETag.
const renderer = 1

// maxCached bounds the bytes of rendered feeds that are kept.
const maxCached = 64 << 20

// FeedPath is where feeds are served: FeedPath + token + ".ics".
const FeedPath = "/feed/"

// FeedOptions are the choices of NewFeeds.
type FeedOptions struct {
	Desk   *desk.Desk
	Now    func() time.Time
	Log    *slog.Logger
	Base   string        // public address of the pages, without a slash at the end; "" where there is none
	MaxAge time.Duration // how long a reader may keep what it has; 0 is 15 minutes
}

// Feeds serves the secret calendar addresses. A poll of a feed that did not change costs a look into memory.
type Feeds struct {
	o FeedOptions

	mu     sync.Mutex
	cached map[[sha256.Size]byte]*served
	bytes  int
	seen   map[vent.ID]desk.Fetch
}

// served is one feed as it last went out.
type served struct {
	commits  uint64 // the store's count when it was last known to be true
	feed     vent.ID
	tag      string // without quotes
	modified time.Time
	body     []byte
	packed   []byte // gzip
	leftOut  int
}

// NewFeeds makes the handler for FeedPath.
func NewFeeds(o FeedOptions) *Feeds {
	if o.MaxAge == 0 {
		o.MaxAge = 15 * time.Minute
	}
	return &Feeds{o: o, cached: map[[sha256.Size]byte]*served{}, seen: map[vent.ID]desk.Fetch{}}
}

// ServeHTTP answers GET and HEAD. An unknown address is 404, one revoked over 30 days ago 410. It never answers 200 with
// less than the whole calendar: where rendering fails, the last good one is served, or 503.
func (f *Feeds) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("X-Robots-Tag", "noindex")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		h.Set("Allow", "GET, HEAD")
		http.Error(w, "A calendar address is only read.", http.StatusMethodNotAllowed)
		return
	}
	token, ok := strings.CutSuffix(strings.TrimPrefix(r.URL.Path, FeedPath), ".ics")
	if !ok || len(token) > 100 {
		http.NotFound(w, r)
		return
	}
	s, err := f.current(token)
	switch {
	case errors.Is(err, vent.ErrNotFound):
		http.Error(w, "There is no calendar at this address. Ask for a new one.", http.StatusNotFound)
	case errors.Is(err, errGone):
		http.Error(w, "This calendar address was withdrawn. Ask for a new one.", http.StatusGone)
	case err != nil:
		f.o.Log.Error("feed cannot be rendered", "error", err)
		h.Set("Retry-After", "600")
		http.Error(w, "The calendar cannot be made just now. Come back in ten minutes.", http.StatusServiceUnavailable)
	default:
		f.note(s.feed, r)
		f.write(w, r, s)
	}
}

var errGone = errors.New("feed is gone")

// current gives the feed as it is now: from memory while nothing it shows has changed.
func (f *Feeds) current(token string) (*served, error) {
	sum := sha256.Sum256([]byte(token)) // look-up by the hash: its time tells nothing of the token
	f.mu.Lock()
	old := f.cached[sum]
	f.mu.Unlock()
	commits := f.o.Desk.Store().Commits()
	if old != nil && old.commits == commits {
		return old, nil
	}
	head, err := f.o.Desk.FeedHead(token, f.o.Now())
	if err == nil && head.Gone {
		err = errGone
	}
	if err != nil {
		f.forget(sum)
		return nil, err
	}
	if old != nil && old.tag == tag(head) {
		fresh := *old
		fresh.commits = commits
		f.keep(sum, &fresh)
		return &fresh, nil
	}
	s, err := f.render(token, commits)
	if err != nil && old != nil {
		f.o.Log.Error("feed cannot be rendered: the last good one is served", "feed", head.Feed.ID, "error", err)
		return old, nil
	}
	if err != nil {
		return nil, err
	}
	f.keep(sum, s)
	return s, nil
}

// render makes the feed anew from one snapshot.
func (f *Feeds) render(token string, commits uint64) (*served, error) {
	content, err := f.o.Desk.FeedContent(token, f.o.Now())
	if err != nil {
		return nil, err
	}
	address := ""
	if f.o.Base != "" {
		address = f.o.Base + FeedPath + token + ".ics"
	}
	cal := calendarOf(content, address, f.o.Base)
	out, err := calendar.Render(cal)
	if err != nil {
		return nil, fmt.Errorf("render feed %s: %w", content.Head.Feed.ID, err)
	}
	if out.LeftOut > 0 {
		f.o.Log.Warn("feed is full: the entries farthest away were left out", "feed", content.Head.Feed.ID, "left_out", out.LeftOut)
	}
	var packed bytes.Buffer
	z, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if _, err := z.Write(out.Body); err == nil {
		err = z.Close()
	}
	return &served{commits: commits, feed: content.Head.Feed.ID, tag: tag(content.Head), modified: modified(content.Head),
		body: out.Body, packed: packed.Bytes(), leftOut: out.LeftOut}, nil
}

// tag names a version of a feed: what it shows, how it is cut, and how it is written.
func tag(h desk.FeedHead) string {
	state := "live"
	if h.Feed.Revoked != 0 {
		state = "revoked"
	}
	return fmt.Sprintf("%s-%d-%d-%s-%d-%s", h.Feed.ID.String()[24:], h.Revision.N, h.Settings.N, h.Horizon, renderer, state)
}

// modified is when what the feed shows last changed.
func modified(h desk.FeedHead) time.Time {
	return max(h.Feed.Created, h.Feed.Revoked, h.Revision.At, h.Settings.At).Time()
}

func (f *Feeds) write(w http.ResponseWriter, r *http.Request, s *served) {
	h := w.Header()
	body, etag := s.body, `"`+s.tag+`"`
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		body, etag = s.packed, `"`+s.tag+`-gz"`
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Vary", "Accept-Encoding")
	h.Set("ETag", etag)
	h.Set("Last-Modified", s.modified.Format(http.TimeFormat))
	h.Set("Cache-Control", "private, max-age="+strconv.Itoa(int(f.o.MaxAge.Seconds())))
	if unchanged(r, etag, s.modified) {
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", "text/calendar; charset=utf-8")
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method == http.MethodHead {
		return
	}
	_, _ = w.Write(body) // a reader that went away has its own loss
}

// unchanged applies RFC 9110 section 13.2.2: If-None-Match, where given, decides alone.
func unchanged(r *http.Request, etag string, modified time.Time) bool {
	if given := r.Header.Get("If-None-Match"); given != "" {
		if given == "*" {
			return true
		}
		for given != "" {
			var one string
			one, given, _ = strings.Cut(given, ",")
			if strings.TrimPrefix(strings.TrimSpace(one), "W/") == etag {
				return true
			}
		}
		return false
	}
	since, err := http.ParseTime(r.Header.Get("If-Modified-Since"))
	return err == nil && !modified.After(since)
}

// keep remembers a rendered feed. When too many bytes are kept, all are let go: they come back as they are asked for.
func (f *Feeds) keep(sum [sha256.Size]byte, s *served) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.drop(sum)
	if f.bytes+s.size() > maxCached {
		clear(f.cached)
		f.bytes = 0
	}
	f.cached[sum] = s
	f.bytes += s.size()
}

func (f *Feeds) forget(sum [sha256.Size]byte) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.drop(sum)
}

func (f *Feeds) drop(sum [sha256.Size]byte) {
	if old := f.cached[sum]; old != nil {
		f.bytes -= old.size()
		delete(f.cached, sum)
	}
}

func (s *served) size() int { return len(s.body) + len(s.packed) }

// note remembers who read the feed; Flush writes it down now and then.
func (f *Feeds) note(id vent.ID, r *http.Request) {
	by := r.UserAgent()
	if len(by) > 120 {
		by = by[:120]
	}
	f.mu.Lock()
	f.seen[id] = desk.Fetch{At: f.o.Now(), By: strings.ToValidUTF8(by, "")}
	f.mu.Unlock()
}

// Flush writes down who read which feed since the last time.
func (f *Feeds) Flush(by desk.By) error {
	f.mu.Lock()
	seen := f.seen
	f.seen = map[vent.ID]desk.Fetch{}
	f.mu.Unlock()
	return f.o.Desk.FeedsFetched(by, seen)
}
