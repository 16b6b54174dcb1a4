package wording

import "maps"

// What `ventdue mail why` says of steps and states.
func init() { maps.Copy(english, englishTold) }

var englishTold = map[string]string{
	"steps.before": "{n} days before", "steps.before.one": "a day before", "steps.late.one": "a day after the day", "step.on_the_day": "on the day", "steps.late": "{n} days after the day",
	"steps.stop": "do not use the dryer, told on {day}",

	"notice.wanted": "waits for its mail", "notice.sent": "told", "notice.dropped": "not told", "notice.failed": "could not be told",
	"notice.suppressed": "not sent", "notice.unsure": "may have arrived",

	"message.pending": "waits", "message.claimed": "on its way", "message.accepted": "sent", "message.deferred": "to be tried again",
	"message.failed": "refused", "message.suppressed": "not sent", "message.expired": "given up", "message.unknown": "no answer, tried once more",
	"message.dropped": "no longer needed",
}
