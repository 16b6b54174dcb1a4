package picture

import (
	"strings"

	"ventdue/desk/wording"
	"ventdue/vent"
)

// Text says in sentences what the picture shows, for those who do not see it.
func (f Flow) Text(w wording.Words) string {
	c := f.Course
	var s []string
	if n := len(c.Readings); n > 0 {
		r := c.Readings[n-1]
		s = append(s, w.Say("picture.text.last", "date", w.Date(r.On), "reading", w.Reading(r.Reading), "share", w.Percent(r.Share)))
	} else {
		s = append(s, w.Say("picture.text.none"))
	}
	if n := len(c.Cleanings); n > 0 {
		s = append(s, w.Say("picture.text.cleaned", "date", w.Date(c.Cleanings[n-1].On)))
	}
	if c.Limit > 0 {
		s = append(s, w.Say("picture.text.limit", "share", w.Percent(c.Limit)))
	}
	if d := c.Due; d != nil {
		s = append(s, w.Say("picture.text.due", "date", w.Date(d.Day)))
		if d.Earliest != 0 && d.Latest != d.Day {
			s = append(s, w.Say("reason.window", "earliest", w.Date(d.Earliest), "latest", w.Date(d.Latest)))
		}
		for _, x := range c.Likely {
			if x.On == d.Day && d.Day > c.Since {
				s = append(s, w.Say("picture.text.likely", "date", w.Date(x.On), "low", w.Percent(x.Low), "middle", w.Percent(x.Middle), "high", w.Percent(x.High)))
			}
		}
	}
	if before := f.leftOut(); before != 0 {
		s = append(s, w.Say("picture.text.older", "date", w.Date(before)))
	}
	return strings.Join(s, " ")
}

// leftOut gives the first day shown, where readings or cleanings before it are left out; 0 where none is.
func (f Flow) leftOut() vent.Date {
	start := f.Course.Since.AddDays(-oldest)
	c := f.Course
	if len(c.Readings) > 0 && c.Readings[0].On < start || len(c.Cleanings) > 0 && c.Cleanings[0].On < start {
		return start
	}
	return 0
}
