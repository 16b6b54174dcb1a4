package store

import (
	"context"
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

	jobs      chan *job
	quit      context.Context
	stop      context.CancelFunc
	gone      chan struct{} // closed when the writer has ended
	lastBatch int           // the writer's own
	commits   atomic.Uint64
	closed    atomic.Bool

	// failAt is called at named points of a commit; tests make it fail there. nil otherwise.
	failAt func(point string) error
}

var (
	// ErrInUse is returned when another process holds the data file.
	ErrInUse = errors.New("data file is in use by another process")
	// ErrClosed is returned when a transaction is asked of a store that was closed.
	ErrClosed = errors.New("store is closed")
)

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
	db, err := openPresent(path, o, h)
	if err != nil {
		return nil, err
	}
	s := &Store{path: path, bolt: db, codec: c, jobs: make(chan *job, maxBatch), gone: make(chan struct{})}
	s.quit, s.stop = context.WithCancel(context.Background())
	go s.writeLoop(s.quit)
	return s, nil
}

// Path gives the data file's path.
func (s *Store) Path() string { return s.path }

// Commits counts the commits since Open. While it stands still, nothing that was read has changed.
func (s *Store) Commits() uint64 { return s.commits.Load() }

// Close ends the writer after the commit it is in, waits for open snapshots and releases the file. Changes
// that were not yet answered get ErrClosed and are not made.
func (s *Store) Close() error {
	if s.closed.Swap(true) {
		return nil
	}
	s.stop()
	<-s.gone
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
