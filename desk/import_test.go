package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

func TestThreeBadRowsOfFiveHundred(t *testing.T) {
	rows := fleet(500)
	set(rows, 17, "last_cleaned", "03/04/2025")
	set(rows, 230, "duct_length", "25 kg")
	set(rows, 501, "fuel", "electrik")
	for name, data := range map[string][]byte{"fleet.csv": asCSV(t, rows), "fleet.xlsx": asXLSX(t, rows)} {
		t.Run(name, func(t *testing.T) {
			d := importDesk(t, vent.Customers)
			r := doImport(t, d, 0, name, string(data), ImportOptions{})
			if r.Rows != 500 || r.Bad != 3 || r.Stored || len(r.Problems.Listed) != 3 {
				t.Fatalf("%d rows, %d bad, stored %v, problems %v", r.Rows, r.Bad, r.Stored, r.Problems.Listed)
			}
			for i, want := range []intake.Problem{
				{Row: 17, Column: "last_cleaned", Value: "03/04/2025", Remedy: "2025-03-04 or 2025-04-03"},
				{Row: 230, Column: "duct_length", Value: "25 kg", Remedy: "35 ft"},
				{Row: 501, Column: "fuel", Value: "electrik", Remedy: "did you mean electric?"},
			} {
				p := r.Problems.Listed[i]
				if p.Row != want.Row || p.Column != want.Column || p.Value != want.Value || p.What == "" || !strings.Contains(p.Remedy, want.Remedy) {
					t.Errorf("problem %+v, want %+v", p, want)
				}
			}
			if all := readAll(t, d); len(all.customers)+len(all.runs)+len(all.dues) > 0 {
				t.Errorf("something was stored: %d customers, %d runs, %d dues", len(all.customers), len(all.runs), len(all.dues))
			}
			// The good rows alone, on demand.
			r = doImport(t, d, 0, name, string(data), ImportOptions{KeepGood: true})
			if !r.Stored || r.Bad != 3 || r.Records[vent.KindRun].New != 497 {
				t.Errorf("keep good: stored %v, %d bad, runs %+v", r.Stored, r.Bad, r.Records[vent.KindRun])
			}
		})
	}
}

func TestImportingTwiceChangesNothing(t *testing.T) {
	data := string(asCSV(t, fleet(200)))
	d := importDesk(t, vent.Customers)
	check := doImport(t, d, 0, "fleet.csv", data, ImportOptions{Check: true})
	if check.Stored || len(readAll(t, d).runs) > 0 {
		t.Fatal("a check stored something")
	}
	first := mustImport(t, d, 0, data)
	wantTally(t, first, vent.KindRun, Tally{New: 200})
	wantTally(t, first, vent.KindFinding, Tally{New: 200})
	for k, n := range first.Records {
		if check.Records[k] != n {
			t.Errorf("the check foretold %+v %s, the import did %+v", check.Records[k], k, n)
		}
	}
	if first.Planned != 200 || first.Dues.Opened < 200 {
		t.Errorf("%d runs planned, %d dues opened", first.Planned, first.Dues.Opened)
	}
	before := exportOf(t, d)
	for _, days := range []int{0, 1, 40} {
		again := mustImport(t, d, days, data)
		if again.Any() || again.Planned+again.Queued > 0 || again.Dues.Any() {
			t.Errorf("after %d days: %+v", days, again)
		}
		wantTally(t, again, vent.KindFinding, Tally{Unchanged: 200})
	}
	if !bytes.Equal(before, exportOf(t, d)) {
		t.Error("importing the same file changed what is stored")
	}
	xlsx := doImport(t, d, 1, "fleet.xlsx", string(asXLSX(t, fleet(200))), ImportOptions{})
	if xlsx.Any() || !xlsx.Stored {
		t.Errorf("the same table as xlsx: %+v", xlsx)
	}
}

const newcomer = "customer_name,contact_email,address,unit_name,fuel,duct_length,elbows_90,last_cleaned\n"

func TestNewcomersSheet(t *testing.T) {
	d := importDesk(t, vent.Customers)
	text := newcomer +
		"Rosa Lindqvist,rosa@example.com,12 Heron Lane,,electric,25,2,2025-10-02\n" +
		"Elm Court Homes,office@elm.example,4 Elm Row,1A,gas,10.7 m,1,unknown\n" +
		"Elm Court Homes,office@elm.example,4 Elm Row,1B,ventless,,,\n"
	r := mustImport(t, d, 0, text)
	wantTally(t, r, vent.KindCustomer, Tally{New: 2})
	wantTally(t, r, vent.KindSite, Tally{New: 2})
	wantTally(t, r, vent.KindUnit, Tally{New: 3})
	wantTally(t, r, vent.KindAppliance, Tally{New: 3})
	wantTally(t, r, vent.KindRun, Tally{New: 2})
	wantTally(t, r, vent.KindFinding, Tally{New: 1})
	all := readAll(t, d)
	run := all.runs[0]
	if run.Known != vent.NewDate(2026, 3, 2) || run.Shape != vent.Single || run.Name != "Dryer vent" {
		t.Errorf("run %+v", run)
	}
	duct := run.Current().Route
	if duct == nil || math.Abs(float64(duct.StraightLength())-7.62) > 1e-9 || duct.Fittings[0].Count != 2 || duct.Fittings[0].Kind.Angle() != 90 {
		t.Errorf("duct %+v, want 25 ft (7.62 m) with two 90s", duct)
	}
	if u := all.units[0]; u.Kind != vent.House || u.Name != "12 Heron Lane" {
		t.Errorf("unit %+v, want a house named as its site", u)
	}
	if s := all.sites[0]; s.Zone != "America/New_York" || s.Name != "12 Heron Lane" {
		t.Errorf("site %+v", s)
	}
	if p := all.persons[0]; p.Name != "Rosa Lindqvist" || p.Email != "rosa@example.com" || all.customers[0].Persons[0] != p.ID {
		t.Errorf("contact %+v", p)
	}
	unknown := 0
	for _, due := range all.dues {
		if due.Unknown {
			unknown++
			if due.Subject.ID != all.runs[1].ID {
				t.Error("a run whose last cleaning is known is shown as unknown")
			}
		}
	}
	if unknown == 0 {
		t.Error("a run never cleaned is not shown as unknown")
	}
	if f := all.findings[0]; f.Source != "import" || f.By.Kind != vent.ByUs || f.Outcome != vent.Full {
		t.Errorf("finding %+v", f)
	}
	if again := mustImport(t, d, 1, text); again.Any() {
		t.Errorf("again: %+v", again.Records)
	}
}

func TestLandlordsSheetNeedsNoCustomer(t *testing.T) {
	for _, kind := range []vent.OperatorKind{vent.Buildings, vent.Household} {
		d := importDesk(t, kind)
		r := mustImport(t, d, 0, "site_name,unit_name,fuel,duct_length\nHeron House,1A,electric,20\nHeron House,1B,electric,22\n")
		wantTally(t, r, vent.KindCustomer, Tally{New: 1})
		wantTally(t, r, vent.KindRun, Tally{New: 2})
		if c := readAll(t, d).customers[0]; c.Name != "Larkspur Vent Care" {
			t.Errorf("customer %+v, want the operator", c)
		}
		if again := mustImport(t, d, 1, "site_name,unit_name,fuel,duct_length\nHeron House,1A,electric,20\n"); again.Any() {
			t.Errorf("again: %+v", again.Records)
		}
	}
}

func TestChangedCells(t *testing.T) {
	d := importDesk(t, vent.Customers)
	head := "customer_name,contact_email,address,fuel,duct_length,elbows_90,bedrooms,last_cleaned\n"
	mustImport(t, d, 0, head+"Rosa,rosa@example.com,12 Heron Lane,electric,52,2,2,2025-10-02\n")
	before := readAll(t, d)

	r := mustImport(t, d, 1, head+"Rosa,rosa@example.com,12 Heron Lane,electric,25,2,,\n")
	wantTally(t, r, vent.KindRun, Tally{Changed: 1})
	wantTally(t, r, vent.KindUnit, Tally{Unchanged: 1})
	after := readAll(t, d)
	if v := after.runs[0].Versions; len(v) != 1 || math.Abs(float64(v[0].Route.StraightLength())-7.62) > 1e-9 {
		t.Errorf("a slip of the pen, put right the day after, gave versions %+v", v)
	}
	if after.units[0].Bedrooms != 2 || len(after.findings) != 1 {
		t.Error("an empty cell took something away")
	}
	if r.Planned != 1 || len(after.dues) == 0 || after.dues[0].UID != before.dues[0].UID {
		t.Errorf("%d runs planned; UID %s, was %s", r.Planned, after.dues[0].UID, before.dues[0].UID)
	}

	mustImport(t, d, 2, "customer_name,contact_name,contact_email,address,fuel\nRosa,Rosa,rosa.l@example.com,12 Heron Lane,electric\n")
	if p := readAll(t, d).persons; len(p) != 1 || p[0].Email != "rosa.l@example.com" {
		t.Errorf("persons %+v, want one with the new address", p)
	}
}

func TestChangedDuctAfterALook(t *testing.T) {
	d := importDesk(t, vent.Customers)
	head := "customer_name,address,fuel,duct_length,serial,changed_on\n"
	mustImport(t, d, 0, head+"Rosa,12 Heron Lane,electric,25,S1,\n")
	run := readAll(t, d).runs[0]
	if _, err := d.Record(on(10), vent.Finding{RunID: run.ID, Date: vent.NewDate(2026, 3, 12), Source: "visit",
		By: vent.Doer{Kind: vent.ByUs}, Outcome: vent.Full}); err != nil {
		t.Fatal(err)
	}
	mustImport(t, d, 20, head+"Rosa,12 Heron Lane,electric,40,S1,\n")
	v := readAll(t, d).runs[0].Versions
	if len(v) != 2 || v[1].From != vent.NewDate(2026, 3, 22) || v[0].Route.StraightLength() >= v[1].Route.StraightLength() {
		t.Fatalf("versions %+v, want a second one from the day of the import", v)
	}
	// The same again is no change; another dryer on a stated day is one.
	if r := mustImport(t, d, 30, head+"Rosa,12 Heron Lane,electric,40,S1,\n"); r.Any() {
		t.Errorf("again: %+v", r.Records)
	}
	r := mustImport(t, d, 30, head+"Rosa,12 Heron Lane,gas,40,S2,2026-03-25\n")
	wantTally(t, r, vent.KindAppliance, Tally{New: 1, Changed: 1})
	all := readAll(t, d)
	v = all.runs[0].Versions
	if len(v) != 3 || v[2].From != vent.NewDate(2026, 3, 25) || v[2].DryerID == v[1].DryerID {
		t.Fatalf("versions %+v, want a third one from 2026-03-25 with another dryer", v)
	}
	if old := all.dryers[0]; old.Serial != "S1" || old.Removed != vent.NewDate(2026, 3, 25) || old.Fuel != vent.Electric {
		t.Errorf("the dryer that went: %+v", old)
	}
	if r := mustImport(t, d, 31, head+"Rosa,12 Heron Lane,gas,40,S2,2026-03-25\n"); r.Any() {
		t.Errorf("again: %+v", r.Records)
	}
	wantOneProblem(t, doImport(t, d, 32, "f.csv", head+"Rosa,12 Heron Lane,gas,41,S2,2026-03-01\n", ImportOptions{}), 2, "changed_on", "2026-03-25")
	wantOneProblem(t, doImport(t, d, 32, "f.csv", head+"Rosa,12 Heron Lane,gas,41,S2,2027-03-01\n", ImportOptions{}), 2, "changed_on", "future")
}

func TestSerialIsASlipOfThePenOrAnotherDryer(t *testing.T) {
	head := "customer_name,address,fuel,serial,last_cleaned\n"
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, head+"Rosa,12 Heron Lane,electric,S1,\n")
	r := mustImport(t, d, 1, head+"Rosa,12 Heron Lane,electric,S2,\n")
	wantTally(t, r, vent.KindAppliance, Tally{Changed: 1}) // nothing was ever found on the run
	mustImport(t, d, 2, head+"Rosa,12 Heron Lane,electric,S2,2025-10-02\n")
	r = mustImport(t, d, 3, head+"Rosa,12 Heron Lane,electric,S3,\n")
	wantTally(t, r, vent.KindAppliance, Tally{New: 1, Changed: 1})
	if v := readAll(t, d).runs[0].Versions; len(v) != 2 {
		t.Errorf("versions %+v, want two", v)
	}
}

func TestCleaningsAreNeverOverwritten(t *testing.T) {
	head := "customer_name,address,fuel,last_cleaned,cleaning_outcome,speed_after\n"
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, head+"Rosa,12 Heron Lane,electric,2025-10-02,full,1250 fpm\n")
	if r := mustImport(t, d, 1, head+"Rosa,12 Heron Lane,electric,2025-10-02,,6.35 m/s\n"); r.Any() { // 1250 fpm is 6.35 m/s
		t.Errorf("the same in other words: %+v", r.Records)
	}
	wantOneProblem(t, doImport(t, d, 1, "f.csv", head+"Rosa,12 Heron Lane,electric,2025-10-02,partial,\n", ImportOptions{}),
		2, "cleaning_outcome", "partial", "2025-10-02")
	r := mustImport(t, d, 1, head+"Rosa,12 Heron Lane,electric,2026-02-20,full,\n")
	wantTally(t, r, vent.KindFinding, Tally{New: 1})
	wantOneProblem(t, doImport(t, d, 1, "f.csv", head+"Rosa,12 Heron Lane,electric,2026-03-04,full,\n", ImportOptions{}), 2, "last_cleaned", "future")
	wantOneProblem(t, doImport(t, d, 1, "f.csv", head+"Rosa,12 Heron Lane,electric,2025-12-01,failed,900\n", ImportOptions{}), 2, "after", "before")

	// A finding that was corrected by hand stays corrected.
	old := readAll(t, d).findings[0]
	better := old
	better.Outcome, better.Source = vent.OneEnd, "import"
	if _, err := d.Correct(on(2), old.ID, better); err != nil {
		t.Fatal(err)
	}
	if r := mustImport(t, d, 3, head+"Rosa,12 Heron Lane,electric,2025-10-02,full,1250 fpm\n"); r.Any() {
		t.Errorf("a corrected finding came back: %+v", r.Records)
	}
}

func TestRowsThatContradict(t *testing.T) {
	for name, x := range map[string]struct {
		text   string
		row    int
		column string
		says   string
	}{
		"zone of one site": {"customer_name,site_name,unit_name,fuel,zone\nRosa,Heron House,1A,gas,America/Chicago\nRosa,heron  house,1B,gas,America/Denver\n", 3, "zone", "contradicts row 2"},
		"customer by key":  {"customer_ref,customer_name,address,fuel\nC1,Rosa,1 Elm Row,gas\nC1,Rose,2 Elm Row,gas\n", 3, "customer_name", "customer_ref"},
		"site of two":      {"customer_name,site_ref,fuel,unit_name\nRosa,B1,gas,1A\nBea,B1,gas,1B\n", 3, "site_ref", "another customer"},
		"unit of two":      {"customer_name,address,unit_ref,fuel\nRosa,1 Elm Row,U1,gas\nRosa,2 Elm Row,U1,gas\n", 3, "unit_ref", "another site"},
		"run of two":       {"customer_name,address,unit_name,run_ref,fuel\nRosa,1 Elm Row,1A,V1,gas\nRosa,1 Elm Row,1B,V1,gas\n", 3, "run_ref", "another unit"},
		"two dryers":       {"customer_name,address,fuel,serial\nRosa,1 Elm Row,gas,S1\nRosa,1 Elm Row,gas,S2\n", 3, "serial", "run_name"},
		"one dryer twice":  {"customer_name,address,fuel,dryer_ref\nRosa,1 Elm Row,gas,D1\nRosa,2 Elm Row,gas,D1\n", 3, "dryer_ref", "row 2"},
		"one day twice":    {"customer_name,address,fuel,last_cleaned,cleaned_by\nRosa,1 Elm Row,gas,2025-10-02,us\nRosa,1 Elm Row,gas,2025-10-02,customer\n", 3, "cleaned_by", "contradicts row 2"},
		"one name, two people": {"customer_name,contact_email,address,fuel\nJo Smith,jo@example.com,1 Elm Row,gas\nJo Smith,jo.smith@example.net,9 Mill Street,gas\n",
			3, "contact_email", "customer_ref"},
		"no day":               {"customer_name,address,fuel,cleaned_by\nRosa,1 Elm Row,gas,us\n", 2, "last_cleaned", "missing"},
		"ceiling without whom": {"customer_name,address,fuel,ceiling_months\nRosa,1 Elm Row,gas,12\n", 2, "ceiling_source", "missing"},
		"duct without length":  {"customer_name,address,fuel,elbows_90\nRosa,1 Elm Row,gas,2\n", 2, "duct_length", "missing"},
		"pencil-thin duct":     {"customer_name,address,fuel,duct_length,duct_diameter\nRosa,1 Elm Row,gas,25,1\n", 2, "duct_diameter", "1.969 and 23.62 in"},
		"endless duct":         {"customer_name,address,fuel,duct_length\nRosa,1 Elm Row,gas,2500\n", 2, "duct_length", "328 ft"},
		"ventless with duct":   {"customer_name,address,fuel,duct_length\nRosa,1 Elm Row,ventless,25\n", 2, "fuel", "no exhaust run"},
		"no fuel":              {"customer_name,address,fuel,duct_length\nRosa,1 Elm Row,,25\n", 2, "fuel", "missing"},
		"no customer":          {"customer_name,address,fuel\n,1 Elm Row,gas\n", 2, "customer_name", "missing"},
		"unknown run":          {"run_ref,last_cleaned\nV-404,2025-10-02\n", 2, "customer_name", "no run with this key"},
		"no such zone":         {"customer_name,address,fuel,zone\nRosa,1 Elm Row,gas,Mars/Olympus\n", 2, "zone", "IANA"},
		"half a place":         {"customer_name,address,fuel,lat\nRosa,1 Elm Row,gas,41\n", 2, "lat", "longitude"},
		"bad address":          {"customer_name,contact_email,address,fuel\nRosa,rosa at example,1 Elm Row,gas\n", 2, "contact_email", "name@example.com"},
		"riser missing":        {"customer_name,address,unit_name,fuel,riser_ref\nRosa,1 Elm Row,1A,gas,V-9\n", 2, "riser_ref", "no riser"},
		"riser with dryer":     {"customer_name,address,run_shape,fuel\nRosa,1 Elm Row,riser,gas\n", 2, "run_shape", "site"},
		"made after installed": {"customer_name,address,fuel,made,installed\nRosa,1 Elm Row,gas,2020-01-01,2019-01-01\n", 2, "installed", "2020-01-01"},
		"impossible reading":   {"customer_name,address,fuel,last_cleaned,speed_after\nRosa,1 Elm Row,gas,2025-10-02,125000\n", 2, "speed_after", "7874 fpm"},
	} {
		t.Run(name, func(t *testing.T) {
			wantOneProblem(t, doImport(t, importDesk(t, vent.Customers), 0, "f.csv", x.text, ImportOptions{}), x.row, x.column, x.says)
		})
	}
}

// Where the heading of the doors is mistyped, all flats of a house look like one: that is told once, and not as two false problems of each.
func TestAMistypedHeadingDoesNotDrownWhatIsWrong(t *testing.T) {
	var b strings.Builder
	b.WriteString("customer_name,address,flat,fuel,occupant_name,occupant_email\n")
	for i := range 84 {
		fmt.Fprintf(&b, "Rosa,1 Elm Row,%d,gas,Tenant %d,tenant%d@example.com\n", i, i, i)
	}
	b.WriteString("Rosa,2 Elm Row,1,coal,,\n")
	r := doImport(t, importDesk(t, vent.Buildings), 0, "f.csv", b.String(), ImportOptions{})
	var told []string
	for _, x := range r.Problems.Listed {
		told = append(told, fmt.Sprintf("%d %s %s", x.Row, x.Column, x.What))
	}
	want := []string{"1 flat the column is not known", "1  83 rows contradict others, perhaps for want of the column that is not known", "86 fuel is not known"}
	if r.Stored || r.Bad != 84 || !slices.Equal(told, want) {
		t.Errorf("stored %v, %d bad rows, told:\n%s", r.Stored, r.Bad, strings.Join(told, "\n"))
	}
}

func TestKeysAloneUpdate(t *testing.T) {
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, string(asCSV(t, fleet(20))))
	r := mustImport(t, d, 1, "run_ref,last_cleaned,cleaned_by\nV-0-0,2026-02-01,us\nV-1-0,2026-02-02,other_firm\n")
	if r.Rows != 2 || r.Planned != 2 {
		t.Errorf("%+v", r)
	}
	wantTally(t, r, vent.KindFinding, Tally{New: 2})
	wantTally(t, r, vent.KindRun, Tally{Unchanged: 2})
	r = mustImport(t, d, 1, "unit_ref,bedrooms\nU-0-0,9\n")
	wantTally(t, r, vent.KindUnit, Tally{Changed: 1})
	if r.Queued != 1 {
		t.Errorf("%d runs queued for a changed unit, want 1", r.Queued)
	}
	r = mustImport(t, d, 1, "customer_ref,contact_phone\nC-0,555-0199\n")
	wantTally(t, r, vent.KindPerson, Tally{Changed: 1})
	r = mustImport(t, d, 1, "site_ref,notice_days\nB-C-1,3\n")
	wantTally(t, r, vent.KindSite, Tally{Changed: 1})
}

func TestRiserAndBranches(t *testing.T) {
	d := importDesk(t, vent.Customers)
	text := "customer_name,site_name,unit_name,run_ref,run_shape,riser_ref,fuel,duct_length,roof_outlet\n" +
		"Elm Court,Tower,2A,V-2A,,V-R,gas,12,\n" + // the riser comes later
		"Elm Court,Tower,,V-R,riser,,,60,yes\n" +
		"Elm Court,Tower,3A,V-3A,branch,V-R,gas,12,\n"
	r := mustImport(t, d, 0, text)
	wantTally(t, r, vent.KindRun, Tally{New: 3})
	wantTally(t, r, vent.KindUnit, Tally{New: 2})
	byRef := map[string]vent.Run{}
	for _, x := range readAll(t, d).runs {
		byRef[x.Ref] = x
	}
	if x := byRef["V-R"]; x.Shape != vent.Riser || !x.UnitID.IsZero() || !x.Current().RoofOutlet {
		t.Errorf("riser %+v", x)
	}
	for _, ref := range []string{"V-2A", "V-3A"} {
		if x := byRef[ref]; x.Shape != vent.Branch || x.ParentID != byRef["V-R"].ID {
			t.Errorf("branch %+v", x)
		}
	}
	if again := mustImport(t, d, 1, text); again.Any() {
		t.Errorf("again: %+v", again.Records)
	}
	r = mustImport(t, d, 1, "run_ref,duct_length\nV-R,70\n")
	if r.Planned != 1 || r.Queued != 2 {
		t.Errorf("%d planned, %d queued, want the riser and its two branches", r.Planned, r.Queued)
	}
}

func TestOccupants(t *testing.T) {
	d := importDesk(t, vent.Customers)
	head := "customer_name,contact_email,address,unit_name,fuel,occupant_name,occupant_email,occupant_since\n"
	mustImport(t, d, 0, head+"Rosa,rosa@example.com,1 Elm Row,1A,gas,Tomas,tomas@example.com,2024-08-01\nRosa,rosa@example.com,1 Elm Row,1B,gas,Rosa,rosa@example.com,\n")
	all := readAll(t, d)
	if len(all.persons) != 2 {
		t.Errorf("%d persons, want Rosa, who lives in 1B, and Tomas", len(all.persons))
	}
	mustImport(t, d, 10, head+"Rosa,,1 Elm Row,1A,gas,Ursel,ursel@example.com,2026-03-10\n")
	u := readAll(t, d).units[0]
	if n := len(u.Occupancies); n != 2 || u.Occupancies[0].To != vent.NewDate(2026, 3, 10) || u.Occupancies[1].From != vent.NewDate(2026, 3, 10) {
		t.Errorf("occupancies %+v", u.Occupancies)
	}
	mustImport(t, d, 20, head+"Rosa,,1 Elm Row,1A,gas,vacant,,\n")
	u = readAll(t, d).units[0]
	if n := len(u.Occupancies); n != 3 || !u.Occupancies[2].PersonID.IsZero() || u.Occupancies[2].From != vent.NewDate(2026, 3, 22) {
		t.Errorf("occupancies %+v", u.Occupancies)
	}
	if r := mustImport(t, d, 25, head+"Rosa,,1 Elm Row,1A,gas,vacant,,\n"); r.Any() {
		t.Errorf("again: %+v", r.Records)
	}
}

func TestStoredNameIsNotEnough(t *testing.T) {
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, "customer_name,contact_email,address,fuel\nJo Smith,jo@example.com,1 Elm Row,gas\n")
	wantOneProblem(t, doImport(t, d, 1, "f.csv", "customer_name,contact_email,address,fuel\nJo Smith,other@example.net,9 Mill Street,gas\n", ImportOptions{}),
		2, "contact_email", "customer_ref")
	r := mustImport(t, d, 1, "customer_ref,customer_name,contact_email,address,fuel\nC1,Jo Smith,jo@example.com,1 Elm Row,gas\nC2,Jo Smith,other@example.net,9 Mill Street,gas\n")
	wantTally(t, r, vent.KindCustomer, Tally{New: 1, Changed: 1}) // the stored one got its key
	wantTally(t, r, vent.KindSite, Tally{New: 1, Unchanged: 1})
}

func TestDuctInSeveralPiecesIsNotFlattened(t *testing.T) {
	d := importDesk(t, vent.Customers)
	mustImport(t, d, 0, "customer_name,address,fuel,duct_length,run_ref\nRosa,1 Elm Row,gas,25,V1\n")
	err := d.Store().Update(on(0), func(tx *store.Tx) error {
		r, err := store.RunByRef(tx, "V1")
		if err != nil {
			return err
		}
		r.Versions[0].Route.Sections = []airflow.Section{
			{Material: airflow.SmoothMetal, Length: 3, Diameter: 0.1}, {Material: airflow.SemiRigid, Length: 2, Diameter: 0.1}}
		return store.Runs.Put(tx, r, "described")
	})
	if err != nil {
		t.Fatal(err)
	}
	if r := mustImport(t, d, 1, "run_ref,duct_length\nV1,5 m\n"); r.Any() {
		t.Errorf("the same sum: %+v", r.Records)
	}
	wantOneProblem(t, doImport(t, d, 1, "f.csv", "run_ref,duct_length\nV1,6 m\n", ImportOptions{}), 2, "duct_length", "several pieces")
}

// TestSampleFiles imports the files that the documentation points at.
func TestSampleFiles(t *testing.T) {
	for name, x := range map[string]struct {
		kind           vent.OperatorKind
		units          vent.UnitSystem
		runs, findings int
		problems       []string
	}{
		"newcomer.csv":    {vent.Customers, "", 4, 2, nil},
		"landlord-si.csv": {vent.Buildings, vent.SI, 3, 2, nil},
		"rows.jsonl":      {vent.Customers, "", 1, 1, nil},
		"broken.csv": {vent.Customers, "", 0, 0, []string{
			`row 1, adress: the column is not known; did you mean address? Else take it out, or have unknown columns ignored`,
			`row 2, last_cleaned "03/04/2025": is not a date of the form YYYY-MM-DD; write 2025-03-04 or 2025-04-03, whichever is meant`,
			`row 3, fuel "wood": is not known; use one of electric, gas, ventless`,
			`row 3, duct_length "25 kg": `}},
	} {
		t.Run(name, func(t *testing.T) {
			d := importDesk(t, x.kind)
			data, err := os.ReadFile(filepath.Join("..", "testdata", "import", name))
			if err != nil {
				t.Fatal(err)
			}
			r := doImport(t, d, 0, name, string(data), ImportOptions{Units: x.units})
			all := readAll(t, d)
			if len(all.runs) != x.runs || len(all.findings) != x.findings || r.Problems.Len() != len(x.problems) {
				t.Fatalf("%d runs, %d findings, problems %v", len(all.runs), len(all.findings), r.Problems.Listed)
			}
			for i, want := range x.problems {
				if got := r.Problems.Listed[i].String(); !strings.HasPrefix(got, want) {
					t.Errorf("%q\nwant %q", got, want)
				}
			}
			if len(x.problems) > 0 {
				return
			}
			if again := doImport(t, d, 1, name, string(data), ImportOptions{Units: x.units}); again.Any() || !again.Stored {
				t.Errorf("again: %+v", again)
			}
		})
	}
}

// TestKeepGoodLeavesOutWhatHangsOnABadRow: a site that cannot be stored takes its other rows with it, and nothing of it stays.
func TestKeepGoodLeavesOutWhatHangsOnABadRow(t *testing.T) {
	d := importDesk(t, vent.Customers)
	r := doImport(t, d, 0, "f.csv", "customer_name,contact_email,address,unit_name,fuel,zone\n"+
		"Rosa,rosa@example.com,1 Elm Row,1A,gas,Mars/Olympus\nRosa,rosa@example.com,1 Elm Row,1B,gas,\nBea,bea@example.com,2 Elm Row,1A,gas,\n", ImportOptions{KeepGood: true})
	if !r.Stored || r.Bad != 2 || r.Problems.Len() != 1 {
		t.Fatalf("stored %v, %d bad, problems %v", r.Stored, r.Bad, r.Problems.Listed)
	}
	all := readAll(t, d)
	if len(all.customers) != 1 || len(all.persons) != 1 || len(all.sites) != 1 || len(all.runs) != 1 || all.customers[0].Name != "Bea" {
		t.Errorf("%+v", all)
	}
}

func TestImportIsCancelled(t *testing.T) {
	d := importDesk(t, vent.Customers)
	ctx, cancel := context.WithCancel(context.Background())
	_, err := d.Import(ctx, on(0), Source{Name: "fleet.csv", Reader: bytes.NewReader(asCSV(t, fleet(2000)))}, ImportOptions{
		Progress: func(phase Phase, done, _ int, _ int64) {
			if phase == PhasePlan && done > 0 {
				cancel()
			}
		}})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("error %v, want cancelled", err)
	}
	if all := readAll(t, d); len(all.runs)+len(all.customers) > 0 {
		t.Errorf("%d runs and %d customers are left of a cancelled import", len(all.runs), len(all.customers))
	}
}
