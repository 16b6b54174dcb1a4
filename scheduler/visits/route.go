package visits

// stop is one visit on a technician's day. Times are minutes after midnight in the technician's time.
type stop struct {
	site     int32 // number of the place: a site, or the technician's home for a block without one
	dues     []int32
	count    int32 // how many dues
	work     int32 // minutes there
	from, to int32 // the visit lies in these
	fixed    bool  // a frozen visit
	// early and late are the earliest and the latest start that the rest of the day allows; a frozen visit has one for both.
	early, late int32
}

// route is one technician's day in order.
type route struct {
	stops []stop
	count int32 // dues on that day
	score score // what the day adds to the plan's
}

// day says whose route it is and when that person works.
type day struct {
	tech, day int32
	home      int32
	from, to  int32
}

// up and down round to the grid of starts.
func (m *model) up(t int32) int32   { return (t + m.grid - 1) / m.grid * m.grid }
func (m *model) down(t int32) int32 { return t / m.grid * m.grid }

// clock sets early and late of every stop. It reports whether the proposed stops fit between those that are frozen; frozen
// ones may be at odds with each other, that is not ours to judge.
func (m *model) clock(d day, stops []stop) bool {
	end, place := d.from, d.home
	for i := range stops {
		s := &stops[i]
		if !s.fixed {
			s.early = m.up(max(end+m.roads.minutes(place, s.site), s.from))
		}
		end, place = s.early+s.work, s.site
	}
	limit, place := d.to, d.home
	ok := true
	for i := len(stops) - 1; i >= 0; i-- {
		s := &stops[i]
		if !s.fixed {
			last := min(s.to, limit-m.roads.minutes(s.site, place)) - s.work
			s.late = m.down(last)
			ok = ok && last >= 0 && s.early <= s.late
		}
		limit, place = s.late, s.site
	}
	return ok
}

// gap is a place in a route where something can be put.
type gap struct {
	at     int32 // before which stop, or which stop it joins
	join   bool  // prolongs a proposed stop at the site
	trip   bool  // makes a trip
	room   int32 // minutes of work that fit, without the minutes of the trip itself
	drive  int32 // minutes of driving added
	start  int32 // earliest start
	latest int32 // latest end
}

// gaps calls f with every place of the route where a visit to the site within the span, of at least `least` minutes, fits.
func (m *model) gaps(d day, r *route, at int32, open Span, least int32, f func(gap)) {
	here := false // somebody is there already: no new trip
	for i := range r.stops {
		if r.stops[i].site != at {
			continue
		}
		here = true
		if s := &r.stops[i]; !s.fixed {
			limit := d.to - m.roads.minutes(at, d.home)
			if i+1 < len(r.stops) {
				limit = r.stops[i+1].late - m.roads.minutes(at, r.stops[i+1].site)
			}
			if room := min(s.to, limit) - s.early - s.work; room >= least {
				f(gap{at: int32(i), join: true, room: room, start: s.early, latest: min(s.to, limit)})
			}
			return
		}
	}
	end, place := d.from, d.home
	trip := m.techs[d.tech].trip
	to := m.roads.minutes(place, at)
	for i := 0; i <= len(r.stops); i++ {
		limit, next := d.to, d.home
		if i < len(r.stops) {
			limit, next = r.stops[i].late, r.stops[i].site
		}
		away := m.roads.minutes(at, next)
		start := m.up(max(end+to, int32(open.From)))
		latest := min(int32(open.To), limit-away)
		if room := latest - start - trip; room >= least {
			f(gap{
				at: int32(i), trip: !here, room: room, start: start, latest: latest,
				drive: to + away - m.legBetween(len(r.stops), place, next),
			})
		}
		if i < len(r.stops) {
			s := &r.stops[i]
			end, place, to = s.early+s.work, s.site, away
		}
	}
}

// legBetween is the drive that a new stop replaces: none on a day without stops, when nobody leaves home.
func (m *model) legBetween(stops int, a, b int32) int32 {
	if stops == 0 {
		return 0
	}
	return m.roads.minutes(a, b)
}

// drive is the day's driving, from home over the stops and back.
func (m *model) drive(d day, stops []stop) int32 {
	if len(stops) == 0 {
		return 0
	}
	sum, place := int32(0), d.home
	for i := range stops {
		sum += m.roads.minutes(place, stops[i].site)
		place = stops[i].site
	}
	return sum + m.roads.minutes(place, d.home)
}

// dayOf gives the hours of a tech-day.
func (m *model) dayOf(td int32) day {
	t, d := td/m.days, td%m.days
	hours := m.works(t, d)
	return day{tech: t, day: d, home: m.techs[t].home, from: int32(hours.From), to: int32(hours.To)}
}
