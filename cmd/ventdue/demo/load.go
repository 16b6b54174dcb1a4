package demo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// Load plays a scenario into an empty store as the years did: each list is imported on the morning of its day, each
// finding recorded on the afternoon of its own by who found it, so that ids, history and dates are those of a business
// that was there all the time. It stops at the first refusal; then the store holds a part of the scenario.
func Load(ctx context.Context, d *desk.Desk, s Scenario) error {
	p := player{desk: d, zone: time.UTC}
	if zone, err := time.LoadLocation(s.Operator.Zone); err == nil {
		p.zone = zone
	}
	if len(s.Lists) == 0 {
		return errors.New("load the scenario: it has no list of customers")
	}
	first := desk.By{Now: s.Lists[0].On.At(8*60, p.zone), Actor: "office"}
	if err := d.SetOperator(first, s.Operator); err != nil {
		return fmt.Errorf("load the scenario: %w", err)
	}
	findings := s.Findings
	for _, l := range s.Lists {
		for len(findings) > 0 && findings[0].Found.Date < l.On {
			if err := p.record(ctx, findings[0]); err != nil {
				return err
			}
			findings = findings[1:]
		}
		if err := p.take(ctx, l); err != nil {
			return err
		}
	}
	for _, f := range findings {
		if err := p.record(ctx, f); err != nil {
			return err
		}
	}
	if err := p.answerFaults(s.Today); err != nil {
		return err
	}
	if err := p.keepChecks(s.Today); err != nil {
		return err
	}
	return p.planVisits(ctx, s.Today)
}

// player puts one piece of a scenario after the other into the store.
type player struct {
	desk *desk.Desk
	zone *time.Location
	runs map[string]vent.ID // by their key
	day  vent.Date          // of the last finding
	nth  int                // findings of that day so far
}

// take imports a list; a problem in it is an error that names all of them.
func (p *player) take(ctx context.Context, l List) error {
	by := desk.By{Now: l.On.At(9*60, p.zone), Actor: "office"}
	report, err := p.desk.Import(ctx, by, desk.Source{Name: l.Name, Format: intake.CSV, Reader: bytes.NewReader(l.CSV)}, desk.ImportOptions{})
	if err == nil {
		err = report.Problems.Err()
	}
	if err != nil {
		return fmt.Errorf("load %s: %w", l.Name, err)
	}
	return p.learnRuns()
}

func (p *player) learnRuns() error {
	p.runs = map[string]vent.ID{}
	return p.desk.Store().View(func(tx *store.Tx) error {
		for run, err := range store.Runs.All(tx) {
			if err != nil {
				return fmt.Errorf("load the scenario's runs: %w", err)
			}
			p.runs[run.Ref] = run.ID
		}
		return nil
	})
}

// record writes down a finding on the afternoon of its day, a few minutes after the one before.
func (p *player) record(ctx context.Context, f Finding) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("load the scenario: %w", err)
	}
	if f.Found.Date != p.day {
		p.day, p.nth = f.Found.Date, 0
	}
	p.nth++
	found := f.Found
	found.RunID = p.runs[f.RunRef]
	by := desk.By{Now: p.day.At(13*60+3*p.nth, p.zone), Actor: f.Actor}
	if _, err := p.desk.Record(by, found); err != nil {
		return fmt.Errorf("load the finding of %s on %s: %w", p.day, f.RunRef, err)
	}
	return nil
}
