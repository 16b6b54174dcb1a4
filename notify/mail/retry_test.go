package mail

import (
	"math"
	"testing"
	"time"
)

// The waits of RFC 5321 4.5.4.1 as this package reads it: half an hour first, two tries in the first hour or
// so, then every few hours, for five days. By hand: 0:30, 1:30, 3:30, then every 4 h; the last one not after
// 120 h is 3.5 + 29*4 = 119.5 h, so 1 + 3 + 29 tries.
func TestRetryAtSchedule(t *testing.T) {
	first := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	last, tries := first, 1
	want := []time.Duration{30 * time.Minute, 90 * time.Minute, 210 * time.Minute, 450 * time.Minute, 690 * time.Minute}
	for {
		next, ok := RetryAt(tries, first, last, 0)
		if !ok {
			break
		}
		if tries <= len(want) && next.Sub(first) != want[tries-1] {
			t.Errorf("try %d after %v, want %v", tries+1, next.Sub(first), want[tries-1])
		}
		last = next
		tries++
	}
	if tries != 33 || last.Sub(first) != 119*time.Hour+30*time.Minute {
		t.Errorf("%d tries, last after %v", tries, last.Sub(first))
	}
}

func TestRetryAtJitterOnlyLengthens(t *testing.T) {
	at := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	for _, tc := range []struct {
		jitter uint64
		want   time.Duration
	}{{0, 30 * time.Minute}, {1 << 63, 33*time.Minute + 45*time.Second}, {math.MaxUint64, 37*time.Minute + 30*time.Second - 1}} {
		if next, _ := RetryAt(1, at, at, tc.jitter); next.Sub(at) != tc.want {
			t.Errorf("jitter %x: %v, want %v", tc.jitter, next.Sub(at), tc.want)
		}
	}
}

// After days of being off the wait runs from the last try, and the five days from the first.
func TestRetryAtAfterAPause(t *testing.T) {
	first := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	last := first.Add(72 * time.Hour)
	if next, ok := RetryAt(2, first, last, 0); !ok || next.Sub(last) != time.Hour {
		t.Errorf("%v, %v", next, ok)
	}
	if _, ok := RetryAt(2, first, first.Add(119*time.Hour+1), 0); ok {
		t.Error("tried after five days")
	}
	if next, ok := RetryAt(1<<40, first, first, 0); !ok || next.Sub(first) != 4*time.Hour {
		t.Errorf("absurd count: %v, %v", next, ok)
	}
}

func TestRetryUnknownOnce(t *testing.T) {
	last := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	if next, ok := RetryUnknown(1, last, 0); !ok || next.Sub(last) != 30*time.Minute {
		t.Errorf("%v, %v", next, ok)
	}
	if _, ok := RetryUnknown(2, last, 0); ok {
		t.Error("tried a third time")
	}
}
