package notify

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
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

// Feeds serves the secret calendar addresses. A poll of a feed that did not change costs a look into memory. It is safe
// for use by many goroutines.
type Feeds struct {
	o            FeedOptions
	cacheControl []string

	rendering sync.Mutex // one feed is rendered at a time, so that many readers of one changed feed cost one rendering

	mu     sync.Mutex
	cached map[[sha256.Size]byte]*served // by the hash of the token
	bytes  int
	seen   map[vent.ID]desk.Fetch
}

// served is one feed as it goes out. It is not changed once others can see it.
type served struct {
	commits  uint64 // the store's count when it was last known to be true
	version  desk.FeedVersion
	until    time.Time // a withdrawn address answers no longer; zero: no end
	modified time.Time
	plain    coded
	packed   coded // gzip
}

// coded is a feed in one content coding, with the values of its header fields.
type coded struct {
	body                         []byte
	etag, lastModified, encoding []string
}

// NewFeeds makes the handler for FeedPath.
func NewFeeds(o FeedOptions) *Feeds {
	if o.MaxAge == 0 {
		o.MaxAge = 15 * time.Minute
	}
	return &Feeds{o: o, cacheControl: []string{"private, max-age=" + strconv.Itoa(int(o.MaxAge.Seconds()))},
		cached: map[[sha256.Size]byte]*served{}, seen: map[vent.ID]desk.Fetch{}}
}

// The answers for an address that never was, and for one that was withdrawn over 30 days ago. They are told apart from the
// faults inside, of which any may say that something is not found.
var (
	errUnknown = errors.New("feed is not known")
	errGone    = errors.New("feed is gone")
)

// ServeHTTP answers GET and HEAD. An unknown address is 404, one withdrawn over 30 days ago 410. It never answers 200 with
// less than the whole calendar: where rendering fails, the last good one is served, or 503.
func (f *Feeds) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h["X-Robots-Tag"], h["Referrer-Policy"], h["X-Content-Type-Options"] = noIndex, noReferrer, noSniff
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		h.Set("Allow", "GET, HEAD")
		http.Error(w, "A calendar address is only read.", http.StatusMethodNotAllowed)
		return
	}
	token, ok := strings.CutSuffix(strings.TrimPrefix(r.URL.Path, FeedPath), ".ics")
	if !ok || len(token) > 100 {
		http.Error(w, "There is no calendar at this address. Its end is missing, or too much follows it.", http.StatusNotFound)
		return
	}
	s, err := f.current(token)
	switch {
	case errors.Is(err, errUnknown):
		http.Error(w, "There is no calendar at this address. Ask for a new one.", http.StatusNotFound)
	case errors.Is(err, errGone):
		http.Error(w, "This calendar address was withdrawn. Ask for a new one.", http.StatusGone)
	case err != nil:
		f.o.Log.Error("feed cannot be rendered", "error", err)
		h.Set("Retry-After", "600")
		http.Error(w, "The calendar cannot be made just now. Come back in ten minutes.", http.StatusServiceUnavailable)
	default:
		f.note(s.version.Feed, r)
		f.write(w, r, s)
	}
}

// The header fields that are the same for all, as values that need no making.
var (
	noIndex      = []string{"noindex"}
	noReferrer   = []string{"no-referrer"}
	noSniff      = []string{"nosniff"}
	vary         = []string{"Accept-Encoding"}
	calendarType = []string{"text/calendar; charset=utf-8"}
	gzipped      = []string{"gzip"}
)

// current gives the feed as it is now: from memory while nothing was written, or nothing that it shows.
func (f *Feeds) current(token string) (*served, error) {
	sum := sha256.Sum256([]byte(token)) // look-up by the hash: its time tells nothing of the token
	now, commits := f.o.Now(), f.o.Desk.Store().Commits()
	old := f.look(sum)
	if old != nil && old.commits == commits && (old.until.IsZero() || !now.After(old.until)) {
		return old, nil
	}
	head, err := f.o.Desk.FeedHead(token, now)
	switch {
	case err == nil && head.Gone:
		f.keep(sum, nil)
		return nil, errGone
	case errors.Is(err, vent.ErrNotFound):
		f.keep(sum, nil)
		return nil, errUnknown
	case err == nil && old != nil && old.version == head.Version:
		fresh := *old
		fresh.commits = commits
		f.keep(sum, &fresh)
		return &fresh, nil
	case err == nil:
		old, err = f.renew(sum, token, head.Version, commits, old)
	}
	if err != nil && old != nil {
		f.o.Log.Error("feed cannot be rendered: the last good one is served", "feed", old.version.Feed, "error", err)
		return old, nil
	}
	return old, err
}

// renew renders a feed, unless somebody just did. On an error it gives the old one.
func (f *Feeds) renew(sum [sha256.Size]byte, token string, want desk.FeedVersion, commits uint64, old *served) (*served, error) {
	f.rendering.Lock()
	defer f.rendering.Unlock()
	if s := f.look(sum); s != nil && s.version == want {
		return s, nil
	}
	s, err := f.render(token, commits)
	if err != nil {
		return old, err
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
	head := content.Head
	cal := calendarOf(content, address, f.o.Base)
	out, err := calendar.Render(cal)
	if err == nil && out.LeftOut+content.LeftOut > 0 {
		f.o.Log.Warn("feed is full: the entries farthest away were left out", "feed", head.Feed.ID, "left_out", out.LeftOut+content.LeftOut)
		cal.Events = append(cal.Events, fullNotice(content))
		out, err = calendar.Render(cal)
	}
	if err != nil {
		return nil, fmt.Errorf("render feed %s: %w", head.Feed.ID, err)
	}
	packed, err := pack(out.Body)
	if err != nil {
		return nil, fmt.Errorf("compress feed %s: %w", head.Feed.ID, err)
	}
	s := &served{commits: commits, version: head.Version, until: head.Until.Time(), modified: head.Changed.Time()}
	// The ETag is of the bytes, so that a program that writes them otherwise needs no other care.
	hash := sha256.Sum256(out.Body)
	tag, lastModified := hex.EncodeToString(hash[:16]), []string{s.modified.Format(http.TimeFormat)}
	s.plain = coded{body: out.Body, etag: []string{`"` + tag + `"`}, lastModified: lastModified}
	s.packed = coded{body: packed, etag: []string{`"` + tag + `-gz"`}, lastModified: lastModified, encoding: gzipped}
	return s, nil
}

func pack(body []byte) ([]byte, error) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write(body); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func (f *Feeds) write(w http.ResponseWriter, r *http.Request, s *served) {
	c := &s.plain
	if acceptsGzip(r.Header["Accept-Encoding"]) {
		c = &s.packed
	}
	h := w.Header()
	h["Vary"], h["Etag"], h["Last-Modified"], h["Cache-Control"] = vary, c.etag, c.lastModified, f.cacheControl
	if unchanged(r.Header, c.etag[0], s.modified) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if c.encoding != nil {
		h["Content-Encoding"] = c.encoding
	}
	h["Content-Type"] = calendarType
	h.Set("Content-Length", strconv.Itoa(len(c.body)))
	if r.Method == http.MethodHead {
		return
	}
	_, _ = w.Write(c.body) // a reader that went away has its own loss
}

// acceptsGzip reads Accept-Encoding (RFC 9110 section 12.5.3): gzip is named, and not with a weight of nothing.
func acceptsGzip(fields []string) bool {
	for _, field := range fields {
		for field != "" {
			var one string
			one, field, _ = strings.Cut(field, ",")
			coding, weight, weighed := strings.Cut(one, ";")
			if coding = strings.TrimSpace(coding); !strings.EqualFold(coding, "gzip") && !strings.EqualFold(coding, "x-gzip") {
				continue
			}
			if !weighed {
				return true
			}
			_, q, _ := strings.Cut(weight, "=")
			v, err := strconv.ParseFloat(strings.TrimSpace(q), 64)
			return err == nil && v > 0
		}
	}
	return false
}

// unchanged applies RFC 9110 section 13.2.2: If-None-Match, where given, decides alone.
func unchanged(h http.Header, etag string, modified time.Time) bool {
	if given := h["If-None-Match"]; len(given) > 0 {
		for _, list := range given {
			for list != "" {
				var one string
				one, list, _ = strings.Cut(list, ",")
				if one = strings.TrimSpace(one); one == "*" || strings.TrimPrefix(one, "W/") == etag {
					return true
				}
			}
		}
		return false
	}
	since, err := http.ParseTime(h.Get("If-Modified-Since"))
	return err == nil && !modified.After(since)
}

// look gives the feed as it was last served; nil where it is not in memory.
func (f *Feeds) look(sum [sha256.Size]byte) *served {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.cached[sum]
}

// keep remembers a rendered feed; nil forgets it. When too many bytes are kept, all are let go: they come back as they
// are asked for.
func (f *Feeds) keep(sum [sha256.Size]byte, s *served) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if old := f.cached[sum]; old != nil {
		f.bytes -= old.size()
		delete(f.cached, sum)
	}
	if s == nil {
		return
	}
	if f.bytes+s.size() > maxCached {
		clear(f.cached)
		f.bytes = 0
	}
	f.cached[sum] = s
	f.bytes += s.size()
}

func (s *served) size() int { return len(s.plain.body) + len(s.packed.body) }

// note remembers who read the feed; Flush writes it down now and then.
func (f *Feeds) note(id vent.ID, r *http.Request) {
	by, now := r.UserAgent(), f.o.Now()
	f.mu.Lock()
	f.seen[id] = desk.Fetch{At: now, By: by[:min(len(by), 120)]}
	f.mu.Unlock()
}

// Flush writes down who read which feed since the last time.
func (f *Feeds) Flush(by desk.By) error {
	f.mu.Lock()
	seen := f.seen
	f.seen = map[vent.ID]desk.Fetch{}
	f.mu.Unlock()
	for id, s := range seen {
		s.By = strings.ToValidUTF8(s.By, "")
		seen[id] = s
	}
	return f.o.Desk.FeedsFetched(by, seen)
}
