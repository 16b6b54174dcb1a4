package desk

import (
	"context"
	"fmt"

	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
)

// aheadDays is how far the work ahead is looked at.
const aheadDays = 365

// WorkAhead is the work of the coming twelve months, against what the technicians can do.
type WorkAhead struct {
	Today, Last vent.Date
	visits.Ahead
	Late        []DueLate // Ahead's own, with where they are; what comes again and is late is counted in the weeks alone
	Technicians int
}

// WorkAhead plans the coming twelve months in one go, with what comes again within them, and changes nothing.
func (d *Desk) WorkAhead(ctx context.Context, by By) (out WorkAhead, err error) {
	c, err := d.takeSnapshot(by, aheadDays)
	if err != nil {
		return out, err
	}
	if err := ctx.Err(); err != nil {
		return out, err
	}
	a, err := visits.LookAhead(c.p)
	if err != nil {
		return out, fmt.Errorf("look at the work ahead: %w", err)
	}
	out = WorkAhead{Today: c.p.Today, Last: c.p.Last, Ahead: a, Technicians: len(c.p.Technicians)}
	err = d.store.View(func(tx *store.Tx) error {
		p := Proposal{}
		s := visits.Schedule{}
		for _, l := range a.Late {
			if _, known := c.dues[l.DueID]; known {
				s.Late = append(s.Late, l)
			}
		}
		err := p.name(tx, s, c.dues)
		out.Late = p.Late
		return err
	})
	return out, err
}
