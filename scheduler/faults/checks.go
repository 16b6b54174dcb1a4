package faults

import (
	"fmt"
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
	p := dated("date", on, today)
	if !named(by) {
		p.Add("by", by, "is no name: say who did it")
	}
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("check %s done: %w", c.Rule, err)
	}
	if on <= c.LastDone {
		if c.Kept.LastDone < on && c.Kept.Anchor != 0 { // it holds should the visit be taken back
			k, err := Done(keptAlone(c), on, today, by)
			c.Kept = k.Standing()
			return c, err
		}
		return c, nil
	}
	if _, ok := inSeries(c.Anchor, on, c.Months); !ok {
		c.Anchor = on
	}
	c = c.At(vent.Standing{Anchor: c.Anchor, LastDone: on, DoneBy: by})
	c.Kept, c.Round = vent.Standing{}, vent.ID{}
	return c, nil
}

// keptAlone is the check as it stood before the visit that carried it out.
func keptAlone(c vent.Check) vent.Check {
	c = c.At(c.Kept)
	c.Kept = vent.Standing{}
	return c
}

// Skip leaves out the next time of a check, with the reason: the one after it is next. A date, such as an alarm's, is not
// skipped.
func Skip(c vent.Check, why, by string) (vent.Check, error) {
	var p vent.Problems
	if r, ok := rules.CheckByID(c.Rule); ok && r.Once {
		p.Add("rule", c.Rule, "is a date, not a series: do it, or put it off")
	}
	if c.Off {
		p.Add("off", "", "it is turned off: nothing is to be skipped")
	}
	reasoned(&p, why, by, "say why it is left out")
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("skip %s: %w", c.Rule, err)
	}
	s, due := series(c), Next(c)
	for n := 1; ; n++ {
		next := s.Nth(n, max(1, c.Months))
		if next > due || next >= vent.NewDate(9999, 1, 1) {
			c.Round = vent.ID{}
			return putOff(c, next, why, by), nil
		}
	}
}

// Snooze puts the next time of a check off until a day, with the reason: 90 days at most, and never past the time after it.
func Snooze(c vent.Check, until, today vent.Date, why, by string) (vent.Check, error) {
	var p vent.Problems
	due := series(c).Nth(1, c.Months)
	most := min(max(due, today).AddDays(snoozeDays), max(due, today).AddMonths(max(1, c.Months)))
	switch {
	case c.Off:
		p.Add("off", "", "it is turned off: nothing is to be put off")
	case !until.Valid():
		p.Add("until", "", "is missing: give a day as YYYY-MM-DD")
	case until <= today:
		p.Add("until", until.String(), "is not after today, %s", today)
	case until <= Next(c):
		p.Add("until", until.String(), "is no later than it is due anyway, %s", Next(c))
	case until > most:
		p.Add("until", until.String(), "is too far away: at most until %s, then it can be put off anew", most)
	}
	reasoned(&p, why, by, "say why it is put off")
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("put off %s: %w", c.Rule, err)
	}
	return putOff(c, until, why, by), nil
}

// putOff moves the next time to a day. It holds too should the visit be taken back that carried the check out last.
func putOff(c vent.Check, until vent.Date, why, by string) vent.Check {
	c.Snoozed, c.Why, c.Who = until, why, by
	if c.Kept.Anchor != 0 {
		c.Kept.Snoozed, c.Kept.Why, c.Kept.Who = until, why, by
	}
	return c
}

// TurnOff says that a check is not done any more, with the reason.
func TurnOff(c vent.Check, why, by string) (vent.Check, error) {
	var p vent.Problems
	reasoned(&p, why, by, "say why it is turned off")
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("turn off %s: %w", c.Rule, err)
	}
	c.Off, c.Why, c.Who, c.Snoozed, c.Round = true, why, by, 0, vent.ID{}
	return c, nil
}

// TurnOn has a check done again. It is next due an interval after the last time, and not before today.
func TurnOn(c vent.Check, today vent.Date) vent.Check {
	if !c.Off {
		return c
	}
	c.Off, c.Why, c.Who, c.Snoozed, c.Round = false, "", "", 0, vent.ID{}
	if Next(c) < today {
		c.Anchor, c.LastDone, c.DoneBy, c.Finding, c.Kept = today, 0, "", vent.ID{}, vent.Standing{}
	}
	return c
}

// Every sets the interval of a check in months, 1 to what its rule allows.
func Every(c vent.Check, months int) (vent.Check, error) {
	var p vent.Problems
	r, ok := rules.CheckByID(c.Rule)
	switch {
	case ok && r.Once:
		p.Add("months", fmt.Sprint(months), "is not to be set: it follows from the alarm's own date")
	case months < 1 || ok && months > r.Most:
		p.Add("months", fmt.Sprint(months), "must be 1 to %d for %s", r.Most, c.Rule)
	}
	if err := p.Err(); err != nil {
		return c, fmt.Errorf("set %s: %w", c.Rule, err)
	}
	if c.LastDone != 0 && months != c.Months { // counted anew from the last time, never in a series of another pace
		c.Anchor = c.LastDone
	}
	c.Months, c.Snoozed = months, 0
	return c, nil
}

// reasoned refuses a change without a reason or a name.
func reasoned(p *vent.Problems, why, by, remedy string) {
	if strings.TrimSpace(why) == "" {
		p.Add("why", "", "is empty: %s", remedy)
	}
	if !named(by) {
		p.Add("by", by, "is no name: say who decided it")
	}
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
