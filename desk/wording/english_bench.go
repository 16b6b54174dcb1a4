package wording

import "maps"

// The texts of part checks and of what follows from them.
func init() { maps.Copy(english, englishBench) }

var englishBench = map[string]string{
	"page.doubts": "Cannot be judged as it is recorded", "page.doubt": "{rule}: {why}.",
	"page.bench": "The dryer itself: what was wrong, and checks of its parts", "page.field.symptom": "What was wrong with the dryer", "page.symptom.": "it ran as it should",
	"page.bench.healthy": "Sound: {healthy} ({by}).", "page.bench.plate": "By its plate {ohms}.",
	"page.bench.result": "Result", "page.bench.none": "not recorded", "page.bench.reading": "Reading",
	"page.bench.ohms": "in ohms", "page.bench.ohms_or_heat": "in ohms, or where it opened hot: 151 F, 66 C",
	"page.bench.case": "read to the dryer's case", "page.bench.case_reading": "Give the reading that was taken to the case.",
	"page.field.counter": "Loads on the machine's counter", "page.problem.counter": "The counter shows a whole number of loads.",
	"page.verdict.sound": "sound", "page.verdict.bad": "bad", "page.verdict.unproven": "not decided", "page.verdict.not_checked": "not checked",
	"page.diagnosis": "What follows from the part checks", "page.diagnosis.explained": "What was wrong is explained: {symptom}", "page.diagnosis.open": "Not explained yet: {symptom}",
	"page.diagnosis.explains": "It explains: {what}.", "page.diagnosis.one_shot": "It opens once, for ever: replace it, never reset or bypass it.",
	"page.diagnosis.replace": "Still to be replaced: {parts}.", "page.diagnosis.steps": "To be done on this visit, in this order", "page.diagnosis.next": "To be looked at next, in this order",
}
