package store

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"go.etcd.io/bbolt"
)

// Store is one open data file. It is safe for use by many goroutines.
type Store struct {
	path  string
	bolt  *bbolt.DB
	codec codec

	queue   queue
	commits atomic.Uint64
	renames atomic.Uint64

	damage atomic.Pointer[error] // what was found wrong with the pages; nil: nothing
	stuck  atomic.Bool           // damage ended bbolt while it held locks that nobody can release

	// failAt is called at named points of a commit; tests make it fail there. nil otherwise.
	failAt func(point string) error
}

// ErrInUse is returned when another process holds the data file.
var ErrInUse = errors.New("data file is in use by another process")

// Options are the choices of Open.
type Options struct {
	// LockWait is how long to wait for another process to let go of the file; 0 takes two seconds.
	LockWait time.Duration
	// ReadOnly opens an existing file without changing it; an older layout is refused.
	ReadOnly bool
	// NoSync leaves commits to the operating system. Only for data that may be lost, such as a demo's.
	NoSync bool
}

// Open opens the data file, makes it where it is missing, and brings an older layout up to date. Only one process can
// hold it; the second gets ErrInUse. A file of a newer layout is refused with ErrNewer.
func Open(path string, o Options) (*Store, error) { return open(path, o, present()) }

func open(path string, o Options, h history) (*Store, error) {
	if o.LockWait == 0 {
		o.LockWait = 2 * time.Second
	}
	if !o.ReadOnly {
		if err := create(path, h); err != nil {
			return nil, err
		}
	}
	c, err := newCodec()
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	s := &Store{path: path, codec: c}
	s.queue.idle.L = &s.queue.mu
	var db *bbolt.DB
	if err := s.guard(func() (err error) { db, err = openPresent(path, o, h); return err }); err != nil {
		return nil, err
	}
	s.bolt = db
	return s, nil
}

// Path gives the data file's path.
func (s *Store) Path() string { return s.path }

// Commits counts the commits since Open. While it stands still, nothing that was read has changed.
func (s *Store) Commits() uint64 { return s.commits.Load() }

// Renames counts the commits since Open that touched a table by whose names people find things: persons, customers, sites,
// units, appliances, runs. Whoever keeps something worked out from them asks for it before reading.
func (s *Store) Renames() uint64 { return s.renames.Load() }

// Close refuses further changes, waits for those under way and for open snapshots, and releases the file.
func (s *Store) Close() error {
	s.queue.close()
	if s.stuck.Load() {
		return s.Damaged() // the process's end releases the file
	}
	if err := s.bolt.Close(); err != nil {
		return fmt.Errorf("close %s: %w", s.path, err)
	}
	return nil
}

func (s *Store) fault(point string) error {
	if s.failAt == nil {
		return nil
	}
	return s.failAt(point)
}
