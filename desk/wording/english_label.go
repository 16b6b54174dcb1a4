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
	"mail.ack":       "I know: nobody uses the dryer", "mail.ack.at": "I know, nobody uses the dryer: {where}",
	"mail.sign": "Tell what you noticed at the dryer", "mail.sign.at": "Tell what you noticed: {where}",
}
