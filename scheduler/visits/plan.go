package visits

import "slices"

// The tiers of a score, the weightiest first.
const (
	tierLate = iota
	tierTrips
	tierWishes
	tierDrive
	tierWait
	tiers
)

// score is what a plan is judged by, tier by tier.
type score [tiers]int64

func (s score) compare(o score) int { return slices.Compare(s[:], o[:]) }

func (s score) plus(o score) score {
	for i := range s {
		s[i] += o[i]
	}
	return s
}

func (s score) minus(o score) score {
	for i := range s {
		s[i] -= o[i]
	}
	return s
}

// plan is a state of the search: the routes of all tech-days, and where each due is.
type plan struct {
	m      *model
	techs  int32 // only the first so many are used
	routes []route
	where  []int32 // tech-day of each due, -1: nowhere
	total  score
	// nowhere lists the dues to be planned that have no place, at holds where in that list each is, -1: not in it.
	nowhere, at []int32
	// trips are the days of trips to sites that want to be done in one go.
	trips map[int32][]int32
	// kept are the routes as they were before the present trial.
	kept   []keptRoute
	isKept map[int32]bool
	keep   bool
	steps  int // trial insertions so far
}

type keptRoute struct {
	td    int32
	route route
}

// newPlan starts with the frozen visits and nothing else.
func newPlan(m *model, techs int32) *plan {
	p := &plan{
		m: m, techs: techs, routes: make([]route, len(m.frozen)), where: make([]int32, len(m.dues)),
		at:    make([]int32, len(m.dues)),
		trips: map[int32][]int32{}, isKept: map[int32]bool{},
	}
	for i := range p.where {
		p.where[i], p.at[i] = -1, -1
	}
	for _, list := range m.bySite {
		for _, x := range list {
			p.lose(x)
		}
	}
	for td := range p.routes {
		if len(m.frozen[td]) > 0 {
			p.set(int32(td), slices.Clone(m.frozen[td]))
		}
	}
	return p
}

// set gives a tech-day new stops and keeps all sums in step. It is the only function that changes a route.
func (p *plan) set(td int32, stops []stop) {
	r := &p.routes[td]
	if p.keep && !p.isKept[td] {
		p.isKept[td] = true
		p.kept = append(p.kept, keptRoute{td, *r})
	}
	p.take(td)
	r.stops = stops
	p.m.clock(p.m.dayOf(td), stops)
	p.give(td)
}

// take removes what the route adds to the plan.
func (p *plan) take(td int32) {
	r := &p.routes[td]
	for i := range r.stops {
		s := &r.stops[i]
		p.mark(s.dues, -1)
		if p.m.whole(s.site) {
			p.forget(s.site, td%p.m.days)
		}
	}
	p.total = p.total.minus(r.score)
}

// give adds what the route adds to the plan.
func (p *plan) give(td int32) {
	m, r := p.m, &p.routes[td]
	d := td % m.days
	r.count, r.score = 0, score{}
	for i := range r.stops {
		s := &r.stops[i]
		r.count += s.count
		if m.whole(s.site) {
			p.remember(s.site, d)
		}
		if s.fixed {
			continue
		}
		p.mark(s.dues, td)
		for _, x := range s.dues {
			r.score[tierWait] += m.dues[x].wait(d)
		}
		if !visited(r.stops, s.site) {
			r.score[tierTrips]++
			r.score[tierWishes] += m.dislike(s.site, d)
		}
	}
	r.score[tierDrive] = int64(m.drive(m.dayOf(td), r.stops))
	p.total = p.total.plus(r.score)
}

// mark notes where dues are.
func (p *plan) mark(dues []int32, td int32) {
	for _, x := range dues {
		p.where[x] = td
		switch {
		case p.m.dues[x].optional: // never missed
		case td < 0:
			p.lose(x)
		default:
			p.find(x)
		}
	}
}

// lose and find keep the list of dues without a place, and their number, the first tier.
func (p *plan) lose(x int32) {
	p.at[x] = int32(len(p.nowhere))
	p.nowhere = append(p.nowhere, x)
	p.total[tierLate] = int64(len(p.nowhere))
}

func (p *plan) find(x int32) {
	last := p.nowhere[len(p.nowhere)-1]
	p.nowhere[p.at[x]], p.at[last] = last, p.at[x]
	p.nowhere, p.at[x] = p.nowhere[:len(p.nowhere)-1], -1
	p.total[tierLate] = int64(len(p.nowhere))
}

// visited reports whether a frozen visit goes to the site on that day.
func visited(stops []stop, at int32) bool {
	return slices.ContainsFunc(stops, func(s stop) bool { return s.fixed && s.site == at })
}

// dislike is 1 for a weekday other than those asked for.
func (m *model) dislike(at, day int32) int64 {
	if p := m.sites[at].prefer; p != 0 && p&(1<<m.weekday[day]) == 0 {
		return 1
	}
	return 0
}

// whole reports whether the place is a site that wants to be done in one go.
func (m *model) whole(at int32) bool { return int(at) < len(m.sites) && m.sites[at].whole }

// remember and forget keep the days of trips to a site that wants one go; every go counts as one wish not met but the first.
func (p *plan) remember(at, day int32) {
	days := p.trips[at]
	i, _ := slices.BinarySearch(days, day)
	p.total[tierWishes] -= p.m.goes(days)
	p.trips[at] = slices.Insert(slices.Clone(days), i, day)
	p.total[tierWishes] += p.m.goes(p.trips[at])
}

func (p *plan) forget(at, day int32) {
	days := p.trips[at]
	i, _ := slices.BinarySearch(days, day)
	p.total[tierWishes] -= p.m.goes(days)
	p.trips[at] = slices.Delete(slices.Clone(days), i, i+1)
	p.total[tierWishes] += p.m.goes(p.trips[at])
}

// goes counts how often somebody has to come again: trips with a working day between them and the one before.
func (m *model) goes(days []int32) int64 {
	n := int64(0)
	for i := 1; i < len(days); i++ {
		if m.worked[days[i]]-m.worked[days[i-1]] > 1 {
			n++
		}
	}
	return n
}

// again is what one more day adds to that.
func (m *model) again(days []int32, day int32) int64 {
	if len(days) == 0 {
		return 0
	}
	i, _ := slices.BinarySearch(days, day)
	return m.goes(slices.Insert(slices.Clone(days), i, day)) - m.goes(days)
}

// begin opens a trial; either commit or undo ends it.
func (p *plan) begin() { p.keep = true }

func (p *plan) commit() {
	p.keep, p.kept = false, p.kept[:0]
	clear(p.isKept)
}

func (p *plan) undo() {
	p.keep = false
	for _, k := range p.kept {
		p.take(k.td)
	}
	for _, k := range p.kept {
		p.routes[k.td] = route{stops: k.route.stops}
		p.give(k.td)
	}
	p.commit()
}
