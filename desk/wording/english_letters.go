package wording

import "maps"

func init() { maps.Copy(english, englishLetters) }

// englishLetters are the texts of mails about visits, what was done, and what needs somebody.
var englishLetters = map[string]string{
	"step.1_day": "the day before", "step.booked": "when it was booked", "step.moved": "when it moved", "step.cancelled": "when it was cancelled",
	"step.entry": "days before somebody comes in", "step.recorded": "when it was done",

	"letter.at":                   "{date}, {time}",
	"letter.line":                 "{what}, {where}",
	"letter.subject.visit_booked": "Visit booked for {date}, {time}: {where}", "letter.subject.visit_moved": "Visit moved to {date}, {time}: {where}",
	"letter.subject.visit_cancelled": "Visit of {date}, {time} is cancelled: {where}", "letter.subject.visit_soon": "Visit {away}, {date}, {time}: {where}",
	"letter.subject.entry":      "Somebody will come in on {date}, {time}: {where}",
	"letter.title.visit_booked": "The visit is booked", "letter.title.visit_moved": "The visit has moved", "letter.title.visit_cancelled": "The visit is cancelled",
	"letter.title.visit_soon": "A visit to the dryer vent", "letter.title.entry": "Somebody will come in for the dryer vent",
	"letter.top": "{date}, {time}, {away}", "letter.top.visit_moved": "Now {date}, {time}, {away}. It was {was}.",
	"letter.top.visit_cancelled": "Nobody comes on {date}, {time}.",
	"letter.top.more":            "The first: {when}",
	"letter.title.more":          "{n} visits: what is new",
	"letter.who":                 "Who comes", "letter.long": "How long", "letter.minutes": "about {n} minutes", "letter.work": "What is done",
	"letter.why.visit_booked": "You booked it, or it was agreed with you.", "letter.why.visit_moved": "The time that you were told before no longer holds.",
	"letter.why.visit_cancelled": "It was called off. What was to be done is still due: a new day is to be found.",
	"letter.why.visit_soon":      "A reminder of the visit that was agreed.",
	"letter.why.entry":           "{customer} has the dryer vent behind your door looked after. You are told ahead because somebody has to come in.",
	"letter.ready":               "Before the visit", "letter.ready.open": "Somebody has to open the door, and the dryer must be within reach.",
	"letter.ready.cold": "Let the dryer be off and empty for an hour before. Do not move it yourself, above all if it burns gas.",
	"letter.law":        "How long ahead an entry must be announced is for local law and your lease to say; this mail is no legal advice. If the time does not suit you, say so.",
	"letter.calendar":   "The file visit.ics puts it into your calendar.", "letter.calendar.gone": "The file visit.ics marks it as cancelled in your calendar.",
	"letter.contact": "If it does not suit you, answer this mail. It goes to {operator}.", "letter.contact.phone": "If it does not suit you, answer this mail or call {operator}, {phone}.",
	"letter.contact.self": "If it does not suit you, change it in your list.",
	"letter.book":         "Choose a day", "letter.rebook": "Move it or call it off",
	"letter.why_you":        "{name}, you get this from {operator} because a visit concerns you. It is no advertisement and goes also to those who asked for no reminders.",
	"letter.record.subject": "{outcome}, {date}: {where}",
	"letter.record.title":   "What was done", "letter.record.top": "On {date}", "letter.record.item": "{where}, {date}",
	"letter.record.outcome": "Outcome", "letter.record.before": "Found", "letter.record.after": "Left", "letter.record.next": "Next: {what} by {date}.",
	"letter.record.none": "Nothing further is due at the moment.", "letter.record.fault": "Still to be put right: {what}.",
	"letter.record.failed":    "It could not be done. It stays due.",
	"letter.record.corrected": "This takes the place of what was told before.",
	"letter.record.button":    "Open the record", "letter.record.open": "The record of {date}, {where}",
	"letter.record.care":    "As always",
	"letter.record.contact": "If something in it is not right, answer this mail. It goes to {operator}.",
	"letter.record.why_you": "{name}, you get this from {operator} as the record of work at your dryer vent. Keep it: insurers and landlords ask for it.",

	"letter.sum.subject.one": "1 thing needs you, {date}", "letter.sum.subject": "{n} things need you, {date}", "letter.sum.subject.none": "Nothing needs you, {date}",
	"letter.sum.title": "What needs you today", "letter.sum.title.none": "Nothing needs you today",
	"letter.sum.stops": "Dryers that nobody may use ({n})", "letter.sum.spent": "Told to the last reminder and nothing came of it: call them ({n})",
	"letter.sum.unbooked": "A visit is needed within three weeks and none is booked ({n})", "letter.sum.unwritten": "Visits that are over and of which nothing is written down ({n})",
	"letter.sum.untold": "Customers whom no mail reaches: call them ({n})", "letter.sum.undelivered": "Mails that were given up since the last summary ({n})",
	"letter.sum.held": "The limit of mails a day was reached: mails held back until the next day ({n}). The limits are settings (mail.per_day, mail.per_person).",
	"letter.sum.more": "and {n} more", "letter.sum.mail": "{name}, {to}: {why}", "letter.sum.customer": "{name}: {why}", "letter.sum.no_contact": "no contact is known",
	"letter.sum.call":   "{line} ({customer})",
	"letter.sum.none":   "All is well: no stop, nobody to call, every mail delivered. This line comes on Mondays so that silence is not taken for health.",
	"letter.sum.button": "Open the list", "letter.sum.why_you": "This is the daily summary for {operator}. It is switched off with mail.summary in the settings.",
}
