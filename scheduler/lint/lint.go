package lint

import (
	"slices"

	"ventdue/vent"
)

// Case is everything said about one run that bears on its lint.
type Case struct {
	Run      vent.Run
	Dryer    vent.Appliance
	Unit     vent.Unit
	Site     vent.Site
	Findings []vent.Finding // by date
	Faults   []vent.Fault
	Pool     Pool
}

// Learn works out the belief. The run must have a version and a day on which it became known (see vent.Run.Valid); anything
// else that is missing is replaced by a wide guess.
func Learn(c Case) Belief {
	findings := c.Findings
	if !inOrder(findings) {
		findings = slices.Clone(findings)
		slices.SortStableFunc(findings, func(a, b vent.Finding) int { return int(a.Date) - int(b.Date) })
	}
	u := usageOf(c.Run, c.Unit, findings)
	h := historyOf(c.Run, u, findings)
	builds := c.builds(&h, u)
	last := h.cycles[len(h.cycles)-1]
	b := Belief{
		build: builds[last.version], use: u, since: h.since, opener: h.opener,
		from: last.start, heads: last.heads, south: c.Site.Lat != nil && *c.Site.Lat < 0,
	}
	b.summary = Summary{
		RunID: c.Run.ID, SiteID: c.Run.SiteID,
		Build: buildKey(c.Run.Versions[last.version], c.Dryer), Apart: c.Run.Shape == vent.Branch,
	}
	if !h.measured(builds) {
		b.fromPrior()
	} else {
		l := learner{h: &h, u: u, faults: c.Faults, usual: usualMinutes(findings), south: b.south}
		half := max(2.8, 4*b.build.spread)
		l.low, l.step = -half, 2*half/(nGrowth-1)
		l.learn(&b, builds)
	}
	b.survey(&c, &h, builds)
	return b
}

// builds makes the versions ready that cycles belong to, with doubt about loads and what neighbours teach in the prior.
func (c *Case) builds(h *history, u usage) []build {
	list := make([]build, len(c.Run.Versions))
	done := -1
	for _, cy := range h.cycles {
		if cy.version == done {
			continue
		}
		done = cy.version
		b := buildOf(c.Run.Versions[done], c.Dryer, c.Unit)
		c.Pool.apply(&b)
		b.spread = hypot(b.spread, doubt(u.at(cy.start).source))
		list[done] = b
	}
	return list
}

// measured reports whether any finding says something of lint.
func (h *history) measured(builds []build) bool {
	for i := range h.cycles {
		c := &h.cycles[i]
		if c.opener != nil && (len(c.opener.After) > 0 || c.opener.LintAfter != vent.NotGraded) {
			return true
		}
		for _, f := range c.looks {
			if len(f.Before) > 0 || f.LintBefore != vent.NotGraded {
				return true
			}
		}
	}
	return false
}

// fromPrior is the belief of a run that nothing was measured on.
func (b *Belief) fromPrior() {
	b.growth = newGrid(b.build.median, hypot(b.build.spread, spreadCycle))
	for j := range nGrowth {
		n := normal((b.growth.at(j) - b.build.median) / hypot(b.build.spread, spreadCycle))
		for h, w := range b.heads.weight {
			b.growth.weight[h][j] = w * n
		}
	}
	b.growth.normalise()
}
