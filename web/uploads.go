package web

import (
	"sync"
	"time"

	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/vent"
)

const (
	uploadFor   = time.Hour
	uploadsMax  = 8
	uploadsHold = 96 << 20 // bytes of all files together
)

// broughtFile is a file that somebody brought to be imported, with what was put right since. It lives in memory for an hour:
// nothing of it is stored before it is taken.
type broughtFile struct {
	name   string
	data   []byte // nil once it is taken
	units  vent.UnitSystem
	ignore bool // pass over unknown columns
	mends  []intake.Mend
	report desk.ImportReport
	by     string // whoever brought it
	until  time.Time
}

// uploads remembers files between the pages of an import.
type uploads struct {
	mu   sync.Mutex
	kept map[string]broughtFile
}

func newUploads() *uploads { return &uploads{kept: map[string]broughtFile{}} }

// keep remembers a file under a key, and forgets those that are old, or the oldest where there are too many.
func (u *uploads) keep(key string, x broughtFile, now time.Time) {
	u.mu.Lock()
	defer u.mu.Unlock()
	x.until = now.Add(uploadFor)
	u.kept[key] = x
	for {
		oldest, held := "", 0
		for k, x := range u.kept {
			if now.After(x.until) {
				delete(u.kept, k)
				continue
			}
			held += len(x.data)
			if k != key && (oldest == "" || x.until.Before(u.kept[oldest].until)) {
				oldest = k
			}
		}
		if oldest == "" || len(u.kept) <= uploadsMax && held <= uploadsHold {
			return
		}
		delete(u.kept, oldest)
	}
}

// get gives a file while it is remembered.
func (u *uploads) get(key string, now time.Time) (broughtFile, bool) {
	u.mu.Lock()
	defer u.mu.Unlock()
	x, ok := u.kept[key]
	return x, ok && !now.After(x.until)
}

// drop forgets a file.
func (u *uploads) drop(key string) {
	u.mu.Lock()
	defer u.mu.Unlock()
	delete(u.kept, key)
}
