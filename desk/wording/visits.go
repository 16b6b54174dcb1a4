package wording

import (
	"fmt"
	"strconv"

	"ventdue/vent"
)

// Clock writes a time of day, in minutes after midnight, by the reader's clock: "2:30 pm", "14:30".
func (w Words) Clock(minutes int) string {
	h, m := minutes/60%24, fmt.Sprintf("%02d", minutes%60)
	if w.Hours == vent.Clock24 || w.Hours == "" && !w.us() {
		return w.Say("clock.24", "h24", fmt.Sprintf("%02d", h), "m", m)
	}
	key, twelve := "clock.am", h%12
	if h >= 12 {
		key = "clock.pm"
	}
	if twelve == 0 {
		twelve = 12
	}
	return w.Say(key, "h12", strconv.Itoa(twelve), "m", m)
}

// From writes when something begins: "Wed 4 March 2026, 9:30 am".
func (w Words) From(on vent.Date, start int) string {
	return w.Say("visit.from", "date", w.Date(on), "from", w.Clock(start))
}

// Time writes when something begins and ends: "Wed 4 March 2026, 9:30 am to 10:30 am".
func (w Words) Time(on vent.Date, start, minutes int) string {
	return w.Say("visit.time", "date", w.Date(on), "from", w.Clock(start), "to", w.Clock(start+minutes))
}

// VisitState says where a visit stands.
func (w Words) VisitState(s vent.VisitState) string { return w.Say("visit.state." + string(s)) }

// Duration writes minutes as hours and minutes: "2 h 30 min".
func (w Words) Duration(minutes int) string {
	h, m := strconv.Itoa(minutes/60), strconv.Itoa(minutes%60)
	switch {
	case minutes < 60:
		return w.Say("visit.minutes", "m", m)
	case minutes%60 == 0:
		return w.Say("visit.hours", "h", h)
	}
	return w.Say("visit.hours_minutes", "h", h, "m", m)
}
