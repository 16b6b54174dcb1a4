package wording

import (
	"strconv"
	"strings"

	"ventdue/vent"
)

// Step says which rung of the reminders, or which telling of a stop, a step is: "7 days before".
func (w Words) Step(s vent.Step) string {
	name := string(s)
	if rest, ok := strings.CutPrefix(name, "stop_"); ok { // the spell, then the day
		_, day, _ := strings.Cut(rest, "_")
		if on, err := vent.ParseDate(day); err == nil {
			return w.Say("steps.stop", "day", w.Date(on))
		}
	}
	for _, rung := range []struct{ suffix, key string }{{"_days_late", "steps.late"}, {"_days", "steps.before"}} {
		if days, ok := strings.CutSuffix(name, rung.suffix); ok {
			if n, err := strconv.Atoi(days); err == nil {
				if n == 1 {
					return w.Say(rung.key + ".one")
				}
				return w.Say(rung.key, "n", strconv.Itoa(n))
			}
		}
	}
	if w.Has("step." + name) {
		return w.Say("step." + name)
	}
	return strings.ReplaceAll(name, "_", " ")
}

// Notice says where an obligation to tell somebody stands.
func (w Words) Notice(s vent.NoticeState) string { return w.Say("notice." + string(s)) }

// Message says where a message stands.
func (w Words) Message(s vent.MessageState) string { return w.Say("message." + string(s)) }
