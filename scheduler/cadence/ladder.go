package cadence

import (
	"fmt"
	"strconv"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Ladder is when people are told of one thing: so many days from its day.
type Ladder struct {
	Days  []int // from the day, ascending; negative is before
	Every int   // after the last: again each so many days; 0: never again
}

// StepName names a step by its days from the day that is told: "30_days", "on_the_day", "14_days_late". The names are
// stored with what was told.
func StepName(days int) vent.Step {
	switch {
	case days == 0:
		return "on_the_day"
	case days == -1:
		return "1_day"
	case days < 0:
		return vent.Step(strconv.Itoa(-days) + "_days")
	}
	return vent.Step(strconv.Itoa(days) + "_days_late")
}

// rung is one step of a ladder for one thing.
type rung struct {
	step vent.Step
	on   vent.Date
}

// at gives the last rung that has come by today, none before the first, and the day of the next; zero after the last.
func (l Ladder) at(of, today vent.Date) (last rung, ahead vent.Date) {
	for _, n := range l.Days {
		on := of.AddDays(n)
		if on > today {
			return last, on
		}
		last = rung{StepName(n), on}
	}
	if l.Every <= 0 || len(l.Days) == 0 {
		return last, 0
	}
	end := l.Days[len(l.Days)-1]
	n := end + of.AddDays(end).DaysUntil(today)/l.Every*l.Every
	return rung{StepName(n), of.AddDays(n)}, of.AddDays(n + l.Every)
}

// spent reports whether the last step has come and none follows.
func (l Ladder) spent(of, today vent.Date) bool {
	last, ahead := l.at(of, today)
	return last.step != "" && ahead == 0
}

// ahead gives how many days before its day a thing is first told.
func (l Ladder) ahead() int {
	if len(l.Days) == 0 {
		return 0
	}
	return max(0, -l.Days[0])
}

// from begins the ladder so many days before the day; 0 leaves it as it is.
func (l Ladder) from(days int) Ladder {
	if days <= 0 || len(l.Days) == 0 {
		return l
	}
	kept := []int{-days}
	for _, n := range l.Days {
		if n > -days {
			kept = append(kept, n)
		}
	}
	l.Days = kept
	return l
}

// monthsTwice is the shortest interval of a check that is told twice.
const monthsTwice = 3

// sparing thins the ladder out for a check for which nobody has to be called: it is told on its day, and late where it comes
// so seldom that the next one would not remind of it. Whoever is told every week stops reading. Ours.
func (l Ladder) sparing(d vent.Due) Ladder {
	rule, _ := rules.CheckByID(d.Reason.Rule)
	if rule.Once || !byAnybody(d) || len(l.Days) == 0 {
		return l // something is to be bought, or somebody to be called
	}
	kept := []int{0}
	for _, n := range l.Days {
		if n > 0 && d.Reason.Months >= monthsTwice {
			kept = append(kept, n)
		}
	}
	l.Days = kept
	return l
}

func (l Ladder) validate(name string) error {
	for i, n := range l.Days {
		switch {
		case n < -vent.MostReminderDays || n > vent.MostReminderAfter:
			return fmt.Errorf("the %s: %d is not from %d to %d days", name, n, -vent.MostReminderDays, vent.MostReminderAfter)
		case i > 0 && n <= l.Days[i-1]:
			return fmt.Errorf("the %s: step %d does not come after %d, the one before it", name, n, l.Days[i-1])
		}
	}
	if len(l.Days) > vent.MostReminders {
		return fmt.Errorf("the %s: %d steps, %d are allowed", name, len(l.Days), vent.MostReminders)
	}
	return nil
}
