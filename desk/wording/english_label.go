package wording

import "maps"

// The texts of stops that are told, acknowledged and tagged, and of labels.
func init() { maps.Copy(english, englishLabel) }

var englishLabel = map[string]string{
	"page.close.call": "Somebody was told", "page.close.call.go": "Note it", "page.close.tag": "The tag on the dryer", "page.close.tag.go": "Note it",
	"page.close.field.role": "In what capacity", "page.close.field.hangs": "Tag", "page.fault.untagged": "No tag hangs on the dryer.",
	"page.call.role.occupant": "who lives there", "page.call.role.customer": "the customer", "page.call.role.operator": "you, the operator", "page.call.role.": "somebody else",
	"page.call.answer": "Their answer",
	"page.ack.title":   "Do not use the dryer", "page.ack.title.over": "Nothing is to be acknowledged any more", "page.ack.over": "The dryer was released, or this was told anew since.",
	"page.ack.known": "It is noted that you know. Nobody uses the dryer until a named qualified person has released it.",
	"page.ack.text":  "Press the button when you have read this and nobody uses the dryer. You are then not told again every day.",
	"page.ack.go":    "I know: nobody uses the dryer",
	"picture.labels": "Labels, sheet {n}", "page.labels.title": "Labels for the dryers", "page.labels.link": "Print this label", "page.labels.other": "Another building",
	"page.labels.text":  "A label at the dryer leads whoever lives there to the form for what they noticed, without an account, and whoever works there to the page of the run.",
	"page.labels.sheet": "Sheet", "page.labels.skip": "Labels already used on the first sheet", "page.labels.skip.hint": "0 for a new sheet", "page.labels.skip.problem": "A number from 0 to {n}.",
	"page.labels.show": "Show", "page.labels.print": "Print with the browser at 100 %, without margins, headers and footers.", "page.labels.which": "Which building: words of its name or address",
	"page.labels.find": "Find", "page.labels.none": "No building fits.", "page.labels.more": "There are more: give words of its name.",
	"page.labels.no_base":   "No address for these pages is set (web.base_url), so the codes lead to the address that this browser uses. Set it before you hang labels up.",
	"page.labels.of.a4":     "A4, {columns} × {rows} labels of {width} × {height}",
	"page.labels.of.letter": "Letter, {columns} × {rows} labels of {width} × {height}",
	"label.danger":          "Smell of burning, or the CO alarm sounds: stop the dryer, leave, call the emergency number.", "label.scan": "Noticed something? Point a camera at the code.",
	"label.call": "{operator}, {phone}", "label.length": "Dryer duct: {length} by {rule}, at most {limit}. Ask before you change it.",
	"page.tell.works": "For whoever works at the dryer: the page of this run",
	"mail.ack":        "I know: nobody uses the dryer", "mail.ack.at": "I know, nobody uses the dryer: {where}",
	"mail.sign": "Tell what you noticed at the dryer", "mail.sign.at": "Tell what you noticed: {where}",
}
