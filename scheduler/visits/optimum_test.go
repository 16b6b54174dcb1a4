package visits

import (
	"math/rand/v2"
	"slices"
	"testing"

	"ventdue/vent"
)

// small makes a case of up to 10 dues, 4 sites, 2 technicians and 6 days.
func small(seed uint64) Problem {
	rng := rand.New(rand.NewPCG(seed, 2))
	p := Problem{Today: monday, Last: monday.AddDays(5), Policy: DefaultPolicy()}
	p.Policy.Grid = []int{1, 5, 15}[rng.IntN(3)]
	point := func() *Place { return &Place{Lat: 45 + rng.Float64()*0.4, Lon: 10 + rng.Float64()*0.5} }
	for i := range 1 + rng.IntN(2) {
		t := worker(i)
		from := 420 + rng.IntN(180)
		t.Hours, t.Home = everyDay(from, from+180+rng.IntN(360)), point()
		t.RunMinutes, t.TripMinutes = 20+rng.IntN(60), rng.IntN(20)
		for _, s := range []string{SkillGas, SkillPair} {
			if rng.IntN(3) > 0 {
				t.Skills = append(t.Skills, s)
			}
		}
		if rng.IntN(3) == 0 {
			t.Off = append(t.Off, monday.AddDays(rng.IntN(6)))
		}
		if rng.IntN(4) == 0 {
			t.MaxDues = 1 + rng.IntN(4)
		}
		p.Technicians = append(p.Technicians, t)
	}
	sites := []int{1, 2, 3, 4}[rng.IntN(4)]
	for i := range sites {
		s := Site{ID: siteID(i), Place: point()}
		if i == 0 && rng.IntN(10) == 0 {
			s.Place = nil
		}
		if rng.IntN(3) == 0 {
			from := 480 + rng.IntN(240)
			s.Access = everyDay(from, from+120+rng.IntN(240))
		}
		for on := range 6 {
			if rng.IntN(6) == 0 {
				s.Closed = append(s.Closed, monday.AddDays(on))
			}
		}
		if rng.IntN(5) == 0 {
			s.NoticeDays = rng.IntN(3)
		}
		p.Sites = append(p.Sites, s)
	}
	for i := range 1 + rng.IntN(10) {
		p.Dues = append(p.Dues, smallDue(rng, &p, i, sites))
	}
	smallFrozen(rng, &p)
	return p
}

// smallDue makes a due whose window closes after notice can be given.
func smallDue(rng *rand.Rand, p *Problem, i, sites int) Due {
	at := rng.IntN(sites)
	lo := rng.IntN(6)
	hi := min(5, max(lo+rng.IntN(5), p.Sites[at].NoticeDays))
	d := task(i, at, lo, lo, hi)
	if rng.IntN(2) == 0 {
		d.Minutes = 20 + rng.IntN(100)
	}
	if rng.IntN(4) == 0 {
		d.Skills = []string{[]string{SkillGas, SkillPair}[rng.IntN(2)]}
	}
	return d
}

// smallFrozen books a few visits that do not overlap.
func smallFrozen(rng *rand.Rand, p *Problem) {
	for range rng.IntN(5) {
		v := Visit{
			TechnicianID: techID(rng.IntN(len(p.Technicians))), SiteID: siteID(rng.IntN(len(p.Sites))),
			On: monday.AddDays(rng.IntN(6)), Start: 540 + rng.IntN(240), Minutes: 30 + rng.IntN(60), Dues: []vent.ID{dueID(100)},
		}
		overlaps := func(o Visit) bool {
			return o.TechnicianID == v.TechnicianID && o.On == v.On && o.Start < v.Start+v.Minutes && v.Start < o.Start+o.Minutes
		}
		if !slices.ContainsFunc(p.Frozen, overlaps) {
			p.Frozen = append(p.Frozen, v)
		}
	}
}

// TestOptimum compares 300 plans with the optimum of an exhaustive search of our own that shares no code with the planner.
func TestOptimum(t *testing.T) {
	const cases = 300
	var lateSame, single, singleSame, many, manySame, manyOne, oneMore int
	var drives []float64
	for seed := range uint64(cases) {
		p := small(seed)
		got, err := Plan(p)
		if err != nil {
			t.Fatalf("case %d: %v", seed, err)
		}
		want := reference(p)
		late := tier(got, "late").Value
		if want[0] == 0 && late > 0 {
			t.Errorf("case %d: %d late, the optimum has none", seed, late)
		}
		if late < want[0] {
			t.Fatalf("case %d: %d late, fewer than the optimum's %d: one of the two is wrong", seed, late, want[0])
		}
		if late != want[0] {
			t.Logf("case %d: %d late, the optimum %d", seed, late, want[0])
			continue
		}
		lateSame++
		inWindow := intime(t, p)
		trips := inWindow[1] - want[1]
		switch {
		case trips < 0:
			t.Fatalf("case %d: %d trips, fewer than the optimum's %d", seed, inWindow[1], want[1])
		case len(p.Sites) == 1:
			single++
			if trips == 0 {
				singleSame++
			} else {
				t.Errorf("case %d: one site takes %d trips, the optimum %d", seed, inWindow[1], want[1])
			}
		default:
			many++
			if trips == 0 {
				manySame++
			} else if trips == 1 {
				manyOne++
			}
			oneMore += max(0, trips)
		}
		if trips == 0 && want[2] > 0 {
			over := float64(inWindow[2])/float64(want[2]) - 1
			if over < 0 {
				t.Fatalf("case %d: %d minutes of driving, fewer than the optimum's %d", seed, inWindow[2], want[2])
			}
			drives = append(drives, over)
			if over > 0 {
				t.Logf("case %d: %d minutes of driving, the optimum %d", seed, inWindow[2], want[2])
			}
		}
		for _, x := range got.Tiers {
			if x.Value < x.Bound {
				t.Errorf("case %d: %s is %d, under its bound %d", seed, x.Name, x.Value, x.Bound)
			}
		}
	}
	slices.Sort(drives)
	median, worst := drives[len(drives)/2], drives[len(drives)-1]
	t.Logf("late as the optimum in %d of %d; one site: trips equal in %d of %d; many sites: equal in %d of %d, one more in %d; drive over the optimum: median %.2f %%, worst %.2f %%, equal in %d of %d",
		lateSame, cases, singleSame, single, manySame, many, manyOne, 100*median, 100*worst, countZero(drives), len(drives))
	if manySame+manyOne != many || 20*manyOne > many {
		t.Errorf("many sites: %d of %d cases take more trips than the optimum: at most one more in one case of twenty", many-manySame, many)
	}
	if median > 0.01 || worst > 0.08 {
		t.Errorf("driving is %.2f %% over the optimum in the middle, %.2f %% at worst: at most 1 and 8", 100*median, 100*worst)
	}
}

func countZero(x []float64) (n int) {
	for _, v := range x {
		if v == 0 {
			n++
		}
	}
	return n
}

// intime gives late, trips and drive of what the planner decides before it puts late dues on the first day with room, which
// the reference leaves undone.
func intime(t *testing.T, p Problem) refCost {
	t.Helper()
	m, err := compile(&p)
	if err != nil {
		t.Fatal(err)
	}
	s := m.solve(int32(len(m.techs)), nil, p.Policy.Effort).total
	return refCost{int(s[tierLate]), int(s[tierTrips]), int(s[tierDrive])}
}
