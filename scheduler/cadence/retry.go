package cadence

import (
	"time"

	"ventdue/vent"
)

// GiveUpAfter is how long a message is tried (RFC 5321 section 4.5.4.1 asks for four to five days at least).
const GiveUpAfter = 5 * 24 * time.Hour

// SecondLook is how long to wait after an answer was lost before the one further try.
const SecondLook = 30 * time.Minute

// Retry gives when a message that could not be handed over is tried again: 30 minutes after the first attempt, then
// 1, 2, 4 hours and from then on every 4 (RFC 5321 section 4.5.4.1: at least 30 minutes between tries), each up
// to a tenth later by jitter (0 to 1), so that what failed together does not return together.
func Retry(attempts int, last vent.Instant, jitter float64) vent.Instant {
	wait := 4 * time.Hour
	if attempts < 4 {
		wait = 30 * time.Minute << max(attempts-1, 0)
	}
	return last.Add(wait + time.Duration(jitter*float64(wait)/10))
}
