package visits

import (
	"math"
	"slices"
)

// tierNames name the tiers of a score.
var tierNames = [tiers]string{"late", "trips", "wishes", "drive", "wait"}

// tiers states what the plan came to beside what no plan can beat that does the same dues in time.
func (best *plan) tiers(late []Late, intime []int32) []Tier {
	bound := score{}
	bound[tierLate] = best.lateBound(late)
	trips := make([]int64, len(best.m.sites))
	for at := range trips {
		trips[at] = best.tripBound(int32(at), intime)
		bound[tierTrips] += trips[at]
	}
	bound[tierDrive] = best.driveBound(trips, intime)
	for x, td := range intime {
		if td >= 0 {
			bound[tierWait] += best.m.dues[x].leastWait()
		}
	}
	value := best.total
	value[tierLate] = int64(len(late))
	out := make([]Tier, tiers)
	for i := range out {
		out[i] = Tier{tierNames[i], int(value[i]), int(bound[i])}
	}
	return out
}

// lateBound counts the dues that are late whatever the plan: the window was over, they are booked too late, or nobody could
// do them if there were nothing else to do.
func (best *plan) lateBound(late []Late) int64 {
	n := best.m.hopeless(int32(len(best.m.techs)))
	for i := range late {
		switch late[i].Cause {
		case CauseOver, CauseNotice, CauseBooked:
			n++
		}
	}
	return min(n, int64(len(late)))
}

// leastWait is the wait on the best day of the window.
func (d *due) leastWait() int64 {
	if d.weight > 0 {
		return d.wait(d.lo)
	}
	return d.wait(min(max(d.day, d.lo), d.hi))
}

// tripBound is the least number of trips that the site's dues need: one for each of the days that stab every window, only
// counting days on which the site is open; or as many as their minutes fill. Dues that a frozen visit's technician could do on
// the same day may need none.
func (best *plan) tripBound(at int32, intime []int32) int64 {
	m := best.m
	var need []int32
	for _, x := range m.bySite[at] {
		if intime[x] >= 0 && !best.joins(x) {
			need = append(need, x)
		}
	}
	if len(need) == 0 {
		return 0
	}
	return max(best.stab(at, need), best.fillBound(at, need))
}

// joins reports whether a frozen visit to the due's site lies within its window.
func (best *plan) joins(x int32) bool {
	m, d := best.m, &best.m.dues[x]
	for t := range m.techs {
		for on := d.lo; on <= d.hi; on++ {
			if visited(m.frozen[int32(t)*m.days+on], d.site) {
				return true
			}
		}
	}
	return false
}

// stab counts the days that stab all windows, the last usable day of the window that closes first, and so on.
func (best *plan) stab(at int32, need []int32) int64 {
	m := best.m
	usable := func(on int32) bool {
		for t := range m.techs {
			if o := m.open(at, int32(t), on); o.From < o.To {
				return true
			}
		}
		return false
	}
	type window struct{ lo, hi int32 }
	var windows []window
	for _, x := range need {
		w := window{m.dues[x].lo, m.dues[x].hi}
		for w.hi > w.lo && !usable(w.hi) {
			w.hi--
		}
		windows = append(windows, w)
	}
	slices.SortFunc(windows, func(a, b window) int { return int(a.hi - b.hi) })
	n, point := int64(0), int32(-1)
	for _, w := range windows {
		if point < w.lo {
			point = w.hi
			n++
		}
	}
	return n
}

// fillBound counts the trips that the minutes of the dues fill, each as long as the longest working day and as the most dues
// of a day allow.
func (best *plan) fillBound(at int32, need []int32) int64 {
	m := best.m
	room, dues, run := 0.0, 0.0, math.MaxFloat64
	// A frozen visit beyond the working hours, or a place whose way is only guessed, may save the way home.
	free := slices.Contains(m.roads.known, false) || slices.ContainsFunc(m.frozen, func(s []stop) bool { return len(s) > 0 })
	for t := range m.techs {
		x := &m.techs[t]
		dues = max(dues, float64(x.maxDues))
		run = min(run, float64(x.run))
		way := 2 * m.roads.minutes(x.home, at)
		if free {
			way = 0
		}
		for _, h := range x.week {
			room = max(room, float64(h.To-h.From-int(way+x.trip)))
		}
	}
	work := 0.0
	for _, x := range need {
		if w := m.dues[x].minutes; w > 0 {
			work += float64(w)
		} else {
			work += run
		}
	}
	if room <= 0 || dues <= 0 {
		return 0
	}
	return int64(max(math.Ceil(work/room), math.Ceil(float64(len(need))/dues)))
}

// driveBound is what driving cannot come under. Every place of a tour is reached from one place and left for another, and
// only home can be both: a tour is never shorter than half the sum of each place's two shortest ways, home's included.
func (best *plan) driveBound(trips []int64, intime []int32) int64 {
	m := best.m
	trips = slices.Clone(trips)
	days := int64(0)
	for _, stops := range m.frozen {
		leaves := int64(0)
		for i, s := range stops {
			if int(s.site) < len(m.sites) && !visited(stops[:i], s.site) {
				trips[s.site]++
				leaves = 1
			}
		}
		days += leaves
	}
	twice := int64(0)
	for at, n := range trips {
		if n > 0 {
			a, b := m.shortest(int32(at))
			twice += n * int64(a+b)
		}
	}
	if days == 0 && twice > 0 {
		days = m.leastDays(intime)
	}
	if days > 0 {
		twice += 2 * days * m.shortestStart()
	}
	return (twice + 1) / 2
}

// leastDays is how many working days the work of the dues fills at least.
func (m *model) leastDays(intime []int32) int64 {
	longest, run := 1, int32(math.MaxInt32)
	for t := range m.techs {
		run = min(run, m.techs[t].run)
		for _, h := range m.techs[t].week {
			longest = max(longest, h.To-h.From)
		}
	}
	work := int64(0)
	for x, td := range intime {
		if w := m.dues[x].minutes; td >= 0 && w > 0 {
			work += int64(w)
		} else if td >= 0 {
			work += int64(run)
		}
	}
	return (work + int64(longest) - 1) / int64(longest)
}

// shortest gives the two shortest ways from a site, to other sites or to homes.
func (m *model) shortest(at int32) (a, b int32) {
	a, b = math.MaxInt32, math.MaxInt32
	see := func(w int32) {
		if w < a {
			a, b = w, a
		} else if w < b {
			b = w
		}
	}
	for t := range m.techs {
		w := m.roads.minutes(at, m.techs[t].home)
		see(w)
		see(w)
	}
	for _, n := range m.near[at] {
		see(m.roads.minutes(at, n))
	}
	if slices.Contains(m.roads.known, false) {
		see(m.roads.unknown)
		see(m.roads.unknown)
	}
	return a, b
}

// shortestStart is the shortest way from any home to any site.
func (m *model) shortestStart() int64 {
	least := int32(math.MaxInt32)
	for at := range m.sites {
		for t := range m.techs {
			least = min(least, m.roads.minutes(m.techs[t].home, int32(at)))
		}
	}
	return int64(least)
}
