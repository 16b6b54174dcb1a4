package visits

import (
	"cmp"
	"fmt"
	"slices"

	"ventdue/vent"
)

// Schedule is what a plan proposes.
type Schedule struct {
	// Visits proposed, by day, technician and start. Frozen visits are not repeated.
	Visits []Visit `json:"visits"`
	// Late are the dues that are not done within their window, and why.
	Late []Late `json:"late,omitempty"`
	// Left are the dues that may wait beyond the last day and do.
	Left []vent.ID `json:"left,omitempty"`
	// Days are the technicians' days on which something is done, frozen or proposed.
	Days []Day `json:"days"`
	// Tiers are what the plan was judged by, the weightiest first.
	Tiers []Tier `json:"tiers"`
	// Moves are the dues that stand elsewhere than in the problem's previous visits.
	Moves []Move `json:"moves,omitempty"`
	// Steps is how many trial changes the search looked at.
	Steps int `json:"steps"`
}

// Late is a due that is not done within its window.
type Late struct {
	DueID  vent.ID   `json:"due_id"`
	Latest vent.Date `json:"latest"`
	On     vent.Date `json:"on,omitzero"` // when it is done instead; none: not at all
	Cause  Cause     `json:"cause"`
	Text   string    `json:"text"`
}

// Day is one technician's day.
type Day struct {
	TechnicianID vent.ID   `json:"technician_id"`
	On           vent.Date `json:"on"`
	Visits       int       `json:"visits"`
	Work         int       `json:"work_minutes"`  // at the sites, and blocks without one
	Drive        int       `json:"drive_minutes"` // from home over the sites and back
}

// Tier is one thing a plan is judged by: what it came to, and a bound below which no plan can come.
type Tier struct {
	Name  string `json:"name"` // late, trips, wishes, drive, wait
	Value int    `json:"value"`
	Bound int    `json:"bound"`
}

// Move is a due that stands elsewhere than before.
type Move struct {
	DueID vent.ID `json:"due_id"`
	From  Spot    `json:"from,omitzero"` // none: it had no place
	To    Spot    `json:"to,omitzero"`   // none: it has none now
	Cause Cause   `json:"cause"`
	Text  string  `json:"text"`
}

// Spot is where a due stands: with whom, on which day, at what time.
type Spot struct {
	TechnicianID vent.ID   `json:"technician_id"`
	On           vent.Date `json:"on"`
	Start        int       `json:"start_minutes"`
}

// Plan proposes visits. The same problem always gets the same schedule. It gives an error that matches vent.ErrInvalid where
// the problem cannot be; dues that cannot be done in time are no error but stand in the schedule with the cause.
func Plan(p Problem) (Schedule, error) {
	if err := p.Validate(); err != nil {
		return Schedule{}, fmt.Errorf("plan visits: %w", err)
	}
	m, err := compile(&p)
	if err != nil {
		return Schedule{}, err
	}
	best := m.solve(int32(len(m.techs)), m.previous(&p), p.Policy.Effort)
	return best.finish(&p), nil
}

// finish places what came late or may wait, and says everything in the problem's words.
func (best *plan) finish(p *Problem) Schedule {
	m := best.m
	intime := slices.Clone(best.where)
	best.catchUp()
	best.ride()
	out := Schedule{Visits: best.visits(p), Days: best.workdays(p), Steps: best.steps}
	frozen := frozenDays(p)
	out.Late = best.lateOnes(p, intime, frozen)
	for x := range m.dues {
		if _, booked := frozen[p.Dues[x].ID]; m.dues[x].optional && best.where[x] < 0 && !booked {
			out.Left = append(out.Left, p.Dues[x].ID)
		}
	}
	out.Tiers = best.tiers(out.Late, intime)
	if len(p.Previous) > 0 {
		out.Moves = best.moves(p, out.Visits)
	}
	return out
}

// visits lists the proposed ones.
func (best *plan) visits(p *Problem) []Visit {
	m := best.m
	out := []Visit{}
	for td := range best.routes {
		d := m.dayOf(int32(td))
		place := d.home
		for _, s := range best.routes[td].stops {
			if !s.fixed {
				v := Visit{
					TechnicianID: p.Technicians[d.tech].ID, SiteID: p.Sites[s.site].ID, On: p.Today.AddDays(int(d.day)),
					Start: int(s.early + m.shift(s.site, d.tech, d.day)), Minutes: int(s.work), Drive: int(m.roads.minutes(place, s.site)),
				}
				for _, x := range s.dues {
					v.Dues = append(v.Dues, p.Dues[x].ID)
				}
				out = append(out, v)
			}
			place = s.site
		}
	}
	slices.SortStableFunc(out, func(a, b Visit) int { return cmp.Compare(a.On, b.On) })
	return out
}

func (best *plan) workdays(p *Problem) []Day {
	m := best.m
	out := []Day{}
	for td := range best.routes {
		stops := best.routes[td].stops
		if len(stops) == 0 {
			continue
		}
		d := m.dayOf(int32(td))
		day := Day{
			TechnicianID: p.Technicians[d.tech].ID, On: p.Today.AddDays(int(d.day)), Drive: int(m.drive(d, stops)),
		}
		for i := range stops {
			day.Work += int(stops[i].work)
			if int(stops[i].site) < len(m.sites) {
				day.Visits++
			}
		}
		out = append(out, day)
	}
	slices.SortStableFunc(out, func(a, b Day) int { return cmp.Compare(a.On, b.On) })
	return out
}

// lateOnes lists the dues that are not done within their own window.
func (best *plan) lateOnes(p *Problem, intime []int32, frozen map[vent.ID]vent.Date) []Late {
	m := best.m
	out := []Late{}
	for x := range m.dues {
		d := &m.dues[x]
		_, latest := p.Dues[x].window()
		l := Late{DueID: p.Dues[x].ID, Latest: latest}
		if on, is := frozen[p.Dues[x].ID]; is && d.out {
			if on > latest {
				l.On, l.Cause = on, CauseBooked
				if d.overdue { // it was late before anybody could book
					l.Cause = best.why(int32(x))
				}
				l.Text = l.Cause.text()
				out = append(out, l)
			}
			continue
		}
		if d.out || d.optional || intime[x] >= 0 && !d.overdue {
			continue
		}
		if td := best.where[x]; td >= 0 {
			l.On = p.Today.AddDays(int(td % m.days))
		}
		l.Cause = best.why(int32(x))
		l.Text = best.say(p, l.Cause, x)
		out = append(out, l)
	}
	return out
}

// frozenDays gives the first day on which a frozen visit does each due.
func frozenDays(p *Problem) map[vent.ID]vent.Date {
	days := map[vent.ID]vent.Date{}
	for _, v := range p.Frozen {
		for _, id := range v.Dues {
			if on, twice := days[id]; !twice || v.On < on {
				days[id] = v.On
			}
		}
	}
	return days
}
