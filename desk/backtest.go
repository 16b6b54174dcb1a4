package desk

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"ventdue/scheduler"
	"ventdue/store"
	"ventdue/vent"
)

// backtestAtOnce is how many runs are loaded in one transaction: memory is bounded by it, and no transaction stays open
// while anything is computed.
const backtestAtOnce = 256

// Backtest is how the rules would have done on the operator's own records.
type Backtest struct {
	Stored int `json:"stored_runs"`
	scheduler.Score
	Trust scheduler.Trust `json:"trust"`
	// Failed counts runs that could not be replayed; Why is the first reason.
	Failed int    `json:"failed,omitempty"`
	Why    string `json:"why,omitempty"`
}

// past is one run's input with the appliances of its older versions.
type past struct {
	in     scheduler.Input
	dryers map[vent.ID]vent.Appliance
}

// Backtest replays every run's history under the present policy and compares what would have been said with what was
// found. It changes nothing.
func (d *Desk) Backtest(ctx context.Context) (Backtest, error) {
	out := Backtest{Score: scheduler.NewScore()}
	for last := (vent.ID{}); ; {
		batch, next, err := d.pasts(last)
		if err != nil {
			return out, fmt.Errorf("backtest: %w", err)
		}
		if err := out.add(ctx, batch); err != nil {
			return out, err
		}
		if out.Stored += len(batch); next.IsZero() {
			out.Trust = out.Score.Trust()
			return out, nil
		}
		last = next
	}
}

// add replays a batch on all processors and sums up in the order of the runs, so that the answer is the same every time.
func (b *Backtest) add(ctx context.Context, batch []past) error {
	replayed := make([]scheduler.Replayed, len(batch))
	failed := make([]error, len(batch))
	var workers sync.WaitGroup
	n := runtime.GOMAXPROCS(0)
	for w := range n {
		workers.Go(func() {
			for i := w; i < len(batch) && ctx.Err() == nil; i += n {
				p := &batch[i]
				replayed[i], failed[i] = scheduler.Replay(p.in, func(id vent.ID) vent.Appliance { return p.dryers[id] })
			}
		})
	}
	workers.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for i := range batch {
		if failed[i] != nil {
			if b.Failed++; b.Why == "" {
				b.Why = failed[i].Error()
			}
			continue
		}
		b.Score.Add(replayed[i])
	}
	return nil
}

// pasts loads the next runs behind an id; next is none when there are no more.
func (d *Desk) pasts(last vent.ID) (batch []past, next vent.ID, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		batch, next = nil, vent.ID{}
		walk := store.Runs.After(tx, last)
		if last.IsZero() {
			walk = store.Runs.All(tx)
		}
		for run, err := range walk {
			if err != nil {
				return err
			}
			p := past{dryers: map[vent.ID]vent.Appliance{}}
			known, err := d.planInput(tx, run)
			if err != nil {
				return fmt.Errorf("run %s: %w", run.ID, err)
			}
			p.in = known.in
			for _, v := range run.Versions[:max(0, len(run.Versions)-1)] {
				a, err := store.Appliances.Get(tx, v.DryerID)
				if err != nil && !errors.Is(err, vent.ErrNotFound) {
					return fmt.Errorf("run %s: %w", run.ID, err)
				}
				p.dryers[v.DryerID] = a
			}
			if batch = append(batch, p); len(batch) == backtestAtOnce {
				next = run.ID
				return nil
			}
		}
		return nil
	})
	return batch, next, err
}
