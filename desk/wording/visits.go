package wording

import (
	"fmt"
	"strconv"

	"ventdue/vent"
)

// Clock writes a time of day, in minutes after midnight, as people say it: "9:30 am".
func (w Words) Clock(minutes int) string {
	h, m := minutes/60%24, minutes%60
	key, twelve := "clock.am", h%12
	if h >= 12 {
		key = "clock.pm"
	}
	if twelve == 0 {
		twelve = 12
	}
	return w.Say(key, "h12", strconv.Itoa(twelve), "h24", strconv.Itoa(h), "m", fmt.Sprintf("%02d", m))
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
