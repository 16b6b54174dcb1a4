package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ventdue/vent"
)

// TestEstimateSaysWhatTheHouseSays: a run that is imported and recorded, and the same run told to `estimate`, are due on
// the same days. Both read the same names, so only the day can differ.
func TestEstimateSaysWhatTheHouseSays(t *testing.T) {
	dir := t.TempDir()
	do := func(in string, args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		env := []string{"VENTDUE_DATA=" + dir, "VENTDUE_ZONE=UTC"}
		if code := run(context.Background(), args, env, stdio{In: strings.NewReader(in), Out: &out, Err: &errs}); code != exitDone {
			t.Fatalf("ventdue %v: exit %d: %s%s", args, code, out.String(), errs.String())
		}
		return out.String()
	}
	for i, c := range []struct{ row, line string }{
		{`"fuel":"electric","duct_length":"25 ft","elbows_90":2,"loads_per_week":5.4,"last_cleaned":"2026-03-02","speed_before":"1250 fpm","speed_after":"1480 fpm","cleaning_reach":"through","cleaned_by":"us"`,
			`{"run":{"duct_length":"25 ft","elbows_90":2},"dryer":{"fuel":"electric"},"use":5.4,"findings":[{"date":"2026-03-02","outcome":"full","reach":"through","by":"us","before":{"air_speed":"1250 fpm"},"after":{"air_speed":"1480 fpm"}}]}`},
		{`"fuel":"gas","max_static":"0.3 in w.c.","duct_length":"12 ft","duct_material":"foil_flex","elbows_90":3,"elbow_kind":"sectioned","roof_outlet":"yes","outlet":"roof_cap","lat":45,"lon":-93,"bedrooms":4,"pets":"yes","last_cleaned":"2026-05-11","ceiling_months":6,"ceiling_source":"insurer"`,
			`{"run":{"duct_length":"12 ft","duct_material":"foil_flex","elbows_90":3,"elbow_kind":"sectioned","roof_outlet":true,"outlet":"roof_cap","ceiling_months":6,"ceiling_source":"insurer"},"dryer":{"fuel":"gas","max_static":"0.3 in w.c."},"unit":{"bedrooms":4,"pets":true},"site":{"lat":45},"findings":[{"date":"2026-05-11","outcome":"full"}]}`},
		{`"fuel":"electric","unit_kind":"laundry_room","uninsulated":"yes","duct_length":"30 ft","last_cleaned":"2026-09-01","cleaning_outcome":"full","lint_before":"mat"`,
			`{"run":{"duct_length":"30 ft","uninsulated":true},"dryer":{"fuel":"electric"},"unit":{"unit_kind":"laundry_room"},"findings":[{"date":"2026-09-01","outcome":"full","lint_before":"mat"}]}`},
	} {
		file := filepath.Join(dir, "row.jsonl")
		name := "Wren Row " + string(rune('A'+i))
		row := `{"customer_name":"` + name + `","site_name":"` + name + `","address":"` + name + `",` + c.row + "}\n"
		if err := os.WriteFile(file, []byte(row), 0o600); err != nil {
			t.Fatal(err)
		}
		do("", "import", file, "--today", "2026-11-25")
		var house struct{ Dues []dueLine }
		if err := json.Unmarshal([]byte(do("", "due", "--json", "--today", "2026-11-25", name)), &house); err != nil {
			t.Fatal(err)
		}
		type answer struct {
			Due, Earliest, Latest vent.Date
			Look                  *struct{ Due vent.Date }
		}
		var got answer
		if err := json.Unmarshal([]byte(do(c.line+"\n", "estimate", "--today", "2026-11-25")), &got); err != nil {
			t.Fatal(err)
		}
		var clean int
		for _, d := range house.Dues {
			switch d.What {
			case vent.DueClean:
				clean++
				if got.Due != d.Day || got.Earliest != d.Earliest || got.Latest != d.Latest {
					t.Errorf("%s: estimate says %+v, the house %+v", c.line, got, d)
				}
			case vent.DueLook:
				if got.Look == nil || got.Look.Due != d.Day {
					t.Errorf("%s: estimate says look %+v, the house %+v", c.line, got.Look, d)
				}
			}
		}
		if clean != 1 {
			t.Errorf("%s: the house has %d cleanings due", name, clean)
		}
	}
}
