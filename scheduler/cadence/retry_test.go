package cadence_test

import (
	"testing"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/vent"
)

// The waits: RFC 5321 section 4.5.4.1 asks for 30 minutes at least and for giving up after four to five days at least.
func TestRetry(t *testing.T) {
	const first = vent.Instant(1_800_000_000)
	last := first.Add(time.Hour)
	for attempts, want := range map[int]time.Duration{1: 30 * time.Minute, 2: time.Hour, 3: 2 * time.Hour, 4: 4 * time.Hour, 9: 4 * time.Hour} {
		if at, again := cadence.Retry(attempts, first, last, 0); !again || at != last.Add(want) {
			t.Errorf("after %d attempts: %s, want %s", attempts, time.Duration(at-last)*time.Second, want)
		}
		if at, _ := cadence.Retry(attempts, first, last, 1); at != last.Add(want+want/10) {
			t.Errorf("after %d attempts with full jitter: %s", attempts, time.Duration(at-last)*time.Second)
		}
	}
}

func TestRetryGivesUpAfterFiveDays(t *testing.T) {
	const first = vent.Instant(1_800_000_000)
	tries := 1
	for last := first; ; tries++ {
		at, again := cadence.Retry(tries, first, last, 0.5)
		if !again {
			if d := time.Duration(last-first) * time.Second; d < 4*24*time.Hour || d > 5*24*time.Hour {
				t.Errorf("given up %s after the first attempt", d)
			}
			break
		}
		if wait := time.Duration(at-last) * time.Second; wait < 30*time.Minute {
			t.Errorf("only %s after attempt %d", wait, tries)
		}
		last = at
	}
	if tries < 20 || tries > 40 {
		t.Errorf("%d tries", tries)
	}
}

func TestALostAnswerGivesOneMoreTry(t *testing.T) {
	const last = vent.Instant(1_800_000_000)
	if at, again := cadence.RetryLost(1, last); !again || at != last.Add(30*time.Minute) {
		t.Errorf("after the first: %s, %v", at, again)
	}
	if _, again := cadence.RetryLost(2, last); again {
		t.Error("a third copy is risked")
	}
}
