package wording

import "maps"

// The texts of the page on which a person chooses what to be reminded of, and of the links that lead there.
func init() { maps.Copy(english, englishChoices) }

var englishChoices = map[string]string{
	"page.choices.title": "Your reminders", "page.choices.from": "Reminders from {operator}.",
	"page.choices.stop":  "If a dryer must not be used any more, you are told all the same: that is about safety. What you booked or asked for is confirmed.",
	"page.choices.what":  "What do you want to be told?",
	"page.choices.kinds": "Tell me when", "page.choices.kind.run_due": "a dryer vent must be looked at or cleaned",
	"page.choices.kind.check_due": "a small check is due, such as washing the lint screen", "page.choices.kind.fault": "a fault must be put right by a date",
	"page.choices.kind.visit_soon": "a booked visit comes near", "page.choices.kind.record": "a visit is over: what was found and done",
	"page.choices.first": "First reminder", "page.choices.first.usual": "at the usual time", "page.choices.first.days": "{n} days before",
	"page.choices.pause": "No reminders until", "page.choices.pause.hint": "Leave it empty for no pause. It can be up to a year.",
	"page.choices.language": "Language", "page.choices.language.en": "English", "page.choices.language.es": "Español",
	"page.choices.save": "Save", "page.choices.saved": "Saved. The next mail follows what you chose.",
	"page.choices.off": "No more reminders", "page.choices.off.go": "Send me no reminders", "page.choices.none": "You get no more reminders. You can change that here at any time.",
	"page.choices.wrong": "That could not be taken. Please look at the day and what is ticked, and save again.",
	"page.choices.old":   "This link is too old to choose by. Use the one in a newer mail, or answer the mail.",

	"mail.choices": "Choose what you are reminded of, pause, or stop",
}
