package faults

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ventdue/vent"
	"ventdue/vent/rules"
)

var anyDay = rapid.Custom(func(t *rapid.T) vent.Date {
	return day("2024-01-01").AddDays(rapid.IntRange(0, 1500).Draw(t, "day"))
})

// few rules and subjects, so that sights meet.
var anySight = rapid.Custom(func(t *rapid.T) Sight {
	return Sight{
		Kind:    rapid.SampledFrom([]SightKind{Found, Found, Mended, Gone}).Draw(t, "kind"),
		Rule:    rapid.SampledFrom([]string{rules.FoilTransition, "duct_fallen_off", "scorch_marks", rules.FollowUpReading, rules.CodeLengthOver}).Draw(t, "rule"),
		Subject: vent.Subject{Kind: vent.KindRun, ID: id(rapid.IntRange(1, 2).Draw(t, "subject"))},
		On:      anyDay.Draw(t, "on"),
		Finding: id(rapid.IntRange(0, 3).Draw(t, "finding")),
		ByTool:  rapid.Bool().Draw(t, "by tool"),
		By:      "Ines Moor",
		Note:    rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "note"),
	}
})

// Whatever is said in whatever batches: a fault is never lost, has one record for each rule and subject, a deadline not
// before it was found, says who closed it, and a stop is never closed. While it stays open its deadline does not move later.
func TestRaiseKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var stored []vent.Fault
		for range rapid.IntRange(1, 8).Draw(t, "batches") {
			sights := rapid.SliceOfN(anySight, 0, 6).Draw(t, "sights")
			gas := rapid.Bool().Draw(t, "gas")
			out, err := Raise(stored, sights, gas, false)
			if err != nil {
				t.Fatal(err)
			}
			shuffled := rapid.Permutation(sights).Draw(t, "other order")
			if again, _ := Raise(stored, shuffled, gas, false); !reflect.DeepEqual(again, out) && distinct(sights) {
				t.Fatalf("the order of telling matters:\n%+v\n%+v", out, again)
			}
			stored = keep(t, stored, out)
			for _, s := range sights {
				if s.Kind == Found && !slices.ContainsFunc(stored, func(f vent.Fault) bool { return f.Rule == s.Rule && f.Subject == s.Subject && f.Found <= s.On }) {
					t.Fatalf("%+v was forgotten", s)
				}
			}
		}
		seen := map[key]bool{}
		for _, f := range stored {
			if seen[key{f.Rule, f.Subject}] {
				t.Fatalf("%s stands twice", f.Rule)
			}
			seen[key{f.Rule, f.Subject}] = true
			if p := f.Valid(); len(p) > 0 || f.Deadline < f.Found || f.State == vent.FaultFixed && f.Closed < f.Found || !slices.IsSorted(f.Again) {
				t.Fatalf("%+v: %v", f, p)
			}
			if w, ok := FaultDue(f); ok != (f.State != vent.FaultFixed) || ok && (w.Day < f.Found || w.Earliest > w.Day || w.Latest < w.Day) {
				t.Fatalf("%+v is due %+v", f, w)
			}
		}
	})
}

// distinct reports whether no two sights agree in all that orders them.
func distinct(sights []Sight) bool {
	type order struct {
		on      vent.Date
		kind    SightKind
		k       key
		finding vent.ID
	}
	seen := map[order]bool{}
	for _, s := range sights {
		o := order{s.On, s.Kind, s.key(), s.Finding}
		if seen[o] {
			return false
		}
		seen[o] = true
	}
	return true
}

func keep(t *rapid.T, stored, out []vent.Fault) []vent.Fault {
	next := slices.Clone(stored)
	for _, f := range out {
		if f.ID.IsZero() {
			f.ID = id(400 + len(next))
			next = append(next, f)
			continue
		}
		i := slices.IndexFunc(next, func(x vent.Fault) bool { return x.ID == f.ID })
		was := next[i]
		if was.State == vent.FaultOpen && f.State == vent.FaultOpen && len(was.Again) == len(f.Again) && f.Deadline > was.Deadline {
			t.Fatalf("the deadline moved later:\n%+v\n%+v", was, f)
		}
		if was.State == vent.FaultOpen && was.Severity == vent.Stop && f.State != vent.FaultOpen {
			t.Fatalf("a stop was closed: %+v", f)
		}
		if rules.Weight(f.Severity) < rules.Weight(was.Severity) && len(was.Again) == len(f.Again) {
			t.Fatalf("it became milder:\n%+v\n%+v", was, f)
		}
		next[i] = f
	}
	return next
}

// The next day is after the last time it was done, at most an interval (and the month's end) later, and doing it on its day
// keeps the day of the month.
func TestNextComesRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := vent.Check{Rule: rules.CheckTrap, Months: rapid.IntRange(1, 24).Draw(t, "months"), Anchor: anyDay.Draw(t, "anchor")}
		first := c.Anchor
		for range rapid.IntRange(1, 15).Draw(t, "times") {
			on := Next(c)
			done, err := Done(c, on, on, "Ines Moor")
			if err != nil || done.Anchor != first || Next(done) <= on || Next(done) > on.AddMonths(c.Months).AddDays(3) {
				t.Fatalf("%+v -> %+v (%v)", c, done, err)
			}
			c = done
		}
		if c.LastDone.Day() != min(first.Day(), lastDay(c.LastDone)) {
			t.Fatalf("the day of the month drifted from %s to %s", first, c.LastDone)
		}
		off := anyDay.Draw(t, "off the series")
		if off > c.LastDone {
			done, err := Done(c, off, off, "Ines Moor")
			if err != nil || Next(done) <= off || Next(done) > off.AddMonths(c.Months).AddDays(3) {
				t.Fatalf("%+v done %s -> %+v, next %s", c, off, done, Next(done))
			}
		}
	})
}

func lastDay(d vent.Date) int {
	y, m, _ := d.Split()
	return vent.NewDate(y, m, 31).Day()
}

// Any checks of any parts: an answer or a refusal, no number that is none, no fault that Raise does not know.
func TestDiagnoseHoldsOut(t *testing.T) {
	var partIDs []string
	for _, p := range rules.Parts() {
		partIDs = append(partIDs, p.ID)
	}
	number := rapid.OneOf(rapid.Float64(), rapid.Float64Range(0, 30), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), -1, 0}))
	check := rapid.Custom(func(t *rapid.T) vent.PartCheck {
		c := vent.PartCheck{
			Part:     rapid.SampledFrom(append(partIDs, "nothing")).Draw(t, "part"),
			Result:   rapid.SampledFrom([]string{rules.Good, rules.Open, rules.StuckClosed, rules.Grounded, rules.OutOfRange, rules.NotChecked, ""}).Draw(t, "result"),
			Replaced: rapid.Bool().Draw(t, "replaced"),
		}
		if rapid.Bool().Draw(t, "read") {
			c.Reading = &vent.Reading{Quantity: rapid.SampledFrom([]vent.Quantity{vent.Ohms, vent.ExhaustT, vent.AirSpeed}).Draw(t, "quantity"), Value: number.Draw(t, "value")}
		}
		return c
	})
	rapid.Check(t, func(t *rapid.T) {
		b := Bench{
			Finding: finding(20, visitDay, func(f *vent.Finding) {
				f.Parts = rapid.SliceOfN(check, 0, 4).Draw(t, "checks")
				f.LintBefore = rapid.SampledFrom([]vent.Grade{vent.NotGraded, vent.Bare, vent.Plugged}).Draw(t, "lint")
			}),
			Dryer:     vent.Appliance{ID: theDryer, Fuel: rapid.SampledFrom([]vent.Fuel{"", vent.Electric, vent.Gas}).Draw(t, "fuel"), Volts: number.Draw(t, "volts"), Watts: number.Draw(t, "watts")},
			Setting:   Setting{Run: theRun, Dryer: theDryer},
			FlowShare: number.Draw(t, "share"),
		}
		for _, c := range b.Finding.Parts { // judged or refused, never a number that is none
			v := judge(c, b.Dryer)
			for _, x := range []float64{v.Ohms, v.Low, v.High} {
				if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
					t.Fatalf("%+v: %+v", c, v)
				}
			}
		}
		d, err := Diagnose(b)
		if err != nil {
			return
		}
		if _, err := Raise(nil, d.Sights, false, false); err != nil {
			t.Fatal(err)
		}
		again, _ := Diagnose(b)
		if !reflect.DeepEqual(d.Sights, again.Sights) || !reflect.DeepEqual(ids(d.Next), ids(again.Next)) || len(d.Verdicts) != len(b.Finding.Parts) {
			t.Fatal("two answers to one question")
		}
	})
}
