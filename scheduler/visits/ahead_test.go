package visits

import (
	"testing"

	"pgregory.net/rapid"
	"ventdue/vent"
)

// By hand: ten dues of 200 minutes that must be done on Monday or Tuesday. A day has 480 - 40 - 15 = 425 minutes of room, two dues:
// four are done, six are not; three more technician's days do them.
func TestAheadCountsMissingDays(t *testing.T) {
	p := one()
	for i := range 10 {
		d := task(i, 0, 0, 0, 1)
		d.Minutes = 200
		p.Dues = append(p.Dues, d)
	}
	a, err := LookAhead(p)
	if err != nil {
		t.Fatal(err)
	}
	if a.NoRoom != 6 || len(a.Late) != 6 || len(a.Extra) != 3 {
		t.Fatalf("%d without room, %d late, extra days %+v; by hand 6, 6 and 3", a.NoRoom, len(a.Late), a.Extra)
	}
	for i, left := range []int{4, 2, 0} {
		if e := a.Extra[i]; e.Left != left || e.Dues != 2 || e.On > monday.AddDays(1) {
			t.Errorf("extra day %+v, want 2 dues and %d left", e, left)
		}
	}
	// The late ones take the next three days of the week, two a day; each day 40 minutes of driving.
	want := Load{Monday: monday, Visits: 5, Dues: 10, Work: 5*15 + 2000, Drive: 200, Capacity: 5 * 480, Late: 6}
	if a.Weeks[0] != want || len(a.Weeks) != 4 {
		t.Errorf("first of %d weeks %+v, want %+v", len(a.Weeks), a.Weeks[0], want)
	}
}

// By hand: done on day 10, again every 90 days: days 100, 190 and 280 lie within a year, 370 does not.
func TestAheadCountsWhatComesAgain(t *testing.T) {
	p := one(task(0, 0, 8, 10, 12))
	p.Last = monday.AddDays(364)
	p.Dues[0].Every = 90
	p.Technicians[0].Hours = everyDay(480, 960)
	p.Frozen = []Visit{
		{TechnicianID: techID(0), SiteID: siteID(0), On: monday.AddDays(11), Start: 600, Minutes: 60, Dues: []vent.ID{dueID(0)}},
		{TechnicianID: techID(0), On: monday.AddDays(15), Start: 400, Minutes: 200},
	}
	a, err := LookAhead(p)
	if err != nil {
		t.Fatal(err)
	}
	weeks := map[int]bool{}
	for i, w := range a.Weeks {
		if w.Visits > 0 {
			weeks[i] = true
		}
	}
	for _, day := range []int{11, 100, 190, 280} {
		if !weeks[day/7] {
			t.Errorf("no visit in the week of day %d", day)
		}
	}
	if len(weeks) != 4 || len(a.Late) != 0 || len(a.Extra) != 0 {
		t.Errorf("weeks %v, late %v, extra %v", weeks, a.Late, a.Extra)
	}
	// In the week of day 15 a block takes the two hours from 8:00 to 10:00.
	if c := a.Weeks[2].Capacity; c != 7*480-120 {
		t.Errorf("capacity %d, want %d", c, 7*480-120)
	}
}

// TestExtraDaysAreEnough adds the days that LookAhead asks for and asks the exhaustive search whether they are enough.
func TestExtraDaysAreEnough(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anySmall(rt)
		p.Technicians = p.Technicians[:1]
		p.Frozen = nil
		before, err := LookAhead(p)
		if err != nil {
			rt.Fatal(err)
		}
		left := before.NoRoom
		for i, e := range before.Extra {
			if e.Left > left {
				rt.Fatalf("day %d leaves %d, more than the %d before it", i, e.Left, left)
			}
			left = e.Left
			t := p.Technicians[0]
			t.ID, t.Skills, t.Off = techID(10+i), []string{SkillGas, SkillPair}, nil
			for on := p.Today; on <= p.Last; on++ {
				if on != e.On {
					t.Off = append(t.Off, on)
				}
			}
			p.Technicians = append(p.Technicians, t)
		}
		if best := reference(p); best[0] > left {
			rt.Fatalf("%d late at best with the extra days, they were to leave %d", best[0], left)
		}
	})
}
