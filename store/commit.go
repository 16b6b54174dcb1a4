package store

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"ventdue/vent"
)

// maxBatch is how many callers share one commit at most.
const maxBatch = 256

// job is one caller's change on its way to the writer.
type job struct {
	stamp Stamp
	ids   idSource
	f     func(*Tx) error
	bulk  bool
	err   error // what f said when it was last run
	done  chan error
}

// View runs f on a snapshot. It holds no lock that a writer waits for, but an open snapshot keeps the file from
// reusing space, and from growing in great steps: f does its reading and returns, and neither calls Update nor waits
// for somebody who does.
func (s *Store) View(f func(*Tx) error) error {
	if s.closed.Load() {
		return ErrClosed
	}
	err := s.bolt.View(func(b *bbolt.Tx) error {
		return f(&Tx{bolt: b, codec: s.codec})
	})
	if errors.Is(err, bolterrors.ErrDatabaseNotOpen) {
		return ErrClosed
	}
	return err
}

// Update runs f in a transaction that is on disk when Update returns nil, and leaves no trace when it returns an
// error or panics. Concurrent callers share a commit; f may therefore be run more than once, on another
// goroutine, and must not act on anything but its Tx and its own results, which it sets anew each time.
func (s *Store) Update(st Stamp, f func(*Tx) error) error { return s.submit(st, f, false) }

// Bulk is Update for a change that writes many records in one go: pages are packed densely.
func (s *Store) Bulk(st Stamp, f func(*Tx) error) error { return s.submit(st, f, true) }

func (s *Store) submit(st Stamp, f func(*Tx) error, bulk bool) error {
	switch {
	case s.bolt.IsReadOnly():
		return fmt.Errorf("change %s: it was opened for reading only", s.path)
	case st.Now.IsZero():
		return errors.New("change: the stamp says no time")
	}
	j := &job{stamp: st, ids: newIDSource(st.Now), f: f, bulk: bulk, done: make(chan error, 1)}
	select {
	case s.jobs <- j:
	case <-s.quit.Done():
		return ErrClosed
	}
	select {
	case err := <-j.done:
		return err
	case <-s.gone:
		// The writer may have answered in its last act.
		select {
		case err := <-j.done:
			return err
		default:
			return ErrClosed
		}
	}
}

// writeLoop is the only goroutine that writes. It takes what callers are waiting with and commits it together.
func (s *Store) writeLoop(quit context.Context) {
	defer close(s.gone)
	for {
		select {
		case <-quit.Done():
			return
		case j := <-s.jobs:
			s.commit(s.gather(j))
		}
	}
}

// gather adds to the first job those that are waiting already. Callers who were answered by the last commit are
// given a moment to come back: without it they would share only every second commit.
func (s *Store) gather(first *job) []*job {
	batch := []*job{first}
	for idle := 0; len(batch) < maxBatch && idle < s.patience(); {
		select {
		case j := <-s.jobs:
			batch, idle = append(batch, j), 0
		default:
			idle++
			runtime.Gosched()
		}
	}
	s.lastBatch = len(batch)
	return batch
}

// patience is how many scheduler turns to wait for another caller: none after a lone one.
func (s *Store) patience() int {
	if s.lastBatch <= 1 {
		return 1
	}
	return 64
}

// commit runs the jobs in one bbolt transaction and answers them. A job that is refused after some of its writes
// were handed to bbolt forces a second run without it, since bbolt cannot undo a part; others just wrote nothing.
//
// Invariant: nobody is answered before the commit is on disk, neither those whose writes it holds nor those who
// were refused because of what they saw of these.
func (s *Store) commit(batch []*job) {
	for live := batch; ; {
		spoiler, err := s.tryCommit(live)
		if spoiler < 0 {
			for _, j := range batch {
				if err != nil {
					j.err = err
				}
				j.done <- j.err
			}
			return
		}
		live = slices.Delete(slices.Clone(live), spoiler, spoiler+1)
	}
}

// tryCommit gives the place of the job that has to be left out, or -1 and the result of the commit.
func (s *Store) tryCommit(live []*job) (spoiler int, err error) {
	b, err := s.bolt.Begin(true)
	if err != nil {
		return -1, fmt.Errorf("begin transaction in %s: %w", s.path, err)
	}
	defer b.Rollback() // does nothing after a commit
	wrote := false
	for i, j := range live {
		tx := &Tx{bolt: b, codec: s.codec, write: true, bulk: j.bulk, ids: j.ids,
			now: vent.InstantOf(j.stamp.Now), actor: j.stamp.Actor}
		if j.err = runJob(tx, j.f); j.err != nil && tx.flushed {
			return i, nil
		}
		wrote = wrote || tx.flushed
	}
	if !wrote {
		return -1, nil
	}
	if err := s.fault("before commit"); err != nil {
		return -1, err
	}
	if err := b.Commit(); err != nil {
		return -1, fmt.Errorf("commit to %s: %w", s.path, err)
	}
	s.commits.Add(1)
	return -1, s.fault("after commit")
}

// runJob runs f and hands its writes over; a panic becomes the caller's error, so that one bad change cannot
// take the writer down.
func runJob(tx *Tx, f func(*Tx) error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("transaction by %s panicked: %v\n%s", tx.actor, r, debug.Stack())
		}
	}()
	if err := f(tx); err != nil {
		return err
	}
	return tx.flush()
}
