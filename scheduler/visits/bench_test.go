package visits

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"ventdue/vent"
)

// business makes a plausible service business: sites of one to a few dozen units in a town 40 km across, windows as wide as
// a year's interval gives them, all seasons alike.
func business(runs, technicians int, seed uint64) Problem {
	rng := rand.New(rand.NewPCG(seed, 1))
	p := Problem{Today: monday, Last: monday.AddDays(364), Policy: DefaultPolicy()}
	point := func(spread float64) *Place {
		return &Place{Lat: 45 + rng.NormFloat64()*spread, Lon: 10 + rng.NormFloat64()*spread*1.4}
	}
	for i := range technicians {
		t := worker(i, SkillRoof)
		t.Home, t.RunMinutes, t.TripMinutes = point(0.1), 35, 10
		if i%2 == 0 {
			t.Skills = append(t.Skills, SkillGas)
		}
		if i%5 == 0 {
			t.Skills = append(t.Skills, SkillPair)
		}
		p.Technicians = append(p.Technicians, t)
	}
	for len(p.Dues) < runs {
		s := Site{ID: siteID(len(p.Sites)), Place: point(0.12), NoticeDays: rng.IntN(3)}
		if rng.IntN(4) == 0 {
			s.Access = weekdays(540, 900)
		}
		units := 1
		if rng.IntN(3) == 0 {
			units = 2 + rng.IntN(20)
		}
		base := rng.IntN(330)
		for range min(units, runs-len(p.Dues)) {
			day := base + rng.IntN(30)
			d := Due{
				ID: dueID(len(p.Dues)), SiteID: s.ID, Kind: vent.DueClean, Chance: float64(rng.IntN(10)) / 100,
				Earliest: monday.AddDays(day - 20 - rng.IntN(40)), Day: monday.AddDays(day), Latest: monday.AddDays(day + 3 + rng.IntN(27)),
			}
			if rng.IntN(5) == 0 {
				d.Skills = []string{SkillGas}
			}
			p.Dues = append(p.Dues, d)
		}
		p.Sites = append(p.Sites, s)
	}
	return p
}

func BenchmarkPlan(b *testing.B) {
	for _, runs := range []int{1000, 5000, 20000} {
		b.Run(fmt.Sprint(runs), func(b *testing.B) {
			p := business(runs, 10, 7)
			var s Schedule
			for b.Loop() {
				var err error
				if s, err = Plan(p); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(s.Visits)), "trips")
			b.ReportMetric(float64(len(s.Late)), "late")
			b.ReportMetric(float64(tier(s, "trips").Bound), "trips_bound")
			b.ReportMetric(float64(tier(s, "drive").Value), "drive")
			b.ReportMetric(float64(tier(s, "drive").Bound), "drive_bound")
			b.ReportMetric(float64(s.Steps)/float64(runs), "steps/run")
		})
	}
}

// BenchmarkSlots asks for five slots among three weeks of ten technicians' days with three visits each, as a page does.
func BenchmarkSlots(b *testing.B) {
	p := business(60, 10, 5)
	p.Last = monday.AddDays(30)
	for t := range p.Technicians {
		for day := range 21 {
			for i := range 3 {
				p.Frozen = append(p.Frozen, Visit{
					TechnicianID: techID(t), SiteID: p.Sites[(t+day+i)%len(p.Sites)].ID, On: monday.AddDays(day), Start: 500 + 130*i, Minutes: 60,
				})
			}
		}
	}
	p.Dues = []Due{task(0, 0, 0, 10, 21)}
	for b.Loop() {
		if slots, err := Slots(p, 5); err != nil || len(slots) != 5 {
			b.Fatal(slots, err)
		}
	}
}

func BenchmarkLookAhead(b *testing.B) {
	p := business(5000, 3, 7)
	for b.Loop() {
		if _, err := LookAhead(p); err != nil {
			b.Fatal(err)
		}
	}
}
