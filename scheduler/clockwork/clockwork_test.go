package clockwork

import (
	"context"
	"errors"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

func TestNewRefuses(t *testing.T) {
	run := func(context.Context, time.Time) (time.Time, error) { return time.Time{}, nil }
	for says, jobs := range map[string][]Job{
		"needs a name": {{Run: run}},
		"a function":   {{Name: "a"}},
		"given twice":  {{Name: "a", Run: run}, {Name: "a", Run: run}},
		"never fires":  {{Name: "a", Spec: "0 0 31 2 *", Run: run}},
		"names a zone": {{Name: "a", Spec: "TZ=UTC", Run: run}},
	} {
		if _, err := New(Options{}, jobs...); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("New = %v, want an error that says %q", err, says)
		}
	}
}

func TestStartRunsEveryJobOnceInOrder(t *testing.T) {
	bubble(t, func(r *rig) {
		var order []string // appended by one job at a time, or the race detector objects
		slow := func(name string) Job {
			return Job{Name: name, Run: func(context.Context, time.Time) (time.Time, error) {
				order = append(order, name+" begins")
				time.Sleep(10 * time.Second)
				order = append(order, name+" ends")
				return time.Time{}, nil
			}}
		}
		c := r.start(r.options(), slow("replan"), slow("tell"), slow("deliver"))
		time.Sleep(time.Hour)
		r.stop(c)
		want := "replan begins, replan ends, tell begins, tell ends, deliver begins, deliver ends"
		if got := strings.Join(order, ", "); got != want {
			t.Errorf("catch-up: %s\nwant: %s", got, want)
		}
	})
}

func TestSlowCatchUpHoldsTheOthersUpForOneTick(t *testing.T) {
	bubble(t, func(r *rig) {
		var slow, quick counter
		slow.does = func(ctx context.Context, _ time.Time) (time.Time, error) {
			<-ctx.Done()
			return time.Time{}, ctx.Err()
		}
		c := r.start(r.options(), slow.job("slow", ""), quick.job("quick", ""))
		time.Sleep(59 * time.Second)
		r.want(&quick, 0, "within the tick")
		time.Sleep(2 * time.Second)
		r.want(&quick, 1, "after the tick")
		short, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		if err := c.Stop(short); err == nil {
			t.Error("Stop says nothing of the job it cut short")
		}
	})
}

func TestWakesOnSpecNextAndKick(t *testing.T) {
	bubble(t, func(r *rig) {
		var cron, next, kicked counter
		next.does = func(_ context.Context, now time.Time) (time.Time, error) {
			if len(next.ran()) == 1 {
				return now.Add(17 * time.Second), nil // well inside a tick
			}
			return time.Time{}, nil
		}
		begin := time.Now()
		c := r.start(r.options(), cron.job("cron", "*/5 * * * *"), next.job("next", ""), kicked.job("kicked", ""))
		time.Sleep(16 * time.Minute)
		r.want(&cron, 4, "at start and at :05, :10, :15")
		for i, at := range cron.ran() {
			if want := begin.Add(time.Duration(i) * 5 * time.Minute); !at.Equal(want) {
				t.Errorf("run %d at %v, want %v", i, at, want)
			}
		}
		r.want(&next, 2, "at start and when it wished")
		if got := next.ran()[1].Sub(begin); got != 17*time.Second {
			t.Errorf("wish answered after %v, want 17s", got)
		}
		r.want(&kicked, 1, "nothing wakes it")
		if !c.Kick("kicked") || c.Kick("nobody") {
			t.Error("Kick does not know its jobs")
		}
		r.want(&kicked, 2, "kick")
		r.stop(c)
		if c.Kick("kicked") {
			t.Error("Kick after Stop claims to do something")
		}
	})
}

func TestKickStorm(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		c := r.start(r.options(), k.job("tell", ""))
		time.Sleep(time.Minute)
		r.want(&k, 1, "start")
		for range 1000 {
			c.Kick("tell")
			synctest.Wait() // let the loop act on each one
		}
		time.Sleep(time.Minute)
		r.want(&k, 3, "a thousand kicks make two runs")
		r.stop(c)
	})
}

func TestRunsOfOneJobNeverOverlap(t *testing.T) {
	bubble(t, func(r *rig) {
		inside := 0
		var k counter
		k.does = func(context.Context, time.Time) (time.Time, error) {
			inside++
			if inside > 1 {
				t.Error("two runs at once")
			}
			time.Sleep(10*time.Minute + 30*time.Second)
			inside--
			return time.Time{}, nil
		}
		c := r.start(r.options(), k.job("slow", "0 * * * *"))
		time.Sleep(time.Minute)
		for range 50 {
			c.Kick("slow")
		}
		time.Sleep(10 * time.Minute)
		r.want(&k, 2, "fifty wake-ups during a run make exactly one more")
		time.Sleep(40 * time.Minute)
		r.want(&k, 2, "and no third")
		r.stop(c)
	})
}

func TestJobThatAlwaysWantsNowRunsOnceASecond(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		k.does = func(_ context.Context, now time.Time) (time.Time, error) { return now.Add(-time.Hour), nil }
		c := r.start(r.options(), k.job("greedy", ""))
		time.Sleep(10*time.Second + 500*time.Millisecond)
		r.want(&k, 11, "first at 0 s, then each second")
		r.stop(c)
	})
}

func TestPanicIsCaughtCountedAndTriedAgain(t *testing.T) {
	bubble(t, func(r *rig) {
		var bad, good counter
		bad.does = func(context.Context, time.Time) (time.Time, error) {
			switch len(bad.ran()) {
			case 1:
				panic("the ladder slipped")
			case 2:
				runtime.Goexit()
			}
			return time.Time{}, nil
		}
		c := r.start(r.options(), bad.job("bad", ""), good.job("good", ""))
		synctest.Wait()
		s := c.Status().Jobs[0]
		if s.Panics != 1 || s.Errors != 1 || s.Failures != 1 || s.LastError == nil || s.Running {
			t.Errorf("status after a panic: %+v", s)
		}
		if log := r.logged(); !strings.Contains(log, "the ladder slipped") || !strings.Contains(log, "clockwork_test.go") {
			t.Errorf("log lacks the panic or its stack: %s", log)
		}
		r.want(&good, 1, "the other job")
		time.Sleep(time.Minute)
		r.want(&bad, 3, "panic, Goexit, success")
		s = c.Status().Jobs[0]
		if s.Panics != 1 || s.Errors != 2 || s.Failures != 0 || s.LastError != nil || s.LastSuccess.IsZero() || s.LastFailure.IsZero() {
			t.Errorf("status after recovery: %+v", s)
		}
		r.stop(c)
	})
}

func TestBackoffGrowsAndIsCapped(t *testing.T) {
	for n := 1; n <= 100; n++ {
		full := 10 * time.Minute
		if n <= 7 {
			full = 5 * time.Second << (n - 1) // 5, 10, 20 ... 320 s
		}
		for range 50 {
			if d := backoff(n); d < full/2 || d >= full {
				t.Fatalf("backoff(%d) = %v, want within [%v, %v)", n, d, full/2, full)
			}
		}
	}
}

func TestFailingJobBacksOffWhateverWakesIt(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		k.does = func(_ context.Context, now time.Time) (time.Time, error) { return now, errors.New("no route") }
		c := r.start(r.options(), k.job("deliver", "* * * * *"))
		for range 24 * 60 * 6 { // a day of kicks, one each ten seconds
			time.Sleep(10 * time.Second)
			c.Kick("deliver")
		}
		// 7 quick tries, then one each 5 to 10 minutes: 144 to 288 in a day.
		if n := len(k.ran()); n < 144 || n > 300 {
			t.Errorf("ran %d times in a day of failing", n)
		}
		if s := c.Status().Jobs[0]; s.Failures != len(k.ran()) || s.Next.Sub(r.now()) > 10*time.Minute {
			t.Errorf("status: %+v", s)
		}
		if log := r.logged(); !strings.Contains(log, "level=WARN msg=\"job failed\"") || !strings.Contains(log, "level=ERROR msg=\"job keeps failing\"") {
			t.Errorf("log does not get louder")
		}
		r.stop(c)
	})
}

func TestOffForFortyDays(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		c := r.start(r.options(), k.job("tell", "*/5 * * * *"))
		time.Sleep(time.Hour)
		r.stop(c)
		before := len(k.ran())

		time.Sleep(40 * 24 * time.Hour)
		c = r.start(r.options(), k.job("tell", "*/5 * * * *"))
		r.want(&k, before+1, "one catch-up, not 11520")
		if s := c.Suspicion(); s.Suspicious() {
			t.Errorf("forty days off are taken for a fault: %s", s.Reason)
		}
		r.stop(c)
	})
}

func TestSuspendedMachine(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		c := r.start(r.options(), k.job("tell", "0 8 * * *"))
		time.Sleep(30 * time.Second)
		r.setClock(r.now().AddDate(0, 0, 21)) // the wall clock went on, timers stood still
		time.Sleep(time.Minute)
		r.want(&k, 2, "start, and one run within a tick of waking up")
		if s := c.Suspicion(); s.Suspicious() {
			t.Errorf("three weeks of sleep are taken for a fault: %s", s.Reason)
		}
		r.stop(c)
	})
}

func TestStopWaitsForRunningJobs(t *testing.T) {
	bubble(t, func(r *rig) {
		finished := false
		var k counter
		k.does = func(ctx context.Context, _ time.Time) (time.Time, error) {
			time.Sleep(20 * time.Second)
			finished = ctx.Err() == nil
			return time.Time{}, nil
		}
		c := r.start(r.options(), k.job("deliver", "* * * * *"))
		time.Sleep(time.Second)
		c.Kick("deliver")
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		defer cancel()
		if err := c.Stop(ctx); err != nil || !finished {
			t.Errorf("Stop = %v, finished %v", err, finished)
		}
		if err := c.Stop(ctx); err != nil {
			t.Errorf("second Stop = %v", err)
		}
		time.Sleep(time.Hour)
		r.want(&k, 1, "no run after Stop")
	})
}

func TestStopCutsShortWhenPatienceEnds(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		k.does = func(ctx context.Context, _ time.Time) (time.Time, error) {
			<-ctx.Done()
			return time.Time{}, ctx.Err()
		}
		c := r.start(r.options(), k.job("deliver", ""))
		synctest.Wait()
		ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
		defer cancel()
		err := c.Stop(ctx)
		if !errors.Is(err, context.DeadlineExceeded) || !strings.Contains(err.Error(), "deliver") {
			t.Errorf("Stop = %v, want the name of the job and the reason", err)
		}
		if s := c.Status().Jobs[0]; s.Errors != 0 || s.Running {
			t.Errorf("a stop is counted as a failure: %+v", s)
		}
	})
}

func TestStopNamesAJobThatIgnoresItsContext(t *testing.T) {
	bubble(t, func(r *rig) {
		let := make(chan struct{})
		var k counter
		k.does = func(context.Context, time.Time) (time.Time, error) { <-let; return time.Time{}, nil }
		c := r.start(r.options(), k.job("deaf", ""))
		synctest.Wait()
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		if err := c.Stop(ctx); err == nil || !strings.Contains(err.Error(), "still running deaf") {
			t.Errorf("Stop = %v", err)
		}
		close(let)
		r.stop(c)
	})
}

func TestEndOfTheStartContextEndsAll(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		k.does = func(ctx context.Context, _ time.Time) (time.Time, error) { <-ctx.Done(); return time.Time{}, ctx.Err() }
		c, err := New(r.options(), k.job("deliver", ""))
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		if err := c.Start(ctx); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		cancel()
		synctest.Wait()
		if err := c.Healthy(time.Now()); err == nil {
			t.Error("healthy without a loop")
		}
		r.stop(c)
	})
}

func TestStartOnceAndStopWithoutStart(t *testing.T) {
	bubble(t, func(r *rig) {
		c, err := New(r.options())
		if err != nil {
			t.Fatal(err)
		}
		r.stop(c)
		if err := c.Healthy(time.Now()); err == nil {
			t.Error("healthy before Start")
		}
		if err := c.Start(context.Background()); err != nil {
			t.Fatal(err)
		}
		if err := c.Start(context.Background()); err == nil {
			t.Error("second Start succeeds")
		}
		r.stop(c)

		o := r.options()
		o.LastTick = func() (time.Time, error) { return time.Time{}, errors.New("bad page") }
		c, _ = New(o)
		if err := c.Start(context.Background()); err == nil || !strings.Contains(err.Error(), "bad page") {
			t.Errorf("Start = %v, want the error of LastTick", err)
		}
	})
}

func TestRespec(t *testing.T) {
	bubble(t, func(r *rig) {
		var k counter
		c := r.start(r.options(), k.job("backup", "0 3 * * *"))
		time.Sleep(time.Minute + time.Second)
		if err := c.Respec("backup", "*/10 * * * *"); err != nil {
			t.Fatal(err)
		}
		time.Sleep(10 * time.Minute)
		r.want(&k, 2, "start and the new spec")
		if err := c.Respec("backup", "TZ=UTC"); err == nil {
			t.Error("a bad spec is taken")
		}
		if err := c.Respec("nobody", "@daily"); err == nil {
			t.Error("an unknown job is taken")
		}
		if s := c.Status().Jobs[0]; s.Spec != "*/10 * * * *" {
			t.Errorf("spec is %q", s.Spec)
		}
		if err := c.Respec("backup", ""); err != nil {
			t.Fatal(err)
		}
		time.Sleep(10 * 24 * time.Hour)
		r.want(&k, 2, "no spec, no wake-up")
		r.stop(c)
	})
}

// TestYears lets a daily job live through years of transitions. Each local date must see it once: the hour that spring
// takes away must not cost a day, the hour that autumn repeats must not add one.
func TestYears(t *testing.T) {
	for name, year := range map[string]int{
		"America/New_York": 2025, "Australia/Lord_Howe": 2025, "America/Santiago": 2025,
		"Pacific/Apia": 2010, // had no 30 December 2011
	} {
		for _, spec := range []string{"0 0 * * *", "15 2 * * *", "30 1 * * *", "30 23 * * *"} {
			t.Run(name+" "+spec, func(t *testing.T) {
				bubble(t, func(r *rig) {
					loc := zone(t, name)
					r.setClock(time.Date(year, 6, 1, 12, 0, 0, 0, loc))
					o := r.options()
					o.Zone = loc
					o.Tick = 6 * time.Hour
					var k counter
					c := r.start(o, k.job("daily", spec))
					time.Sleep(3 * 365 * 24 * time.Hour)
					r.stop(c)

					seen := map[string]int{}
					for _, at := range k.ran()[1:] { // without the run at start
						seen[at.In(loc).Format(time.DateOnly)]++
					}
					for day := time.Date(year, 6, 2, 12, 0, 0, 0, time.UTC); day.Year() < year+3; day = day.AddDate(0, 0, 1) {
						date := day.Format(time.DateOnly)
						if date == "2011-12-30" && name == "Pacific/Apia" {
							continue
						}
						if n := seen[date]; n != 1 && !(n == 2 && date == "2011-12-31") {
							t.Errorf("%s: ran %d times", date, n)
						}
					}
				})
			})
		}
	}
}
