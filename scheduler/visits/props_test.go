package visits

import (
	"encoding/json"
	"slices"
	"testing"

	"pgregory.net/rapid"
	"ventdue/vent"
)

// anySmall draws one of the small cases, with little effort: what must hold holds for a poor plan too.
func anySmall(rt *rapid.T) Problem {
	p := small(rapid.Uint64().Draw(rt, "seed"))
	p.Policy.Effort = rapid.IntRange(0, 60).Draw(rt, "effort")
	return p
}

func planned(rt *rapid.T, p Problem) Schedule {
	s, err := Plan(p)
	if err != nil {
		rt.Fatal(err)
	}
	return s
}

func TestSchedulesAreSound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anySmall(rt)
		// Windows that were over before the plan, that notice overtakes, that reach beyond it.
		for i := range p.Dues {
			switch rapid.IntRange(0, 7).Draw(rt, "window") {
			case 0:
				d := &p.Dues[i]
				d.Earliest, d.Day, d.Latest = monday.AddDays(-20), monday.AddDays(-10), monday.AddDays(-5)
			case 1:
				p.Dues[i].Latest = monday.AddDays(30)
			case 2:
				d := &p.Dues[i]
				d.Earliest, d.Day, d.Latest = monday, monday, monday
			}
			p.Dues[i].Stop = rapid.Bool().Draw(rt, "stop")
			p.Dues[i].Waived = rapid.Bool().Draw(rt, "waived")
		}
		s := planned(rt, p)
		if wrong := unsound(p, s); len(wrong) > 0 {
			rt.Fatalf("the schedule has %q", wrong)
		}
		for _, x := range s.Tiers {
			if x.Value < x.Bound {
				rt.Fatalf("%s is %d, under its bound %d", x.Name, x.Value, x.Bound)
			}
		}
		again, _ := json.Marshal(planned(rt, p))
		if first, _ := json.Marshal(s); string(first) != string(again) {
			rt.Fatal("the same problem got another schedule")
		}
	})
}

func TestBigScheduleIsSound(t *testing.T) {
	p := business(600, 2, 3)
	p.Policy.Effort = 0
	for i := range p.Dues {
		d := &p.Dues[i]
		d.Latest = max(d.Latest, p.Today.AddDays(3))
	}
	mustBeSound(t, p, mustPlan(t, p))
}

func TestOneMoreTechnicianNeverMakesMoreLate(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anySmall(rt)
		extra := small(rapid.Uint64().Draw(rt, "other")).Technicians[0]
		extra.ID = techID(9)
		before := planned(rt, p)
		p.Technicians = append(p.Technicians, extra)
		if after := planned(rt, p); len(after.Late) > len(before.Late) {
			rt.Fatalf("%d late with one more technician, %d without", len(after.Late), len(before.Late))
		}
	})
}

// TestFewerLateWithEveryTechnician: the same where there is far more to do than hands, and a poor search would stumble.
func TestFewerLateWithEveryTechnician(t *testing.T) {
	for seed := uint64(2900); seed < 2960; seed++ { // 2939 stumbles without a look at what fewer can do
		p := business(70, 5, seed)
		p.Last, p.Policy.Effort = monday.AddDays(9), 0
		for i := range p.Dues {
			lo := int(seed+uint64(i*i)) % 9
			p.Dues[i] = task(i, int(p.Dues[i].SiteID[15])-1, lo, lo, min(9, lo+i%4))
			p.Dues[i].Minutes = 60 + 37*i%160
		}
		all, before := p.Technicians, len(p.Dues)
		for n := range all {
			p.Technicians = all[:n+1]
			s := mustPlan(t, p)
			mustBeSound(t, p, s)
			if len(s.Late) > before {
				t.Errorf("case %d: %d late with %d technicians, %d with one fewer", seed, len(s.Late), n+1, before)
			}
			before = len(s.Late)
		}
	}
}

// TestPlanningAgain: what was proposed stays unless something is gained, and every due that stands elsewhere is named.
func TestPlanningAgain(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anySmall(rt)
		first := planned(rt, p)
		p.Previous = first.Visits
		second := planned(rt, p)
		before, after := spots(first.Visits), spots(second.Visits)
		for _, d := range p.Dues {
			named := slices.ContainsFunc(second.Moves, func(m Move) bool { return m.DueID == d.ID && m.Text != "" })
			if (before[d.ID] != after[d.ID]) != named {
				rt.Fatalf("due stood at %v, stands at %v, named as moved: %v", before[d.ID], after[d.ID], named)
			}
		}
		if len(second.Late) > len(first.Late) {
			rt.Fatalf("%d late, %d before", len(second.Late), len(first.Late))
		}
		// What was proposed and is frozen now stays: the schedule is as sound with it, and plans none of its dues.
		p.Previous, p.Frozen = nil, append(p.Frozen, second.Visits...)
		third := planned(rt, p)
		for _, v := range third.Visits {
			for _, id := range v.Dues {
				if slices.ContainsFunc(second.Visits, func(o Visit) bool { return slices.Contains(o.Dues, id) }) {
					rt.Fatal("a frozen due was planned again")
				}
			}
		}
		if wrong := unsound(p, third); len(wrong) > 0 {
			rt.Fatalf("with frozen visits the schedule has %q", wrong)
		}
	})
}

func TestSlotsFit(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anySmall(rt)
		for i := range p.Dues {
			p.Dues[i].SiteID = siteID(0)
			p.Dues[i].Latest = max(p.Dues[i].Latest, monday.AddDays(p.Sites[0].NoticeDays))
		}
		p.Dues = p.Dues[:min(len(p.Dues), rapid.IntRange(1, 3).Draw(rt, "dues"))]
		want := rapid.IntRange(0, 6).Draw(rt, "want")
		slots, err := Slots(p, want)
		if err != nil {
			rt.Fatal(err)
		}
		if len(slots) > want {
			rt.Fatalf("%d slots, %d wanted", len(slots), want)
		}
		for _, s := range slots {
			if err := Check(p, s); err != nil {
				rt.Fatalf("an offered slot does not fit: %v", err)
			}
			booked := p
			v := Visit{TechnicianID: s.TechnicianID, SiteID: s.SiteID, On: s.On, Start: s.Start, Minutes: s.Minutes}
			for _, d := range p.Dues {
				v.Dues = append(v.Dues, d.ID)
			}
			// The slot as a schedule of its own has nothing wrong with it, but for the grid.
			booked.Policy.Grid = 1
			c := checker{p: booked, seen: map[vent.ID]vent.Date{}}
			c.visit(v)
			c.days([]Visit{v})
			if len(c.wrong) > 0 {
				rt.Fatalf("the slot %v has %q", s, c.wrong)
			}
			// Once it is taken, it is refused.
			booked.Frozen = append(slices.Clone(p.Frozen), v)
			if Check(booked, s) == nil {
				rt.Fatal("a taken slot was given again")
			}
		}
	})
}
