package web

import (
	"sync"
	"time"
)

const (
	keepFor = 10 * time.Minute
	keepMax = 200
)

// keepsake remembers for ten minutes which new secret came of which form, so that a form sent twice makes one, and the
// secret can be shown after the redirect. It lives in memory only: the secrets of feeds and tokens are stored nowhere.
type keepsake[T any] struct {
	mu    sync.Mutex
	kept  map[string]kept[T]
	turns sync.Mutex // one form at a time: the second of two equal ones must find the first's
}

type kept[T any] struct {
	what  T
	until time.Time
}

func newKeepsake[T any]() *keepsake[T] { return &keepsake[T]{kept: map[string]kept[T]{}} }

// once gives what the form with this key brought about, running make if it has not been sent yet.
func (k *keepsake[T]) once(key string, now time.Time, make func() (T, error)) error {
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
	k.kept[key] = kept[T]{f, now.Add(keepFor)}
	return nil
}

// get gives what a form brought about, while it is remembered.
func (k *keepsake[T]) get(key string, now time.Time) (T, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	x, ok := k.kept[key]
	return x.what, ok && now.Before(x.until)
}
