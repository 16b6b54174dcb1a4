package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// Store is one open data file.
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
func Open(path string, o Options) (*Store, error) {
	if o.LockWait == 0 {
		o.LockWait = 2 * time.Second
	}
	if !o.ReadOnly {
		if err := create(path); err != nil {
			return nil, err
		}
	}
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{
		Timeout: o.LockWait, ReadOnly: o.ReadOnly, NoSync: o.NoSync,
		FreelistType: bbolt.FreelistMapType,
		// Room to grow before the file must be mapped anew: a mapping waits for open snapshots.
		InitialMmapSize: 64 << 20,
	})
	if err != nil {
		return nil, openError(path, err)
	}
	if db, err = upgrade(path, db, o); err != nil {
		return nil, err
	}
	c, err := newCodec()
	if err != nil {
		_ = db.Close()
		return nil, err
	}
	s := &Store{path: path, bolt: db, codec: c, jobs: make(chan *job), gone: make(chan struct{})}
	s.quit, s.stop = context.WithCancel(context.Background())
	go s.writeLoop(s.quit)
	return s, nil
}

// Path gives the data file's path.
func (s *Store) Path() string { return s.path }

// Commits counts the commits since Open. While it stands still, nothing that was read has changed.
func (s *Store) Commits() uint64 { return s.commits.Load() }

// Close ends the writer after the commit it is in and releases the file.
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

// create makes the first file complete under another name and links it into place, so that a file that is
// there has all its buckets, and two processes that start at once make one file.
func create(path string) error {
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make data folder %s: %w", dir, err)
	}
	f, err := os.CreateTemp(dir, ".new-*.db")
	if err != nil {
		return fmt.Errorf("make data file in %s: %w; is the folder writable?", dir, err)
	}
	temp := f.Name()
	defer os.Remove(temp)
	if err := f.Close(); err != nil {
		return err
	}
	if err := initFile(temp); err != nil {
		return fmt.Errorf("make data file %s: %w", path, err)
	}
	if err := os.Link(temp, path); err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("make data file %s: %w", path, err)
	}
	return syncDir(dir)
}

func initFile(path string) error {
	db, err := bbolt.Open(path, 0o600, nil)
	if err != nil {
		return err
	}
	if err := db.Update(func(tx *bbolt.Tx) error {
		if err := makeBuckets(tx); err != nil {
			return err
		}
		return setLayout(tx, layout)
	}); err != nil {
		_ = db.Close()
		return err
	}
	return db.Close()
}

// syncDir makes a rename or a new name in dir survive a power cut.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync folder %s: %w", dir, err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("sync folder %s: %w", dir, err)
	}
	return nil
}

func openError(path string, err error) error {
	switch {
	case errors.Is(err, bolterrors.ErrTimeout):
		return fmt.Errorf("open %s: %w: a running daemon answers commands through its socket; "+
			"stop the other process or give another --data folder", path, ErrInUse)
	case errors.Is(err, bolterrors.ErrInvalid), errors.Is(err, bolterrors.ErrChecksum):
		return fmt.Errorf("open %s: it is not a Ventdue data file, or it is damaged: %w; restore a backup with `ventdue restore`", path, err)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("open %s: %w: run as the user that owns the file", path, err)
	}
	return fmt.Errorf("open %s: %w", path, err)
}
