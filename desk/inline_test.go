package desk

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

const boostedHome = "customer_name,contact_email,site_name,address,zone,unit_name,fuel,duct_length,elbows_90,run_ref,last_cleaned,cleaned_by,cleaning_reach,loads_per_week,booster,booster_serial,lint_trap,changed_on\n" +
	"Ida Lund,ida.lund@example.com,9 Heron Lane,9 Heron Lane,America/New_York,House,%s,60,2,R-1,2025-11-03,us,through,4,%s,%s,%s,%s\n"

func boosted(fuel, booster, serial, trap, changed string) string {
	return fmt.Sprintf(boostedHome, fuel, booster, serial, trap, changed)
}

// again imports a file twice and holds that the second time changes nothing.
func again(t *testing.T, d *Desk, day, text string) {
	t.Helper()
	var first []byte
	for n := range 2 {
		r, err := d.Import(context.Background(), at(day), Source{Name: "home.csv", Reader: strings.NewReader(text)}, ImportOptions{})
		if err != nil || r.Problems.Len() > 0 || !r.Stored && n == 0 {
			t.Fatalf("import: %v, %v", err, r.Problems.Listed)
		}
		if n == 0 {
			first = exportOf(t, d)
		} else if !bytes.Equal(first, exportOf(t, d)) {
			t.Error("a second import of the same file changed something")
		}
	}
}

func findKind(t *testing.T, d *Desk, kind vent.ApplianceKind) (all []vent.Appliance) {
	t.Helper()
	for _, a := range readAll(t, d).dryers {
		if a.Kind == kind {
			all = append(all, a)
		}
	}
	return all
}

// A run with a listed booster and its trap: the maker's length counts instead of the code's, the trap is emptied every month,
// what stands still or is full is put right in the rules' days, and a new booster is a new version whose past stays.
func TestStoryOfABooster(t *testing.T) {
	r := newCheckRig(t, vent.Household, boosted("electric", "listed", "B-1", "yes", ""))
	again(t, r.Desk, "2026-03-02", boosted("electric", "listed", "B-1", "yes", ""))
	f := faultRig{r.Desk, t, readAll(t, r.Desk).runs[0]}
	if got := f.run.Current().InLine; len(got) != 2 {
		t.Fatalf("in the duct: %v", got)
	}
	// 60 ft and two elbows are past 35 ft (IRC M1502.4.5.1), but a listed booster's maker says how long it may be.
	if open := f.open("2026-03-02"); strings.Contains(open, rules.CodeLengthOver) || strings.Contains(open, rules.BoosterUnlisted) {
		t.Errorf("faults of a listed booster: %s", open)
	}
	reason := cleanDue(t, r.Desk, at("2026-03-02"), f.run.ID).Reason
	if !reason.Boosted || !reason.OutsideModel || !reason.NoGeometry {
		t.Errorf("reason: %+v", reason)
	}

	sheet := r.sheet("2026-03-02", 0)
	trap := refs(sheet, rules.CheckTrap)
	if len(trap) != 1 || next(sheet, rules.CheckTrap) != "2026-04-02" { // a month after it became known
		t.Fatalf("trap checks %v, next %q", trap, next(sheet, rules.CheckTrap))
	}
	r.do("2026-04-01", CheckAct{Do: CheckDone, On: theDay("2026-04-01")}, trap...)
	if got := next(r.sheet("2026-04-01", 0), rules.CheckTrap); got != "2026-05-01" {
		t.Errorf("emptied on 1 April, next on %q", got)
	}

	f.record("2026-04-10", func(x *vent.Finding) { x.Faults = []string{"trap_full", "booster_failed"} })
	for rule, day := range map[string]string{"trap_full": "2026-04-11", "booster_failed": "2026-04-13"} { // 1 and 3 days: common practice, no source
		if x := f.fault(rule); x.Severity != vent.Fix || x.Deadline != theDay(day) {
			t.Errorf("%s: %s by %s", rule, x.Severity, x.Deadline)
		}
	}

	again(t, r.Desk, "2026-04-20", boosted("electric", "listed", "B-2", "yes", "2026-04-15"))
	run := readAll(t, r.Desk).runs[0]
	if len(run.Versions) != 2 || run.Current().From != theDay("2026-04-15") || !slices.Equal(run.Versions[0].InLine, f.run.Versions[0].InLine) {
		t.Fatalf("versions %+v", run.Versions)
	}
	boosters := findKind(t, r.Desk, vent.Booster)
	if len(boosters) != 2 {
		t.Fatalf("boosters %+v", boosters)
	}
	for _, a := range boosters {
		if a.Serial == "B-1" && a.Removed != theDay("2026-04-15") || a.Serial == "B-2" && (a.Removed != 0 || a.Installed != theDay("2026-04-15")) {
			t.Errorf("%+v", a)
		}
	}
	f.record("2026-04-15", func(x *vent.Finding) { x.Fixed = []string{"trap_full", "booster_failed"} })
	if open := f.open("2026-04-20"); strings.Contains(open, "booster") || strings.Contains(open, "trap") {
		t.Errorf("still open: %s", open)
	}

	other := emptyDesk(t)
	load, err := other.Import(context.Background(), at("2026-04-21"), Source{Name: "all.jsonl", Reader: bytes.NewReader(exportOf(t, r.Desk))}, ImportOptions{})
	if err != nil || !load.Stored || !bytes.Equal(exportOf(t, other), exportOf(t, r.Desk)) {
		t.Errorf("an export of an import is another file: %v %v", err, load.Problems.Listed)
	}

	again(t, r.Desk, "2026-06-02", boosted("electric", "none", "", "no", "2026-06-01"))
	run = readAll(t, r.Desk).runs[0]
	if len(run.Versions) != 3 || len(run.Current().InLine) != 0 || len(run.Versions[1].InLine) != 2 {
		t.Errorf("without booster: %+v", run.Versions)
	}
	if left := refs(r.sheet("2026-06-02", 0), rules.CheckTrap); len(left) != 0 {
		t.Errorf("a trap that is gone is still to be emptied: %v", left)
	}
	if open := f.open("2026-06-02"); !strings.Contains(open, rules.CodeLengthOver) {
		t.Errorf("without booster the code's length counts again: %s", open)
	}
}

// A booster that nobody has seen to be listed is a fault, until somebody looks; one that stands still beside gas has a day.
func TestUnlistedBooster(t *testing.T) {
	r := newFaultRig(t, boosted("gas", "unlisted", "", "", ""))
	if x := r.fault(rules.BoosterUnlisted); x.State != vent.FaultOpen || x.Severity != vent.Fix {
		t.Errorf("%+v", x)
	}
	if open := r.open("2026-03-02"); !strings.Contains(open, rules.CodeLengthOver) {
		t.Errorf("a booster that is not listed lengthens no duct: %s", open)
	}
	r.record("2026-03-05", func(x *vent.Finding) { x.Faults = []string{"booster_failed"} })
	if x := r.fault("booster_failed"); x.Deadline != theDay("2026-03-06") { // gas: 1 day, common practice
		t.Errorf("%+v", x)
	}
	again(t, r.Desk, "2026-03-10", boosted("gas", "listed", "B-7", "", "")) // the plate was found: no other booster
	run := readAll(t, r.Desk).runs[0]
	if n := len(findKind(t, r.Desk, vent.Booster)); n != 1 || len(run.Versions) != 1 {
		t.Errorf("%d boosters, %d versions", n, len(run.Versions))
	}
	if x := r.fault(rules.BoosterUnlisted); x.State != vent.FaultFixed {
		t.Errorf("%+v", x)
	}
	again(t, r.Desk, "2026-05-04", boosted("gas", "unlisted", "", "", "2026-05-01")) // another one, which nobody knows
	if run = readAll(t, r.Desk).runs[0]; len(run.Versions) != 2 || len(findKind(t, r.Desk, vent.Booster)) != 2 {
		t.Errorf("versions %+v", run.Versions)
	}
}

// What cannot be is refused with its column.
func TestBoosterIsRefused(t *testing.T) {
	for name, c := range map[string]struct{ row, column string }{
		"a third word":     {boosted("electric", "maybe", "", "", ""), "booster"},
		"serial of none":   {boosted("electric", "none", "B-1", "", ""), "booster_serial"},
		"serial of what":   {boosted("electric", "", "B-1", "", ""), "booster"},
		"trap unclear":     {boosted("electric", "", "", "perhaps", ""), "lint_trap"},
		"fitted in future": {boosted("electric", "listed", "", "", "2027-01-01"), "changed_on"},
	} {
		t.Run(name, func(t *testing.T) {
			d := importDesk(t, vent.Customers)
			r := doImport(t, d, 0, "x.csv", c.row, ImportOptions{})
			if r.Problems.Len() == 0 || r.Problems.Listed[0].Column != c.column {
				t.Errorf("problems: %v", r.Problems.Listed)
			}
			if len(findKind(t, d, vent.Booster)) > 0 {
				t.Error("a booster of a refused row is kept")
			}
		})
	}
}

// An insurer's half year: however slowly the run fills, its cleaning is due six months after the last one, again and again.
func TestStoryOfACeiling(t *testing.T) {
	r := newFaultRig(t, "customer_name,contact_email,site_name,address,zone,unit_name,fuel,duct_length,elbows_90,run_ref,last_cleaned,cleaned_by,cleaning_reach,loads_per_week,ceiling_months,ceiling_source\n"+
		"Ida Lund,ida.lund@example.com,9 Heron Lane,9 Heron Lane,America/New_York,House,electric,6,0,R-1,2025-11-03,us,through,1,6,insurer\n")
	ceiling := func(stamp, since, day string) {
		t.Helper()
		x := cleanDue(t, r.Desk, at(stamp), r.run.ID)
		if x.Day != theDay(day) || x.Reason.Bound != vent.BoundCeiling || x.Reason.Source != "insurer" || x.Reason.Months != 6 || x.Reason.Since != theDay(since) {
			t.Errorf("on %s: due %s, %+v", stamp, x.Day, x.Reason)
		}
	}
	ceiling("2026-03-02", "2025-11-03", "2026-05-03") // six civil months
	r.record("2026-04-27", func(x *vent.Finding) {
		x.Outcome, x.Reach, x.LintBefore, x.LintAfter = vent.Full, vent.ReachThrough, vent.Film, vent.Bare
	})
	ceiling("2026-04-28", "2026-04-27", "2026-10-27")
	r.mustNotChange("2026-04-28")
}
