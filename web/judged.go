package web

import (
	"ventdue/scheduler"
	"ventdue/scheduler/lint"
)

func standingOf(j scheduler.Judged, after bool) scheduler.Standing {
	if after {
		return j.After
	}
	return j.Before
}

// judged says in words how a reading stands: "71 % of clean: past the limit".
func (f figures) judged(j scheduler.Judged, m lint.Measured) string {
	key := string(standingOf(j, m.After))
	switch {
	case m.Leak:
		key = "leak"
	case key == "":
		key = string(scheduler.Open)
	case m.After && key == string(scheduler.PastLimit):
		key = "left_past"
	}
	return f.Say("page.judged."+key, "share", f.Percent(m.Share))
}

// judgedReadings says how each reading of a finding stands, with what was read.
func (f figures) judgedReadings(j scheduler.Judged) []string {
	return each(j.Readings, func(m lint.Measured) string {
		key := "page.judged.before"
		if m.After {
			key = "page.judged.after"
		}
		return f.Say(key, "reading", f.Reading(m.Reading), "verdict", f.judged(j, m))
	})
}
