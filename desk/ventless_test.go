package desk

import (
	"slices"
	"strings"
	"testing"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// A ventless dryer has no run to clean: what is asked for is its second filter, coil, drain and door gasket, and no import,
// list or export needs a run for that. A visit to a neighbour's run settles none of it.
func TestVentlessDryer(t *testing.T) {
	r := newCheckRig(t, vent.Buildings, "site_name,address,zone,unit_name,occupant_name,occupant_email,fuel,maker,model,duct_length,elbows_90,last_cleaned\n"+
		"Tern Court,2 Quay Street,America/New_York,1A,Olle Lund,olle.lund@example.com,ventless,Norvane,HP-8,,,\n")
	all := readAll(t, r.Desk)
	if len(all.runs) != 0 || len(all.dryers) != 1 || all.dryers[0].Fuel != vent.Ventless {
		t.Fatalf("%d runs, dryers %+v", len(all.runs), all.dryers)
	}
	sheet := r.sheet("2026-03-02", 0)
	var asked []string
	for _, l := range sheet.Lines {
		for _, x := range l.Items {
			asked = append(asked, x.Check.Rule)
		}
	}
	slices.Sort(asked)
	for _, want := range []string{rules.CheckSecondFilter, rules.CheckCoil, rules.CheckDrain, rules.CheckGasket, rules.CheckScreen} {
		if !slices.Contains(asked, want) {
			t.Errorf("%s is not asked for: %v", want, asked)
		}
	}
	for _, no := range []string{rules.CheckTransition, rules.CheckFlap, rules.CheckGas} {
		if slices.Contains(asked, no) {
			t.Errorf("%s is asked for where there is no run and no gas", no)
		}
	}
	list, err := r.Dues(at("2026-03-02"), DueQuery{})
	if err != nil || list.Total == 0 {
		t.Fatalf("%d dues, %v", list.Total, err)
	}
	for _, v := range list.Dues {
		if v.Due.Kind != vent.DueCheck || v.Site.Name != "Tern Court" || v.Label() == "" {
			t.Errorf("due %s at %q", v.Due.Kind, v.Label())
		}
	}
	before := r.open(all.sites[0].ID)
	done := refs(sheet, rules.CheckSecondFilter)
	r.do("2026-03-09", CheckAct{Do: CheckDone, On: theDay("2026-03-09")}, done...)
	after := r.sheet("2026-03-09", 0)
	found := false
	for _, l := range after.Lines {
		for _, x := range l.Items {
			if x.Check.Rule == rules.CheckSecondFilter {
				found = true
				// A month after it was washed: rule ventless_filter, every month.
				if x.Check.LastDone != theDay("2026-03-09") || x.Day != theDay("2026-04-09") {
					t.Errorf("washed on %s, next on %s", x.Check.LastDone, x.Day)
				}
			}
		}
	}
	if !found || len(before) == 0 {
		t.Errorf("the second filter is gone from the sheet: %+v", after)
	}
	if !strings.Contains(string(exportOf(t, r.Desk)), `"ventless"`) {
		t.Error("the export does not name the dryer")
	}
}
