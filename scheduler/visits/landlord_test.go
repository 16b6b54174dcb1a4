package visits

import (
	"math/rand/v2"
	"slices"
	"testing"

	"ventdue/vent"
)

// door is a unit of the landlord's with its run: when it was cleaned, how long it lasts.
type door struct {
	site     int
	cleaned  vent.Date
	interval int // days until it must be opened again
}

// window is as the rules for cleaning dues set it: it opens an eighth of the interval before the day, 14 to 60 days, and closes
// up to 30 days after it, never later than a year after the cleaning.
func (d door) window() (earliest, day, latest vent.Date) {
	day = d.cleaned.AddDays(d.interval)
	earliest = day.AddDays(-min(60, max(14, d.interval/8)))
	latest = max(day, min(day.AddDays(30), d.cleaned.AddMonths(12)))
	return earliest, day, latest
}

// TestLandlord lives two years with 84 units in three buildings, planning on every Monday for four months: what stands in the next two
// weeks is booked, so that notice can be given, and the week's visits are made. Booking each unit on its own day is counted beside it.
func TestLandlord(t *testing.T) {
	rng := rand.New(rand.NewPCG(84, 3))
	p := Problem{Policy: DefaultPolicy()}
	p.Policy.Effort = 300
	caretaker := worker(0, SkillGas)
	p.Technicians = []Technician{caretaker}
	var doors []door
	number := map[vent.ID]int{}
	for b := range 3 {
		p.Sites = append(p.Sites, Site{ID: siteID(b), Place: east(float64(3 + 4*b)), NoticeDays: 2, Whole: true})
		for range 28 {
			d := door{site: b, interval: 200 + rng.IntN(166)}
			d.cleaned = monday.AddDays(-rng.IntN(d.interval - 10))
			number[dueID(len(doors))] = len(doors)
			doors = append(doors, d)
		}
	}
	const weeks = 104
	own := map[[2]int]bool{} // building and day
	for _, d := range doors {
		for day := d.cleaned.AddDays(d.interval); day < monday.AddDays(7*weeks); day = day.AddDays(d.interval) {
			own[[2]int{d.site, int(day)}] = true
		}
	}
	trips, late, done := 0, 0, 0
	for w := range weeks {
		p.Today = monday.AddDays(7 * w)
		p.Last = p.Today.AddDays(120)
		p.Dues = p.Dues[:0]
		for i, d := range doors {
			due := Due{ID: dueID(i), SiteID: siteID(d.site), Kind: vent.DueClean}
			due.Earliest, due.Day, due.Latest = d.window()
			p.Dues = append(p.Dues, due)
		}
		s := mustPlan(t, p)
		mustBeSound(t, p, s)
		late += len(s.Late)
		var booked, later []Visit
		for _, v := range slices.Concat(p.Frozen, s.Visits) {
			switch {
			case v.On >= p.Today.AddDays(14):
				later = append(later, v)
			case v.On >= p.Today.AddDays(7):
				booked = append(booked, v)
			default:
				trips++
				done += len(v.Dues)
				for _, id := range v.Dues {
					doors[number[id]].cleaned = v.On
				}
			}
		}
		p.Frozen, p.Previous = booked, later
	}
	t.Logf("two years: %d cleanings on %d visits, %d late; each unit on its own day: %d visits", done, trips, late, len(own))
	if late > 0 {
		t.Errorf("%d late, want none", late)
	}
	if 2*trips > len(own) {
		t.Errorf("%d visits, more than half of the %d that each unit's own day takes", trips, len(own))
	}
}
