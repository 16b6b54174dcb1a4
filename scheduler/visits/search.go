package visits

import "slices"

// dice is a fixed row of even numbers (splitmix64, Steele, Lea, Flood 2014): the search needs variety, not chance.
type dice uint64

func (d *dice) next() uint64 {
	*d += 0x9e3779b97f4a7c15
	z := uint64(*d)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// below gives a number from 0 to below n.
func (d *dice) below(n int) int { return int(d.next() % uint64(n)) }

func (d *dice) shuffle(list []int32) {
	for i := len(list) - 1; i > 0; i-- {
		j := d.below(i + 1)
		list[i], list[j] = list[j], list[i]
	}
}

// mostRetried is how many dues without room one trial tries to place again.
const mostRetried = 12

// improve takes parts of the plan out and puts them back, and keeps what is not worse, for so many trials. Taking out the
// trips of a site lets them merge, two days swap their trips, neighbours move to each other's days. For the first two thirds
// waiting does not count: it would hold dues on days from which they cannot be gathered.
func (p *plan) improve(trials int) {
	if len(p.m.dues) == 0 || p.techs == 0 {
		return
	}
	rng := dice(1)
	for i := range trials {
		t := taste{&rng, 3*i < 2*trials}
		before := p.total
		p.begin()
		out := p.ruin(&rng)
		if len(out) == 0 {
			p.commit()
			continue
		}
		p.recreate(out, &t)
		after := p.total
		if t.patient {
			before[tierWait], after[tierWait] = 0, 0
		}
		if after.compare(before) > 0 {
			p.undo()
		} else {
			p.commit()
		}
	}
}

// ruin takes out some visits that have to do with each other and lists their dues; a due without room comes first.
func (p *plan) ruin(rng *dice) []int32 {
	x := int32(rng.below(len(p.m.dues)))
	d := &p.m.dues[x]
	if d.out || d.optional {
		return nil
	}
	out := []int32{}
	td := p.where[x]
	if td < 0 {
		out = append(out, x)
		if td = p.anyDay(x, rng); td < 0 {
			return nil
		}
	}
	switch rng.below(5) {
	case 0:
		return p.clearSite(out, d.site, d.lo, d.hi)
	case 1:
		return p.clear(out, td)
	case 2:
		out = p.clear(out, td)
		if other := p.anyDay(x, rng); other >= 0 {
			out = p.clear(out, other)
		}
		return out
	case 3:
		out = p.clearSite(out, d.site, d.lo, d.hi)
		for _, near := range p.m.near[d.site][:min(1+rng.below(4), len(p.m.near[d.site]))] {
			out = p.clearSite(out, near, d.lo, d.hi)
		}
		return out
	default:
		return p.remove(out, td, d.site)
	}
}

// anyDay gives some tech-day in the window of a due, of somebody with the skills for it; -1 for none.
func (p *plan) anyDay(x int32, rng *dice) int32 {
	d := &p.m.dues[x]
	if d.hi < d.lo {
		return -1
	}
	t := int32(rng.below(int(p.techs)))
	for range p.techs {
		if d.skills&^p.m.techs[t].skills == 0 {
			return t*p.m.days + d.lo + int32(rng.below(int(d.hi-d.lo)+1))
		}
		t = (t + 1) % p.techs
	}
	return -1
}

// clear takes all proposed visits out of a tech-day.
func (p *plan) clear(out []int32, td int32) []int32 {
	return p.removeIf(out, td, func(s *stop) bool { return true })
}

// remove takes the visit to one site out of a tech-day.
func (p *plan) remove(out []int32, td, at int32) []int32 {
	return p.removeIf(out, td, func(s *stop) bool { return s.site == at })
}

func (p *plan) removeIf(out []int32, td int32, which func(*stop) bool) []int32 {
	var stays []stop
	gone := false
	for _, s := range p.routes[td].stops {
		if s.fixed || !which(&s) {
			stays = append(stays, s)
			continue
		}
		gone = true
		out = append(out, s.dues...)
	}
	if gone {
		p.set(td, stays)
	}
	return out
}

// mostCleared bounds how many dues of one site a trial takes out.
const mostCleared = 60

// clearSite takes out the visits to a site that serve dues whose windows meet the days from lo to hi.
func (p *plan) clearSite(out []int32, at, lo, hi int32) []int32 {
	start := len(out)
	for _, x := range p.m.bySite[at] {
		d := &p.m.dues[x]
		if p.where[x] >= 0 && d.lo <= hi && d.hi >= lo && len(out)-start < mostCleared {
			out = p.remove(out, p.where[x], at)
		}
	}
	return out
}

// recreate puts dues back in one of several orders.
func (p *plan) recreate(out []int32, t *taste) {
	rng := t.rng
	m := p.m
	for _, x := range p.retry(rng) {
		if !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	switch rng.below(3) {
	case 0:
		m.sortPressing(out)
	case 1:
		rng.shuffle(out)
	default: // as they came, those without room first
	}
	for _, x := range out {
		if p.where[x] < 0 {
			p.place(x, t)
		}
	}
	for _, k := range slices.Clone(p.kept) {
		p.shorten(k.td)
	}
}

// retry lists some dues without room.
func (p *plan) retry(rng *dice) []int32 {
	n := len(p.nowhere)
	if n == 0 {
		return nil
	}
	list := make([]int32, 0, mostRetried)
	for i, start := 0, rng.below(n); i < min(n, mostRetried); i++ {
		list = append(list, p.nowhere[(start+i)%n])
	}
	return list
}
