package wording

import "maps"

// The texts of service records, faults and photos are a part of their own, so that no file holds all of them.
func init() { maps.Copy(english, englishPaper) }

var englishPaper = map[string]string{
	"page.paper.title": "Service record", "page.paper.title_visit": "Service record of {date}", "page.paper.title_site": "Service record of a building",
	"page.paper.link": "Service record", "page.paper.link_site": "Service record of the building",
	"page.paper.written": "Written {date}.", "page.paper.for": "for", "page.paper.state": "How it stands today:", "page.paper.recorded": "Written down {when}.",
	"page.paper.back": "Back", "page.paper.csv": "As a table (csv)", "page.paper.print": "Print this page with the browser, or save it as PDF.",
	"page.paper.corrected": "This visit was written down anew later. What stands here no longer counts; the service record of the run has the valid word.",
	"page.paper.visit":     "What was found and done", "page.paper.visits": "Every visit, the newest first",
	"page.paper.open": "What is still to be put right", "page.paper.no_faults": "No fault is known.", "page.paper.closed": "Put right before",
	"page.paper.next_title": "What comes next, and why", "page.paper.nothing": "nothing is due",
	"page.paper.signed": "Done by: name, signature, day", "page.paper.seen": "Seen by: name, signature, day",
	"page.paper.next": "{what}: {date}", "page.paper.cleaned": "Cleaned from end to end {date} ({who}).", "page.paper.not_cleaned": "No cleaning from end to end is known.",
	"page.paper.after_that": "Last visit {date}: {outcome}.", "page.paper.tally": "{n} {state}",
	"page.paper.ended.one": "1 run that is no longer kept is left out.", "page.paper.ended": "{n} runs that are no longer kept are left out.",
	"page.paper.no_runs":  "No run is kept in this building.",
	"page.paper.col.door": "Door and dryer", "page.paper.col.state": "State", "page.paper.col.last": "Last cleaning and reading", "page.paper.col.faults": "Open faults", "page.paper.col.next": "Next, and why",

	"page.fault.do":  "To put it right: {do} ({by}).",
	"page.close.fix": "It was put right", "page.close.fix.go": "Write it down", "page.close.waive": "Put it off", "page.close.waive.go": "Put it off",
	"page.close.release": "Release the dryer", "page.close.release.go": "Release it", "page.close.licence": "Licence", "page.close.licensed": "They hold a licence for this work",
	"page.close.field.who": "Who", "page.close.field.on": "On which day", "page.close.field.how": "How", "page.close.field.until": "Until which day", "page.close.field.why": "Why",
	"page.close.field.as": "By what right: licence, trade or authority", "page.close.field.what": "What was found and done",

	"page.recorded.missing": "Not confirmed yet: {what}. Do it before you leave, then correct this visit.",

	"page.fault.tagged": "A tag hangs on the dryer.", "page.fault.told": "{who} was told {when} ({how}).", "page.fault.acknowledged": "They said that they know.",

	"page.fault.late":    "overdue, to be put right by {date}",
	"page.party.anybody": "anybody may do it", "page.party.competent": "by somebody trained for it", "page.party.licensed": "by a licensed person only",

	"page.field.photos": "Photos", "page.field.photos.hint": "At most {n}, jpeg or png, up to {mb} MB each. Where they were taken is not kept.", "page.field.kept": "Photos of this visit",
	"page.problem.photos": "At most {n} photos go with one visit: untick some, or send the others as another visit.",
	"page.field.fixed":    "Put right on this visit", "page.field.close_out": "Confirmed before leaving",
	"page.seen.run": "Faults seen on the run", "page.seen.appliance": "Faults seen on the dryer", "page.seen.stop": " (nobody may use the dryer)",

	"page.tell.title": "What did you notice at the dryer?", "page.tell.urgent": "Is it dangerous now?", "page.tell.others": "Something else",
	"page.tell.name": "Your name (may stay empty)", "page.tell.note": "Anything else worth knowing (may stay empty)",
	"page.tell.thanks": "Taken down: {what}.", "page.tell.call": "Or call {operator}, {phone}.", "page.tell.which": "Press what you noticed.",
	"page.tell.wait":  "This was told several times already. If it has changed, tell it again in {n} seconds.",
	"page.tell.label": "For the label at the dryer", "page.tell.label.text": "Whoever opens this address tells what they noticed, without an account. Print it on the label, or send it to whoever lives there.",

	"page.look.symptom": "What was wrong", "page.look.fixed": "Put right", "page.look.parts": "Parts of the dryer", "page.look.close_out": "Confirmed at the end", "page.look.counter": "Loads on the counter",
	"page.symptom.no_start": "the drum does not turn", "page.symptom.no_heat": "it runs without heat", "page.symptom.no_heat_one_setting": "one heat setting stays cold",
	"page.symptom.overheats": "too hot, or shut off hot",
	"page.part":              "{part}: {result}", "page.part.replaced": "replaced", "page.part.good": "good", "page.part.open": "open", "page.part.stuck_closed": "stuck closed",
	"page.part.shorted_to_case": "shorted to the case", "page.part.out_of_range": "out of range", "page.part.not_checked": "not checked",
}
