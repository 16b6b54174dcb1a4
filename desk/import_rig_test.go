package desk

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"ventdue/store"
	"ventdue/vent"
)

// importNow is the moment of the tests; the sites are in New York, where it is the same day.
var importNow = time.Date(2026, 3, 2, 15, 0, 0, 0, time.UTC)

// emptyDesk opens an office with an empty file, checked whole at the end of the test.
func emptyDesk(t testing.TB) *Desk {
	t.Helper()
	s, err := store.Open(filepath.Join(t.TempDir(), "ventdue.db"), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Verify().Err(); err != nil {
			t.Errorf("verify: %v", err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return New(s, DefaultPolicy(), nil)
}

// importDesk is emptyDesk with an operator.
func importDesk(t testing.TB, kind vent.OperatorKind) *Desk {
	t.Helper()
	d := emptyDesk(t)
	if err := d.SetOperator(on(0), vent.Operator{Kind: kind, Name: "Larkspur Vent Care", Zone: "America/New_York", Units: vent.US}); err != nil {
		t.Fatal(err)
	}
	return d
}

// on is the office's stamp some days after importNow.
func on(days int) By { return By{Now: importNow.AddDate(0, 0, days), Actor: "office"} }

func doImport(t testing.TB, d *Desk, days int, name, text string, o ImportOptions) ImportReport {
	t.Helper()
	r, err := d.Import(context.Background(), on(days), Source{Name: name, Reader: strings.NewReader(text)}, o)
	if err != nil {
		t.Fatalf("import %s: %v", name, err)
	}
	return r
}

// mustImport imports rows that have no problem.
func mustImport(t testing.TB, d *Desk, days int, text string) ImportReport {
	t.Helper()
	r := doImport(t, d, days, "fleet.csv", text, ImportOptions{})
	if r.Problems.Len() > 0 || !r.Stored {
		t.Fatalf("import: stored %v, problems %v", r.Stored, r.Problems.Listed)
	}
	return r
}

// wantTally compares what an import did with a noun.
func wantTally(t *testing.T, r ImportReport, kind vent.Kind, want Tally) {
	t.Helper()
	if got := r.Records[kind]; got != want {
		t.Errorf("%s: %+v, want %+v", kind, got, want)
	}
}

func wantOneProblem(t *testing.T, r ImportReport, row int, column string, says ...string) {
	t.Helper()
	if r.Problems.Len() != 1 || r.Stored {
		t.Fatalf("stored %v, %d problems, want 1: %v", r.Stored, r.Problems.Len(), r.Problems.Listed)
	}
	p := r.Problems.Listed[0]
	if p.Row != row || p.Column != column || p.Remedy == "" {
		t.Errorf("problem %+v, want row %d, column %s and a remedy", p, row, column)
	}
	for _, s := range says {
		if !strings.Contains(p.String(), s) {
			t.Errorf("%q does not say %q", p, s)
		}
	}
}

// everything reads all runs with what belongs to them.
type everything struct {
	customers []vent.Customer
	persons   []vent.Person
	sites     []vent.Site
	units     []vent.Unit
	dryers    []vent.Appliance
	runs      []vent.Run
	findings  []vent.Finding
	dues      []vent.Due
	notices   []vent.Notice
}

func readAll(t testing.TB, d *Desk) (all everything) {
	t.Helper()
	err := d.Store().View(func(tx *store.Tx) (err error) {
		for _, f := range []func() error{
			func() error { all.customers, err = store.Collect(store.Customers.All(tx)); return err },
			func() error { all.persons, err = store.Collect(store.Persons.All(tx)); return err },
			func() error { all.sites, err = store.Collect(store.Sites.All(tx)); return err },
			func() error { all.units, err = store.Collect(store.Units.All(tx)); return err },
			func() error { all.dryers, err = store.Collect(store.Appliances.All(tx)); return err },
			func() error { all.runs, err = store.Collect(store.Runs.All(tx)); return err },
			func() error { all.findings, err = store.Collect(store.Findings.All(tx)); return err },
			func() error { all.dues, err = store.Collect(store.Dues.All(tx)); return err },
			func() error { all.notices, err = store.Collect(store.Notices.All(tx)); return err },
		} {
			if err := f(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// fleet invents n rows: customers with one to six flats each. The same seed gives the same table.
func fleet(n int) [][]string {
	r := rand.New(rand.NewPCG(2026, 11))
	given := []string{"Ada", "Bea", "Cato", "Dora", "Emil", "Flora", "Gus", "Hedy", "Ines", "Joss"}
	family := []string{"Lindqvist", "Okafor", "Brandt", "Moreau", "Tanaka", "Sorensen", "Castellan", "Whitlock"}
	street := []string{"Heron Lane", "Elm Row", "Quarry Road", "Tannery Yard", "Mill Street"}
	rows := [][]string{{"customer_ref", "customer_name", "contact_email", "contact_phone", "site_ref", "site_name", "address", "unit_ref", "unit_name",
		"bedrooms", "people", "pets", "occupant_name", "occupant_email", "dryer_ref", "fuel", "maker", "model", "serial", "installed", "co_alarm",
		"run_ref", "duct_length", "duct_diameter", "duct_material", "elbows_90", "elbows_45", "outlet", "loads_per_week", "last_cleaned", "cleaned_by", "speed_after"}}
	for i := 0; len(rows) <= n; i++ {
		c := fmt.Sprintf("C-%d", i)
		name := given[r.IntN(len(given))] + " " + family[r.IntN(len(family))]
		address := fmt.Sprintf("%d %s, Springfield", 1+i, street[r.IntN(len(street))])
		for flat := range 1 + r.IntN(6) {
			if len(rows) > n {
				break
			}
			key := fmt.Sprintf("%d-%d", i, flat)
			fuel := []string{"electric", "gas"}[r.IntN(2)]
			rows = append(rows, []string{c, name, fmt.Sprintf("c%d@example.com", i), fmt.Sprintf("555-01%02d", i%100),
				"B-" + c, "House " + c, address, "U-" + key, fmt.Sprintf("%d%c", 1+flat/2, 'A'+flat%2),
				fmt.Sprint(1 + r.IntN(4)), fmt.Sprint(1 + r.IntN(5)), []string{"yes", "no"}[r.IntN(2)], "Tenant " + key, "t" + key + "@example.com",
				"D-" + key, fuel, "Acme", fmt.Sprintf("DX-%d", 100+r.IntN(9)), fmt.Sprintf("S%06d", r.IntN(1e6)), fmt.Sprintf("20%02d-0%d-15", 12+r.IntN(12), 1+r.IntN(9)), "yes",
				"V-" + key, fmt.Sprint(4 + r.IntN(28)), "4", "smooth_metal", fmt.Sprint(r.IntN(4)), fmt.Sprint(r.IntN(2)), "flapper",
				fmt.Sprint(2 + r.IntN(7)), fmt.Sprintf("2025-%02d-%02d", 1+r.IntN(12), 1+r.IntN(28)), "us", fmt.Sprint(1200 + 10*r.IntN(40))})
		}
	}
	return rows
}

func asCSV(t testing.TB, rows [][]string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asXLSX(t testing.TB, rows [][]string) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		cells := make([]any, len(row))
		for j, c := range row {
			cells[j] = c
		}
		if err := w.SetRow(fmt.Sprintf("A%d", i+1), cells); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// set changes one cell by column name; row is the spreadsheet's number.
func set(rows [][]string, row int, column, value string) {
	rows[row-1][slices.Index(rows[0], column)] = value
}

func exportOf(t testing.TB, d *Desk) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := d.Export(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
