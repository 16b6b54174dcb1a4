package clockwork

import (
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

func TestDoubt(t *testing.T) {
	build := time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC)
	last := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		what      string
		now, last time.Time
		says      string
	}{
		{"first start", build, time.Time{}, ""},
		{"no battery", time.Unix(0, 0), time.Time{}, "built on"},
		{"just before the build", build.Add(-time.Second), time.Time{}, "built on"},
		{"a minute later", last.Add(time.Minute), last, ""},
		{"the same second", last, last, ""},
		{"a second back", last.Add(-time.Second), last, "before"},
		{"40 days off", last.AddDate(0, 0, 40), last, ""},
		{"exactly 400 days off", last.AddDate(0, 0, 400), last, ""},
		{"more than 400 days", last.AddDate(0, 0, 400).Add(time.Second), last, "more than 400 days"},
		{"a century", last.AddDate(100, 0, 0), last, "more than 400 days"},
	} {
		got := doubt(c.now, c.last, build)
		if (got == "") != (c.says == "") || !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", c.what, got, c.says)
		}
	}
}

func TestWrongClockIsSeenAndHeals(t *testing.T) {
	for what, wrong := range map[string]func(time.Time) time.Time{
		"back a year":    func(now time.Time) time.Time { return now.AddDate(-1, 0, 0) },
		"ahead a decade": func(now time.Time) time.Time { return now.AddDate(10, 0, 0) },
		"the epoch":      func(time.Time) time.Time { return time.Unix(0, 0) },
	} {
		t.Run(what, func(t *testing.T) {
			bubble(t, func(r *rig) {
				r.setClock(time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC))
				var told []bool
				o := r.options()
				o.BuildDate = time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
				o.OnClock = func(s Suspicion) { told = append(told, s.Suspicious()) }
				var k counter
				c := r.start(o, k.job("daily", "0 8 * * *"))
				time.Sleep(10 * time.Minute)
				right := r.now()
				kept, _ := r.lastTick()

				r.setClock(wrong(right))
				time.Sleep(10 * time.Minute)
				if s := c.Suspicion(); !s.Suspicious() || s.Since.IsZero() {
					t.Error("a wrong clock is believed")
				}
				if now, _ := r.lastTick(); !now.Equal(kept) {
					t.Errorf("the wrong time %v was kept", now)
				}
				if err := c.Healthy(r.now()); err != nil {
					t.Errorf("a doubted clock makes the loop unhealthy: %v", err)
				}
				r.want(&k, 2, "start, and one run that can pause what it sends")

				r.setClock(right.Add(10 * time.Minute))
				time.Sleep(2 * time.Minute)
				if s := c.Suspicion(); s.Suspicious() {
					t.Errorf("still doubted: %s", s.Reason)
				}
				r.want(&k, 3, "one run with the right time")
				time.Sleep(24 * time.Hour)
				r.want(&k, 4, "back to once a day: the spec is reckoned anew")
				r.stop(c)
				if len(told) != 2 || !told[0] || told[1] {
					t.Errorf("OnClock was told %v, want doubt and its end", told)
				}
				if log := r.logged(); !strings.Contains(log, "not believed") || !strings.Contains(log, "believed again") {
					t.Errorf("not visible in the log: %s", log)
				}
			})
		})
	}
}

// A clock that ran ahead by less than 400 days was believed. When it is set right the jobs must not wait for the
// far firing they had reckoned, and the operator can end the pause.
func TestClockThatRanAheadAndTheOperator(t *testing.T) {
	bubble(t, func(r *rig) {
		right := time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)
		r.setClock(right.AddDate(0, 3, 0))
		var k counter
		c := r.start(r.options(), k.job("daily", "0 8 * * *"))
		time.Sleep(10 * time.Minute)
		r.setClock(right)
		time.Sleep(2 * time.Minute)
		if !c.Suspicion().Suspicious() {
			t.Fatal("a clock set back by three months is believed at once")
		}
		if err := c.AcceptClock(); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		if kept, _ := r.lastTick(); c.Suspicion().Suspicious() || !kept.Before(right.Add(time.Hour)) {
			t.Errorf("accepted, but suspicion %v, kept tick %v", c.Suspicion(), kept)
		}
		time.Sleep(24 * time.Hour)
		ran := k.ran()
		if last := ran[len(ran)-1]; !last.Equal(time.Date(2026, 5, 2, 8, 0, 0, 0, time.UTC)) {
			t.Errorf("last run at %v, want the next morning", last)
		}
		r.stop(c)

		o := r.options()
		o.BuildDate = right.AddDate(1, 0, 0)
		c = r.start(o)
		if err := c.AcceptClock(); err == nil {
			t.Error("a clock before the build date is accepted")
		}
		r.stop(c)
	})
}

func TestSmallStepBackDoesNoHarm(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		c := r.start(r.options(), k.job("tell", "*/5 * * * *"))
		time.Sleep(2*time.Minute + 30*time.Second)
		r.setClock(r.now().Add(-2 * time.Second))
		time.Sleep(time.Hour)
		r.want(&k, 13, "start and twelve firings")
		if strings.Contains(r.logged(), "not believed") {
			t.Error("two seconds back between ticks raise an alarm")
		}
		r.stop(c)
	})
}

func TestHealthy(t *testing.T) {
	bubble(t, func(r *rig) {
		full := errors.New("no space left")
		var disk atomic.Pointer[func() error]
		ok, broken := func() error { return nil }, func() error { return full }
		disk.Store(&ok)
		o := r.options()
		o.SaveTick = func(time.Time) error { return (*disk.Load())() }
		c := r.start(o)
		for range 30 {
			time.Sleep(59 * time.Second)
			if err := c.Healthy(time.Now()); err != nil {
				t.Fatal(err)
			}
		}
		disk.Store(&broken)
		time.Sleep(2 * time.Minute)
		if err := c.Healthy(time.Now()); !errors.Is(err, full) {
			t.Errorf("Healthy = %v, want why the tick is not kept", err)
		}
		time.Sleep(time.Hour)
		if n := strings.Count(r.logged(), "could not be kept"); n != 1 {
			t.Errorf("logged %d times, want once", n)
		}
		disk.Store(&ok)
		time.Sleep(2 * time.Minute)
		if err := c.Healthy(time.Now()); err != nil {
			t.Error(err)
		}
		answer := make(chan struct{}) // a disk that does not answer
		hung := func() error { <-answer; return nil }
		disk.Store(&hung)
		time.Sleep(5 * time.Minute)
		if err := c.Healthy(time.Now()); err == nil || !strings.Contains(err.Error(), "stands still") {
			t.Errorf("Healthy = %v, want a stale tick", err)
		}
		close(answer)
		r.stop(c)
		if err := c.Healthy(time.Now()); err == nil {
			t.Error("healthy after Stop")
		}
	})
}

func TestTickIsKeptOnceAMinute(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		c := r.start(r.options(), k.job("tell", ""))
		for range 600 {
			time.Sleep(time.Second)
			c.Kick("tell")
		}
		r.stop(c)
		if r.saves < 10 || r.saves > 11 {
			t.Errorf("%d ticks kept in ten minutes of kicks, want 10 or 11", r.saves)
		}
	})
}
