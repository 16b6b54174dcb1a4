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
	"page.nav.visits":      "Visits", "page.visits.title": "Visits", "page.visits.text": "Proposals are the office's own: nobody is told, and planning may move them. What is booked stays until somebody moves it.",
	"page.visits.week": "Week of {date}", "page.visits.none": "No visit stands in the calendar.", "page.visits.nobody": "Nobody makes visits yet: set up a technician first.",
	"page.visits.propose": "Propose visits anew", "page.visits.sheets": "Day sheets of today:", "page.visits.wishes": "Days that people asked for",
	"page.visits.proposed": "{new} proposed anew, {moved} moved, {kept} kept, {dropped} dropped; {late} cannot be done in time.",
	"page.visit.title":     "Visit: {where}", "page.visit.was": "It was {when} before.", "page.visit.notice": "Occupants are told {n} days before an entry. Local law decides what is enough.",
	"page.visit.doors": "Doors", "page.visit.building": "Building", "page.visit.door.done": "done", "page.visit.door.shut": "nobody opened", "page.visit.door.refused": "refused",
	"page.visit.close": "Close the visit", "page.visit.close.text": "Write down readings on each run's page first. A done door without them gets a plain finding; what is left goes back to planning.",
	"page.visit.why": "Why", "page.visit.change": "Change it", "page.visit.book": "Book it", "page.visit.hold": "Offer it for two days", "page.visit.freeze": "Leave it here", "page.visit.thaw": "Let planning move it",
	"page.visit.on": "On which day", "page.visit.at": "At what time", "page.visit.move": "Move it", "page.visit.cancelled_by_office": "called off by the office",
	"page.visit.done": "Written down: {state}, {when}.", "page.visit.wrong": "That cannot be: look at the day and the time.",
	"page.day.title": "Day sheet of {name}, {date}", "page.day.none": "No visit is booked for this day.", "page.day.drive": "{time} on the road before", "page.day.go": "Way there",
	"page.day.codes": "Codes and keys are shown to you alone, today alone.", "page.day.nocodes": "Codes and keys are shown to the technician alone, on the day alone.",
	"page.day.access.note": "Way in: {text}", "page.day.access.parking": "Parking: {text}", "page.day.access.keys": "Keys: {text}", "page.day.access.codes": "Codes: {text}",
	"page.day.access.dog": "There is a dog.", "page.day.access.ladder": "A ladder is needed.", "page.day.access.roof": "Somebody must go on the roof: trained and secured people only.",
	"page.day.last": "Last visit {date}: {outcome}.", "page.day.faults": "Open faults:", "page.day.bring": "Be ready to:",
	"page.ahead.title": "The work ahead", "page.ahead.text": "Twelve months of visits, week by week, against the hours that can be worked. What is due comes again in them.",
	"page.ahead.late": "{n} are late if nothing changes; {room} of them find no room at all.", "page.ahead.none": "Nothing is late if nothing changes.",
	"page.ahead.line": "{where}: {what}, latest {date}: {why}", "page.ahead.extra": "{n} more days of one technician would do all that more hands can, the first on {date}.",
	"page.ahead.week": "Week of", "page.ahead.visits": "Visits", "page.ahead.work": "At work", "page.ahead.drive": "On the road", "page.ahead.can": "Can be worked", "page.ahead.latecol": "Late",
	"visit.cause.over": "its time was over already", "visit.cause.notice": "its time is over before notice can be given", "visit.cause.skill": "nobody has the skills",
	"visit.cause.window": "no day fits", "visit.cause.off": "nobody works then", "visit.cause.closed": "the site is closed then", "visit.cause.access": "the site's hours are too short",
	"visit.cause.long": "work and way do not fit into a day", "visit.cause.booked": "booked visits take the time", "visit.cause.full": "other work takes the time",
}
