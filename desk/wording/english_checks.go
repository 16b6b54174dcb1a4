package wording

import "maps"

// The texts of recurring checks. What they say and how often it is done follows from vent/rules, which names the sources.
func init() { maps.Copy(english, englishChecks) }

var englishChecks = map[string]string{
	"check.lint_screen": "Wash the lint screen", "check.outlet_flap": "Look at the outlet flaps", "check.transition": "Look at the duct behind the dryer",
	"check.cabinet": "Clean the dryer's cabinet", "check.gas_connection": "Gas connection looked at and tested", "check.co_alarm_test": "Test the CO alarm",
	"check.smoke_alarm_test": "Test the smoke alarm", "check.alarm_replace": "Replace the alarm", "check.booster_trap": "Empty the lint trap in the duct",
	"check.ventless_filter": "Wash the second filter", "check.ventless_coil": "Look at the ventless dryer's coil", "check.ventless_drain": "Look at the ventless dryer's drain",
	"check.ventless_gasket": "Look at the ventless dryer's door gasket",

	"check.how.lint_screen":      "Wash the lint screen with a soft brush and warm water, and let it dry: dryer sheets leave a film that air does not pass.",
	"check.how.outlet_flap":      "Walk round the building and look at every outlet flap from the ground while a dryer runs: it opens, and nothing grows or nests in it.",
	"check.how.transition":       "Look at the piece of duct behind the dryer: not crushed, not torn, tight at both ends. Do not move a gas dryer for it.",
	"check.how.cabinet":          "Open the cabinet and take the lint out, with the next opening of the vent run.",
	"check.how.gas_connection":   "Have the gas connection looked at and tested for leaks.",
	"check.how.co_alarm_test":    "Press the CO alarm's button until it sounds.",
	"check.how.smoke_alarm_test": "Press the smoke alarm's button until it sounds.",
	"check.how.alarm_replace":    "Replace the alarm: by the date on its back, else 10 years (smoke) or 7 (CO) after it was made. Write down the new one's date.",
	"check.how.booster_trap":     "Empty the lint trap in the duct.",
	"check.how.ventless_filter":  "Wash the ventless dryer's second filter, and let it dry.",
	"check.how.ventless_coil":    "Look at the ventless dryer's coil: lint brushed or rinsed off as the maker says.",
	"check.how.ventless_drain":   "Look at the ventless dryer's drain: hose or tank clear.",
	"check.how.ventless_gasket":  "Look at the ventless dryer's door gasket: clean and whole.",
	"check.by.licensed":          "By a licensed person only.", "check.by.competent": "By qualified people.",

	"check.line.at_the_dryer": "Checks at the dryer", "check.line.outside": "Walk round the building", "check.line.alarms": "Alarms",
	"check.line.licensed": "For a licensed person", "check.line.opened": "When the dryer is opened",
	"check.errand.alarms": "Test the alarms",
	"check.count":         "{n} of them together in one walk.", "check.doors": "{what}: {where}", "check.doors.more": "and {n} more",
	"check.thing.smoke_alarm": "smoke alarm", "check.thing.co_alarm": "CO alarm", "check.thing.booster": "booster", "check.thing.lint_trap": "lint trap", "check.made": "made {date}",
	"check.interval.one": "every month", "check.interval": "every {n} months", "check.interval.once": "by its date",

	"check.caution.height": "Look from the ground. Never climb for a look.", "check.caution.power": "Unplug the dryer or switch off its breaker before any work.",
	"check.caution.dust": "Lint burns and irritates: mask and gloves, no sparks, bag it and take it outside.", "check.caution.gas_work": "Work on gas parts, valves and connectors is for licensed people only.",
	"check.caution.gas_move":  "Do not move a gas dryer without a licence: its connector can crack and leak.",
	"check.caution.gas_smell": "If you smell gas: no switches, no flames, everybody out, and call the gas emergency number from outside.",
	"check.caution.co":        "If the CO alarm sounds by itself: everybody out at once, then call the emergency number.",

	"page.checks.title": "Recurring checks", "page.checks.text": "What is looked at again and again. Tick what was done and say who did it. Dates are counted from the last time it was done.",
	"page.checks.run": "Recurring checks here", "page.checks.link": "All recurring checks of the building", "page.checks.none": "No recurring check is asked for here.",
	"page.checks.next": "next {date}, {away}", "page.checks.last": "last done {date} by {who}", "page.checks.never": "not done yet",
	"page.checks.put_off": "put off until {date} by {who}: {why}", "page.checks.noted": "Note: {why}",
	"page.checks.field.who": "Who", "page.checks.field.on": "Day it was done", "page.checks.field.why": "Why", "page.checks.field.until": "Put off until", "page.checks.field.months": "Every how many months",
	"page.checks.field.made": "Alarm made on (see the new one's back)", "page.checks.field.replace": "Or the maker's date for replacing it",
	"page.checks.pick": "Which ones", "page.checks.done": "Done", "page.checks.more": "Leave out, put off, change or turn off",
	"page.checks.do": "What", "page.checks.do.skip": "leave it out this time", "page.checks.do.putoff": "put it off until a day", "page.checks.do.set": "change how often, or put an alarm's date right", "page.checks.do.off": "do it no more", "page.checks.go": "Save",
	"page.checks.off": "Turned off or over", "page.checks.off.by": "by {who}: {why}", "page.checks.on": "Turn on",
	"page.checks.left": "Left to whoever lives there", "page.checks.left.text": "Nobody is told of these. Turn on what you want to be kept and told.",
	"page.checks.alarm": "Add an alarm", "page.checks.alarm.text": "Smoke and CO alarms wear out. Look on the back for the date of manufacture. Without a date the look on its back is due within a month.",
	"page.checks.alarm.kind": "Kind", "page.checks.alarm.smoke_alarm": "smoke alarm", "page.checks.alarm.co_alarm": "CO alarm", "page.checks.alarm.unit": "Where",
	"page.checks.alarm.made": "Made on", "page.checks.alarm.replace": "The maker's own date for replacing it", "page.checks.alarm.go": "Add the alarm",
	"page.checks.care": "With care", "page.checks.problem": "Nothing was changed: something in the form needs a second look.",
	"page.checks.problem.gone": "That check is not there any more. Look at the list again.",
}
