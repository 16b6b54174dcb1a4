package wording

import "maps"

func init() { maps.Copy(english, englishVisits) }

// englishVisits are the texts of visits: calendars, booking by link, day sheets, the work ahead.
var englishVisits = map[string]string{
	"feed.held":     "Offered: {what}",
	"feed.own_time": "Own time",

	"clock.am": "{h12}:{m} am", "clock.pm": "{h12}:{m} pm", "clock.24": "{h24}:{m}",
	"visit.from": "{date}, {from}", "visit.time": "{date}, {from} to {to}",
	"visit.minutes": "{m} min", "visit.hours": "{h} h", "visit.hours_minutes": "{h} h {m} min",
	"visit.state.proposed": "proposed", "visit.state.held": "offered", "visit.state.booked": "booked", "visit.state.done": "done",
	"visit.state.part_done": "partly done", "visit.state.nobody_home": "nobody home", "visit.state.refused": "refused", "visit.state.cancelled": "called off",

	"page.book.title": "Your dryer vent visits", "page.book.sites": "Choose a building",
	"page.book.agreed": "Agreed", "page.book.offered": "Offered to you until {when}",
	"page.book.due": "What is due", "page.book.due.line": "{what}, best by {date}",
	"page.book.slots": "Choose a time", "page.book.slots.about": "The visit takes about {time}. Somebody should be there to let us in.",
	"page.book.pick": "Take this time", "page.book.move": "Choose another time", "page.book.move.title": "Move the visit of {when}", "page.book.move.pick": "Move to this time",
	"page.book.keep": "Keep the time", "page.book.cancel": "Call it off", "page.book.agree": "Agree to this time",
	"page.book.proposals": "More than one visit is needed. These days would do:",
	"page.book.cutoff":    "You can change or call off a visit here until {n} hours before it begins. After that, please call.",
	"page.book.none":      "There is nothing to book at the moment.", "page.book.opens": "It is too early to book: from {date} on times are offered.",
	"page.book.noslot": "No time is free that would do. Say below which days suit you, and we come back to you.",
	"page.book.wish":   "No time suits you? Propose days in your own words", "page.book.wish.go": "Send",
	"page.book.wish.have": "You asked for: {text}",
	"page.book.booked":    "Booked: {when}.", "page.book.moved": "Moved: it is now {when}.", "page.book.cancelled": "Called off. What is due stays due: please choose another time.", "page.book.wished": "Thank you. The office comes back to you.",
	"page.book.taken": "That time was taken meanwhile or does not do any more. These times are free now.",
	"page.book.late":  "It is too late to change this visit here: please call.",
	"page.book.call":  "Or call {operator}, {phone}.", "page.book.what": "Press one of the buttons.",
	"page.book.doors": "Doors: {doors}",
	"page.book.care":  "A date is advice, not a permit to wait: if the dryer smells of burning, stop it, leave, and call the emergency number. Local codes and the maker's instructions come first.",
	"page.book.over":  "This link is too old. The next mail has a new one.",
	"page.book.hold":  "The time is kept for you until {when}.",

	"picture.ahead":        "Hours of visits by week against the hours that can be worked",
	"picture.ahead.legend": "Bars: hours at work (dark) and on the road (light) each week. Dashed line: hours that can be worked. A cross: so many are late.",
}
