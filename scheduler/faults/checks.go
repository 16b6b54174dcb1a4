package faults

import (
	"fmt"
	"slices"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// snoozeDays is the longest that a check can be put off at once. Ours.
const snoozeDays = 90

// Next gives the day on which a check is to be done next; 0 where it is turned off. The series counts from the last
// time it was done and keeps its day of the month: the 31st, the 28th of February, the 31st again.
func Next(c vent.Check) vent.Date {
	if c.Off {
		return 0
	}
	return max(series(c).Nth(1, c.Months), c.Snoozed)
}

// start is a series that has been reached: Nth(1) is the next day of it.
type start struct {
	anchor vent.Date
	done   int // how many intervals lie behind
}

// Nth gives the n-th day still ahead.
func (s start) Nth(n, months int) vent.Date { return s.anchor.Nth(s.done+n, months) }

// series finds where a check stands: at its anchor while it was never done, at its last day where that is one of the
// series, else in a series that begins with the last time it was done.
func series(c vent.Check) start {
	if c.LastDone == 0 {
		return start{c.Anchor, -1}
	}
	if n, ok := inSeries(c.Anchor, c.LastDone, c.Months); ok {
		return start{c.Anchor, n}
	}
	return start{c.LastDone, 0}
}

// inSeries reports which day of a series a day is.
func inSeries(anchor, d vent.Date, months int) (int, bool) {
	if months < 1 || d < anchor {
		return 0, false
	}
	y1, m1, _ := anchor.Split()
	y2, m2, _ := d.Split()
	n := ((y2-y1)*12 + int(m2) - int(m1)) / months
	return n, anchor.Nth(n, months) == d
}

// Done says that a check was carried out on a day. A day outside the series starts it anew; one before the last time it was
// done changes nothing.
func Done(c vent.Check, on, today vent.Date, by string) (vent.Check, error) {
	p := dated("last_done", on, today)
	if !named(by) {
		p.Add("done_by", by, "is no name: say who did it")
	}
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("check %s done: %w", c.Rule, err)
	}
	if on <= c.LastDone {
		return c, nil
	}
	if _, ok := inSeries(c.Anchor, on, c.Months); !ok {
		c.Anchor = on
	}
	c.LastDone, c.DoneBy, c.Snoozed, c.Why = on, by, 0, ""
	return c, nil
}

// Skip leaves out the next time of a check, with the reason: the one after it is next. A date, such as an alarm's, is not
// skipped.
func Skip(c vent.Check, why string) (vent.Check, error) {
	var p vent.Problems
	if r, ok := rules.CheckByID(c.Rule); ok && r.Once {
		p.Add("rule", c.Rule, "is a date, not a series: do it, or put it off")
	}
	if c.Off {
		p.Add("off", "", "it is turned off: nothing is to be skipped")
	}
	if strings.TrimSpace(why) == "" {
		p.Add("why", "", "is empty: say why it is left out")
	}
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("skip %s: %w", c.Rule, err)
	}
	s, due := series(c), Next(c)
	for n := 1; ; n++ {
		next := s.Nth(n, max(1, c.Months))
		if next > due || next >= vent.NewDate(9999, 1, 1) {
			c.Snoozed, c.Why = next, why
			return c, nil
		}
	}
}

// Snooze puts the next time of a check off until a day, with the reason: 90 days at most, and never past the time after it.
func Snooze(c vent.Check, until, today vent.Date, why string) (vent.Check, error) {
	var p vent.Problems
	due := series(c).Nth(1, c.Months)
	most := min(max(due, today).AddDays(snoozeDays), max(due, today).AddMonths(max(1, c.Months)))
	switch {
	case c.Off:
		p.Add("off", "", "it is turned off: nothing is to be put off")
	case !until.Valid():
		p.Add("put_off_until", "", "is missing: give a day as YYYY-MM-DD")
	case until <= today:
		p.Add("put_off_until", until.String(), "is not after today, %s", today)
	case until <= Next(c):
		p.Add("put_off_until", until.String(), "is no later than it is due anyway, %s", Next(c))
	case until > most:
		p.Add("put_off_until", until.String(), "is too far away: at most until %s, then it can be put off anew", most)
	}
	if strings.TrimSpace(why) == "" {
		p.Add("why", "", "is empty: say why it is put off")
	}
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("put off %s: %w", c.Rule, err)
	}
	c.Snoozed, c.Why = until, why
	return c, nil
}

// dated checks a day on which something was done.
func dated(field string, on, today vent.Date) vent.Problems {
	var p vent.Problems
	switch {
	case !on.Valid():
		p.Add(field, "", "is missing: give a day as YYYY-MM-DD")
	case on > today:
		p.Add(field, on.String(), "is in the future: today is %s", today)
	}
	return p
}

// Settled gives the checks that a finding's close-out list carried out, changed. checks are those of the finding's run and
// dryer.
func Settled(checks []vent.Check, f vent.Finding) []vent.Check {
	var out []vent.Check
	for _, c := range checks {
		r, ok := rules.CheckByID(c.Rule)
		if !ok || r.CloseOut == "" || c.Off || !slices.Contains(f.CloseOut, r.CloseOut) {
			continue
		}
		if next, err := Done(c, f.Date, f.Date, doer(f.By)); err == nil && next != c {
			out = append(out, next)
		}
	}
	return out
}

// ReplaceBy gives the day by which an alarm is replaced: its maker's date, else 10 years (smoke) or 7 (CO) from its
// manufacture; false where neither is known or it is no alarm.
func ReplaceBy(a vent.Appliance) (vent.Date, bool) {
	months := alarmMonths(a.Kind)
	switch {
	case months == 0:
		return 0, false
	case a.Replace.Valid():
		return a.Replace, true
	case a.Made.Valid():
		return a.Made.AddMonths(months), true
	}
	return 0, false
}

// alarmMonths is an alarm's life from manufacture; 0 for what is no alarm.
func alarmMonths(k vent.ApplianceKind) int {
	switch k {
	case vent.SmokeAlarm:
		return rules.SmokeAlarmMonths
	case vent.COAlarm:
		return rules.COAlarmMonths
	}
	return 0
}
