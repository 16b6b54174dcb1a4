package visits

import "slices"

// option is one way to put a due, and others of its site with it, into the plan.
type option struct {
	td    int32
	gap   gap
	cover int32 // how many dues it does
	score score // what it adds, without lateness
	tie   uint64
}

// better orders options: no new trip before all, then the most dues done, then the tiers, then the earlier tech-day.
func (o *option) better(than *option) bool {
	a, b := o.score[tierTrips], than.score[tierTrips]
	switch {
	case a != b:
		return a < b
	case o.cover != than.cover:
		return o.cover > than.cover
	}
	if c := o.score.compare(than.score); c != 0 {
		return c < 0
	}
	if o.tie != than.tie {
		return o.tie < than.tie
	}
	return o.td < than.td
}

// taste varies the choice among options, so that a search does not always fall into the same hole: now and then one is
// overlooked, and the search may be patient, that is, not mind waiting and take any of those that are equal without it.
type taste struct {
	rng     *dice
	patient bool
}

// overlooked is how many options out of which one is overlooked.
const overlooked = 12

// vary applies the taste to an option; it reports false for one that is overlooked. A nil taste leaves all as they are.
func (t *taste) vary(o *option) bool {
	switch {
	case t == nil:
		return true
	case t.rng.below(overlooked) == 0:
		return false
	case t.patient:
		o.score[tierWait], o.tie = 0, t.rng.next()
	}
	return true
}

// shuffle changes the order in which dues are taken into a visit that has not room for all, every other time.
func (t *taste) shuffle(list []int32) {
	if t == nil || len(list) < 2 || t.rng.below(2) == 0 {
		return
	}
	t.rng.shuffle(list)
}

// place puts the due into the best tech-day of its window, with as many other dues of its site as fit. It reports
// false where there is no room.
//
// Of several days with equal room the last of the window serves all that is open before it closes; that is why dues
// placed in order of their last day give the fewest trips where nothing else limits them.
func (p *plan) place(x int32, t *taste) bool {
	d := &p.m.dues[x]
	best := option{td: -1}
	list := p.waiting(x)
	t.shuffle(list[1:])
	found := p.options(x, list, d.lo, d.hi, func(o option) {
		if t.vary(&o) && (best.td < 0 || o.better(&best)) {
			best = o
		}
	})
	if best.td < 0 {
		if found && t != nil {
			return p.place(x, nil)
		}
		return false
	}
	p.put(best, p.m.able(list, best.td/p.m.days))
	return true
}

// waiting lists the dues at the site of x that are nowhere yet: x, then the others, the one that closes first first.
func (p *plan) waiting(x int32) []int32 {
	list := []int32{x}
	for _, y := range p.m.bySite[p.m.dues[x].site] {
		if y != x && p.where[y] < 0 {
			list = append(list, y)
		}
	}
	return list
}

// options calls f with every place for the first of the dues in the days from lo to hi and reports whether there was any.
func (p *plan) options(x int32, list []int32, lo, hi int32, f func(option)) bool {
	m, d := p.m, &p.m.dues[x]
	found := false
	for t := range p.techs {
		if d.skills&^m.techs[t].skills != 0 {
			continue
		}
		able := m.able(list, t)
		for on := lo; on <= hi; on++ {
			open := m.open(d.site, t, on)
			if open.To-open.From < int(m.minutes(x, t)) {
				continue
			}
			td := t*m.days + on
			if p.routes[td].count >= m.techs[t].maxDues {
				continue
			}
			p.steps++
			if o, ok := p.bestGap(td, d.site, open, able); ok {
				found = true
				f(o)
			}
		}
	}
	return found
}

// able leaves the dues that the technician has the skills for.
func (m *model) able(list []int32, t int32) []int32 {
	for i, x := range list {
		if m.dues[x].skills&^m.techs[t].skills != 0 {
			out := slices.Clone(list[:i])
			for _, y := range list[i:] {
				if m.dues[y].skills&^m.techs[t].skills == 0 {
					out = append(out, y)
				}
			}
			return out
		}
	}
	return list
}

// bestGap finds the place in one tech-day that does the most of the dues for the least drive.
func (p *plan) bestGap(td, at int32, open Span, able []int32) (option, bool) {
	m, r := p.m, &p.routes[td]
	day := m.dayOf(td)
	best := option{td: -1}
	m.gaps(day, r, at, open, m.minutes(able[0], day.tech), func(g gap) {
		cover := int32(1)
		if len(able) > 1 {
			cover = p.fill(day, g.room, r.count, able, nil)
		}
		if best.td < 0 || cover > best.cover || cover == best.cover && g.drive < best.gap.drive {
			best = option{td: td, gap: g, cover: cover}
		}
	})
	if best.td < 0 {
		return best, false
	}
	if best.gap.trip {
		best.score[tierTrips] = 1
		best.score[tierWishes] = m.dislike(at, day.day)
	}
	if !best.gap.join && m.whole(at) {
		best.score[tierWishes] += m.again(p.trips[at], day.day)
	}
	best.score[tierDrive] = int64(best.gap.drive)
	best.score[tierWait] = m.dues[able[0]].wait(day.day)
	return best, true
}

// fill counts the dues of the list that fit into the room on that day, the first for certain; take gets them where it is not nil.
func (p *plan) fill(d day, room, already int32, able []int32, take *[]int32) int32 {
	m, count := p.m, int32(0)
	left := m.techs[d.tech].maxDues - already
	for i, x := range able {
		due, w := &m.dues[x], m.minutes(x, d.tech)
		if i > 0 && (d.day < due.lo || d.day > due.hi) || w > room {
			continue
		}
		if count == left {
			break
		}
		room -= w
		count++
		if take != nil {
			*take = append(*take, x)
		}
	}
	return count
}

// put carries an option out with as many of the dues as fit.
func (p *plan) put(o option, able []int32) {
	m, r := p.m, &p.routes[o.td]
	d := m.dayOf(o.td)
	var dues []int32
	p.fill(d, o.gap.room, r.count, able, &dues)
	if o.gap.join {
		stops := slices.Clone(r.stops)
		s := &stops[o.gap.at]
		s.dues = slices.Concat(s.dues, dues)
		s.count += int32(len(dues))
		s.work += m.work(dues, d.tech)
		p.set(o.td, stops)
		return
	}
	p.set(o.td, slices.Insert(slices.Clone(r.stops), int(o.gap.at), m.stop(d, dues)))
}

// stop makes a visit for dues of one site.
func (m *model) stop(d day, dues []int32) stop {
	at := m.dues[dues[0]].site
	open := m.open(at, d.tech, d.day)
	return stop{
		site: at, dues: dues, count: int32(len(dues)), work: m.work(dues, d.tech) + m.techs[d.tech].trip,
		from: int32(open.From), to: int32(open.To),
	}
}

// work is how long the technician works on all the dues.
func (m *model) work(dues []int32, t int32) int32 {
	sum := int32(0)
	for _, x := range dues {
		sum += m.minutes(x, t)
	}
	return sum
}

// join puts the due into the one of these tech-days that it costs the least.
func (p *plan) join(x int32, days []int32) bool {
	m, d := p.m, &p.m.dues[x]
	best := option{td: -1}
	for _, td := range days {
		on := td % m.days
		if on < d.lo || on > d.hi || p.routes[td].count >= m.techs[td/m.days].maxDues {
			continue
		}
		open := m.open(d.site, td/m.days, on)
		if o, ok := p.bestGap(td, d.site, open, []int32{x}); ok && (best.td < 0 || o.better(&best)) {
			best = o
		}
	}
	if best.td < 0 {
		return false
	}
	p.put(best, []int32{x})
	return true
}
