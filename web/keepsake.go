package web

import (
	"sync"
	"time"

	"ventdue/desk"
)

const (
	keepFor = 10 * time.Minute
	keepMax = 200
)

// keepsake remembers for ten minutes which new feed address came of which form, so that a form sent twice makes one
// feed, and the address can be shown after the redirect. It lives in memory only: a feed's secret is stored nowhere.
type keepsake struct {
	mu    sync.Mutex
	kept  map[string]kept
	turns sync.Mutex // one form at a time: the second of two equal ones must find the first's
}

type kept struct {
	feed  desk.NewFeed
	until time.Time
}

func newKeepsake() *keepsake { return &keepsake{kept: map[string]kept{}} }

// once gives what the form with this key brought about, running make if it has not been sent yet.
func (k *keepsake) once(key string, now time.Time, make func() (desk.NewFeed, error)) error {
	k.turns.Lock()
	defer k.turns.Unlock()
	if _, ok := k.get(key, now); ok {
		return nil
	}
	f, err := make()
	if err != nil {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	for key, x := range k.kept {
		if now.After(x.until) || len(k.kept) >= keepMax {
			delete(k.kept, key)
		}
	}
	k.kept[key] = kept{f, now.Add(keepFor)}
	return nil
}

// get gives what a form brought about, while it is remembered.
func (k *keepsake) get(key string, now time.Time) (desk.NewFeed, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	x, ok := k.kept[key]
	return x.feed, ok && now.Before(x.until)
}
