package desk

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"ventdue/store"
	"ventdue/vent"
)

// TestNeighboursTeach: in a building whose runs are seen to fill faster than their build lets expect, the run that nobody
// measured yet is due sooner after the night; a second night with nothing new changes nothing.
func TestNeighboursTeach(t *testing.T) {
	d := importDesk(t, vent.Buildings)
	var sheet strings.Builder
	sheet.WriteString("run_ref,site_name,address,zone,unit_name,unit_kind,fuel,duct_length,elbows_90,last_cleaned,cleaned_by,cleaning_reach\n")
	for i := range 9 {
		fmt.Fprintf(&sheet, "R-%d,Tern Court,2 Quay Street,America/New_York,%dA,flat,electric,18,2,2025-12-01,us,through\n", i, i+1)
	}
	doImport(t, d, 0, "court.csv", sheet.String(), ImportOptions{})
	quiet := cleanDay(t, d, "R-8")
	for i := range 8 {
		run := runID(t, d, fmt.Sprintf("R-%d", i))
		for year := 2022; year <= 2025; year++ { // every autumn fuller than a run of this build should be
			f := vent.Finding{RunID: run, Date: vent.NewDate(year, 10, 10+i), Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full,
				Reach: vent.ReachThrough, LintBefore: vent.Mat,
				Before: []vent.Reading{{Quantity: vent.AirSpeed, Value: 4.2}}, After: []vent.Reading{{Quantity: vent.AirSpeed, Value: 7.6}}}
			if _, err := d.Record(on(0), f); err != nil {
				t.Fatal(err)
			}
		}
	}
	if got := cleanDay(t, d, "R-8"); got != quiet {
		t.Errorf("the silent run moved to %s before the night", got)
	}
	night := func() Taught {
		out, err := d.LearnFromNeighbours(context.Background(), on(1))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := d.Replan(context.Background(), on(1)); err != nil {
			t.Fatal(err)
		}
		return out
	}
	if out := night(); out.Runs != 9 || out.Queued != 9 {
		t.Errorf("the first night %+v", out)
	}
	taught := cleanDay(t, d, "R-8")
	if taught >= quiet {
		t.Errorf("the silent run is due on %s, before the night on %s", taught, quiet)
	}
	before := exported(t, d)
	if out := night(); out.Queued != 0 {
		t.Errorf("a second night queues %d runs", out.Queued)
	}
	if exported(t, d) != before {
		t.Error("a second night changes records")
	}
}

func runID(t *testing.T, d *Desk, ref string) vent.ID {
	t.Helper()
	id, err := d.FindRun(ref)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func cleanDay(t *testing.T, d *Desk, ref string) (day vent.Date) {
	t.Helper()
	v, err := d.Run(on(1), runID(t, d, ref))
	if err != nil {
		t.Fatal(err)
	}
	for _, due := range v.Dues {
		if due.Kind == vent.DueClean {
			day = due.Day
		}
	}
	return day
}

func exported(t *testing.T, d *Desk) string {
	t.Helper()
	var b strings.Builder
	if err := d.store.View(func(tx *store.Tx) error {
		return store.Dump(tx, func(k vent.Kind, data []byte) error {
			if k != vent.KindAudit {
				fmt.Fprintln(&b, k, string(data))
			}
			return nil
		})
	}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
