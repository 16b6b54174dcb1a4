package clockwork

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime/debug"
	"time"
)

const (
	firstBackoff = 5 * time.Second
	maxBackoff   = 10 * time.Minute
	// loudAfter is how many failures in a row make a warning an error that somebody must look at.
	loudAfter = 3
)

// job is a Job with its state; the Clock's mutex guards it.
type job struct {
	Job
	spec *schedule

	first   bool      // has not finished a run yet
	running bool      // a run is under way
	kicked  bool      // a wake-up that no run has answered yet
	cronAt  time.Time // next firing of the spec, zero if none
	nextAt  time.Time // what the last run asked for, zero if nothing
	hold    time.Time // not to start before: the pause between runs, or the back-off
	started time.Time // start of the last run

	ended, succeeded, failed time.Time
	lastErr                  error
	failures                 int // in a row
	runs, errs, panics       uint64
}

// wake returns when the job is to run next: the earliest of its wake-ups, but not before hold. Zero: nothing wakes it.
func (j *job) wake() time.Time {
	at := j.cronAt
	if !j.nextAt.IsZero() && (at.IsZero() || j.nextAt.Before(at)) {
		at = j.nextAt
	}
	if j.kicked {
		at = time.Unix(0, 0) // long ago: at once
	}
	if !at.IsZero() && at.Before(j.hold) {
		at = j.hold
	}
	return at
}

// begin starts a run. Every wake-up up to now is answered by it; later ones are not. The caller holds c.mu.
func (c *Clock) begin(j *job, now time.Time) {
	j.running = true
	j.kicked = false
	j.nextAt = time.Time{}
	if !j.cronAt.IsZero() && !j.cronAt.After(now) {
		j.cronAt = j.spec.next(now)
	}
	j.started = now
	j.hold = now.Add(minPause)
	j.runs++
	c.active++
	go c.run(j, now)
}

// panicked is the error of a run that panicked.
type panicked struct {
	value any
	stack []byte
}

func (p panicked) Error() string { return fmt.Sprintf("panic: %v", p.value) }

// run calls the job and sees that its end is noted however it ends: return, panic or runtime.Goexit.
func (c *Clock) run(j *job, now time.Time) {
	defer c.leave()
	var next time.Time
	err := errors.New("the job ended its goroutine instead of returning")
	defer func() {
		if v := recover(); v != nil {
			err = panicked{v, debug.Stack()}
		}
		c.finish(j, next, err)
	}()
	next, err = j.Run(c.jobCtx, now)
}

// finish notes the end of a run and when the job may run again.
func (c *Clock) finish(j *job, next time.Time, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	defer c.nudge()
	now := wall(c.opts.Now())
	j.running = false
	j.ended = now
	switch {
	case err == nil:
		if j.failures > 0 {
			c.opts.Log.Info("job works again", "job", j.Name, "failures", j.failures)
		}
		j.first = false
		j.succeeded = now
		j.lastErr = nil
		j.failures = 0
		j.nextAt = wall(next)
	case c.jobCtx.Err() != nil && errors.Is(err, context.Canceled):
		// Cut short by a stop: not the job's fault, and it will catch up at the next start.
	default:
		j.first = false
		c.fail(j, now, err)
	}
}

// fail counts a failure, says so, and puts the next try off. The caller holds c.mu.
func (c *Clock) fail(j *job, now time.Time, err error) {
	j.failed = now
	j.lastErr = err
	j.failures++
	j.errs++
	pause := backoff(j.failures)
	j.kicked = true
	j.hold = now.Add(pause)
	log := c.opts.Log.With("job", j.Name, "err", err, "failures", j.failures, "retry_in", pause.Round(time.Second))
	var p panicked
	switch {
	case errors.As(err, &p):
		j.panics++
		log.Error("job panicked", "stack", string(p.stack))
	case j.failures >= loudAfter:
		log.Error("job keeps failing")
	default:
		log.Warn("job failed")
	}
}

// backoff is the pause after the nth failure in a row: 5 s doubled each time up to 10 min, of which a random half is
// taken off so that jobs that failed together do not all come back together.
func backoff(n int) time.Duration {
	d := maxBackoff
	if n < 8 { // 5 s * 2^7 is past the cap
		d = min(firstBackoff<<(n-1), maxBackoff)
	}
	return d/2 + rand.N(d/2)
}
