package faults

import (
	"testing"

	"ventdue/vent"
	"ventdue/vent/airflow"
	"ventdue/vent/rules"
)

// BenchmarkPlanPart is what every plan of a run pays for faults: what follows from the record, taken in, and the dues.
// The floor is the code length alone, which is computed in it.
func BenchmarkPlanPart(b *testing.B) {
	f := facts(func(f *Facts) {
		f.Run.Versions[0].Route.Transition.Material = airflow.FoilFlex
		for n := range 8 {
			f.Findings = append(f.Findings, finding(100+n, day("2019-01-05").AddMonths(11*n), choked(part(rules.ThermalFuse, rules.Good, false))))
		}
	})
	sights, _ := ByTool(f)
	stored, err := Raise(nil, sights, false, false)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("floor", func(b *testing.B) {
		rule, _ := airflow.RuleFor(airflow.IRC2012)
		for b.Loop() {
			if _, err := rule.CodeLength(*f.Run.Versions[0].Route); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("whole", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			sights, _ := ByTool(f)
			out, err := Raise(stored, sights, false, false)
			if err != nil || len(out) > 0 {
				b.Fatal(out, err)
			}
			if len(Dues(Asks{Faults: stored})) != 1 {
				b.Fatal("dues")
			}
		}
	})
}

// BenchmarkLines puts the checks of a big building together.
func BenchmarkLines(b *testing.B) {
	missing, _ := Recurring(household())
	var all []vent.Check
	for n := range 50 {
		for _, c := range missing {
			c.ID, c.Subject.ID[1] = id(len(all)+1), byte(n)
			all = append(all, c)
		}
	}
	for b.Loop() {
		if len(Lines(all)) != 5 {
			b.Fatal("lines")
		}
	}
}
