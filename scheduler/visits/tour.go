package visits

import "slices"

// shorten improves the order of one day until neither moving a part of the tour (or-opt) nor turning one round (2-opt)
// saves driving.
func (p *plan) shorten(td int32) {
	stops := p.routes[td].stops
	if len(stops) < 2 {
		return
	}
	d, m := p.m.dayOf(td), p.m
	best, improved := m.drive(d, stops), false
	for again := true; again; {
		again = false
		m.neighbourTours(stops, func(tour []stop) bool {
			p.steps++
			if m.drive(d, tour) >= best || !ordered(tour) || !m.clock(d, tour) {
				return false
			}
			stops, best = slices.Clone(tour), m.drive(d, tour)
			again, improved = true, true
			return true
		})
	}
	if improved {
		p.set(td, stops)
	}
}

// ordered reports whether frozen visits still follow each other as their times do.
func ordered(stops []stop) bool {
	last := int32(-1 << 30)
	for i := range stops {
		if stops[i].fixed {
			if stops[i].early < last {
				return false
			}
			last = stops[i].early
		}
	}
	return true
}

// neighbourTours calls f with the tours that differ from stops by one turned or one moved part, until f takes one.
func (m *model) neighbourTours(stops []stop, f func([]stop) bool) {
	n := len(stops)
	tour := make([]stop, n)
	for i := 0; i < n; i++ {
		for j := i + 1; j < n; j++ {
			copy(tour, stops)
			slices.Reverse(tour[i : j+1])
			if f(tour) {
				return
			}
		}
	}
	for length := 1; length <= min(3, n-1); length++ {
		for from := 0; from+length <= n; from++ {
			rest := slices.Delete(slices.Clone(stops), from, from+length)
			for to := 0; to <= len(rest); to++ {
				if to == from {
					continue
				}
				copy(tour, rest[:to])
				copy(tour[to:], stops[from:from+length])
				copy(tour[to+length:], rest[to:])
				if f(tour) {
					return
				}
			}
		}
	}
}
