package desk

import (
	"context"
	"fmt"

	"ventdue/scheduler/lint"
	"ventdue/store"
	"ventdue/vent"
)

// poolFor gives what a run's neighbours teach it: the runs of its site, and the operator's other runs of like build.
func poolFor(tx *store.Tx, run vent.Run) (p lint.Pool, err error) {
	near, err := tx.Lessons(run.SiteID)
	if err != nil {
		return p, err
	}
	self := lint.Summary{RunID: run.ID, SiteID: run.SiteID, Apart: run.Shape == vent.Branch}
	for _, s := range near {
		if s.RunID == run.ID {
			self = s
		}
	}
	p.Site = lint.PoolOf(self, near).Site
	if self.Build == "" {
		return p, nil // a new run: its build is known after the next night
	}
	if p.Build, err = tx.BuildLesson(self.Build); err != nil {
		return p, err
	}
	for _, s := range near {
		if s.Build == self.Build {
			p.Build = p.Build.Less(s) // like build elsewhere: the site's own runs teach as its neighbours
		}
	}
	return p, nil
}

// Taught is what LearnFromNeighbours did.
type Taught struct {
	Runs   int // that were looked at
	Queued int // whose dates are planned anew, since what their neighbours teach has changed
}

// LearnFromNeighbours works out what every run teaches its neighbours and queues those for which that changed
// enough to matter. It computes outside of any transaction and writes at the end.
func (d *Desk) LearnFromNeighbours(ctx context.Context, by By) (out Taught, err error) {
	var all []lint.Summary
	last := vent.ID{}
	for {
		batch, next, err := d.pasts(last)
		if err != nil {
			return out, fmt.Errorf("learn from neighbours: %w", err)
		}
		for _, p := range batch {
			if ctx.Err() != nil {
				return out, ctx.Err()
			}
			out.Runs++
			if p.in.Run.Ended != 0 {
				continue
			}
			belief := lint.Learn(lint.Case{Run: p.in.Run, Dryer: p.in.Dryer, Unit: p.in.Unit, Site: p.in.Site,
				Findings: p.in.Findings, Faults: p.in.Faults, InLine: p.in.InLine})
			all = append(all, belief.Summary())
		}
		if next.IsZero() {
			break
		}
		last = next
	}
	err = d.store.Update(by, func(tx *store.Tx) error {
		out.Queued = 0
		before, err := tx.AllLessons()
		if err != nil {
			return err
		}
		if err := tx.SetLessons(all); err != nil {
			return err
		}
		for _, id := range lint.Touched(before, all) {
			if err := tx.Replan(id, "what its neighbours teach has changed"); err != nil {
				return err
			}
			out.Queued++
		}
		return nil
	})
	if out.Queued > 0 {
		d.kick(JobReplan)
	}
	return out, err
}
