package clockwork

import (
	"bytes"
	"context"
	"log/slog"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// rig stands for the world around a Clock: a wall clock that can be set, and the kept tick.
type rig struct {
	t *testing.T

	mu     sync.Mutex
	offset time.Duration // how far the wall clock is from the bubble's
	tick   time.Time
	saves  int
	log    bytes.Buffer
}

func (r *rig) Write(p []byte) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.log.Write(p)
}

func (r *rig) logged() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.log.String()
}

func (r *rig) now() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	// A real wall clock can be set without the monotonic one moving: strip the latter.
	return time.Now().Round(0).Add(r.offset)
}

func (r *rig) setClock(to time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.offset = to.Sub(time.Now().Round(0))
}

func (r *rig) lastTick() (time.Time, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.tick, nil
}

func (r *rig) saveTick(now time.Time) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.tick = now
	r.saves++
	return nil
}

func (r *rig) options() Options {
	return Options{
		Now: r.now, LastTick: r.lastTick, SaveTick: r.saveTick,
		Log: slog.New(slog.NewTextHandler(r, nil)),
	}
}

// start makes and starts a Clock that the end of the test stops.
func (r *rig) start(o Options, jobs ...Job) *Clock {
	r.t.Helper()
	c, err := New(o, jobs...)
	if err != nil {
		r.t.Fatal(err)
	}
	if err := c.Start(context.Background()); err != nil {
		r.t.Fatal(err)
	}
	return c
}

func (r *rig) stop(c *Clock) {
	r.t.Helper()
	if err := c.Stop(context.Background()); err != nil {
		r.t.Error(err)
	}
}

// bubble runs f on fake time.
func bubble(t *testing.T, f func(r *rig)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) { f(&rig{t: t}) })
}

// counter is a job that notes when it ran.
type counter struct {
	mu    sync.Mutex
	times []time.Time
	does  func(ctx context.Context, now time.Time) (time.Time, error)
}

func (k *counter) job(name, spec string) Job {
	return Job{Name: name, Spec: spec, Run: func(ctx context.Context, now time.Time) (time.Time, error) {
		k.mu.Lock()
		k.times = append(k.times, now)
		k.mu.Unlock()
		if k.does != nil {
			return k.does(ctx, now)
		}
		return time.Time{}, nil
	}}
}

func (k *counter) ran() []time.Time {
	k.mu.Lock()
	defer k.mu.Unlock()
	return append([]time.Time(nil), k.times...)
}

// want fails unless the job ran n times so far.
func (r *rig) want(k *counter, n int, why string) {
	r.t.Helper()
	synctest.Wait()
	if got := len(k.ran()); got != n {
		r.t.Fatalf("%s: ran %d times, want %d", why, got, n)
	}
}
