// Package clockwork is the only room with a clock. It is handed plain jobs and decides when each of them gets
// to run; what is due inside a job is the job's own business. It knows no nouns and imports nothing of ours.
//
// The rule of the house: stored data decides, the timer only wakes. A job runs
//
//   - once at start (catch-up, in the order given),
//   - when its cron spec fires,
//   - at the time its last run returned,
//   - when somebody who wrote something kicks it,
//   - after a failure, with a growing pause,
//
// and the loop never sleeps longer than one tick, so that a laptop lid, a suspended machine or a corrected clock
// delays a job by a minute at most. A run that finds nothing to do must therefore be cheap, and a run too many
// must be harmless.
//
// Two runs of one job never overlap and start at least a second apart; wake-ups that come during a run are
// answered by exactly one more. Different jobs run side by side.
//
// Only the parser and the calendar of robfig/cron are used. Its runner is not: it skips a job in the hour that
// spring takes away, and its Recover and SkipIfStillRunning wrappers, in the wrong order, stop a job for ever
// after one panic.
package clockwork

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"time"
)

const (
	// minPause is the least time between two starts of one job. It turns a storm of kicks, or a job that keeps
	// asking for "now", into one run a second.
	minPause = time.Second
	// defaultTick bounds every sleep of the loop.
	defaultTick = time.Minute
	// staleTicks is how many ticks may be missing before Healthy complains.
	staleTicks = 3
	// cutGrace is how long Stop waits for jobs it has cancelled.
	cutGrace = 5 * time.Second
)

// Job is one thing that has to be done again and again.
type Job struct {
	// Name identifies the job in kicks, logs and metrics. Not empty, unique within a Clock.
	Name string
	// Spec is a cron spec as CheckSpec accepts it, or "" for a job that only start, kicks and its own answer wake.
	Spec string
	// Run does what is due at now (UTC, wall clock only) and returns when it wants to be woken next; the zero
	// time means "no wish". It must return soon after ctx is cancelled. With an error, next is ignored: the
	// back-off decides. A Run with more to do than one go should loop itself rather than return now.
	Run func(ctx context.Context, now time.Time) (next time.Time, err error)
}

// Options are what a Clock needs to know of the world.
type Options struct {
	// Zone is where cron specs are read; nil is UTC.
	Zone *time.Location
	// Log takes failures, panics and clock trouble; nil drops them.
	Log *slog.Logger
	// BuildDate is when the program was built; a clock before it is not believed. Zero: not checked.
	BuildDate time.Time
	// LastTick returns the last time SaveTick kept, zero if it never did. Called once, by Start. Nil: none kept.
	LastTick func() (time.Time, error)
	// SaveTick keeps the time of a tick. Called from the loop, once a tick, only with times that are believed.
	SaveTick func(time.Time) error
	// OnClock is told whenever the belief in the clock changes, before any job sees the new time. It must not
	// block and must not call the Clock. May be nil; see Clock.Suspicion too.
	OnClock func(Suspicion)
	// Tick is the longest the loop sleeps; zero is one minute.
	Tick time.Duration
	// Now is the wall clock; nil is time.Now.
	Now func() time.Time
}

// Clock runs jobs. Make it with New; it is safe for use by many goroutines.
type Clock struct {
	opts Options
	poke chan struct{} // wakes the loop early; holds one
	done chan struct{} // closed when the loop has ended
	idle chan struct{} // closed when the loop has ended and no job runs any more

	stopLoop, cutJobs context.CancelFunc
	jobCtx            context.Context // what jobs get; outlives the loop's until Stop loses patience

	tickMu sync.Mutex // serialises ticks with AcceptClock; taken before mu

	mu        sync.Mutex // guards all below and every field of jobs
	jobs      []*job
	started   bool
	stopping  bool
	active    int       // running jobs, plus one while the loop lives
	seen      time.Time // wall clock at the last turn of the loop
	beat      time.Time // the same with its monotonic part, for Healthy
	ticked    time.Time // last believed tick, kept or not
	saveErr   error     // why the last tick could not be kept
	suspicion Suspicion
}

// New checks jobs and specs and returns a Clock that stands still until Start.
func New(opts Options, jobs ...Job) (*Clock, error) {
	if opts.Zone == nil {
		opts.Zone = time.UTC
	}
	if opts.Log == nil {
		opts.Log = slog.New(slog.DiscardHandler)
	}
	if opts.Tick <= 0 {
		opts.Tick = defaultTick
	}
	if opts.Now == nil {
		opts.Now = time.Now
	}
	c := &Clock{
		opts: opts,
		poke: make(chan struct{}, 1),
		done: make(chan struct{}),
		idle: make(chan struct{}),
	}
	for _, j := range jobs {
		if j.Name == "" || j.Run == nil {
			return nil, fmt.Errorf("job %q: needs a name and a function", j.Name)
		}
		if c.find(j.Name) != nil {
			return nil, fmt.Errorf("job %q: given twice", j.Name)
		}
		s, err := parseOptional(j.Spec, opts.Zone)
		if err != nil {
			return nil, fmt.Errorf("job %q: %w", j.Name, err)
		}
		c.jobs = append(c.jobs, &job{Job: j, spec: s, first: true, kicked: true})
	}
	return c, nil
}

// Start reads the last tick, judges the clock and starts the loop; jobs begin at once. When ctx ends, the loop
// ends and running jobs are cancelled; Stop is the gentle way. A Clock starts once.
func (c *Clock) Start(ctx context.Context) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.started {
		return errors.New("start clockwork: it was started before")
	}
	if c.opts.LastTick != nil {
		last, err := c.opts.LastTick()
		if err != nil {
			return fmt.Errorf("start clockwork: read the last tick: %w", err)
		}
		c.ticked = wall(last)
	}
	c.started = true
	c.active = 1
	c.seen = wall(c.opts.Now())
	c.beat = c.opts.Now()
	for _, j := range c.jobs {
		j.cronAt = j.spec.next(c.seen)
	}
	var loopCtx context.Context
	c.jobCtx, c.cutJobs = context.WithCancel(ctx)
	loopCtx, c.stopLoop = context.WithCancel(ctx)
	go c.loop(loopCtx)
	return nil
}

// Stop wakes no more jobs and waits for those that run. When ctx ends first they are cancelled and waited for a
// little longer; the error names every job that was cut short. Stopping a Clock that never started does nothing.
func (c *Clock) Stop(ctx context.Context) error {
	c.mu.Lock()
	if !c.started {
		c.mu.Unlock()
		return nil
	}
	c.stopping = true
	c.mu.Unlock()
	c.stopLoop()
	defer c.cutJobs()
	select {
	case <-c.idle:
		return nil
	case <-ctx.Done():
	}
	cut := c.running()
	c.cutJobs()
	grace := time.NewTimer(cutGrace)
	defer grace.Stop()
	select {
	case <-c.idle:
		if len(cut) == 0 {
			return nil
		}
		return fmt.Errorf("stop clockwork: cut short %s: %w", strings.Join(cut, ", "), ctx.Err())
	case <-grace.C:
		return fmt.Errorf("stop clockwork: still running %s after %v of grace (a tick being kept, or a job that ignores its context): %w",
			strings.Join(c.running(), ", "), cutGrace, ctx.Err())
	}
}

// Kick asks for a run of the named job now, because somebody wrote something it should see. During a run, or within
// a second of its start, the kick is remembered; during the back-off of a failing job it waits for the retry.
// It never blocks and reports whether there is such a job in a Clock that is not stopping.
func (c *Clock) Kick(name string) bool {
	c.mu.Lock()
	j := c.find(name)
	ok := j != nil && !c.stopping
	if ok {
		j.kicked = true
	}
	c.mu.Unlock()
	if ok {
		c.nudge()
	}
	return ok
}

// Respec gives the named job another cron spec ("" for none), as after a reload of the settings.
func (c *Clock) Respec(name, spec string) error {
	s, err := parseOptional(spec, c.opts.Zone)
	if err != nil {
		return fmt.Errorf("job %q: %w", name, err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	j := c.find(name)
	if j == nil {
		return fmt.Errorf("job %q: no such job", name)
	}
	j.Spec, j.spec = spec, s
	j.cronAt = s.next(wall(c.opts.Now()))
	c.nudge()
	return nil
}

// loop is the one goroutine that decides; it sleeps until something is due, something pokes it, or a tick is over.
func (c *Clock) loop(ctx context.Context) {
	defer close(c.done)
	defer c.leave()
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-timer.C:
		case <-c.poke:
		}
		if ctx.Err() != nil {
			return
		}
		now := c.look()
		timer.Reset(c.dispatch(now))
	}
}

// dispatch starts every job that may run at now and returns how long nothing else will be due, one tick at most.
func (c *Clock) dispatch(now time.Time) time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	wait := c.opts.Tick
	if c.stopping {
		return wait
	}
	inLine := false // an earlier job is still at its first run: catch-up keeps the order
	for _, j := range c.jobs {
		if j.first && inLine {
			continue
		}
		at := j.wake()
		if !at.IsZero() && !j.running && !at.After(now) {
			c.begin(j, now)
		} else if !at.IsZero() && !j.running {
			wait = min(wait, at.Sub(now))
		}
		// A first run that takes longer than a tick must not keep the others from theirs.
		if j.first && j.running && now.Sub(j.started) < c.opts.Tick {
			inLine = true
		}
	}
	return wait
}

// leave counts one goroutine out; the last one to leave a Clock that stops closes idle.
func (c *Clock) leave() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.active--
	if c.active == 0 {
		close(c.idle)
	}
}

// nudge wakes the loop; a wake-up already waiting is enough.
func (c *Clock) nudge() {
	select {
	case c.poke <- struct{}{}:
	default:
	}
}

func (c *Clock) find(name string) *job {
	for _, j := range c.jobs {
		if j.Name == name {
			return j
		}
	}
	return nil
}

func (c *Clock) running() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	var names []string
	for _, j := range c.jobs {
		if j.running {
			names = append(names, j.Name)
		}
	}
	return names
}

// wall strips the monotonic reading: decisions are made on the wall clock, because the monotonic one
// stands still while a machine sleeps.
func wall(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Round(0).UTC()
}
