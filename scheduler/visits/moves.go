package visits

import (
	"cmp"
	"slices"

	"ventdue/vent"
)

// previous gives what was proposed before in numbers, as far as it still names something, by technician, day and start.
func (m *model) previous(p *Problem) []placed {
	technicians := map[vent.ID]int32{}
	for i := range p.Technicians {
		technicians[p.Technicians[i].ID] = int32(i)
	}
	dues := map[vent.ID]int32{}
	for i := range p.Dues {
		dues[p.Dues[i].ID] = int32(i)
	}
	var out []placed
	for _, v := range p.Previous {
		t, ok := technicians[v.TechnicianID]
		day := p.Today.DaysUntil(v.On)
		if !ok || day < 0 || day >= int(m.days) {
			continue
		}
		x := placed{tech: t, day: int32(day), start: int32(v.Start)}
		for _, id := range v.Dues {
			if n, ok := dues[id]; ok {
				x.dues = append(x.dues, n)
			}
		}
		if len(x.dues) > 0 {
			x.start -= m.shift(m.dues[x.dues[0]].site, t, x.day)
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b placed) int {
		return cmp.Or(cmp.Compare(a.tech, b.tech), cmp.Compare(a.day, b.day), cmp.Compare(a.start, b.start))
	})
	return out
}

// moves lists the dues that stand elsewhere than before, by the day they stand on now, else by the one before.
func (best *plan) moves(p *Problem, now []Visit) []Move {
	before, after, frozen := spots(p.Previous), spots(now), spots(p.Frozen)
	index := map[vent.ID]int32{}
	for i := range p.Dues {
		index[p.Dues[i].ID] = int32(i)
	}
	var out []Move
	for id, from := range before {
		x, due := index[id]
		to, planned := after[id]
		_, settled := frozen[id]
		mv := Move{DueID: id, From: from, To: to}
		switch {
		case planned && to == from:
			continue
		case settled:
			mv.To, mv.Cause = frozen[id], CauseSettled
		case !due:
			mv.Cause = CauseGone
		default:
			mv.Cause = best.whyMoved(p, x, from)
		}
		out = append(out, mv)
	}
	for id, to := range after {
		if _, had := before[id]; !had {
			out = append(out, Move{DueID: id, To: to, Cause: CauseNew})
		}
	}
	for i := range out {
		out[i].Text = movedText(out[i].Cause)
	}
	slices.SortFunc(out, func(a, b Move) int {
		return cmp.Or(cmp.Compare(a.when(), b.when()), slices.Compare(a.DueID[:], b.DueID[:]))
	})
	return out
}

func (m Move) when() vent.Date {
	if m.To.On != 0 {
		return m.To.On
	}
	return m.From.On
}

// spots gives where each due stands.
func spots(visits []Visit) map[vent.ID]Spot {
	out := map[vent.ID]Spot{}
	for _, v := range visits {
		for _, id := range v.Dues {
			out[id] = Spot{v.TechnicianID, v.On, v.Start}
		}
	}
	return out
}

// whyMoved finds what keeps a due from where it stood.
func (best *plan) whyMoved(p *Problem, x int32, from Spot) Cause {
	t := slices.IndexFunc(p.Technicians, func(t Technician) bool { return t.ID == from.TechnicianID })
	on := p.Today.DaysUntil(from.On)
	if t < 0 {
		return CauseOff
	}
	if on < 0 || on >= int(best.m.days) {
		return CauseWindow
	}
	if c := best.hurdle(x, int32(t), int32(on)); c != CauseFull {
		return c
	}
	return CauseBetter
}

// movedText says why a due moved; about one day where the sentence for a late due speaks of a window.
func movedText(c Cause) string {
	switch c {
	case CauseSkill:
		return "who was to come does not have the skills it needs"
	case CauseOff:
		return "who was to come does not work that day"
	case CauseClosed:
		return "the site is closed that day"
	case CauseAccess:
		return "the site's access hours leave too little of that day"
	case CauseBooked:
		return "a booked visit takes that time"
	}
	return c.text()
}
