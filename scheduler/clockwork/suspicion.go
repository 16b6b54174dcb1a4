package clockwork

import (
	"fmt"
	"time"
)

// farAhead is how much time may have passed since the last tick before the clock is doubted rather than
// the absence believed. A laptop that slept for weeks, or a service off for a year, is no fault.
const farAhead = 400 * 24 * time.Hour

// Suspicion says why the clock is not believed. While it lasts, jobs still run, but what cannot be taken back
// (sending above all) should pause, visibly. It ends by itself when the clock is right again.
type Suspicion struct {
	// Reason is a sentence for the operator, with what to do; "" means that the clock is believed.
	Reason string
	// Since is when the doubt began, by the doubted clock.
	Since time.Time
}

// Suspicious reports whether the clock is not believed.
func (s Suspicion) Suspicious() bool { return s.Reason != "" }

// Suspicion returns whether, and why, the clock is not believed at present.
func (c *Clock) Suspicion() Suspicion {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.suspicion
}

// AcceptClock takes the clock as it is from now on: the operator says that it is right and the kept tick is not, as after
// more than 400 days off, or after a day with a clock that ran ahead. It keeps the new tick at once. It refuses
// a clock that stands before the build date: that one is wrong for certain.
func (c *Clock) AcceptClock() error {
	c.tickMu.Lock()
	defer c.tickMu.Unlock()
	now := wall(c.opts.Now())
	if reason := doubt(now, time.Time{}, c.opts.BuildDate); reason != "" {
		return fmt.Errorf("accept the clock: %s", reason)
	}
	if err := c.keep(now); err != nil {
		return fmt.Errorf("accept the clock: keep the tick: %w", err)
	}
	c.nudge()
	return nil
}

// doubt returns why now cannot be right, given the last believed tick and the build date (either may be zero), or "".
func doubt(now, last, build time.Time) string {
	switch {
	case now.Before(build):
		return fmt.Sprintf("the clock says %s, but this program was built on %s; set the clock",
			stamp(now), stamp(build))
	case last.IsZero():
		return ""
	case now.Before(last):
		return fmt.Sprintf("the clock says %s, which is before %s when it was last read; set the clock, or accept it if it is right now",
			stamp(now), stamp(last))
	case now.Sub(last) > farAhead:
		return fmt.Sprintf("the clock says %s, more than 400 days after %s when it was last read; set the clock, or accept it if it is right",
			stamp(now), stamp(last))
	}
	return ""
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05 UTC") }

// look reads the clock for one turn of the loop, judges it, and once a tick keeps it. Every job is woken when the belief
// changes or the clock went back: whatever they asked for before was reckoned with another time.
func (c *Clock) look() time.Time {
	c.tickMu.Lock()
	defer c.tickMu.Unlock()
	raw := c.opts.Now()
	now := wall(raw)

	c.mu.Lock()
	reason := doubt(now, c.ticked, c.opts.BuildDate)
	changed := c.judge(reason, now)
	wentBack := c.seen.Sub(now) > c.opts.Tick
	if changed || wentBack {
		c.wakeAll(now)
	}
	tickDue := reason == "" && (changed || wentBack || c.ticked.IsZero() || now.Sub(c.ticked) >= c.opts.Tick)
	c.seen, c.beat = now, raw
	s := c.suspicion
	c.mu.Unlock()

	if changed && c.opts.OnClock != nil {
		c.opts.OnClock(s)
	}
	if tickDue {
		_ = c.keep(now) // noted by keep, shown by Healthy, tried again at the next tick
	}
	return now
}

// judge sets the suspicion and reports whether it began or ended. The caller holds c.mu.
func (c *Clock) judge(reason string, now time.Time) (changed bool) {
	before := c.suspicion
	switch {
	case reason == "" && before.Suspicious():
		c.suspicion = Suspicion{}
		c.opts.Log.Info("the clock is believed again", "now", now)
		return true
	case reason != "" && !before.Suspicious():
		c.suspicion = Suspicion{Reason: reason, Since: now}
		c.opts.Log.Error("the clock is not believed", "why", reason)
		return true
	case reason != "":
		c.suspicion.Reason = reason // the same doubt, with the time of today
	}
	return false
}

// wakeAll lets every job run at once, as at start. The caller holds c.mu.
func (c *Clock) wakeAll(now time.Time) {
	for _, j := range c.jobs {
		j.kicked = true
		j.nextAt = time.Time{}
		j.cronAt = j.spec.next(now)
		j.hold = time.Time{}
	}
}

// keep takes now as the last tick and has it stored; the caller holds tickMu. What memory believes does not depend on the
// store: a full disk is no reason to doubt the clock.
func (c *Clock) keep(now time.Time) error {
	var err error
	if c.opts.SaveTick != nil {
		err = c.opts.SaveTick(now)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.ticked = now
	if err != nil && c.saveErr == nil {
		c.opts.Log.Error("the tick could not be kept", "err", err)
	}
	if err == nil && c.saveErr != nil {
		c.opts.Log.Info("ticks are kept again")
	}
	c.saveErr = err
	return err
}
