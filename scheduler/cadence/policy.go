package cadence

import (
	"errors"
	"fmt"
	"time"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Policy is how often and at what time of day people are told.
type Policy struct {
	// Due is the ladder of what its reader sees to themselves, ByVisit of what somebody has to come for: its first steps
	// leave time to find a day.
	Due, ByVisit Ladder
	// Again is how often a household is asked again after the last step, in days; everybody else's are left to the
	// operator then.
	Again int
	Visit Ladder // before a booked visit

	// Opens and Shuts are minutes after midnight at the person's place; nothing but a stop is sent outside them.
	Opens, Shuts int
	// Quiet is a part of the window in which nothing is sent either; zero: none.
	Quiet Span
	// QuietDays are the days of the week without reminders. What is told of a visit that was agreed goes on all days.
	QuietDays []time.Weekday

	// PerPerson and PerDay bound how many mails a person, and the whole installation, sends on a day, stops not counted.
	// 0: no bound. What is held back goes on the next day, and is seen.
	PerPerson, PerDay int

	Record  bool // a business's customers get the record of each visit
	Summary bool // the operator is told every morning what needs somebody
}

// Span is a part of a day, in minutes after midnight.
type Span struct{ From, To int }

// Default is: 30 days before, 7 days, on the day, 14 days after; where somebody has to come, 45 and 21 days, then 7 days, on the
// day and 14 after. Three days and one before a visit. From 08:00 to 18:00.
//
// Two reminders beat one (a trial with 54 066 patients compared the numbers of reminders for appointments); the
// exact days, and the limits of mails a day, are common practice with no source.
func Default() Policy {
	return Policy{
		Due:     Ladder{Days: []int{-30, -7, 0, 14}},
		ByVisit: Ladder{Days: []int{-45, -21, -7, 0, 14}},
		Again:   30,
		Visit:   Ladder{Days: []int{-3, -1}},
		Opens:   8 * 60, Shuts: 18 * 60,
		PerPerson: 5, PerDay: 20_000,
		Record: true, Summary: true,
	}
}

// Validate says what is wrong with the policy.
func (p Policy) Validate() error {
	if p.Opens < 0 || p.Shuts > 24*60 || p.Opens >= p.Shuts {
		return fmt.Errorf("the window for mail, minute %d to %d of the day, must open before it shuts, within one day", p.Opens, p.Shuts)
	}
	if q := p.Quiet; q != (Span{}) && (q.From >= q.To || q.From < p.Opens || q.To > p.Shuts || q.To-q.From >= p.Shuts-p.Opens) {
		return fmt.Errorf("the quiet hours, minute %d to %d, must lie inside the window for mail and leave some of it", q.From, q.To)
	}
	if p.allQuiet() {
		return errors.New("all days of the week are quiet: leave one on which people may be reminded")
	}
	if p.PerPerson < 0 || p.PerDay < 0 || p.Again < 0 {
		return errors.New("the limits of mails a day and the days until a household is asked again cannot be negative")
	}
	for _, n := range p.Visit.Days {
		if n > 0 {
			return fmt.Errorf("the days before a visit: %d is after it", n)
		}
	}
	for _, err := range []error{p.Due.validate("days of reminders"), p.ByVisit.validate("days of reminders where a visit is needed"),
		p.Visit.validate("days before a visit")} {
		if err != nil {
			return err
		}
	}
	return nil
}

func (p Policy) allQuiet() bool {
	for d := time.Sunday; d <= time.Saturday; d++ {
		if !p.quiet(d) {
			return false
		}
	}
	return true
}

func (p Policy) quiet(d time.Weekday) bool {
	for _, q := range p.QuietDays {
		if q == d {
			return true
		}
	}
	return false
}

// For gives the ladder by which a person is told of a customer's due: by the customer's own days, else the operator's, and
// not earlier than the person asked for.
func (p Policy) For(kind vent.OperatorKind, c vent.Customer, who vent.Person, d vent.Due) Ladder {
	l := p.Due
	if kind == vent.Customers && NeedsVisit(d) {
		l = p.ByVisit
	}
	if len(c.Reminders) > 0 {
		l = Ladder{Days: c.Reminders}
	}
	l = l.from(who.FirstDays)
	if d.Kind == vent.DueCheck {
		l = l.sparing(d)
	}
	if kind == vent.Household {
		l.Every = p.Again
	}
	return l
}

// Ahead gives how many days before its day a person is first told of a customer's due at the earliest.
func (p Policy) Ahead(c vent.Customer, who vent.Person) int {
	if len(c.Reminders) > 0 {
		return max(Ladder{Days: c.Reminders}.ahead(), who.FirstDays)
	}
	return max(p.Due.ahead(), p.ByVisit.ahead(), who.FirstDays)
}

// NeedsVisit reports whether somebody has to come for a due: not for what anybody who lives there can do.
func NeedsVisit(d vent.Due) bool {
	switch d.Kind {
	case vent.DueFault:
		r, known := rules.FaultByID(d.Reason.Rule)
		return !known || r.By != rules.Anybody
	case vent.DueCheck:
		return !byAnybody(d)
	}
	return true
}

// byAnybody reports whether a check is one that anybody does; one that is not known is.
func byAnybody(d vent.Due) bool {
	rule, known := rules.CheckByID(d.Reason.Rule)
	return !known || rule.By == rules.Anybody
}

// Slot gives the local day and the moment, now or later, at which a message may go: inside the window at the person's
// place and outside its quiet hours, today if the window has not shut, else on the next day. taken days are passed over: they
// have had their message, or are quiet. spread, 0 to 1, gives a person their place within the window's first two hours, so
// that not all leave at once.
func (p Policy) Slot(now vent.Instant, zone *time.Location, taken func(vent.Date) bool, spread float64) (vent.Date, vent.Instant) {
	day := now.DateIn(zone)
	if now >= vent.InstantOf(day.At(p.Shuts, zone)) {
		day = day.AddDays(1)
	}
	for tries := 0; taken(day) && tries < 400; tries++ {
		day = day.AddDays(1)
	}
	width := min(120, p.Shuts-p.Opens-1)
	at := max(now, vent.InstantOf(day.At(p.Opens, zone).Add(time.Duration(spread*float64(width)*float64(time.Minute)))))
	return p.afterQuiet(day, at, zone, taken)
}

// afterQuiet moves a moment of the window behind its quiet hours. Where these reach to the window's end that is tomorrow.
func (p Policy) afterQuiet(day vent.Date, at vent.Instant, zone *time.Location, taken func(vent.Date) bool) (vent.Date, vent.Instant) {
	if p.Quiet == (Span{}) || at < vent.InstantOf(day.At(p.Quiet.From, zone)) || at >= vent.InstantOf(day.At(p.Quiet.To, zone)) {
		return day, at
	}
	if p.Quiet.To < p.Shuts {
		return day, vent.InstantOf(day.At(p.Quiet.To, zone))
	}
	for day = day.AddDays(1); taken(day); {
		day = day.AddDays(1)
	}
	return day, vent.InstantOf(day.At(p.Opens, zone))
}

// QuietOn reports whether a day has no reminders.
func (p Policy) QuietOn(d vent.Date) bool { return p.quiet(d.Weekday()) }
