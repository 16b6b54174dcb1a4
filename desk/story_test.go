package desk

import (
	"fmt"
	"strings"
	"testing"

	"ventdue/vent"
)

// cleanDue gives the open cleaning of a run.
func cleanDue(t *testing.T, d *Desk, by By, run vent.ID) vent.Due {
	t.Helper()
	v, err := d.Run(by, run)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range v.Dues {
		if x.Kind == vent.DueClean {
			return x
		}
	}
	t.Fatalf("no cleaning is due on %s", v.Label())
	return vent.Due{}
}

// A flat changes hands: while it stands empty no loads are counted, so that its cleaning moves out; whoever moves in is counted
// from their first day, and a stop that is found then goes to them and not to whoever left.
func TestTurnoverOfAUnit(t *testing.T) {
	const flat = "customer_name,contact_email,site_name,address,zone,unit_name,bedrooms,occupant_name,occupant_email,occupant_since,fuel,duct_length,duct_diameter,elbows_90,run_ref,last_cleaned,cleaned_by,cleaning_reach\n" +
		"Tern Court Homes,office@tern.example,Tern Court,2 Quay Street,America/New_York,3B,2,%s,%s,%s,electric,25,4,2,R-3B,2025-11-03,us,through\n"
	d := importDesk(t, vent.Buildings)
	doImport(t, d, 0, "flats.csv", fmt.Sprintf(flat, "Olle Lund", "olle.lund@example.com", "2024-05-01"), ImportOptions{})
	run := runID(t, d, "R-3B")
	before := cleanDue(t, d, on(1), run)
	if before.Reason.LoadsPerWeek <= 0 || before.Reason.LoadsFrom != vent.UseHousehold {
		t.Fatalf("lived in: %+v", before.Reason)
	}

	doImport(t, d, 10, "out.csv", fmt.Sprintf(flat, "vacant", "", "2026-03-10"), ImportOptions{}) // on 12 March
	empty := cleanDue(t, d, on(11), run)
	if empty.Reason.LoadsFrom != vent.UseEmpty || empty.Reason.LoadsPerWeek != 0 {
		t.Errorf("empty: %+v", empty.Reason)
	}
	if empty.Reason.ByModel != 0 && empty.Reason.ByModel <= before.Reason.ByModel {
		t.Errorf("by the model it was %s and is %s with nobody there", before.Reason.ByModel, empty.Reason.ByModel)
	}

	doImport(t, d, 60, "in.csv", fmt.Sprintf(flat, "Ana Reyes", "ana.reyes@example.com", "2026-04-20"), ImportOptions{}) // on 1 May
	after := cleanDue(t, d, on(61), run)
	if after.Reason.LoadsFrom != vent.UseHousehold || after.Reason.LoadsPerWeek != before.Reason.LoadsPerWeek {
		t.Errorf("lived in again: %+v", after.Reason)
	}
	// 41 days without loads, from 10 March to 20 April: the model's day moves out by as many, give or take the day on which
	// the season's share is rounded.
	if moved := before.Reason.ByModel.DaysUntil(after.Reason.ByModel); moved < 38 || moved > 44 {
		t.Errorf("the model's day moved by %d days, not by the 41 that the flat stood empty", moved)
	}

	r := faultRig{d, t, readAll(t, d).runs[0]}
	if _, err := r.ReportSign(hour("2026-05-05", 3), vent.Sign{RunID: run, Kind: vent.BurningSmell}); err != nil {
		t.Fatal(err)
	}
	if got := stops(r.mails(hour("2026-05-05", 3))); got != "stop ana.reyes@example.com; stop office@tern.example" {
		t.Errorf("told of the stop: %s", got)
	}
}

// A shared laundry room: three machines on three runs, and each run is reckoned with its own machine's counter.
func TestLaundryRoomCountsEachMachine(t *testing.T) {
	d := importDesk(t, vent.Buildings)
	var s strings.Builder
	s.WriteString("site_name,address,zone,unit_name,unit_kind,run_name,fuel,serial,duct_length,duct_diameter,elbows_90,run_ref,last_cleaned,cleaned_by,cleaning_reach\n")
	for n := range 3 {
		fmt.Fprintf(&s, "Tern Court,2 Quay Street,America/New_York,Laundry,laundry_room,Machine %d,electric,S-10%d,20,4,2,L-%d,2025-11-03,us,through\n", n+1, n, n)
	}
	mustImport(t, d, 0, s.String())
	weekly := []float64{7, 28, 0} // loads, by hand: 70 days are 10 weeks; the third machine was never read
	for n, loads := range weekly {
		if loads == 0 {
			continue
		}
		for _, on := range []struct {
			day   string
			count int64
		}{{"2025-12-01", 4000}, {"2026-02-09", 4000 + int64(10*loads)}} {
			f := vent.Finding{RunID: runID(t, d, fmt.Sprintf("L-%d", n)), Date: theDay(on.day), Source: "visit", By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.LookedOnly, LoadCounter: on.count}
			if _, err := d.Record(at("2026-03-02"), f); err != nil {
				t.Fatal(err)
			}
		}
	}
	var day [3]vent.Date
	for n, loads := range weekly {
		due := cleanDue(t, d, at("2026-03-02"), runID(t, d, fmt.Sprintf("L-%d", n)))
		from := vent.UseCounter
		if loads == 0 {
			loads, from = 20, vent.UseDefault // a shared machine nobody counted
		}
		if due.Reason.LoadsPerWeek < loads-1e-9 || due.Reason.LoadsPerWeek > loads+1e-9 || due.Reason.LoadsFrom != from {
			t.Errorf("machine %d: %v loads a week from %q, want %v from %q", n+1, due.Reason.LoadsPerWeek, due.Reason.LoadsFrom, loads, from)
		}
		day[n] = due.Day
	}
	if day[1] >= day[0] {
		t.Errorf("28 loads a week are due %s, 7 loads %s", day[1], day[0])
	}
}
