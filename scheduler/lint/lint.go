package lint

import (
	"math"
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
	InLine   []vent.Appliance // boosters and traps of all its versions
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
	if b.build.boosted {
		b.summary.Build, b.summary.Apart = "", true // how its lint grows tells nothing of runs without a booster
	}
	if !h.measured() {
		b.fromPrior()
	} else {
		b.fromFindings(&c, &h, builds, usualMinutes(findings))
	}
	b.survey(&c, &h)
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
		b := buildOf(c.Run.Versions[done], c.Dryer, c.Unit, c.boosted(c.Run.Versions[done]))
		if b.boosted {
			b.anchor, b.ownClean = h.ownClean(done, &b)
		}
		if c.screenFault() {
			b.median += byScreen
			b.pivot -= byScreen
		}
		if !b.boosted {
			c.Pool.apply(&b)
		}
		b.spread = hypot(b.spread, doubt(u.at(cy.start).source))
		list[done] = b
	}
	return list
}

// screenFault reports an open fault of the lint screen: more lint goes down the duct.
func (c *Case) screenFault() bool {
	for i := range c.Faults {
		switch f := &c.Faults[i]; f.Rule {
		case "screen_torn", "screen_missing":
			if f.State != vent.FaultFixed {
				return true
			}
		}
	}
	return false
}

// measured reports whether any finding says something of lint.
func (h *history) measured() bool {
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

// fromFindings weighs the findings under every manner, and every manner by how well it foretold them.
func (b *Belief) fromFindings(c *Case, h *history, builds []build, usual float64) {
	b.growth = newGrid(b.build.median, b.build.spread)
	var out [nManners]outcome
	l := learner{h: h, u: b.use, faults: c.Faults, usual: usual, south: b.south, low: b.growth.low - b.build.median, step: b.growth.step}
	told := l.learn(builds, &out)
	for _, x := range told {
		if math.IsInf(x, 0) || math.IsNaN(x) { // findings that contradict everything: believe the prior
			b.fromPrior()
			return
		}
	}
	b.summary.Manner = told.centred()
	for m, w := range c.Pool.prior() {
		told[m] += w
	}
	for m, w := range told.shares() {
		b.take(&out[m], w, manners[m].shape)
		b.season += w * manners[m].season
		b.summary.take(&out[m], w, &b.build)
	}
	b.growth.normalise()
}

// take adds the posterior of one manner with its weight.
func (b *Belief) take(o *outcome, weight float64, shape int) {
	var all float64
	for h := range o.growth {
		for _, p := range o.growth[h] {
			all += p
		}
	}
	for h := range o.growth {
		for j, p := range o.growth[h] {
			b.growth.weight[shape*nHeads+h][j] += weight * p / all
		}
	}
	b.clean += weight * o.clean / all
	b.oddLast += weight * o.odd
	b.oddBy = o.oddBy
}

// take adds what a run's own findings say under one manner: the posterior of its own growth, divided by the prior.
func (s *Summary) take(o *outcome, weight float64, b *build) {
	if own := 1/o.variance - 1/(b.spread*b.spread); own > 0.05 {
		s.Precision += weight * own
		s.Shift += weight * (o.mean/o.variance/own + b.shift)
	}
}

// fromPrior is the belief of a run that nothing was measured on.
func (b *Belief) fromPrior() {
	spread := hypot(b.build.spread, spreadUnmeasured)
	b.growth = newGrid(b.build.median, spread)
	b.season, b.clean = manners[steady].season, 0
	for j := range nGrowth {
		n := normal((b.growth.at(j) - b.build.median) / spread)
		for m, share := range mannerPrior {
			for h, w := range b.heads.weight[m] {
				b.growth.weight[h][j] += n * share * w
			}
		}
	}
	b.growth.normalise()
}

// spreadUnmeasured is the deviation of the first cycle where nothing was measured.
const spreadUnmeasured = 0.15
