package visits

import "slices"

// build puts every due into the plan that has no place yet, the one that closes first first, stops before the others.
func (p *plan) build() {
	order := slices.Clone(p.nowhere)
	p.m.sortPressing(order)
	for _, x := range order {
		if p.where[x] < 0 && !p.place(x, nil) && p.m.widen(x) {
			p.place(x, nil)
		}
	}
	for td := range p.routes {
		p.shorten(int32(td))
	}
}

// widen gives a due that found no room while its unit stands empty the window that it would have without that.
func (m *model) widen(x int32) bool {
	d := &m.dues[x]
	if d.lo == d.wideLo && d.hi == d.wideHi {
		return false
	}
	d.lo, d.hi = d.wideLo, d.wideHi
	return d.lo <= d.hi
}

// sortPressing orders dues by the last day of their window, the more pressing first on the same day.
func (m *model) sortPressing(dues []int32) {
	slices.SortStableFunc(dues, func(a, b int32) int {
		x, y := &m.dues[a], &m.dues[b]
		switch {
		case x.hi != y.hi:
			return int(x.hi - y.hi)
		case x.weight != y.weight:
			return int(y.weight - x.weight)
		}
		return int(a - b)
	})
}

// placed is a proposed visit in numbers, its start in the technician's time.
type placed struct {
	tech, day, start int32
	dues             []int32
}

// warm puts what was proposed before back where it was: a day as it was where that still fits, else what of it still fits.
func (p *plan) warm(previous []placed) {
	for from := 0; from < len(previous); {
		v := previous[from]
		to := from + 1
		for to < len(previous) && previous[to].tech == v.tech && previous[to].day == v.day {
			to++
		}
		if v.tech < p.techs {
			p.warmDay(v.tech*p.m.days+v.day, previous[from:to])
		}
		from = to
	}
}

// warmDay puts back what was on one day, in the order of its starts.
func (p *plan) warmDay(td int32, before []placed) {
	d := p.m.dayOf(td)
	stops := slices.Clone(p.routes[td].stops)
	count := p.routes[td].count
	var all []int32
	for _, v := range before {
		var dues []int32
		for _, x := range v.dues {
			if !slices.Contains(all, x) && p.mayReturn(x, d) && (len(dues) == 0 || p.m.dues[x].site == p.m.dues[dues[0]].site) {
				dues, all = append(dues, x), append(all, x)
			}
		}
		if len(dues) == 0 {
			continue
		}
		s := p.m.stop(d, dues)
		s.early = v.start
		count += s.count
		at, _ := slices.BinarySearchFunc(stops, s, func(a, b stop) int { return int(a.early - b.early) })
		stops = slices.Insert(stops, at, s)
	}
	if len(all) == 0 {
		return
	}
	if count <= p.m.techs[d.tech].maxDues && p.m.clock(d, stops) {
		p.set(td, stops)
		return
	}
	for _, x := range all {
		if p.where[x] < 0 {
			p.join(x, []int32{td})
		}
	}
}

// mayReturn reports whether the due can still be done on that day as far as it alone is concerned.
func (p *plan) mayReturn(x int32, d day) bool {
	due, m := &p.m.dues[x], p.m
	if due.out || due.optional || p.where[x] >= 0 || d.day < due.lo || d.day > due.hi || due.skills&^m.techs[d.tech].skills != 0 {
		return false
	}
	open := m.open(due.site, d.tech, d.day)
	return open.From < open.To
}

// ride lets dues that may wait beyond the last day ride along where a trip goes to their site anyway and has room.
func (p *plan) ride() {
	var order []int32
	for x := range p.m.dues {
		if d := &p.m.dues[x]; d.optional && !d.out && p.where[x] < 0 {
			order = append(order, int32(x))
		}
	}
	p.m.sortPressing(order)
	for _, x := range order {
		best := option{td: -1}
		d := &p.m.dues[x]
		p.options(x, []int32{x}, d.lo, d.hi, func(o option) {
			if o.score[tierTrips] == 0 && (best.td < 0 || o.better(&best)) {
				best = o
			}
		})
		if best.td >= 0 {
			p.put(best, []int32{x})
		}
	}
}

// catchUp gives every due that found no room within its window the first day after it that has some.
func (p *plan) catchUp() {
	order := slices.Clone(p.nowhere)
	p.m.sortPressing(order)
	for _, x := range order {
		d := &p.m.dues[x]
		for on := max(d.hi+1, d.lo); on < p.m.days && p.where[x] < 0; on++ {
			best := option{td: -1}
			p.options(x, []int32{x}, on, on, func(o option) {
				if best.td < 0 || o.better(&best) {
					best = o
				}
			})
			if best.td >= 0 {
				p.put(best, []int32{x})
			}
		}
	}
}
