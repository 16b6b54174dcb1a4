package visits

// trials is how often the search tries to improve a plan: enough to be thorough with few dues, and in step with their number.
func (m *model) trials(effort int) int { return effort + len(m.dues)/8 }

// solve plans for the first so many technicians. Where somebody comes late who need not, it looks at what fewer technicians can
// do and starts from that if it is better, so that one more technician never makes more dues late.
func (m *model) solve(techs int32, previous []placed, effort int) *plan {
	p := newPlan(m, techs)
	p.warm(previous)
	p.build()
	p.improve(m.trials(effort))
	if techs < 2 || p.total[tierLate] <= m.hopeless(techs) {
		return p
	}
	fewer := m.solve(techs-1, previous, effort)
	if fewer.total[tierLate] < p.total[tierLate] {
		fewer.techs = techs
		fewer.build()
		fewer.improve(m.trials(effort))
		fewer.steps += p.steps
		return fewer
	}
	p.steps += fewer.steps
	return p
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
