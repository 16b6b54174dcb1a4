package visits

import (
	"fmt"
	"math"
	"slices"

	"ventdue/vent"
)

// Ahead is the work of the coming weeks against what can be done.
type Ahead struct {
	Weeks []Load `json:"weeks"`
	// Late is what is not done in time if nothing changes.
	Late []Late `json:"late,omitempty"`
	// NoRoom is how many of the late find no room, neither in their window nor, where it was over, in the days for catching up.
	NoRoom int `json:"no_room"`
	// Extra are days of one more technician that would be enough to do them as far as more hands can, the most useful first.
	Extra []Extra `json:"extra,omitempty"`
	// Tiers are those of the plan behind it.
	Tiers []Tier `json:"tiers"`
}

// Load is one week, or the part of it that is planned.
type Load struct {
	Monday   vent.Date `json:"monday"`
	Visits   int       `json:"visits"`
	Dues     int       `json:"dues"`
	Work     int       `json:"work_minutes"`
	Drive    int       `json:"drive_minutes"`
	Capacity int       `json:"capacity_minutes"` // all technicians' working hours, blocks without a site taken off
	Late     int       `json:"late"`             // dues whose window closes in that week and that are not done in it
}

// Extra is one more technician's day: somebody with every skill, who starts where and works as long as the technician with
// the longest week.
type Extra struct {
	On   vent.Date `json:"on"`
	Dues int       `json:"dues"` // that find room on it
	Left int       `json:"left"` // dues that still find none, with this day and those before it
}

// LookAhead plans everything from today to the last day, with what is due again within that time, and sums it up by week. It gives
// the errors that Plan gives.
func LookAhead(p Problem) (Ahead, error) {
	if err := p.Validate(); err != nil {
		return Ahead{}, fmt.Errorf("look ahead: %w", err)
	}
	named := p
	named.Previous = nil
	named.Dues = repeat(p)
	// What comes again is nobody's to freeze or move: it is planned without its name.
	nameless := named
	nameless.Dues = slices.Clone(named.Dues)
	for i := len(p.Dues); i < len(nameless.Dues); i++ {
		nameless.Dues[i].ID = vent.ID{}
	}
	m, err := compile(&nameless)
	if err != nil {
		return Ahead{}, err
	}
	best := m.solve(int32(len(m.techs)), m.previous(&p), p.Policy.Effort)
	missed := slices.Clone(best.nowhere)
	s := best.finish(&named)
	out := Ahead{Late: s.Late, NoRoom: len(missed), Tiers: s.Tiers, Weeks: m.weeks(&named, &s)}
	out.Extra = m.extra(p.Today, missed)
	return out, nil
}

// repeat gives the dues with what comes after them until the last day.
func repeat(p Problem) []Due {
	out := slices.Clone(p.Dues)
	for _, d := range p.Dues {
		if d.Every <= 0 {
			continue
		}
		// What is overdue is done at the earliest today, and counts from there.
		done := max(d.Day, p.Today)
		earliest, latest := d.window()
		before, after := earliest.DaysUntil(d.Day), d.Day.DaysUntil(latest)
		for day := done.AddDays(d.Every); day.AddDays(-before) <= p.Last; day = day.AddDays(d.Every) {
			next := d
			next.Earliest, next.Day, next.Latest, next.Floor = day.AddDays(-before), day, day.AddDays(after), 0
			out = append(out, next)
		}
	}
	return out
}

// weeks sums the schedule up by week.
func (m *model) weeks(p *Problem, s *Schedule) []Load {
	start := mondayOf(p.Today)
	out := make([]Load, start.DaysUntil(p.Last)/7+1)
	for i := range out {
		out[i].Monday = start.AddDays(7 * i)
	}
	week := func(on vent.Date) *Load { return &out[min(len(out)-1, max(0, start.DaysUntil(on))/7)] }
	for td := range m.frozen {
		d := m.dayOf(int32(td))
		w := week(p.Today.AddDays(int(d.day)))
		w.Capacity += int(max(0, d.to-d.from))
		for _, f := range m.frozen[td] {
			if int(f.site) >= len(m.sites) {
				w.Capacity -= int(max(0, min(d.to, f.early+f.work)-max(d.from, f.early)))
			}
		}
	}
	for _, v := range slices.Concat(s.Visits, p.Frozen) {
		if v.On >= p.Today && v.On <= p.Last && !v.SiteID.IsZero() {
			w := week(v.On)
			w.Visits++
			w.Dues += len(v.Dues)
			w.Work += v.Minutes
		}
	}
	for _, d := range s.Days {
		week(d.On).Drive += d.Drive
	}
	for _, l := range s.Late {
		week(l.Latest).Late++
	}
	return out
}

func mondayOf(d vent.Date) vent.Date { return d.AddDays(-(int(d.Weekday()) + 6) % 7) }

// mostExtra is how many more technicians at once are thought of.
const mostExtra = 20

// extra opens days of one more technician until nothing is late that such days can do: the due whose window closes first goes
// into a day that is open already, else opens the last one of its window.
func (m *model) extra(today vent.Date, missed []int32) []Extra {
	if len(m.techs) == 0 || len(missed) == 0 {
		return nil
	}
	more, real := m.withExtra(), int32(len(m.techs))
	p := newPlan(more, int32(len(more.techs)))
	var opened []int32
	more.sortPressing(missed)
	for _, x := range missed {
		if p.join(x, opened) {
			continue
		}
		if td := p.lastDay(x, real, opened); td >= 0 {
			opened = append(opened, td)
			p.join(x, opened[len(opened)-1:])
		}
	}
	slices.SortStableFunc(opened, func(a, b int32) int { return int(p.routes[b].count - p.routes[a].count) })
	out, left := make([]Extra, len(opened)), len(missed)
	for i, td := range opened {
		left -= int(p.routes[td].count)
		out[i] = Extra{On: today.AddDays(int(td % more.days)), Dues: int(p.routes[td].count), Left: left}
	}
	return out
}

// withExtra gives the model with technicians like the one with the longest week, who have every skill and nothing to do.
func (m *model) withExtra() *model {
	like, longest := 0, -1
	for t := range m.techs {
		sum := 0
		for _, h := range m.techs[t].week {
			sum += h.To - h.From
		}
		if sum > longest {
			like, longest = t, sum
		}
	}
	more := *m
	more.techs = slices.Clone(m.techs)
	for range mostExtra {
		t := m.techs[like]
		t.skills = math.MaxUint64
		more.techs = append(more.techs, t)
	}
	more.frozen = make([][]stop, len(more.techs)*int(m.days))
	return &more
}

// lastDay finds the last day of the due's window on which a technician from `from` on, whose day is not open, could do it.
func (p *plan) lastDay(x, from int32, opened []int32) int32 {
	m, d := p.m, &p.m.dues[x]
	for on := d.hi; on >= d.lo; on-- {
		open := m.open(d.site, from, on)
		for t := from; t < p.techs; t++ {
			td := t*m.days + on
			if slices.Contains(opened, td) {
				continue
			}
			if _, ok := p.bestGap(td, d.site, open, []int32{x}); ok {
				return td
			}
			break
		}
	}
	return -1
}
