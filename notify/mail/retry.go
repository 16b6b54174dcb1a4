package mail

import (
	"math/bits"
	"time"
)

const (
	firstWait = 30 * time.Minute   // RFC 5321 4.5.4.1: "should be at least 30 minutes"
	longWait  = 4 * time.Hour      // the same section backs off to one try every two or three hours
	giveUp    = 5 * 24 * time.Hour // the same section: "at least 4-5 days"
)

// RetryAt tells when a message is tried again after a temporary failure. attempts counts the tries made
// (1 or more), first and last are the times of the first and the latest one. The waits are 30 min, 1 h,
// 2 h, then 4 h, each lengthened by up to a quarter by jitter (any evenly spread number, such as a hash of
// the message's id and the attempt), never shortened. False: the next try would come more than five days
// after the first; the message has failed (RFC 5321 4.5.4.1).
//
// The wait runs from the last try, not from the first: after days of being off, a message is not tried
// several times in a row.
func RetryAt(attempts int, first, last time.Time, jitter uint64) (time.Time, bool) {
	wait := firstWait
	for i := 1; i < attempts && wait < longWait; i++ {
		wait *= 2
	}
	next := last.Add(jittered(wait, jitter))
	if next.Sub(first) > giveUp {
		return time.Time{}, false
	}
	return next, true
}

// RetryUnknown tells when a message is tried again whose answer was lost after the final dot: once, half an
// hour (jittered) after it. lost counts the answers lost so far (1 or more). False: it was tried again and
// that answer was lost too; the message stays unknown rather than risk a third copy.
func RetryUnknown(lost int, last time.Time, jitter uint64) (time.Time, bool) {
	if lost > 1 {
		return time.Time{}, false
	}
	return last.Add(jittered(firstWait, jitter)), true
}

// jittered returns wait plus wait/4 times jitter/2^64.
func jittered(wait time.Duration, jitter uint64) time.Duration {
	extra, _ := bits.Mul64(uint64(wait/4), jitter)
	return wait + time.Duration(extra)
}
