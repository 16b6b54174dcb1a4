package cadence_test

import (
	"testing"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/vent"
)

func TestRetry(t *testing.T) {
	start := vent.Instant(1_800_000_000)
	for attempts, want := range map[int]time.Duration{1: 30 * time.Minute, 2: time.Hour, 3: 2 * time.Hour, 4: 4 * time.Hour, 9: 4 * time.Hour} {
		if got := cadence.Retry(attempts, start, 0); got != start.Add(want) {
			t.Errorf("after %d attempts: %s, want %s", attempts, time.Duration(got-start)*time.Second, want)
		}
		if got := cadence.Retry(attempts, start, 1); got != start.Add(want+want/10) {
			t.Errorf("after %d attempts with full jitter: %s", attempts, time.Duration(got-start)*time.Second)
		}
	}
}
