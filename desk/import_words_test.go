package desk

import (
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
)

// Two customers have never been cleaned, so both are due now; one of them has no address. The third was cleaned the day
// before and is due many months later.
func TestAnImportSaysHowManyWillBeWrittenTo(t *testing.T) {
	d := importDesk(t, vent.Customers)
	const sheet = "customer_name,contact_email,address,fuel,duct_length,last_cleaned\n" +
		"Ida Lund,ida@example.com,9 Heron Lane,gas,12 ft,unknown\n" +
		"Per Holm,,8 Heron Lane,gas,12 ft,unknown\n" +
		"Ana Rivera,ana@example.com,7 Heron Lane,electric,6 ft,2026-03-01\n"
	if r := doImport(t, d, 0, "fleet.csv", sheet, ImportOptions{Check: true}); r.Told != 0 {
		t.Errorf("a check says that %d are written to", r.Told)
	}
	r := mustImport(t, d, 0, sheet)
	if r.Told != 1 {
		t.Errorf("%d people are to be written to, want Ida Lund alone", r.Told)
	}
	if _, err := d.Tell(t.Context(), on(0)); err != nil {
		t.Fatal(err)
	}
	h, err := d.MailHistory("", 10)
	if err != nil || len(h.Messages) != r.Told {
		t.Errorf("%d messages, %v; the import said %d", len(h.Messages), err, r.Told)
	}
	if r := mustImport(t, d, 1, sheet); r.Told != 0 {
		t.Errorf("the same file again says that %d are written to", r.Told)
	}
}

// One mistake is told once.
func TestNoProblemFollowsFromAnother(t *testing.T) {
	for name, x := range map[string]struct{ sheet, column string }{
		"a riser filled like other rows": {"customer_name,address,fuel,run_ref,run_shape,riser_ref,unit_name\n" +
			"Ida Lund,1 Alder Court,electric,R1,riser,,\nIda Lund,1 Alder Court,electric,R2,branch,R1,1\nIda Lund,1 Alder Court,electric,R3,branch,R1,2\n", "run_shape"},
		"a riser with a bad cell": {"customer_name,address,fuel,run_ref,run_shape,riser_ref,unit_name,duct_length\n" +
			"Ida Lund,1 Alder Court,,R1,riser,,,long\nIda Lund,1 Alder Court,electric,R2,branch,R1,1,\n", "duct_length"},
		"a customer without a name": {"customer_name,customer_ref,contact_email,address,fuel\n,C1,ida@example.com,1 Alder Court,electric\n", "customer_name"},
	} {
		d := importDesk(t, vent.Customers)
		r := doImport(t, d, 0, "fleet.csv", x.sheet, ImportOptions{})
		if r.Problems.Len() != 1 || r.Problems.Listed[0].Column != x.column {
			t.Errorf("%s: %v", name, r.Problems.Listed)
		}
		if r = doImport(t, d, 0, "fleet.csv", x.sheet, ImportOptions{KeepGood: true}); len(readAll(t, d).runs) != 0 {
			t.Errorf("%s: runs without their riser or customer are stored", name)
		}
	}
}

// The comma is the decimal sign where the semicolon parts the columns.
func TestDecimalCommas(t *testing.T) {
	d := importDesk(t, vent.Customers)
	const sheet = "customer_name;address;fuel;lat;lon;loads_per_week;watts;washer_volume;duct_length;bedrooms\n" +
		"Ida Lund;1 Alder Court, rear;electric;41,885;-87,5;5,5;5400,5;100,5 L;7,5 m;2,0\n"
	mustImport(t, d, 0, sheet)
	all := readAll(t, d)
	if s := all.sites[0]; *s.Lat != 41.885 || *s.Lon != -87.5 || s.Address != "1 Alder Court, rear" {
		t.Errorf("site %v %v %q", *s.Lat, *s.Lon, s.Address)
	}
	if u := all.units[0]; u.WasherVolume != 0.1005 || u.Bedrooms != 2 {
		t.Errorf("unit %+v", u)
	}
	if r := all.runs[0]; r.Use[0].LoadsPerWeek != 5.5 || r.Current().Route.Sections[0].Length != 7.5 {
		t.Errorf("run %+v", r)
	}
	r := doImport(t, importDesk(t, vent.Customers), 0, "fleet.csv", strings.ReplaceAll(strings.ReplaceAll(sheet, ", rear", ""), ";", "\t"), ImportOptions{})
	if r.Problems.Len() == 0 {
		t.Error("a comma between tabs is taken for a decimal sign")
	}
}

func TestAFileOfAHeaderAlone(t *testing.T) {
	r := doImport(t, importDesk(t, vent.Customers), 0, "fleet.csv", "customer_name,address,fuel\n\n", ImportOptions{})
	if r.Stored || r.Problems.Len() != 1 || !strings.Contains(r.Problems.Listed[0].What, "no rows") {
		t.Errorf("stored %v, %v", r.Stored, r.Problems.Listed)
	}
}

// A customer's own days of reminders and clock come in by columns, stand a second import, and what can be misread is refused.
func TestACustomersOwnRemindersAndClock(t *testing.T) {
	d := importDesk(t, vent.Customers)
	const head = "customer_name,contact_email,address,fuel,customer_reminders,customer_clock\n"
	const good = head + "Ida Lund,ida@example.com,9 Heron Lane,gas,45 21 7 0 +14,24H\nPer Holm,per@example.com,4 Alder Court,gas,,\nAda Berg,ada@example.com,5 Alder Court,gas,\"0, 7; 21\",\n"
	mustImport(t, d, 0, good)
	got := map[string]vent.Customer{}
	for _, c := range readAll(t, d).customers {
		got[c.Name] = c
	}
	if c := got["Ida Lund"]; !slices.Equal(c.Reminders, []int{-45, -21, -7, 0, 14}) || c.Clock != vent.Clock24 {
		t.Errorf("%+v", c)
	}
	if c := got["Per Holm"]; len(c.Reminders) != 0 || c.Clock != "" {
		t.Errorf("%+v", c)
	}
	if c := got["Ada Berg"]; !slices.Equal(c.Reminders, []int{-21, -7, 0}) {
		t.Errorf("%+v", c)
	}
	wantTally(t, mustImport(t, d, 1, good), vent.KindCustomer, Tally{Unchanged: 3})
	for _, cell := range []string{"-30 -7 0", "a month", "+", "400", "1 2 3 4 5 6 7 8 9", "99999999999999999999"} {
		r := doImport(t, d, 2, "fleet.csv", head+"Ida Lund,ida@example.com,9 Heron Lane,gas,"+cell+",\n", ImportOptions{})
		wantOneProblem(t, r, 2, "customer_reminders")
	}
	r := doImport(t, d, 2, "fleet.csv", head+"Ida Lund,ida@example.com,9 Heron Lane,gas,,13h\n", ImportOptions{})
	wantOneProblem(t, r, 2, "customer_clock", "12h, 24h")
}
