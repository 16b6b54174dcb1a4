package visits

import (
	"cmp"
	"slices"
	"testing"

	"ventdue/vent"
)

// unsound lists what is wrong with a schedule, worked out from the problem alone; the reference's distances, not the planner's.
func unsound(p Problem, s Schedule) []string {
	c := checker{p: p, late: map[vent.ID]Late{}, seen: map[vent.ID]vent.Date{}}
	for _, l := range s.Late {
		c.late[l.DueID] = l
	}
	for _, v := range s.Visits {
		c.visit(v)
	}
	c.say(c.days(s.Visits) != tier(s, "drive").Value, "a sum of driving that the days do not have")
	c.dues(s)
	return c.wrong
}

type checker struct {
	p     Problem
	late  map[vent.ID]Late
	seen  map[vent.ID]vent.Date
	wrong []string
}

func (c *checker) say(bad bool, what string) {
	if bad {
		c.wrong = append(c.wrong, what)
	}
}

func (c *checker) tech(id vent.ID) Technician {
	return c.p.Technicians[slices.IndexFunc(c.p.Technicians, func(t Technician) bool { return t.ID == id })]
}

func (c *checker) visit(v Visit) {
	t, site := c.tech(v.TechnicianID), refSite(c.p, v.SiteID)
	hours := t.Hours[v.On.Weekday()]
	c.say(v.On < c.p.Today || v.On > c.p.Last, "a visit outside the plan's days")
	c.say(slices.Contains(t.Off, v.On), "a visit on a day off")
	c.say(slices.Contains(site.Closed, v.On), "a visit on a closed day")
	c.say(v.Start < hours.From || v.Start+v.Minutes > hours.To, "a visit outside working hours")
	if (site.Access != Week{}) {
		a := site.Access[v.On.Weekday()]
		c.say(v.Start < a.From || v.Start+v.Minutes > a.To, "a visit outside access hours")
	}
	c.say(v.Start%c.p.Policy.Grid != 0, "a start off the grid")
	c.say(len(v.Dues) == 0, "a visit for nothing")
	work := t.TripMinutes
	for _, id := range v.Dues {
		d := c.p.Dues[slices.IndexFunc(c.p.Dues, func(d Due) bool { return d.ID == id })]
		_, twice := c.seen[id]
		c.say(twice, "a due in two visits")
		c.seen[id] = v.On
		c.say(d.SiteID != v.SiteID, "a due at another site")
		c.say(v.On < d.Earliest, "a due before its window")
		c.say(!d.Waived && v.On < c.p.Today.AddDays(site.NoticeDays), "a visit before notice can be given")
		l, late := c.late[id]
		c.say(v.On > d.Latest && (!late || l.On != v.On), "a late due that is not called late")
		for _, s := range d.Skills {
			c.say(!slices.Contains(t.Skills, s), "a due for skills that nobody there has")
		}
		if d.Minutes > 0 {
			work += d.Minutes
		} else {
			work += t.RunMinutes
		}
	}
	c.say(v.Minutes != work, "a visit that lasts other than its work")
}

// days checks what each technician does one after the other, frozen visits among it, and sums the driving.
func (c *checker) days(proposed []Visit) int {
	drive := 0
	for _, t := range c.p.Technicians {
		for on := c.p.Today; on <= c.p.Last; on++ {
			var day []Visit
			frozen := map[int]bool{}
			for _, v := range slices.Concat(c.p.Frozen, proposed) {
				if v.TechnicianID == t.ID && v.On == on {
					day = append(day, v)
				}
			}
			for _, v := range c.p.Frozen {
				if v.TechnicianID == t.ID && v.On == on {
					frozen[v.Start] = true
				}
			}
			slices.SortFunc(day, func(a, b Visit) int { return cmp.Compare(a.Start, b.Start) })
			drive += c.day(t, day, frozen)
		}
	}
	return drive
}

func (c *checker) day(t Technician, day []Visit, frozen map[int]bool) int {
	if len(day) == 0 {
		return 0
	}
	place, now, was, sum, dues := t.Home, t.Hours[day[0].On.Weekday()].From, vent.ID{}, 0, 0
	held := true // the stop before is frozen, or home
	for i, v := range day {
		to := refSite(c.p, v.SiteID).Place
		way := refMinutes(c.p.Policy.Travel, place, to)
		if was == v.SiteID {
			way = 0
		}
		sum += way
		free := !frozen[v.Start]
		c.say((free || !held) && now+way > v.Start || i == 0 && free && now+way > v.Start, "two visits with too little time between them")
		place, now, was, held, dues = to, v.Start+v.Minutes, v.SiteID, !free, dues+len(v.Dues)
	}
	back := refMinutes(c.p.Policy.Travel, place, t.Home)
	c.say(!held && now+back > t.Hours[day[0].On.Weekday()].To, "a day that ends too late")
	c.say(t.MaxDues > 0 && len(day) > len(frozen) && dues > t.MaxDues, "more dues than a day may have")
	return sum + back
}

// dues checks that every due is somewhere: visited, late, left for later or frozen.
func (c *checker) dues(s Schedule) {
	for _, d := range c.p.Dues {
		on, visited := c.seen[d.ID]
		l, late := c.late[d.ID]
		frozen := slices.ContainsFunc(c.p.Frozen, func(v Visit) bool { return slices.Contains(v.Dues, d.ID) })
		left := slices.Contains(s.Left, d.ID)
		c.say(frozen && visited, "a frozen due that is planned again")
		c.say(left && d.Latest <= c.p.Last, "a due left that may not wait")
		c.say(late && l.On != 0 && !frozen && l.On != on, "a late due that is not where it is said to be")
		c.say(late && l.Text == "", "a late due without a reason")
		n := 0
		for _, is := range []bool{visited, late && l.On == 0, left, frozen, d.Earliest > c.p.Last} {
			if is {
				n++
			}
		}
		c.say(n == 0, "a due that is forgotten")
	}
}

func mustBeSound(t testing.TB, p Problem, s Schedule) {
	t.Helper()
	if wrong := unsound(p, s); len(wrong) > 0 {
		t.Fatalf("the schedule has %q", wrong)
	}
}

func mustPlan(t testing.TB, p Problem) Schedule {
	t.Helper()
	s, err := Plan(p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
