package intake

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ventdue/vent"
)

// reminderKind is days of reminders: "45 21 7 0 +14" is 45, 21 and 7 days before the due day, on the day, and 14 days after.
// A minus is refused, because people mean either by it.
func reminderKind() kind {
	return kind{name: "days", parse: func(s string, _ vent.UnitSystem) (Value, error) {
		days, err := reminderDays(s)
		if err != nil {
			return Value{}, err
		}
		texts := make([]string, len(days))
		for i, n := range days {
			texts[i] = strconv.Itoa(-n)
			if n > 0 {
				texts[i] = fmt.Sprintf("+%d", n)
			}
		}
		return Value{Text: strings.Join(texts, " ")}, nil
	}}
}

// reminderDays reads days of reminders as a customer keeps them: ascending, negative is before.
func reminderDays(s string) (days []int, err error) {
	const remedy = "write days before the due day, and days after it with a plus, as in 45 21 7 0 +14"
	for word := range strings.FieldsFuncSeq(s, func(r rune) bool { return r == ' ' || r == ',' || r == ';' || r == '\u00a0' }) {
		n, err := strconv.Atoi(word)
		if err != nil || strings.HasPrefix(word, "-") {
			return nil, refuse(remedy, "%.20q is no number of days", word)
		}
		if !strings.HasPrefix(word, "+") {
			n = -n
		}
		days = append(days, n)
	}
	slices.Sort(days)
	days = slices.Compact(days)
	switch {
	case len(days) == 0:
		return nil, refuse(remedy, "names no day")
	case len(days) > vent.MostReminders:
		return nil, refuse("keep the days that matter", "names %d days, at most %d are kept", len(days), vent.MostReminders)
	}
	return days, nil
}
