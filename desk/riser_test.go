package desk

import (
	"fmt"
	"strings"
	"testing"

	"ventdue/vent"
)

// TestARiserCarriesItsBranches: the more dryers blow into a riser, the sooner it is due.
func TestARiserCarriesItsBranches(t *testing.T) {
	days := map[int]vent.Date{}
	for _, branches := range []int{1, 4, 12} {
		d := importDesk(t, vent.Buildings)
		var s strings.Builder
		s.WriteString("run_ref,site_name,address,zone,unit_name,run_name,run_shape,riser_ref,fuel,duct_length,duct_diameter,elbows_90,loads_per_week,last_cleaned,cleaned_by,cleaning_reach\n")
		s.WriteString("RIS,Tern Court,2 Quay Street,America/New_York,,Shaft,riser,,,60,4,2,,2026-01-10,us,through\n")
		for i := range branches {
			fmt.Fprintf(&s, "B-%d,Tern Court,2 Quay Street,America/New_York,%dA,Branch,branch,RIS,electric,8,4,1,6,2026-01-10,us,through\n", i, i+1)
		}
		doImport(t, d, 0, "shaft.csv", s.String(), ImportOptions{})
		v, err := d.Run(on(1), runID(t, d, "RIS"))
		if err != nil {
			t.Fatal(err)
		}
		days[branches] = cleanDay(t, d, "RIS")
		for _, due := range v.Dues {
			if due.Kind == vent.DueClean && due.Reason.LoadsPerWeek != float64(6*branches) {
				t.Errorf("%d branches of 6 loads: reckoned with %v", branches, due.Reason.LoadsPerWeek)
			}
		}
	}
	if !(days[12] <= days[4] && days[4] < days[1]) {
		t.Errorf("the riser is due %v", days)
	}
}
