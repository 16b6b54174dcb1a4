package lint

import (
	"math"
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

var id = vent.ID{15: 1}

func day(s string) vent.Date {
	d, err := vent.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

// straight is a run of 4 in duct with mitred 90s and a flapper hood, installed and known on the first day.
func straight(m airflow.Material, feet float64, elbows int, perWeek float64) vent.Run {
	d := &airflow.Duct{
		Sections: []airflow.Section{{Material: m, Length: airflow.Feet(feet), Diameter: airflow.Inches(4)}},
		Outlet:   airflow.Outlet{Kind: airflow.OutletFlapper},
	}
	if elbows > 0 {
		d.Fittings = []airflow.Fitting{{Kind: airflow.Mitered90, Count: elbows}}
	}
	from := day("2020-01-01")
	return vent.Run{
		ID: id, Name: "laundry", Shape: vent.Single, Known: from,
		Versions: []vent.Version{{From: from, Route: d, Measured: true}},
		Use:      []vent.Use{{LoadsPerWeek: perWeek, Source: vent.UseTold}},
	}
}

var electric = vent.Appliance{Kind: vent.Dryer, Fuel: vent.Electric}

// The blueprint's reference run: what fire-safety bodies advise, a year, at a chance of one in ten.
func TestReferenceRunIsDueAfterAYear(t *testing.T) {
	told := straight(airflow.SmoothMetal, 25, 2, 5.44)
	nobodySaid := told
	nobodySaid.Use = nil // 283 a year is 5.44 a week
	for _, r := range []vent.Run{told, nobodySaid} {
		b := Learn(Case{Run: r, Dryer: electric})
		due := b.Day(0.10)
		months := float64(b.Since().DaysUntil(due)) / (365.25 / 12)
		if math.Abs(months-12) > 1 {
			t.Errorf("due %s, after %.1f months: want 12 within 1", due, months)
		}
		if w, _ := b.Loads(); math.Abs(w-5.44) > 0.02 {
			t.Errorf("%.3f loads a week, want 5.44", w)
		}
		med, f := b.Growth()
		t.Logf("due %s %.2f months, chance %.4f, limit %+v, growth %.5f x%.2f, median day %s", due, months, b.Chance(due), b.LimitAt(), med, f, b.Day(.5))
	}
}
