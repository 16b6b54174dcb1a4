package wording

import "maps"

func init() { maps.Copy(english, englishOnsite) }

// englishOnsite is what a phone says at the dryer.
var englishOnsite = map[string]string{
	"page.record.here": "Form at the desk", "page.record.after.text": "Take the last reading with the dryer pushed back into its place.",
	"page.record.parts": "Parts", "page.record.faults": "Faults", "page.record.close": "Before you leave", "page.record.photos": "Note and photos",
	"page.onsite.run": "All about this run", "page.field.unit_of": "Unit: {what}",
	"page.unit.hpa": "{n}\u00a0hPa", "page.unit.mmwc": "{n}\u00a0mm\u00a0w.c.",

	"page.judged.open": "{share} of clean: within the limit", "page.judged.near": "{share} of clean: close to the limit", "page.judged.past": "{share} of clean: past the limit",
	"page.judged.left_past":  "{share} of clean after the work: still past the limit",
	"page.judged.leak":       "{share} of clean with low pressure: this is no lint. Look for a leak, a loose joint or a full lint screen.",
	"page.judged.past_plain": "Past the limit", "page.judged.open_plain": "Within the limit",
	"page.judged.before": "Before, {reading}: {verdict}.", "page.judged.after": "After, {reading}: {verdict}.",

	"page.kept.one": "1 visit waits for signal", "page.kept.many": "{n} visits wait for signal", "page.kept.photos": "Photos kept with this visit: {n}.",
	"page.kept.asof":    "There is no signal. This page is as it was {when}.",
	"page.kept.signout": "{waiting}. They stay on this device and are sent when the same person signs in here again. Sign out now?",
	"page.kept.refused": "The server did not take this visit. Tell the office, or put it right and send it again.",
	"page.kept.other":   "Somebody else is signed in now. Sign in under the name under which the visit was kept.",

	"page.waiting.title": "Visits that wait", "page.waiting.text": "Visits that were recorded without signal are kept on this device and sent, in their order, as soon as there is some.",
	"page.waiting.script": "This browser runs no scripts: no visit is kept on it. A form is sent at once.",
	"page.waiting.none":   "No visit waits.", "page.waiting.waits": "Waits for signal.", "page.waiting.signin": "Waits until you sign in again.",
	"page.waiting.refused": "Not taken: put it right and send it again.", "page.waiting.other": "Kept by somebody else ({who}): it is sent when they sign in here.",
	"page.waiting.sent": "Sent and recorded", "page.waiting.edit": "Open the form", "page.waiting.drop": "Throw it away", "page.waiting.sure": "Throw this visit away? It is recorded nowhere else.",
	"page.waiting.send": "Send now", "page.waiting.back": "Back to the work",
}
