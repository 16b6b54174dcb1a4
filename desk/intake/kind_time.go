package intake

import (
	"slices"
	"strings"

	"ventdue/vent"
)

// hoursKind is hours of the week, kept in the one form that they are written in.
func hoursKind() kind {
	return kind{name: "hours", parse: func(s string, _ vent.UnitSystem) (Value, error) {
		w, err := vent.ParseWeek(s)
		if err != nil || w.IsZero() {
			return Value{}, refuse("write days and hours, such as mon-fri 08:00-16:00; sat 09:00-12:00", "is not hours of the week")
		}
		return Value{Text: w.String()}, nil
	}}
}

// weekdaysKind is a set of weekdays.
func weekdaysKind() kind {
	return kind{name: "weekdays", parse: func(s string, _ vent.UnitSystem) (Value, error) {
		d, err := vent.ParseWeekdays(s)
		if err != nil {
			return Value{}, refuse("write them as mon,tue or mon-fri", "is not days of the week")
		}
		return Value{Text: d.String()}, nil
	}}
}

// datesKind is days, each once and in order.
func datesKind() kind {
	return kind{name: "dates", parse: func(s string, _ vent.UnitSystem) (Value, error) {
		days, err := readDates(s)
		if err != nil {
			return Value{}, err
		}
		text := make([]string, len(days))
		for i, d := range days {
			text[i] = d.String()
		}
		return Value{Text: strings.Join(text, ", ")}, nil
	}}
}

func readDates(s string) (days []vent.Date, err error) {
	for _, part := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' || r == ' ' || r == '\n' }) {
		d, err := readDate(part)
		if err != nil {
			return nil, err
		}
		days = append(days, d)
	}
	slices.Sort(days)
	return slices.Compact(days), nil
}
