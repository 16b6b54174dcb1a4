package visits

// solve plans for the first so many technicians. Where somebody comes late who need not, it looks at what fewer technicians can
// do and starts from that if it is better, so that one more technician never makes more dues late. Where nobody does, the rest
// of the effort goes into trips and driving.
func (m *model) solve(techs int32, previous []placed, effort int) *plan {
	p := newPlan(m, techs)
	p.warm(previous)
	p.build()
	p.improve(effort + len(m.dues)/8)
	if p.total[tierLate] <= m.hopeless(techs) {
		p.improve(len(m.dues) / 2)
		return p
	}
	if techs < 2 {
		return p
	}
	fewer := m.solve(techs-1, previous, effort)
	if fewer.total[tierLate] >= p.total[tierLate] {
		p.steps += fewer.steps
		return p
	}
	fewer.techs = techs
	fewer.build()
	fewer.improve(effort + len(m.dues)/8)
	fewer.steps += p.steps
	return fewer
}

// hopeless counts the dues that nobody can do within their window even if there were nothing else to do.
func (m *model) hopeless(techs int32) int64 {
	alone := newPlan(m, techs)
	n := int64(0)
	for _, list := range m.bySite {
		for _, x := range list {
			if !alone.possible(x) {
				n++
			}
		}
	}
	return n
}

// possible reports whether the due has a place anywhere in its window.
func (p *plan) possible(x int32) bool {
	d := &p.m.dues[x]
	for on := d.lo; on <= d.hi; on++ {
		if p.options(x, []int32{x}, on, on, func(option) {}) {
			return true
		}
	}
	return false
}
