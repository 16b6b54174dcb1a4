package visits

import (
	"fmt"
	"math"
	"slices"

	"ventdue/vent"
)

// model is a problem in numbers: days counted from today, everything else by its place in the problem's lists.
type model struct {
	days    int32
	weekday []uint8 // of each day
	worked  []int32 // how many days up to and with each somebody works
	grid    int32   // starts are multiples of it, in minutes
	sites   []site
	techs   []tech
	dues    []due
	roads   roads
	near    [][]int32 // nearest other sites of each site
	offsets [][]int32 // minutes from UTC by zone and day
	frozen  [][]stop  // by tech-day
	bySite  [][]int32 // dues that are to be planned, by site, the one that closes first first
}

type site struct {
	week     Week
	closed   []bool // by day; nil: never
	zone     int32  // into offsets, -1: none given
	prefer   uint8  // bit of each weekday asked for
	whole    bool
	notice   int32
	hasHours bool
}

type tech struct {
	week      Week
	off       []bool // by day; nil: none
	skills    uint64
	run, trip int32
	maxDues   int32
	home      int32 // its number among the places
	zone      int32
}

type due struct {
	site           int32
	lo, hi         int32 // days in which it is planned now
	wideLo, wideHi int32 // the same without a turnover
	day, since     int32 // due day, first day on which it waits
	latest         int32 // its own latest day, before today where that is so
	minutes        int32
	skills         uint64
	weight         int64
	optional       bool // may wait beyond the last day
	out            bool // in a frozen visit, or opens beyond the last day
	overdue        bool // its window is over before anybody can be there
}

// wait is what doing the due on a day costs in the last tier.
func (d *due) wait(day int32) int64 {
	if d.weight > 0 {
		return d.weight * int64(day-d.since)
	}
	return int64(max(day-d.day, d.day-day))
}

// compile turns a valid problem into numbers.
func compile(p *Problem) (*model, error) {
	m := &model{days: int32(p.Today.DaysUntil(p.Last)) + 1, grid: int32(p.Policy.Grid)}
	first := uint8(p.Today.Weekday())
	m.weekday = make([]uint8, m.days)
	for i := range m.weekday {
		m.weekday[i] = (first + uint8(i%7)) % 7
	}
	zones := zoneTable{today: p.Today, days: int(m.days), number: map[string]int32{}}
	places := make([]*Place, 0, len(p.Sites)+len(p.Technicians))
	number := make(map[vent.ID]int32, len(p.Sites))
	for i := range p.Sites {
		number[p.Sites[i].ID] = int32(i)
		places = append(places, p.Sites[i].Place)
		m.sites = append(m.sites, m.site(p, &p.Sites[i], &zones))
	}
	words := skillWords{}
	technician := make(map[vent.ID]int32, len(p.Technicians))
	for i := range p.Technicians {
		t := &p.Technicians[i]
		technician[t.ID] = int32(i)
		places = append(places, t.Home)
		skills, err := words.mask(t.Skills)
		if err != nil {
			return nil, err
		}
		m.techs = append(m.techs, tech{
			week: t.Hours, off: m.dates(p.Today, t.Off), skills: skills, run: int32(t.RunMinutes), trip: int32(t.TripMinutes),
			maxDues: most(t.MaxDues), home: int32(len(p.Sites) + i), zone: zones.of(t.Zone),
		})
	}
	m.offsets = zones.offsets
	m.countWorked()
	m.roads = newRoads(p.Policy.Travel, places)
	m.near = nearest(&m.roads, p.Sites)
	m.dues = make([]due, len(p.Dues))
	for i := range p.Dues {
		skills, err := words.mask(p.Dues[i].Skills)
		if err != nil {
			return nil, err
		}
		m.dues[i] = m.due(p, &p.Dues[i], number[p.Dues[i].SiteID], skills)
	}
	m.pullIn(p)
	m.freeze(p, number, technician)
	m.sortDues()
	return m, nil
}

func (m *model) site(p *Problem, s *Site, zones *zoneTable) site {
	out := site{
		week: s.Access, hasHours: s.Access != Week{}, closed: m.dates(p.Today, s.Closed), zone: zones.of(s.Zone),
		whole: s.Whole, notice: int32(s.NoticeDays),
	}
	for _, w := range s.Prefer {
		out.prefer |= 1 << w
	}
	return out
}

// dates marks those of the dates that lie in the plan; nil where none does.
func (m *model) dates(today vent.Date, dates []vent.Date) []bool {
	var marked []bool
	for _, d := range dates {
		if i := today.DaysUntil(d); i >= 0 && i < int(m.days) {
			if marked == nil {
				marked = make([]bool, m.days)
			}
			marked[i] = true
		}
	}
	return marked
}

// due counts its window from today. A window that is over, or over before notice can be given, is taken to be open for
// the days in which the operator wants to catch up.
func (m *model) due(p *Problem, d *Due, at int32, skills uint64) due {
	earliest, latest := d.window()
	out := due{
		site: at, lo: int32(p.Today.DaysUntil(earliest)), hi: int32(p.Today.DaysUntil(latest)), day: int32(p.Today.DaysUntil(d.Day)),
		minutes: int32(d.Minutes), skills: skills, weight: int64(math.Round(10 * d.Chance)),
	}
	out.latest = out.hi
	catch := int32(p.Policy.CatchUp)
	if d.Stop {
		out.weight, catch = 100, int32(p.Policy.CatchUpStop)
	}
	reach := int32(0)
	if !d.Waived {
		reach = m.sites[at].notice
	}
	out.lo = max(out.lo, reach)
	out.since = out.lo
	if out.hi < out.lo {
		out.overdue, out.hi, out.weight = true, out.lo+catch, max(out.weight, 2)
	}
	out.optional = !out.overdue && out.hi >= m.days
	out.hi = min(out.hi, m.days-1)
	out.out = out.lo >= m.days && out.optional
	out.wideLo, out.wideHi = out.lo, out.hi
	return out
}

// pullIn narrows the windows of what is due behind a door that stands empty to those days.
func (m *model) pullIn(p *Problem) {
	byUnit := map[vent.ID]Turnover{}
	for _, t := range p.Turnovers {
		if t.To == 0 {
			t.To = t.From.AddDays(OpenTurnover)
		}
		if old, twice := byUnit[t.UnitID]; t.To > p.Today && t.To > t.From && (!twice || t.From < old.From) {
			byUnit[t.UnitID] = t
		}
	}
	for i := range p.Dues {
		d, x := &p.Dues[i], &m.dues[i]
		t, empty := byUnit[d.UnitID]
		if d.UnitID.IsZero() || !empty || x.overdue || t.From.DaysUntil(d.Day) > p.Policy.TurnoverDays {
			continue
		}
		// Nobody lives there: no notice to wait for.
		lo, hi := max(t.From, d.Floor, p.Today), min(t.To.AddDays(-1), p.Last)
		if x.latest < m.days {
			hi = min(hi, p.Today.AddDays(int(x.latest)))
		}
		if lo <= hi {
			x.lo, x.hi = int32(p.Today.DaysUntil(lo)), int32(p.Today.DaysUntil(hi))
			x.since, x.optional, x.out = x.lo, false, false
		}
	}
}

// freeze puts the frozen visits into their days and takes their dues out of the planning.
func (m *model) freeze(p *Problem, number, technician map[vent.ID]int32) {
	m.frozen = make([][]stop, int32(len(m.techs))*m.days)
	index := make(map[vent.ID]int, len(p.Dues))
	for i := range p.Dues {
		index[p.Dues[i].ID] = i
	}
	for _, v := range p.Frozen {
		for _, id := range v.Dues {
			if i, ok := index[id]; ok {
				m.dues[i].out = true
			}
		}
		day := int32(p.Today.DaysUntil(v.On))
		if day < 0 || day >= m.days {
			continue
		}
		t := technician[v.TechnicianID]
		s := stop{site: m.techs[t].home, fixed: true, work: int32(v.Minutes), early: int32(v.Start)}
		if !v.SiteID.IsZero() {
			s.site = number[v.SiteID]
			s.early -= m.shift(s.site, t, day)
		}
		s.late = s.early
		s.count = int32(len(v.Dues))
		at := t*m.days + day
		m.frozen[at] = append(m.frozen[at], s)
	}
	for _, day := range m.frozen {
		slices.SortStableFunc(day, func(a, b stop) int { return int(a.early - b.early) })
	}
}

// sortDues lists by site what is to be planned, the one that closes first first.
func (m *model) sortDues() {
	m.bySite = make([][]int32, len(m.sites))
	for i := range m.dues {
		if d := &m.dues[i]; !d.out && !d.optional {
			m.bySite[d.site] = append(m.bySite[d.site], int32(i))
		}
	}
	for _, list := range m.bySite {
		slices.SortStableFunc(list, func(a, b int32) int { return int(m.dues[a].hi - m.dues[b].hi) })
	}
}

// works gives the technician's hours on a day, empty where there is no work.
func (m *model) works(t, day int32) Span {
	x := &m.techs[t]
	if x.off != nil && x.off[day] {
		return Span{}
	}
	return x.week[m.weekday[day]]
}

// open gives the minutes, in the technician's time, in which a visit to the site may lie; empty where there is none.
func (m *model) open(at, t, day int32) Span {
	hours := m.works(t, day)
	s := &m.sites[at]
	if s.closed != nil && s.closed[day] {
		return Span{}
	}
	if !s.hasHours {
		return hours
	}
	access := s.week[m.weekday[day]]
	if access.From >= access.To {
		return Span{}
	}
	shift := int(m.shift(at, t, day))
	return Span{From: max(hours.From, access.From-shift), To: min(hours.To, access.To-shift)}
}

// countWorked numbers the days on which anybody works.
func (m *model) countWorked() {
	m.worked = make([]int32, m.days)
	n := int32(0)
	for on := range m.days {
		for t := range m.techs {
			if m.works(int32(t), on) != (Span{}) {
				n++
				break
			}
		}
		m.worked[on] = n
	}
}

// shift is how many minutes the site's clock is ahead of the technician's.
func (m *model) shift(at, t, day int32) int32 {
	a, b := m.sites[at].zone, m.techs[t].zone
	if a < 0 || b < 0 || a == b {
		return 0
	}
	return m.offsets[a][day] - m.offsets[b][day]
}

// minutes is how long the technician works on the due.
func (m *model) minutes(d, t int32) int32 {
	if w := m.dues[d].minutes; w > 0 {
		return w
	}
	return m.techs[t].run
}

func most(n int) int32 {
	if n == 0 {
		return math.MaxInt32
	}
	return int32(n)
}

// skillWords numbers the skills of a problem.
type skillWords map[string]int

func (w skillWords) mask(skills []string) (uint64, error) {
	var mask uint64
	for _, s := range skills {
		n, ok := w[s]
		if !ok {
			n = len(w)
			if n == mostSkills {
				return 0, fmt.Errorf("plan visits: %w: more than %d different skills: write each in one way", vent.ErrInvalid, mostSkills)
			}
			w[s] = n
		}
		mask |= 1 << n
	}
	return mask, nil
}
