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

// warm puts what was proposed before back where it was, as far as that is still possible.
func (p *plan) warm(previous []placed) {
	for _, v := range previous {
		for _, x := range v.dues {
			d := &p.m.dues[x]
			if p.where[x] >= 0 || d.out || d.optional || v.day < d.lo || v.day > d.hi || v.tech >= p.techs {
				continue
			}
			td := v.tech*p.m.days + v.day
			p.options(x, []int32{x}, v.day, v.day, func(o option) {
				if o.td == td && p.where[x] < 0 {
					p.put(o, []int32{x})
				}
			})
		}
	}
}

// placed is a proposed visit in numbers.
type placed struct {
	tech, day int32
	dues      []int32
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
