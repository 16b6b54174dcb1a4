package demo

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"ventdue/desk/intake"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

const seed = 20260311

var leapDay = vent.NewDate(2028, 2, 29)

// cells gives all rows of a scenario's lists by column.
func cells(t *testing.T, s Scenario) (all []map[string]string) {
	t.Helper()
	for _, l := range s.Lists {
		rows, err := csv.NewReader(bytes.NewReader(l.CSV)).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", l.Name, err)
		}
		for _, r := range rows[1:] {
			m := map[string]string{}
			for i, c := range rows[0] {
				m[c] = r[i]
			}
			all = append(all, m)
		}
	}
	return all
}

// distinct gives the different values of a column.
func distinct(rows []map[string]string, column string) map[string]bool {
	all := map[string]bool{}
	for _, r := range rows {
		if r[column] != "" {
			all[r[column]] = true
		}
	}
	return all
}

func TestSameSeedAndDayGiveTheSame(t *testing.T) {
	a := New(seed, leapDay)
	if !reflect.DeepEqual(a, New(seed, leapDay)) {
		t.Error("the same seed and day gave two scenarios")
	}
	if reflect.DeepEqual(a.Lists, New(seed+1, leapDay).Lists) {
		t.Error("another seed gave the same lists")
	}
	names := distinct(cells(t, a), "customer_name")
	if later := distinct(cells(t, New(seed, leapDay.AddDays(1))), "customer_name"); !reflect.DeepEqual(names, later) {
		t.Error("on another day other people are there")
	}
}

func TestListsPassIntake(t *testing.T) {
	for n := range uint64(20) {
		for _, l := range New(n, leapDay.AddDays(int(n))).Lists {
			var p intake.Problems
			sheet := intake.NewSheet(&p)
			_, err := intake.Read(t.Context(), intake.Source{Name: l.Name, Reader: bytes.NewReader(l.CSV)}, intake.Options{}, &p,
				intake.Sink{Row: func(r intake.Row) error { sheet.Add(r); return nil }})
			if err != nil || p.Err() != nil {
				t.Errorf("seed %d, %s: %v %v", n, l.Name, err, p.Err())
			}
		}
	}
}

// The numbers are those that `ventdue demo` promises.
func TestWhoIsThere(t *testing.T) {
	rows := cells(t, New(seed, leapDay))
	customers, flats, buildings, households := map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, r := range rows {
		ref := r["customer_ref"]
		switch ref[:1] {
		case "C":
			customers[ref] = true
		case "L":
			buildings[r["site_ref"]] = true
			if r["unit_ref"] != "" {
				flats[r["unit_ref"]] = true
			}
		case "H":
			households[ref] = true
		}
	}
	if len(customers) != 60 || len(buildings) != 3 || len(flats) != 84 || len(households) != 1 {
		t.Errorf("%d customers, %d buildings, %d flats, %d households; 60, 3, 84 and 1 are promised", len(customers), len(buildings), len(flats), len(households))
	}
	for _, want := range []struct {
		what, column, cell string
		least              int
	}{
		{"gas dryers", "fuel", "gas", 10}, {"roof outlets", "roof_outlet", "yes", 20}, {"foil", "transition_material", "foil_flex", 1},
		{"long flexible runs", "duct_material", "semi_rigid_metal", 1}, {"large tumblers", "dryer_class", "large_tumbler", 4}, {"risers", "run_shape", "riser", 1},
		{"branches", "run_shape", "branch", 4}, {"unknown last cleanings", "last_cleaned", "unknown", 10}, {"vacant flats", "occupant_name", "vacant", 1},
		{"upstairs dryers", "run_name", "Upstairs dryer", 3}, {"past fuses", "past_fuse", "yes", 1}, {"lengths in metres", "duct_length", " m", 3},
		{"bores in millimetres", "duct_diameter", " mm", 3}, {"speeds in m/s", "speed_after", " m/s", 1},
	} {
		n := 0
		for _, r := range rows {
			if r[want.column] == want.cell || strings.HasPrefix(want.cell, " ") && strings.HasSuffix(r[want.column], want.cell) {
				n++
			}
		}
		if n < want.least {
			t.Errorf("%d %s, want %d at least", n, want.what, want.least)
		}
	}
}

func TestNobodyIsReal(t *testing.T) {
	domain := regexp.MustCompile(`(?i)[a-z0-9-]+\.(com|net|org|edu|gov|info|biz|io|co|us|uk|de)\b`)
	digits := regexp.MustCompile(`\b\d{3}-\d{4}\b`)
	for n := range uint64(20) {
		s := New(n, leapDay)
		text := fmt.Sprintf("%+v", s.Operator)
		for _, l := range s.Lists {
			text += string(l.CSV)
		}
		for _, f := range s.Findings {
			text += f.Found.Note + f.Found.By.Name + f.Actor
		}
		for _, d := range domain.FindAllString(text, -1) {
			if d != "example.com" && d != "example.net" && d != "example.org" {
				t.Errorf("seed %d: the domain %s may be somebody's", n, d)
			}
		}
		for _, phone := range digits.FindAllString(text, -1) {
			if !strings.HasPrefix(phone, "555-01") {
				t.Errorf("seed %d: the telephone %s may be somebody's", n, phone)
			}
		}
	}
}

func TestEveryAddressIsOnePersons(t *testing.T) {
	rows := cells(t, New(seed, leapDay))
	owner := map[string]string{}
	unmailed := map[string]bool{}
	for _, r := range rows {
		for _, x := range [][2]string{{"contact_", "customer_ref"}, {"occupant_", "unit_ref"}} {
			for _, column := range []string{"name", "email", "phone"} {
				cell, who := r[x[0]+column], x[0]+r[x[1]]
				if was := owner[cell]; was != "" && was != who && cell != "" && cell != "vacant" {
					t.Errorf("%s %q is that of %s and of %s", column, cell, was, who)
				}
				owner[cell] = who
			}
		}
		if r["contact_email"] == "" {
			unmailed[r["customer_ref"]] = true
		}
	}
	if len(unmailed) < 3 || len(unmailed) > 15 {
		t.Errorf("%d customers have no e-mail address, a few are wanted", len(unmailed))
	}
}

func TestFindingsAreValid(t *testing.T) {
	for n := range uint64(20) {
		s := New(n, leapDay.AddDays(17*int(n)))
		known := map[string]vent.Date{}
		for _, l := range s.Lists {
			rows, _ := csv.NewReader(bytes.NewReader(l.CSV)).ReadAll()
			if l.On >= s.Today {
				t.Errorf("%s comes on %s, not before %s", l.Name, l.On, s.Today)
			}
			for _, r := range rows[1:] {
				for i, c := range rows[0] {
					if c == "run_ref" {
						known[r[i]] = l.On
					}
				}
			}
		}
		last := vent.Date(0)
		keys := map[string]bool{}
		for _, f := range s.Findings {
			key := fmt.Sprint(f.RunRef, f.Found.Date, f.Found.Source)
			if on, ok := known[f.RunRef]; !ok || f.Found.Date < on {
				t.Errorf("seed %d: finding of %s on %s, which is known from %s", n, f.Found.Date, f.RunRef, on)
			}
			if f.Found.Date < last || f.Found.Date >= s.Today || keys[key] || f.Actor == "" {
				t.Errorf("seed %d: finding of %s on %s by %q: out of order, not past, told twice or of nobody", n, f.Found.Date, f.RunRef, f.Actor)
			}
			if err := f.Found.Valid(s.Today).Err(); err != nil {
				t.Errorf("seed %d: finding of %s on %s: %v", n, f.Found.Date, f.RunRef, err)
			}
			last, keys[key] = f.Found.Date, true
		}
	}
}

func TestStoriesAreTold(t *testing.T) {
	s := New(seed, leapDay)
	var nests, foil, fuses, poor, shut, others, measured int
	for _, x := range s.Findings {
		f := x.Found
		count := func(n *int, is bool) {
			if is {
				*n++
			}
		}
		count(&nests, f.Sudden)
		count(&foil, len(f.Faults) > 0)
		count(&fuses, len(f.Parts) > 0)
		count(&poor, f.Outcome == vent.OneEnd)
		count(&shut, f.Outcome == vent.Failed)
		count(&others, f.By.Kind != vent.ByUs)
		count(&measured, len(f.Before) > 0 && len(f.After) > 0)
	}
	if nests != 1 || foil != 1 || fuses != 1 {
		t.Errorf("%d nests, %d foil ducts, %d open fuses; one of each is told", nests, foil, fuses)
	}
	if poor < 5 || shut < 3 || others < 5 || measured < 400 {
		t.Errorf("%d poor cleanings, %d shut doors, %d findings of others, %d measured cleanings: too few", poor, shut, others, measured)
	}
	if years := s.Findings[0].Found.Date.DaysUntil(s.Today) / 365; years < 3 {
		t.Errorf("the first finding is %d years old: several are promised", years)
	}
}

// TestAir holds the scenario's own law to the physics it stands for: more lint or more duct, less air and more pressure.
func TestAir(t *testing.T) {
	longer := usual()
	longer.feet *= 2
	was, pressed := 1e9, 0.0
	for lint := 0.0; lint <= 1; lint += 0.05 {
		speed, static := usual().air(lint)
		if slow, _ := longer.air(lint); slow >= speed || speed > was || static < pressed || !(speed > 0) {
			t.Errorf("lint %.2f: %.2f m/s and %.0f Pa, after %.2f m/s and %.0f Pa with less; twice the duct gives %.2f m/s", lint, speed, static, was, pressed, slow)
		}
		was, pressed = speed, static
	}
	// 1 100 to 1 800 ft/min at the hood of a usual clean run: trade figures for a good run are 1 100 to 1 500.
	speed, _ := usual().air(0)
	if fpm := airflow.MetersPerSecond(speed).FeetPerMinute(); fpm < 1100 || fpm > 1800 {
		t.Errorf("a usual clean run blows %.0f ft/min", fpm)
	}
}
