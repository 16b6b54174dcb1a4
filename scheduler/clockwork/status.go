package clockwork

import (
	"errors"
	"fmt"
	"time"
)

// JobStatus is what can be told of one job, for metrics, health and the operator. Times are UTC, zero if it never happened.
type JobStatus struct {
	Name string
	Spec string
	// Running is whether a run is under way since LastStart.
	Running bool
	// LastStart and LastEnd are of the last run; LastEnd is before LastStart while Running.
	LastStart, LastEnd time.Time
	LastSuccess        time.Time
	LastFailure        time.Time
	// LastError is the error of the last run, nil if it went well.
	LastError error
	// Failures counts the failures since the last success.
	Failures int
	// Next is when the job will be woken at the latest; zero if only a kick would.
	Next time.Time
	// Runs, Errors and Panics are totals since the Clock was made; a panic is an error too.
	Runs, Errors, Panics uint64
}

// Status is what can be told of the Clock at one moment.
type Status struct {
	// LastTick is the last tick that was believed.
	LastTick time.Time
	// Suspicion is why the clock is not believed, if so.
	Suspicion Suspicion
	// Jobs are in the order given to New.
	Jobs []JobStatus
}

// Status returns the state of all jobs.
func (c *Clock) Status() Status {
	c.mu.Lock()
	defer c.mu.Unlock()
	s := Status{LastTick: c.ticked, Suspicion: c.suspicion}
	for _, j := range c.jobs {
		s.Jobs = append(s.Jobs, j.status(c.seen))
	}
	return s
}

func (j *job) status(now time.Time) JobStatus {
	next := j.wake()
	if !next.IsZero() && next.Before(now) {
		next = now
	}
	return JobStatus{
		Name: j.Name, Spec: j.Spec,
		Running:   j.running,
		LastStart: j.started, LastEnd: j.ended,
		LastSuccess: j.succeeded, LastFailure: j.failed,
		LastError: j.lastErr, Failures: j.failures,
		Next: next,
		Runs: j.runs, Errors: j.errs, Panics: j.panics,
	}
}

// Healthy returns nil if the loop turns and its ticks are kept, else why not. It is what a watchdog should ask: failing
// jobs and a doubted clock are told by Status, because a restart would mend neither. Hand in an
// unaltered time.Now() and a machine that slept is not taken for a loop that hung.
func (c *Clock) Healthy(now time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case !c.started:
		return errors.New("clockwork has not been started")
	case c.stopping || c.loopEnded():
		return errors.New("clockwork has been stopped")
	case now.Sub(c.beat) > staleTicks*c.opts.Tick:
		return fmt.Errorf("clockwork stands still: last turn %s, expected every %v; restart the service",
			stamp(c.beat), c.opts.Tick)
	case c.saveErr != nil:
		return fmt.Errorf("clockwork cannot keep its ticks (disk full or failing?): %w", c.saveErr)
	}
	return nil
}

func (c *Clock) loopEnded() bool {
	select {
	case <-c.done:
		return true
	default:
		return false
	}
}
