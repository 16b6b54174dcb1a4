package vent

import (
	"fmt"
	"time"
)

// Instant is a moment in UTC, cut to the second, as Unix seconds. The zero Instant means "never" (it would be
// 1970-01-01T00:00:00Z, before anything this program can know of).
type Instant int64

// InstantOf cuts t to the second.
func InstantOf(t time.Time) Instant {
	if t.IsZero() {
		return 0
	}
	return Instant(t.Unix())
}

// Time gives the moment as a UTC time; the zero time for never.
func (i Instant) Time() time.Time {
	if i == 0 {
		return time.Time{}
	}
	return time.Unix(int64(i), 0).UTC()
}

// IsZero reports whether i is "never".
func (i Instant) IsZero() bool { return i == 0 }

// Add gives the moment d later, cut to the second.
func (i Instant) Add(d time.Duration) Instant { return i + Instant(d/time.Second) }

// DateIn gives the day that a clock in loc shows at the moment.
func (i Instant) DateIn(loc *time.Location) Date { return DateOf(i.Time().In(loc)) }

// String gives the RFC 3339 form in UTC, and "" for never.
func (i Instant) String() string {
	if i == 0 {
		return ""
	}
	return i.Time().Format(time.RFC3339)
}

// MarshalText gives the RFC 3339 form.
func (i Instant) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// UnmarshalText reads the RFC 3339 form; empty text is never.
func (i *Instant) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*i = 0
		return nil
	}
	t, err := time.Parse(time.RFC3339, string(b))
	if err != nil {
		return fmt.Errorf("time %q is not of the form 2026-11-25T08:30:00Z", b)
	}
	*i = InstantOf(t)
	return nil
}
