package wording

import "maps"

// The texts of the history of mails: what somebody was told, or why not.
func init() { maps.Copy(english, englishStory) }

var englishStory = map[string]string{
	"story.moment": "{date}, {time}", "story.nobody": "nobody yet", "story.heading": "{date}: {class} to {to}: {state}",
	"story.class.reminder": "reminder", "story.class.stop": "stop", "story.class.visit": "word of a visit", "story.class.record": "record of a visit", "story.class.summary": "day's summary",

	"story.person.no_address":  "No e-mail address is known, so no mail can be sent.",
	"story.person.dead":        "Mail to {address} is not delivered, so none is sent until there is another address. It was said: {why}",
	"story.person.unreachable": "Gets no reminders: {why}.",
	"story.person.refused_all": "Asked for no reminders{said}. A stop, and what concerns an agreed visit, is told all the same.",
	"story.person.refused":     "Does not want to be told when: {what}{said}.",
	"story.said":               " on {when}, by {how}",
	"story.how.one-click":      "one click in the mail program", "story.how.preference_page": "the page in the mail's link", "story.how.complaint": "a complaint to the mail provider",
	"story.person.paused": "Asked for a pause until {date}.", "story.person.first": "Asked to be told first {n} days before.",
	"story.person.nothing": "Nothing is open for this person, so there is nothing to tell.",
	"story.person.ahead":   "Next for this person: {what}, {where}, by {date}.",
	"story.person.next":    "Looked at again on {when}.",

	"story.state.pending":    "Waits to be sent, not before {next}.",
	"story.state.claimed":    "Is being handed over just now, since {last}.",
	"story.state.accepted":   "Handed over on {settled}: the server took it.",
	"story.state.deferred":   "Not taken yet. Tried {n} time(s), last on {last}; tried again from {next} on.",
	"story.state.failed":     "Not delivered, and not tried again.",
	"story.state.suppressed": "Not sent.",
	"story.state.expired":    "Given up after {n} time(s), last on {last}.",
	"story.state.unknown":    "Sent on {last}, but the answer was lost: it may have arrived. Tried once more from {next} on, as the same mail.",
	"story.state.dropped":    "Not sent: nothing in it was true any more when its time came.",
	"story.unknown":          "At some time its answer was lost, so it may have arrived twice, as the same mail.",
	"story.return.bounced":   "It came back on {when}: {why}", "story.return.delayed": "A server further on could not deliver it yet, as it said on {when}: {why}",
	"story.return.complaint": "On {when} the mail provider reported that the person does not want it. No more reminders go there.",
	"story.answer":           "It was said: {answer}",

	"story.due": "{what}, {where}, by {date}", "story.thing": "{what}, {date}", "story.step": "{what} ({step})", "story.line": "{what}: {state}", "story.because": "{state} ({why})",
	"story.kind.visit_booked": "a visit was agreed", "story.kind.visit_moved": "a visit was moved", "story.kind.visit_cancelled": "a visit was cancelled",
	"story.kind.visit_soon": "a visit comes near", "story.kind.entry": "somebody will come in", "story.kind.record": "what was found and done", "story.kind.summary": "what needs somebody",
	"story.kind.stop": "a dryer must not be used",

	"page.nav.mail": "Mail", "page.mail.title": "Mail", "page.mail.title_of": "Mail to {name}", "page.mail.text": "What was sent to whom, what came of it, and why somebody got nothing. Whether a mail landed among unwanted ones cannot be seen from here.",
	"page.mail.dead": "No mail reaches these people", "page.mail.persons": "Who", "page.mail.messages": "Messages, the newest first", "page.mail.none": "No message so far.",
	"page.mail.more": "{n} older messages are not shown.", "page.mail.ask": "A person or customer", "page.mail.ask.hint": "An e-mail address, a key of your own, or words of a customer's name.", "page.mail.ask.go": "Show",
	"page.mail.nobody": "Nobody fits. Try an e-mail address, or other words of a customer's name.",
	"page.mail.void":   "Make old links void", "page.mail.void.text": "Links to the page of choices in all mails so far stop working, for when one has gone astray. The next mail has a new one.",
	"page.mail.void.done": "Links in earlier mails do not work any more.", "page.mail.all": "All mail", "page.mail.ways": "Is told by", "page.mail.way.mail": "mail", "page.mail.way.webhook": "the webhook (text message or chat)", "page.mail.ways.go": "Keep", "page.mail.link": "Who was told",
}
