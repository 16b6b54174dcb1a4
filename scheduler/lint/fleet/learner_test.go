package fleet

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"ventdue/scheduler"
	"ventdue/scheduler/due"
	"ventdue/scheduler/lint"
	"ventdue/vent"
)

// learner plans by the product's own rules under a policy.
func learner(p due.Policy) planner {
	return func(c *client, site []*client) verdict {
		self, _ := c.own.(lint.Summary)
		self.RunID, self.SiteID = c.run.ID, c.run.SiteID
		var near []lint.Summary
		for _, n := range site {
			if s, ok := n.own.(lint.Summary); ok {
				near = append(near, s)
			}
		}
		out, err := scheduler.Plan(scheduler.Input{
			Run: c.run, Dryer: c.dryer, Unit: c.unit, Site: c.site, Findings: c.findings,
			Pool: lint.PoolOf(self, near), Policy: p,
		})
		if err != nil {
			panic(err)
		}
		c.own = out.Belief.Summary()
		var v verdict
		for _, w := range out.Dues {
			if w.Kind != vent.DueClean { // looks are not walked to: only cleanings are scored
				continue
			}
			v.day = w.Day
			if w.Reason.Bound == vent.BoundNone {
				v.stated = w.Reason.Chance
			}
		}
		for i, x := range levels {
			v.reaches[i] = out.Belief.Day(x)
		}
		return v
	}
}

func TestTune(t *testing.T) {
	n := 1200
	if s := os.Getenv("N"); s != "" {
		n, _ = strconv.Atoi(s)
	}
	seed := uint64(1)
	if s := os.Getenv("SEED"); s != "" {
		v, _ := strconv.Atoi(s)
		seed = uint64(v)
	}
	p := due.Default()
	if x := os.Getenv("RISK"); x != "" {
		p.Risk, _ = strconv.ParseFloat(x, 64)
		p.RiskCareful = p.Risk
	}
	for i, w := range departures() {
		if x := os.Getenv("W"); x != "" && !strings.Contains(x, strconv.Itoa(i)) {
			continue
		}
		w.runs = n
		f := w.fleet(seed)
		c := f.calendar()
		s := f.simulate(learner(p))
		t.Logf("weeks by visit %.3f past %.3f", s.byVisit, s.pastBy)
		t.Logf("%-36s %.3f cleanings %.3f weeks, fixed %.3f: 1/%5.1f; due 10%%: %4.1f%% of %5.0f; 5/10/20/50: %4.1f %4.1f %4.1f %4.1f  (n %.0f %.0f %.0f %.0f)",
			w.name, s.perYear(), s.clogged(), c.at(s.perYear()), c.at(s.perYear())/s.clogged(), 100*s.wrong/s.due, s.due,
			100*s.over[0]/s.at[0], 100*s.over[1]/s.at[1], 100*s.over[2]/s.at[2], 100*s.over[3]/s.at[3], s.at[0], s.at[1], s.at[2], s.at[3])
	}
}
