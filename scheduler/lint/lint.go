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
	open := h.cycles[len(h.cycles)-1]
	b := Belief{
		build: buildOf(c.Run.Versions[open.version], c.Dryer, c.Unit),
		use:   u, since: h.since, opener: h.opener,
		from: open.start, heads: open.heads,
	}
	b.fromPrior()
	if b.build.limit.AtMaker {
		b.troubles = append(b.troubles, cleanPastMaker(&b, c))
	}
	return b
}

// fromPrior is the belief of a run that nothing was measured on.
func (b *Belief) fromPrior() {
	_, source := b.Loads()
	spread := math.Hypot(b.build.spread, doubt(source))
	b.growth = newGrid(b.build.median, spread)
	for j := range nGrowth {
		n := normal((b.growth.at(j) - b.build.median) / spread)
		for h, w := range b.heads.weight {
			b.growth.weight[h][j] = w * n
		}
	}
	b.growth.normalise()
}
