package lint

import (
	"math"
	"slices"

	"ventdue/vent"
)

// Measured is a reading of air as a share of the clean flow of the run as it was built on that day.
type Measured struct {
	On      vent.Date    `json:"on"`
	Share   float64      `json:"share"` // 1 is the clean flow as it is believed to be; at most 1.2
	After   bool         `json:"after"` // taken after the work of that day, not before
	Leak    bool         `json:"leak,omitempty"`
	Reading vent.Reading `json:"reading"`
	Finding vent.ID      `json:"finding_id"`
}

// mostShare is where a share is cut off: what is above is a slip of the pen or another place.
const mostShare = 1.2

// Measurements gives every reading of air speed, flow and static pressure of the run, by date, as shares of the clean flow.
// Readings from the time before a rebuilding are held against the clean value of their own version. Leak marks those that
// say nothing of lint: low pressure together with low flow. The run must be as Learn asks for.
func Measurements(c Case) []Measured {
	findings := slices.Clone(c.Findings)
	slices.SortStableFunc(findings, func(a, b vent.Finding) int { return int(a.Date) - int(b.Date) })
	c.Findings = findings
	u := usageOf(c.Run, c.Unit, findings)
	h := historyOf(c.Run, u, findings)
	var list []Measured
	version := -1
	var b Belief
	for i := range h.cycles {
		cy := &h.cycles[i]
		if cy.version != version {
			version = cy.version
			b = Learn(c.until(version))
		}
		if cy.opener != nil {
			list = b.measured(list, cy.opener, true)
		}
		for _, f := range cy.looks {
			list = b.measured(list, f, false)
		}
	}
	return list
}

// until is the case as it was known while a version stood.
func (c Case) until(version int) Case {
	if version+1 < len(c.Run.Versions) {
		end := c.Run.Versions[version+1].From
		c.Run.Versions = c.Run.Versions[:version+1]
		c.Findings = slices.DeleteFunc(slices.Clone(c.Findings), func(f vent.Finding) bool { return f.Date >= end })
	}
	return c
}

// measured adds the readings of one moment.
func (b *Belief) measured(list []Measured, f *vent.Finding, after bool) []Measured {
	readings := f.Before
	if after {
		readings = f.After
	}
	leak := leaks(&b.build, readings)
	for i := range readings {
		if x, _, _, ok := b.build.logShare(&readings[i]); ok {
			share := min(mostShare, math.Exp(x-b.clean))
			list = append(list, Measured{On: f.Date, Share: share, After: after, Leak: leak, Reading: readings[i], Finding: f.ID})
		}
	}
	return list
}
