package demo

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// loaded gives a desk over a new store in which the scenario was played.
func loaded(t testing.TB, s Scenario) *desk.Desk {
	t.Helper()
	d := empty(t)
	if err := Load(context.Background(), d, s); err != nil {
		t.Fatal(err)
	}
	return d
}

func empty(t testing.TB) *desk.Desk {
	t.Helper()
	st, err := store.Open(filepath.Join(t.TempDir(), "demo.db"), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	return desk.New(st, desk.DefaultPolicy(), nil)
}

// days are twelve days over two years, among them the turns of the year, both changes of the clock and a leap day.
func days() []vent.Date {
	return []vent.Date{
		vent.NewDate(2026, 7, 4), vent.NewDate(2026, 9, 30), vent.NewDate(2026, 11, 1), vent.NewDate(2026, 12, 25),
		vent.NewDate(2027, 1, 1), vent.NewDate(2027, 2, 28), vent.NewDate(2027, 3, 14), vent.NewDate(2027, 5, 31),
		vent.NewDate(2027, 8, 15), vent.NewDate(2027, 11, 30), leapDay, vent.NewDate(2028, 6, 30),
	}
}

// TestEveryDayHasSomethingToShow plays the scenario, with another seed each, up to twelve different days.
func TestEveryDayHasSomethingToShow(t *testing.T) {
	for i, today := range days() {
		if (testing.Short() || raced) && today != leapDay {
			continue // nothing here runs side by side
		}
		t.Run(today.String(), func(t *testing.T) {
			t.Parallel()
			s := New(seed+uint64(i), today)
			d := loaded(t, s)
			showsSomething(t, d, s)
			showsVisits(t, d, s)
			mails(t, d, morning(t, s))
			if err := d.Store().Verify().Err(); err != nil {
				t.Errorf("verify: %v", err)
			}
		})
	}
}

// morning is half past eight of the scenario's day.
func morning(t *testing.T, s Scenario) desk.By {
	t.Helper()
	zone, err := time.LoadLocation(s.Operator.Zone)
	if err != nil {
		t.Fatal(err)
	}
	return desk.By{Now: s.Today.At(8*60+30, zone), Actor: "clock"}
}

func showsSomething(t *testing.T, d *desk.Desk, s Scenario) {
	t.Helper()
	b, err := d.Board(morning(t, s), desk.BoardQuery{Apart: true, Max: 1000})
	if err != nil {
		t.Fatal(err)
	}
	c := b.Counts
	if c.Stop < 1 || c.Stop > 3 || c.Overdue < 5 || c.Overdue > 80 || c.Soon < 10 || c.Later < 100 || c.Unknown < 3 {
		t.Errorf("%+v: want one that nobody may use, some overdue, some soon, most later, some never cleaned", c)
	}
	if len(b.Stop) != c.Stop {
		t.Fatalf("%d dues say do not use, %d are counted", len(b.Stop), c.Stop)
	}
	if !slices.ContainsFunc(b.Stop, func(v desk.DueView) bool {
		return v.Due.Reason.Bound == vent.BoundPastLimit && v.Due.Day < s.Today
	}) {
		t.Error("no dryer is out of use because of a reading past the limit")
	}
}

// showsVisits asks for what a visitor of the demo is to find: technicians, visits agreed, held and only proposed, a day sheet with work on it.
func showsVisits(t *testing.T, d *desk.Desk, s Scenario) {
	t.Helper()
	crew, err := d.Technicians()
	if err != nil || len(crew) != 3 {
		t.Fatalf("%d technicians, %v; want the three of the scenario", len(crew), err)
	}
	all, _, err := d.Visits(morning(t, s), desk.VisitQuery{From: s.Today})
	if err != nil {
		t.Fatal(err)
	}
	is := map[vent.VisitState]int{}
	var sheet desk.DaySheet
	for _, v := range all {
		if !v.Visit.SiteID.IsZero() {
			is[v.Visit.State]++
		}
		if v.Visit.State == vent.Booked && !v.Visit.SiteID.IsZero() && len(sheet.Stops) == 0 {
			if sheet, err = d.DaySheet(morning(t, s), v.Visit.TechnicianID, v.Visit.On, v.Visit.TechnicianID); err != nil {
				t.Fatal(err)
			}
		}
	}
	if is[vent.Booked] < 2 || is[vent.Held] != 1 || is[vent.Proposed] < 3 {
		t.Errorf("visits %v: want some booked, one held, some proposed", is)
	}
	if len(sheet.Stops) == 0 {
		t.Error("no day sheet has a stop")
	}
	feeds, err := Feeds(d, morning(t, s))
	if err != nil || len(feeds) != 3 {
		t.Errorf("%d calendar addresses, %v; want everything, a technician's, a customer's", len(feeds), err)
	}
}

// mails lets the clock decide what is to be told: some reminders are there at once.
func mails(t *testing.T, d *desk.Desk, by desk.By) {
	t.Helper()
	if _, err := d.Tell(t.Context(), by); err != nil {
		t.Fatal(err)
	}
	err := d.Store().View(func(tx *store.Tx) error {
		all, err := store.Collect(store.Messages.All(tx))
		if len(all) < 5 || len(all) > 120 { // of some 300 doors; a service business tells its customers from 45 days ahead
			t.Errorf("%d reminders are due at once: some dozens are wanted", len(all))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestLoadStoresEverything(t *testing.T) {
	s := New(seed, leapDay)
	d := loaded(t, s)
	imported := 0 // last cleanings of the lists
	for _, r := range cells(t, s) {
		if on := r["last_cleaned"]; on != "" && on != "unknown" {
			imported++
		}
	}
	has := d.Store().Verify().Records
	if has[vent.KindCustomer] != 62 || has[vent.KindUnit] != 60+84+1 || has[vent.KindFinding] != imported+len(s.Findings) {
		t.Errorf("%d customers, %d units, %d findings stored; want 62, 145, %d", has[vent.KindCustomer], has[vent.KindUnit], has[vent.KindFinding], imported+len(s.Findings))
	}
	err := d.Store().View(func(tx *store.Tx) error {
		for run, err := range store.Runs.All(tx) {
			if err != nil {
				return err
			}
			airAgrees(t, tx, run)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// airAgrees compares what was read after whole cleanings with what vent/airflow computes for the same duct: the scenario's
// rough law must not invent runs that look as if they leaked.
func airAgrees(t *testing.T, tx *store.Tx, run vent.Run) {
	t.Helper()
	dryer, err := store.Appliances.Get(tx, run.Current().DryerID)
	if errors.Is(err, vent.ErrNotFound) {
		return // a riser
	}
	if err != nil {
		t.Fatal(err)
	}
	sys, err := airflow.NewSystem(*run.Current().Route, dryer.BlowerCurve())
	if err != nil {
		t.Fatalf("%s: %v", run.Ref, err)
	}
	clean, err := sys.At(0)
	if err != nil {
		t.Fatalf("%s: %v", run.Ref, err)
	}
	for f, err := range store.FindingsOf(tx, run.ID) {
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range f.After {
			if r.Quantity != vent.AirSpeed || f.Reach != vent.ReachThrough {
				continue
			}
			if share := r.Value / float64(clean.OutletSpeed); share < 0.8 || share > 1.2 {
				t.Errorf("%s on %s: %s after cleaning is %.2f of the computed %.0f fpm", run.Ref, f.Date, r.Given, share, clean.OutletSpeed.FeetPerMinute())
			}
		}
	}
}

func TestLoadStops(t *testing.T) {
	s := New(seed, leapDay)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := Load(ctx, empty(t), s); !errors.Is(err, context.Canceled) {
		t.Errorf("loading after it was cancelled: %v", err)
	}
	if err := Load(t.Context(), empty(t), Scenario{}); err == nil {
		t.Error("an empty scenario was loaded")
	}
	s.Findings[0].RunRef = "V-999"
	if err := Load(t.Context(), empty(t), s); !errors.Is(err, vent.ErrNotFound) {
		t.Errorf("a finding on a run that no list names: %v", err)
	}
	s = New(seed, leapDay)
	s.Lists[0].CSV = append(s.Lists[0].CSV, "no such row\n"...)
	if err := Load(t.Context(), empty(t), s); !errors.Is(err, vent.ErrInvalid) {
		t.Errorf("a list with a broken row: %v", err)
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		New(seed, leapDay)
	}
}

func BenchmarkLoad(b *testing.B) {
	s := New(seed, leapDay)
	for b.Loop() {
		loaded(b, s)
	}
	b.ReportMetric(float64(len(s.Findings)), "findings/op")
}
