package cadence

import (
	"time"

	"ventdue/vent"
)

// GiveUpAfter is how long a message is tried, counted from the first attempt (RFC 5321 section 4.5.4.1 asks for four to
// five days at least).
const GiveUpAfter = 5 * 24 * time.Hour

// SecondLook is how long to wait after an answer was lost, or a claim was left behind, before the next try.
const SecondLook = 30 * time.Minute

// Retry gives when a message that was certainly not taken is tried again: 30 minutes after the first attempt, then
// 1, 2, 4 hours and from then on every 4 (RFC 5321 section 4.5.4.1: at least 30 minutes between tries), each up to a
// tenth later by jitter (0 to 1), so that what failed together does not return together. The wait runs from the last
// attempt: after days of being off a message is not tried several times in a row. False: the next try would
// come later than GiveUpAfter.
func Retry(attempts int, first, last vent.Instant, jitter float64) (vent.Instant, bool) {
	wait := 4 * time.Hour
	if attempts < 4 {
		wait = 30 * time.Minute << max(attempts-1, 0)
	}
	at := last.Add(wait + time.Duration(jitter*float64(wait)/10))
	return at, at <= first.Add(GiveUpAfter)
}

// RetryLost gives when a message is tried again whose answer was lost after all of it was sent. lost counts the attempts,
// this one included, of which nobody knows what became. False: this was not the first of them; a third copy is worse than
// not knowing.
func RetryLost(lost int, last vent.Instant) (vent.Instant, bool) {
	return last.Add(SecondLook), lost < 2
}
