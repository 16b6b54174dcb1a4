package lint

import (
	"math"
	"testing"

	"ventdue/vent"
)

// TestRiserUse adds by hand: a household of four at two loads a head, a shared machine at twenty, a flat that told six and
// stood empty from May to July, and one that left in September after four a week.
func TestRiserUse(t *testing.T) {
	day := func(m int) vent.Date { return vent.NewDate(2026, 1, 1).AddMonths(m - 1) }
	told := func(n float64) []vent.Use { return []vent.Use{{LoadsPerWeek: n, Source: vent.UseTold}} }
	use := RiserUse([]Branch{
		{Unit: vent.Unit{Kind: vent.Flat, People: 4}},
		{Unit: vent.Unit{Kind: vent.LaundryRoom}},
		{Run: vent.Run{Use: told(6)}, Unit: vent.Unit{Kind: vent.Flat, Occupancies: []vent.Occupancy{{From: day(5), To: day(7)}}}},
		{Run: vent.Run{Use: told(4), Ended: day(9)}, Unit: vent.Unit{Kind: vent.Flat}},
	})
	at := func(d vent.Date) vent.Use {
		now := use[0]
		for _, u := range use {
			if u.From <= d {
				now = u
			}
		}
		return now
	}
	for m, want := range map[int]float64{1: 38, 5: 32, 6: 32, 7: 38, 9: 34, 12: 34} {
		if got := at(day(m)); math.Abs(got.LoadsPerWeek-want) > 1e-9 || got.Source != vent.UseDefault {
			t.Errorf("month %d: %+v, want %v loads", m, got, want)
		}
	}
	for i, u := range use {
		if i > 0 && u.From <= use[i-1].From {
			t.Errorf("entry %d is not after the one before", i)
		}
	}
	if RiserUse(nil) != nil {
		t.Error("a riser without branches has a use")
	}
}

// TestRiserUseSources: the sum is as sure as its least sure part; an empty flat takes nothing from that.
func TestRiserUseSources(t *testing.T) {
	of := func(s vent.UseSource) Branch {
		return Branch{Run: vent.Run{Use: []vent.Use{{LoadsPerWeek: 3, Source: s}}}}
	}
	for _, c := range []struct {
		a, b, want vent.UseSource
	}{
		{vent.UseTold, vent.UseCounter, vent.UseTold},
		{vent.UseHousehold, vent.UseTold, vent.UseHousehold},
		{vent.UseEmpty, vent.UseCounter, vent.UseCounter},
		{vent.UseEmpty, vent.UseEmpty, vent.UseEmpty},
	} {
		if got := RiserUse([]Branch{of(c.a), of(c.b)})[0].Source; got != c.want {
			t.Errorf("%s and %s: %s, want %s", c.a, c.b, got, c.want)
		}
	}
}
