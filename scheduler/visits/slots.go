package visits

import (
	"cmp"
	"fmt"
	"slices"

	"ventdue/vent"
)

// Slot is one time at which a technician could come for all dues asked for.
type Slot struct {
	TechnicianID vent.ID   `json:"technician_id"`
	SiteID       vent.ID   `json:"site_id"`
	On           vent.Date `json:"on"`
	Start        int       `json:"start_minutes"` // after midnight, in the site's time
	Minutes      int       `json:"minutes"`
	// Trip tells whether it makes a trip of its own; Drive is the minutes of driving that it adds.
	Trip  bool `json:"trip"`
	Drive int  `json:"drive_minutes"`
}

// slotGrid is what offered times are rounded up to, in minutes, where there is room: people remember quarters of an hour.
const slotGrid = 15

// noon parts mornings from afternoons, in minutes; afternoon is when an offer for the afternoon starts.
const (
	noon      = 12 * 60
	afternoon = 13 * 60
)

// Slots offers up to `want` times for all dues of the problem at once, which must be of one site. The blocks are the problem's
// frozen visits, holds among them; whoever asks leaves out holds that ran out and the visit that is to be moved. The cheapest come first: no new trip, a weekday
// asked for, little driving, near the due day; each day is offered once before any is offered twice, mornings and afternoons
// in turn. No slot at all is no error: an empty list.
func Slots(p Problem, want int) ([]Slot, error) {
	a, err := newAsk(p)
	if err != nil {
		return nil, err
	}
	var all []offer
	for t := range a.m.techs {
		for on := a.lo; on <= a.hi; on++ {
			all = append(all, a.offers(int32(t), on)...)
		}
	}
	slices.SortStableFunc(all, func(x, y offer) int { return cmp.Or(x.score.compare(y.score), cmp.Compare(x.day, y.day)) })
	return spread(all, want), nil
}

// Check reports whether a slot still fits among the problem's frozen visits, of which only those of the slot's technician and day
// matter. It gives an error that matches vent.ErrConflict where it does not.
func Check(p Problem, s Slot) error {
	a, err := newAsk(p)
	if err != nil {
		return err
	}
	t := slices.IndexFunc(p.Technicians, func(t Technician) bool { return t.ID == s.TechnicianID })
	on := int32(p.Today.DaysUntil(s.On))
	if t < 0 || on < a.lo || on > a.hi || s.SiteID != a.site {
		return fmt.Errorf("%s is not a day on which this can be done: choose another: %w", s.On, vent.ErrConflict)
	}
	fits := false
	a.gaps(int32(t), on, func(g gap, work, shift int32) {
		start := int32(s.Start) - shift
		fits = fits || int32(s.Minutes) >= work && start >= g.start && start+int32(s.Minutes) <= g.latest
	})
	if !fits {
		return fmt.Errorf("%02d:%02d on %s %s: choose another time: %w", s.Start/60, s.Start%60, s.On, a.hindrance(int32(t), on), vent.ErrConflict)
	}
	return nil
}

// hindrances say what keeps a visit from a technician's day, where it is no other visit.
var hindrances = map[Cause]string{
	CauseSkill:  "asks for a skill that the technician does not have",
	CauseOff:    "is no working time of the technician",
	CauseClosed: "will not do, since the site is closed that day",
	CauseAccess: "will not do, since the site's hours leave too little of that day",
	CauseLong:   "will not do, since the work and the way there do not fit into that day",
}

// hindrance finds the gravest thing that keeps the dues from the day.
func (a *ask) hindrance(t, on int32) string {
	for _, x := range a.dues {
		if text, ok := hindrances[a.frozen.hurdle(x, t, on)]; ok {
			return text
		}
	}
	return "is taken"
}

// ask is a question for slots in numbers.
type ask struct {
	m      *model
	p      *Problem
	frozen *plan
	site   vent.ID
	dues   []int32
	lo, hi int32
	skills uint64
}

func newAsk(p Problem) (*ask, error) {
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("offer slots: %w", err)
	}
	if len(p.Dues) == 0 {
		return nil, fmt.Errorf("offer slots: %w: nothing is due", vent.ErrInvalid)
	}
	m, err := compile(&p)
	if err != nil {
		return nil, err
	}
	a := &ask{m: m, p: &p, frozen: newPlan(m, int32(len(m.techs))), site: p.Dues[0].SiteID, hi: m.days - 1}
	for x := range m.dues {
		if p.Dues[x].SiteID != a.site {
			return nil, fmt.Errorf("offer slots: %w: the dues are of several sites: ask for each site by itself", vent.ErrInvalid)
		}
		d := &m.dues[x]
		a.dues = append(a.dues, int32(x))
		a.lo, a.hi, a.skills = max(a.lo, d.lo), min(a.hi, d.hi), a.skills|d.skills
	}
	return a, nil
}

// gaps calls f with the room for all dues on a technician's day, the minutes they take and how far the site's clock is ahead.
func (a *ask) gaps(t, on int32, f func(g gap, work, shift int32)) {
	m := a.m
	if a.skills&^m.techs[t].skills != 0 {
		return
	}
	r := &a.frozen.routes[t*m.days+on]
	if r.count+int32(len(a.dues)) > m.techs[t].maxDues {
		return
	}
	work := m.work(a.dues, t)
	at := m.dues[a.dues[0]].site
	m.gaps(m.dayOf(t*m.days+on), r, at, m.open(at, t, on), work, func(g gap) {
		f(g, work+m.techs[t].trip, m.shift(at, t, on))
	})
}

// offer is a slot with what it costs.
type offer struct {
	slot  Slot
	day   int32
	score score
}

// offers gives what one technician's day can offer: in each room the first time, and one after noon.
func (a *ask) offers(t, on int32) []offer {
	m := a.m
	var out []offer
	a.gaps(t, on, func(g gap, work, shift int32) {
		o := offer{day: on, slot: Slot{
			TechnicianID: a.p.Technicians[t].ID, SiteID: a.site, On: a.p.Today.AddDays(int(on)), Minutes: int(work), Trip: g.trip, Drive: int(g.drive),
		}}
		if g.trip {
			o.score[tierTrips], o.score[tierWishes] = 1, m.dislike(m.dues[a.dues[0]].site, on)
		}
		o.score[tierDrive] = int64(g.drive)
		for _, x := range a.dues {
			o.score[tierWait] += m.dues[x].wait(on)
		}
		first, last := g.start+shift, g.latest-work+shift
		if round := (first + slotGrid - 1) / slotGrid * slotGrid; round <= last {
			first = round
		}
		o.slot.Start = int(first)
		out = append(out, o)
		if first < noon && last >= afternoon {
			o.slot.Start = afternoon
			out = append(out, o)
		}
	})
	return out
}

// spread takes offers in their order, each day once before any comes twice, of equal ones the half of the day offered less.
func spread(all []offer, want int) []Slot {
	out := []Slot{}
	taken := make([]bool, len(all))
	times := map[int32]int{}
	afternoons := 0
	for round := 0; len(out) < want && round < 2; round++ {
		for i := 0; i < len(all) && len(out) < want; i++ {
			if taken[i] || times[all[i].day] > round {
				continue
			}
			pick := i
			late := 2*afternoons < len(out)
			for j := i; j < len(all) && all[j].day == all[i].day && all[j].score == all[i].score; j++ {
				if !taken[j] && (all[j].slot.Start >= noon) == late {
					pick = j
					break
				}
			}
			taken[pick] = true
			if same := func(s Slot) bool { return s.On == all[pick].slot.On && s.Start == all[pick].slot.Start }; slices.ContainsFunc(out, same) {
				continue
			}
			if all[pick].slot.Start >= noon {
				afternoons++
			}
			times[all[pick].day]++
			out = append(out, all[pick].slot)
		}
	}
	return out
}
