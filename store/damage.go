package store

import (
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"
)

// ErrDamaged is returned when the data file's pages contradict each other or cannot be read. Nothing is written to such a
// file any more; what is still whole can be read.
var ErrDamaged = errors.New("the data file is damaged: restore a backup with `ventdue restore`")

// Damaged gives what was found wrong with the file's pages since Open, as an ErrDamaged; nil when nothing was.
func (s *Store) Damaged() error {
	if err := s.damage.Load(); err != nil {
		return *err
	}
	return nil
}

// harm remembers the first damage and gives it.
func (s *Store) harm(what any) error {
	err := damaged(s.path, what)
	s.damage.CompareAndSwap(nil, &err)
	return s.Damaged()
}

func damaged(path string, what any) error { return fmt.Errorf("%s: %w (%v)", path, ErrDamaged, what) }

// guard runs f and turns a panic that damaged pages cause into an ErrDamaged that the store remembers. A panic of the
// caller's own goes on.
func (s *Store) guard(f func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if r := recover(); r != nil {
			if !isDamage(r) {
				panic(r)
			}
			err = s.harm(r)
		}
	}()
	return f()
}

// isDamage tells from a deferred function whether the panic r comes of the file: bbolt's own code gave up, or a page was
// read that the file does not have.
func isDamage(r any) bool {
	if _, fault := r.(interface{ Addr() uintptr }); fault {
		return true // at an address that is not nil: only the mapped file is read without bounds
	}
	pc := make([]uintptr, 64)
	frames := runtime.CallersFrames(pc[:runtime.Callers(1, pc)])
	for panicked := false; ; {
		f, more := frames.Next()
		switch inRuntime := strings.HasPrefix(f.Function, "runtime."); {
		case f.Function == "runtime.gopanic":
			panicked = true
		case panicked && !inRuntime:
			return strings.HasPrefix(f.Function, "go.etcd.io/bbolt")
		}
		if !more {
			return false
		}
	}
}
