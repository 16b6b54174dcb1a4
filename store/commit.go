package store

import (
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"

	"ventdue/vent"
)

// maxBatch is how many callers share one commit at most.
const maxBatch = 256

// ErrClosed is returned when a transaction is asked of a store that was closed.
var ErrClosed = errors.New("store is closed")

// job is one caller's change on its way to the disk.
type job struct {
	stamp Stamp
	ids   idSource
	f     func(*Tx) error
	bulk  bool
	err   error // what f said when it was last run, then the answer
	// turn is sent to once: false when the job is answered, true when its caller has to lead the next commit.
	turn chan bool
}

// queue holds the jobs that wait for the next commit. One of their callers, the leader, makes it for all; so a caller
// alone commits at once, on its own goroutine, and there is no other.
type queue struct {
	mu        sync.Mutex
	waiting   []*job
	led       bool // somebody leads
	closed    bool
	idle      sync.Cond // told when nobody leads any more
	lastBatch int       // the leader's own
}

// View runs f on a snapshot. It holds no lock that a writer waits for, but an open snapshot keeps the file from
// reusing space, and from growing in great steps: f does its reading and returns, and neither calls Update nor waits
// for somebody who does.
func (s *Store) View(f func(*Tx) error) error {
	err := s.view(func(b *bbolt.Tx) error { return f(&Tx{bolt: b, codec: s.codec}) })
	if errors.Is(err, bolterrors.ErrDatabaseNotOpen) {
		return ErrClosed
	}
	return err
}

func (s *Store) view(f func(*bbolt.Tx) error) error {
	if s.stuck.Load() {
		return s.Damaged()
	}
	holds := true
	err := s.guard(func() error {
		b, err := s.bolt.Begin(false)
		if holds = false; err != nil {
			return err
		}
		defer b.Rollback()
		return f(b)
	})
	if holds {
		s.stuck.Store(true)
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
	j := &job{stamp: st, ids: newIDSource(st.Now), f: f, bulk: bulk, turn: make(chan bool, 1)}
	lead, err := s.queue.join(j)
	if err != nil {
		return err
	}
	if lead || <-j.turn {
		s.lead()
	}
	return j.err
}

// join adds a job; its caller leads where nobody does.
func (q *queue) join(j *job) (lead bool, err error) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.closed {
		return false, ErrClosed
	}
	q.waiting = append(q.waiting, j)
	lead, q.led = !q.led, true
	return lead, nil
}

// close refuses further jobs and waits until those that were taken are answered.
func (q *queue) close() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.closed = true
	for q.led {
		q.idle.Wait()
	}
}

// lead makes one commit for all who wait, the leader first among them, and hands the lead on.
func (s *Store) lead() {
	batch := s.queue.gather()
	// Deferred, so that a function which ends its goroutine (a test's Fatal) does not leave the others waiting.
	defer s.queue.handOn()
	defer func() {
		for _, j := range batch[1:] {
			j.turn <- false
		}
	}()
	s.commit(batch)
}

// gather takes the jobs that wait. Callers who were answered by the last commit are given a moment to come back:
// without it they would share only every second commit.
func (q *queue) gather() (batch []*job) {
	for idle, n := 0, 0; idle < patience(q.lastBatch); {
		runtime.Gosched()
		q.mu.Lock()
		now := len(q.waiting)
		q.mu.Unlock()
		if now >= maxBatch {
			break
		}
		if idle++; now > n {
			n, idle = now, 0
		}
	}
	q.mu.Lock()
	defer q.mu.Unlock()
	n := min(len(q.waiting), maxBatch)
	batch = slices.Clone(q.waiting[:n])
	q.waiting = slices.Delete(q.waiting, 0, n)
	q.lastBatch = n
	return batch
}

// patience is how many scheduler turns to wait for another caller: none after a lone one.
func patience(lastBatch int) int {
	if lastBatch <= 1 {
		return 0
	}
	return 64
}

// handOn gives the lead to the first who waits.
func (q *queue) handOn() {
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.waiting) > 0 {
		q.waiting[0].turn <- true
		return
	}
	q.led = false
	q.idle.Broadcast()
}

// commit runs the jobs in one bbolt transaction and answers them. A job that is refused after some of its writes
// were handed to bbolt forces a second run without it, since bbolt cannot undo a part; others just wrote nothing.
//
// Invariant: nobody is answered before the commit is on disk, neither those whose writes it holds nor those who
// were refused because of what they saw of these.
func (s *Store) commit(batch []*job) {
	for _, j := range batch {
		j.err = errUnfinished
	}
	for live := batch; ; {
		spoiler, err := s.tryCommit(live)
		if spoiler < 0 {
			for _, j := range batch {
				if err != nil {
					j.err = err
				}
			}
			return
		}
		live = slices.Delete(slices.Clone(live), spoiler, spoiler+1)
	}
}

var errUnfinished = errors.New("the goroutine that made the commit ended in the middle of it")

// tryCommit gives the place of the job that has to be left out, or -1 and the result of the commit. A damaged file is
// not written to.
func (s *Store) tryCommit(live []*job) (spoiler int, err error) {
	if err := s.Damaged(); err != nil {
		return -1, err
	}
	spoiler, holds := -1, true
	err = s.guard(func() error {
		b, err := s.bolt.Begin(true)
		if err != nil {
			holds = false
			return fmt.Errorf("begin transaction in %s: %w", s.path, err)
		}
		defer func() {
			_ = b.Rollback() // does nothing after a commit
			holds = false
		}()
		spoiler, err = s.commitIn(b, live)
		return err
	})
	if holds {
		s.stuck.Store(true)
	}
	return spoiler, err
}

func (s *Store) commitIn(b *bbolt.Tx, live []*job) (spoiler int, err error) {
	wrote, renamed := false, false
	for i, j := range live {
		tx := &Tx{bolt: b, codec: s.codec, write: true, bulk: j.bulk, ids: j.ids,
			now: vent.InstantOf(j.stamp.Now), actor: j.stamp.Actor}
		if j.err = s.runJob(tx, j.f); j.err != nil && tx.flushed {
			return i, nil
		}
		if err := s.Damaged(); err != nil {
			return -1, err
		}
		wrote, renamed = wrote || tx.flushed, renamed || tx.renamed
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
	if renamed {
		s.renames.Add(1)
	}
	return -1, s.fault("after commit")
}

// runJob runs f and hands its writes over; a panic becomes the caller's error, so that one bad change cannot
// take those who share its commit down.
func (s *Store) runJob(tx *Tx, f func(*Tx) error) (err error) {
	defer func() {
		switch r := recover(); {
		case r == nil:
		case isDamage(r):
			err = s.harm(r)
		default:
			err = fmt.Errorf("transaction by %s panicked: %v\n%s", tx.actor, r, debug.Stack())
		}
	}()
	if err := f(tx); err != nil {
		return err
	}
	return tx.flush()
}
