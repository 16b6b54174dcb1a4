package visits

import (
	"math"
	"math/bits"
	"slices"

	"ventdue/vent"
)

// The reference finds the optimum of a small problem by looking at everything: for each technician and day every set of dues in
// every order of sites, then the best way to share the dues among those days (dynamic programming over sets). It reads a Problem
// and shares nothing with the planner but its types. It knows no zones, wishes, turnovers and nothing that waits beyond the last day.

// refCost is what a plan costs: dues late, trips, minutes of driving.
type refCost [3]int

func (c refCost) less(o refCost) bool {
	for i := range c {
		if c[i] != o[i] {
			return c[i] < o[i]
		}
	}
	return false
}

func (c refCost) plus(o refCost) refCost { return refCost{c[0] + o[0], c[1] + o[1], c[2] + o[2]} }

// reference gives the least cost of the problem, tier by tier.
func reference(p Problem) refCost {
	full := 1<<len(p.Dues) - 1
	worst := refCost{math.MaxInt32, 0, 0}
	best := make([]refCost, full+1) // by the set of dues done so far
	for i := range best {
		best[i] = worst
	}
	best[0] = refCost{}
	for _, t := range p.Technicians {
		for on := p.Today; on <= p.Last; on++ {
			costs := refDay(p, t, on)
			next := make([]refCost, full+1)
			for done := range next {
				next[done] = worst
				for set := done; ; set = (set - 1) & done {
					if c, ok := costs[set]; ok && best[done&^set][0] != math.MaxInt32 {
						if sum := best[done&^set].plus(c); sum.less(next[done]) {
							next[done] = sum
						}
					}
					if set == 0 {
						break
					}
				}
			}
			best = next
		}
	}
	least := worst
	for done, c := range best {
		if c[0] != math.MaxInt32 {
			c[0] = len(p.Dues) - bits.OnesCount(uint(done))
			if c.less(least) {
				least = c
			}
		}
	}
	return least
}

// refDay gives the cost of every set of dues that the technician can do on that day.
func refDay(p Problem, t Technician, on vent.Date) map[int]refCost {
	able := 0
	for i, d := range p.Dues {
		if refAble(p, t, d, on) {
			able |= 1 << i
		}
	}
	costs := map[int]refCost{}
	for set := able; ; set = (set - 1) & able {
		if c, ok := refTour(p, t, on, set); ok {
			costs[set] = c
		}
		if set == 0 {
			return costs
		}
	}
}

func refAble(p Problem, t Technician, d Due, on vent.Date) bool {
	site := refSite(p, d.SiteID)
	for _, s := range d.Skills {
		has := false
		for _, x := range t.Skills {
			has = has || x == s
		}
		if !has {
			return false
		}
	}
	for _, off := range t.Off {
		if off == on {
			return false
		}
	}
	for _, off := range site.Closed {
		if off == on {
			return false
		}
	}
	return d.Earliest <= on && on <= d.Latest && on >= p.Today.AddDays(site.NoticeDays)
}

func refSite(p Problem, id vent.ID) Site {
	for _, s := range p.Sites {
		if s.ID == id {
			return s
		}
	}
	panic("no such site")
}

// refStop is a visit of the reference: fixed ones have a start.
type refStop struct {
	place    *Place
	from, to int
	minutes  int
	start    int // of a fixed one, else -1
}

// refTour finds the cheapest order of one day.
func refTour(p Problem, t Technician, on vent.Date, set int) (refCost, bool) {
	var fixed, free []refStop
	hours := t.Hours[on.Weekday()]
	dues, trips := bits.OnesCount(uint(set)), 0
	for _, v := range p.Frozen {
		if v.TechnicianID == t.ID && v.On == on {
			dues += len(v.Dues)
			fixed = append(fixed, refStop{place: refSite(p, v.SiteID).Place, minutes: v.Minutes, start: v.Start})
		}
	}
	if t.MaxDues > 0 && dues > t.MaxDues && set != 0 {
		return refCost{}, false
	}
	slices.SortFunc(fixed, func(a, b refStop) int { return a.start - b.start })
	for _, s := range p.Sites {
		minutes := 0
		for i, d := range p.Dues {
			if set&(1<<i) != 0 && d.SiteID == s.ID {
				if d.Minutes > 0 {
					minutes += d.Minutes
				} else {
					minutes += t.RunMinutes
				}
			}
		}
		if minutes == 0 {
			continue
		}
		stop := refStop{place: s.Place, from: hours.From, to: hours.To, minutes: minutes + t.TripMinutes, start: -1}
		if (s.Access != Week{}) {
			stop.from, stop.to = max(stop.from, s.Access[on.Weekday()].From), min(stop.to, s.Access[on.Weekday()].To)
		}
		free = append(free, stop)
		trip := 1
		for _, v := range p.Frozen {
			if v.TechnicianID == t.ID && v.On == on && v.SiteID == s.ID {
				trip = 0
			}
		}
		trips += trip
	}
	best := math.MaxInt
	refOrders(p, t, hours, fixed, free, nil, &best)
	return refCost{0, trips, best}, best < math.MaxInt
}

// refOrders tries every order of the free stops among the fixed ones, which keep their order.
func refOrders(p Problem, t Technician, hours Span, fixed, free, tour []refStop, best *int) {
	if len(fixed) == 0 && len(free) == 0 {
		if d, ok := refWalk(p, t, hours, tour); ok && d < *best {
			*best = d
		}
		return
	}
	if len(fixed) > 0 {
		refOrders(p, t, hours, fixed[1:], free, append(append([]refStop{}, tour...), fixed[0]), best)
	}
	for i := range free {
		rest := append(append([]refStop{}, free[:i]...), free[i+1:]...)
		refOrders(p, t, hours, fixed, rest, append(append([]refStop{}, tour...), free[i]), best)
	}
}

// refWalk drives the tour as early as possible and gives its driving minutes.
func refWalk(p Problem, t Technician, hours Span, tour []refStop) (int, bool) {
	if len(tour) == 0 {
		return 0, true
	}
	now, at, sum, isFixed := hours.From, t.Home, 0, true
	grid := p.Policy.Grid
	for i, s := range tour {
		way := refMinutes(p.Policy.Travel, at, s.place)
		if i > 0 && tour[i-1].place == s.place && s.place == nil {
			way = 0 // the same unknown place: only one site of the cases is unknown
		}
		sum += way
		start := max(now+way, s.from)
		start = (start + grid - 1) / grid * grid
		if s.start >= 0 {
			if !isFixed && now+way > s.start {
				return 0, false // nobody may make a frozen visit late
			}
			start = s.start
		} else if start+s.minutes > s.to {
			return 0, false
		}
		isFixed = s.start >= 0
		now, at = start+s.minutes, s.place
	}
	way := refMinutes(p.Policy.Travel, at, t.Home)
	return sum + way, isFixed || now+way <= hours.To
}

// refMinutes is the haversine formula (Sinnott 1984) with the mean radius 6371.0088 km.
func refMinutes(t Travel, a, b *Place) int {
	if a == nil || b == nil {
		return t.Unknown
	}
	rad := math.Pi / 180
	h := math.Pow(math.Sin((b.Lat-a.Lat)*rad/2), 2) +
		math.Cos(a.Lat*rad)*math.Cos(b.Lat*rad)*math.Pow(math.Sin((b.Lon-a.Lon)*rad/2), 2)
	km := 2 * 6371.0088 * math.Asin(math.Sqrt(h))
	return int(math.Ceil(km*t.Factor/t.KmPerHour*60 - 1e-9))
}
