package faults

import (
	"fmt"
	"strings"
	"unicode"

	"ventdue/vent"
)

// waiveMonths is the longest that a fault can be put off at once. Ours: it may wait for approval, not for ever.
const waiveMonths = 12

// Fix says that somebody put a fault right. A stop fault is released instead.
func Fix(f vent.Fault, on vent.Date, by, how string) (vent.Fault, error) {
	p := closing(f, on, by)
	if f.Severity == vent.Stop {
		p.Add("severity", string(f.Severity), "a stop fault is not just fixed: a named qualified person releases it")
	}
	if err := p.Err(); err != nil {
		return f, fmt.Errorf("fix %s: %w", f.Rule, err)
	}
	closeAs(&f, vent.FaultFixed, on, by, how)
	return f, nil
}

// Waive says that somebody declined to put a fault right before a day, and why. It comes back on that day. A stop
// fault cannot be waived.
func Waive(f vent.Fault, on vent.Date, by string, until vent.Date, why string) (vent.Fault, error) {
	p := closing(f, on, by)
	if f.Severity == vent.Stop {
		p.Add("severity", string(f.Severity), "a stop fault cannot be put off: nobody uses the dryer until it is released")
	}
	switch most := on.AddMonths(waiveMonths); {
	case !on.Valid(): // said above
	case !until.Valid():
		p.Add("until", "", "is missing: say until which day")
	case until <= on:
		p.Add("until", until.String(), "is not after %s, the day it was put off", on)
	case until > most:
		p.Add("until", until.String(), "is more than %d months away: at most until %s, then it can be put off anew", waiveMonths, most)
	}
	if strings.TrimSpace(why) == "" {
		p.Add("why", "", "is empty: say why it is put off")
	}
	if err := p.Err(); err != nil {
		return f, fmt.Errorf("put off %s: %w", f.Rule, err)
	}
	closeAs(&f, vent.FaultWaived, on, by, why)
	f.Until = until
	return f, nil
}

// Back opens a waived fault again whose waiver has ended by today; false where nothing changes.
func Back(f vent.Fault, today vent.Date) (vent.Fault, bool) {
	if f.State != vent.FaultWaived || today < f.Until {
		return f, false
	}
	f.Deadline = max(f.Until, f.Since())
	open(&f)
	return f, true
}

// closing checks what every way of closing a fault needs.
func closing(f vent.Fault, on vent.Date, by string) vent.Problems {
	var p vent.Problems
	if f.State == vent.FaultFixed {
		p.Add("state", string(f.State), "is closed already: on %s by %s", f.Closed, f.ClosedBy)
	}
	switch {
	case !on.Valid():
		p.Add("closed", "", "is missing: give a day as YYYY-MM-DD")
	case on < f.Since():
		p.Add("closed", on.String(), "is before it was found on %s", f.Since())
	}
	if !named(by) {
		p.Add("closed_by", by, "is no name: say who")
	}
	return p
}

// named reports whether a text names somebody: two letters at least.
func named(s string) bool {
	letters := 0
	for _, r := range s {
		if unicode.IsLetter(r) {
			letters++
		}
		if unicode.IsControl(r) {
			return false
		}
	}
	return letters >= 2
}
