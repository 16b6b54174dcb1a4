package main

import (
	"context"
	"fmt"
	"time"

	"ventdue/cmd/ventdue/call"
	"ventdue/desk"
	"ventdue/desk/picture"
	"ventdue/desk/wording"
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// The operations on visits.
const (
	opVisits     = "visits"
	opVisitPlan  = "visits.plan"
	opVisitDo    = "visits.do"
	opVisitAhead = "visits.ahead"
	opVisitLink  = "visits.link"
	opTechnician = "technician"
)

// visitLine is a visit as the commands print it and as their --json gives it.
type visitLine struct {
	ID         vent.ID         `json:"id"`
	On         vent.Date       `json:"on"`
	Start      string          `json:"start"` // at the site
	Minutes    int             `json:"minutes"`
	Drive      int             `json:"drive_minutes"`
	Zone       string          `json:"zone"`
	State      vent.VisitState `json:"state"`
	Frozen     bool            `json:"frozen,omitempty"`
	Until      vent.Instant    `json:"held_until,omitzero"`
	Technician string          `json:"technician"`
	Where      string          `json:"where"`
	Customer   string          `json:"customer,omitempty"`
	Why        string          `json:"why,omitempty"`
	Was        string          `json:"was,omitempty"` // where it stood before it was last moved
	UID        string          `json:"uid"`
	Sequence   int             `json:"sequence"`
	Doors      []doorLine      `json:"doors"`
}

type doorLine struct {
	ID      vent.ID         `json:"id"`
	Door    string          `json:"door,omitempty"`
	Start   string          `json:"start"`
	Minutes int             `json:"minutes"`
	State   vent.VisitState `json:"state"`
	What    []string        `json:"what"`
	Why     string          `json:"why,omitempty"`
}

func hhmm(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }

func visitLineOf(t desk.TripView) visitLine {
	v := t.Visit
	l := visitLine{ID: v.ID, On: v.On, Start: hhmm(v.Start), Minutes: v.Minutes, Drive: v.Drive, Zone: v.Zone, State: v.State, Frozen: v.Frozen,
		Until: v.Until, Technician: t.Technician.Name, Where: t.Site.Name, Customer: t.Customer.Name, Why: v.Why, UID: v.UID, Sequence: v.Sequence, Doors: []doorLine{}}
	if v.SiteID.IsZero() {
		l.Where = "own time: " + v.Note
	}
	if v.Was.On != 0 {
		l.Was = v.Was.On.String() + " " + hhmm(v.Was.Start)
	}
	for _, p := range t.Parts {
		d := doorLine{ID: p.ID, Door: p.Unit.Name, Start: hhmm(p.Start), Minutes: p.Minutes, State: p.State, Why: p.Why, What: []string{}}
		for _, due := range p.Dues {
			d.What = append(d.What, fmt.Sprintf("%s by %s", due.Due.Kind, due.Due.Day))
		}
		l.Doors = append(l.Doors, d)
	}
	return l
}

type visitsArgs struct {
	From, To   vent.Date
	Technician string
	Site       string
	Over       bool
	Max        int
}

type visitsAnswer struct {
	Visits []visitLine `json:"visits"`
	Total  int         `json:"total"`
	Wishes []wishLine  `json:"wishes,omitempty"` // days that people asked for and nobody has answered
}

type wishLine struct {
	Where string       `json:"where"`
	Text  string       `json:"text"`
	At    vent.Instant `json:"at"`
}

func (h *house) askVisits(_ context.Context, r call.Request, a visitsArgs) (out visitsAnswer, err error) {
	q := desk.VisitQuery{From: a.From, To: a.To, Over: a.Over, Max: a.Max}
	if a.From == 0 {
		q.From = vent.DateOf(r.Now.In(h.zone()))
	}
	if a.Technician != "" {
		p, err := h.desk.FindTechnician(a.Technician)
		if err != nil {
			return out, err
		}
		q.TechnicianID = p.ID
	}
	if a.Site != "" {
		if q.SiteID, err = h.siteNamed(a.Site); err != nil {
			return out, err
		}
	}
	list, total, err := h.desk.Visits(by(r), q)
	out = visitsAnswer{Visits: []visitLine{}, Total: total}
	for _, t := range list {
		out.Visits = append(out.Visits, visitLineOf(t))
	}
	if err != nil {
		return out, err
	}
	wishes, err := h.desk.Wishes()
	for _, w := range wishes {
		where := w.Site.Name
		if w.Unit.Name != "" {
			where += ", " + w.Unit.Name
		}
		out.Wishes = append(out.Wishes, wishLine{where, w.Text, w.At})
	}
	return out, err
}

func (h *house) zone() *time.Location {
	o, err := h.desk.Operator()
	if err == nil {
		if z, err := time.LoadLocation(o.Zone); err == nil {
			return z
		}
	}
	return time.UTC
}

func (h *house) siteNamed(words string) (vent.ID, error) {
	fits, err := h.desk.FindNamed(vent.KindSite, words, 2)
	switch {
	case err != nil:
		return vent.ID{}, err
	case len(fits) == 0:
		return vent.ID{}, fmt.Errorf("no site fits %q: %w", words, vent.ErrNotFound)
	case len(fits) > 1:
		return vent.ID{}, fmt.Errorf("%q fits %s and %s: give more words or the id: %w", words, fits[0].Name, fits[1].Name, vent.ErrConflict)
	}
	return fits[0].Scope.ID, nil
}

type planArgs struct {
	Write bool `json:"write"`
}

type planAnswer struct {
	From    vent.Date     `json:"from"`
	To      vent.Date     `json:"to"`
	New     int           `json:"new"`
	Moved   int           `json:"moved"`
	Kept    int           `json:"kept"`
	Dropped int           `json:"dropped"`
	Stale   int           `json:"stale,omitempty"`
	Left    int           `json:"may_wait"`
	Moves   []moveLine    `json:"moves,omitempty"`
	Late    []lateLine    `json:"late,omitempty"`
	Tiers   []visits.Tier `json:"tiers"`
}

type moveLine struct {
	Due   vent.ID      `json:"due"`
	Where string       `json:"where"`
	From  string       `json:"from,omitempty"`
	To    string       `json:"to,omitempty"`
	Cause visits.Cause `json:"cause"`
	Text  string       `json:"text"`
}

type lateLine struct {
	Due    vent.ID      `json:"due"`
	Where  string       `json:"where"`
	What   vent.DueKind `json:"what"`
	Latest vent.Date    `json:"latest"`
	On     vent.Date    `json:"on,omitzero"` // when it is done instead
	Cause  visits.Cause `json:"cause"`
	Text   string       `json:"text"`
}

func lateLines(all []desk.DueLate) (out []lateLine) {
	for _, l := range all {
		out = append(out, lateLine{l.DueID, l.Label, l.Due.Kind, l.Latest, l.On, l.Cause, l.Late.Text})
	}
	return out
}

func (h *house) askVisitPlan(ctx context.Context, r call.Request, a planArgs) (out planAnswer, err error) {
	plan := h.desk.PlanVisits
	if a.Write {
		plan = h.desk.Propose
	}
	p, err := plan(ctx, by(r))
	out = planAnswer{From: p.Today, To: p.Last, New: p.New, Moved: p.Moved, Kept: p.Kept, Dropped: p.Dropped, Stale: p.Stale, Left: p.Left,
		Late: lateLines(p.Late), Tiers: p.Tiers}
	spot := func(s visits.Spot) string {
		if s.On == 0 {
			return ""
		}
		return s.On.String() + " " + hhmm(s.Start)
	}
	for _, m := range p.Moves {
		out.Moves = append(out.Moves, moveLine{m.DueID, m.Label, spot(m.From), spot(m.To), m.Cause, m.Move.Text})
	}
	return out, err
}

// visitArgs is one thing done to one visit; which fields count depends on Do.
type visitArgs struct {
	Visit      string        `json:"visit"`
	Do         string        `json:"do"` // show, freeze, thaw, move, book, hold, cancel, close
	Technician string        `json:"technician,omitempty"`
	On         vent.Date     `json:"on,omitzero"`
	At         int           `json:"at"` // minutes after midnight; below 0: as it is
	Force      bool          `json:"force,omitempty"`
	Why        string        `json:"why,omitempty"`
	For        time.Duration `json:"for,omitempty"`
	Doors      []string      `json:"doors,omitempty"` // to cancel
	Shut       []string      `json:"shut,omitempty"`
	Refused    []string      `json:"refused,omitempty"`
	Partial    []string      `json:"partial,omitempty"`
}

type visitAnswer struct {
	Visit    visitLine `json:"visit,omitzero"`
	From     string    `json:"from,omitempty"` // where it stood before
	Known    bool      `json:"known,omitempty"`
	Dropped  bool      `json:"dropped,omitempty"`
	Findings int       `json:"findings,omitempty"`
	Left     int       `json:"left,omitempty"`
}

func (h *house) askVisit(_ context.Context, r call.Request, a visitArgs) (out visitAnswer, err error) {
	id, err := h.desk.FindVisit(a.Visit)
	if err != nil {
		return out, err
	}
	view, err := h.desk.Visit(id)
	if err != nil {
		return out, err
	}
	change, err := h.doVisit(r, a, view, &out)
	if err != nil {
		return out, err
	}
	out.Known = change.Known
	if w := change.Was; w.On != 0 && (w.On != change.Visit.On || w.Start != change.Visit.Start) {
		out.From = w.On.String() + " " + hhmm(w.Start)
	}
	if a.Do == "cancel" && view.Visit.State == vent.Proposed {
		out.Dropped, out.Visit, out.From = true, visitLineOf(view), ""
		return out, nil
	}
	view, err = h.desk.Visit(id)
	out.Visit = visitLineOf(view)
	return out, err
}

func (h *house) doVisit(r call.Request, a visitArgs, view desk.TripView, out *visitAnswer) (c desk.VisitChange, err error) {
	id := view.Visit.ID
	switch a.Do {
	case "show":
		return desk.VisitChange{}, nil
	case "freeze", "thaw":
		return h.desk.Freeze(by(r), id, a.Do == "freeze")
	case "book":
		return h.desk.BookVisit(by(r), id)
	case "hold":
		return h.desk.HoldVisit(by(r), id, r.Now.Add(a.For))
	case "move":
		to := vent.Spot{On: a.On, Start: a.At}
		if a.Technician != "" {
			p, err := h.desk.FindTechnician(a.Technician)
			if err != nil {
				return c, err
			}
			to.TechnicianID = p.ID
		}
		return h.desk.MoveVisit(by(r), id, to, a.Why, a.Force)
	case "cancel":
		parts, err := doorsOf(view, a.Doors)
		if err != nil {
			return c, err
		}
		return h.desk.CancelVisit(by(r), id, parts, a.Why)
	case "close":
		doors, err := doorResults(view, a)
		if err != nil {
			return c, err
		}
		closed, err := h.desk.CloseVisit(by(r), id, doors)
		out.Findings, out.Left = len(closed.Findings), len(closed.Left)
		return closed.VisitChange, err
	}
	return c, fmt.Errorf("do %q to a visit: use show, freeze, thaw, move, book, hold, cancel or close: %w", a.Do, vent.ErrInvalid)
}

// doorsOf finds parts of a visit by the names of their doors or their ids.
func doorsOf(view desk.TripView, names []string) (ids []vent.ID, err error) {
	for _, name := range names {
		found := false
		for _, p := range view.Parts {
			if name == p.Unit.Name || name == p.ID.String() || name == "all" {
				ids, found = append(ids, p.ID), true
			}
		}
		if !found {
			return nil, fmt.Errorf("the visit has no door %q: %w", name, vent.ErrNotFound)
		}
	}
	return ids, nil
}

func doorResults(view desk.TripView, a visitArgs) (out []desk.DoorResult, err error) {
	for _, x := range []struct {
		names  []string
		result desk.DoorResult
	}{
		{a.Shut, desk.DoorResult{State: vent.NobodyHome, Why: a.Why}},
		{a.Refused, desk.DoorResult{State: vent.Refused, Why: a.Why}},
		{a.Partial, desk.DoorResult{State: vent.VisitDone, Outcome: vent.Partial, Why: a.Why}},
	} {
		ids, err := doorsOf(view, x.names)
		if err != nil {
			return nil, err
		}
		for _, id := range ids {
			x.result.Part = id
			out = append(out, x.result)
		}
	}
	return out, nil
}

type aheadAnswer struct {
	From        vent.Date      `json:"from"`
	To          vent.Date      `json:"to"`
	Technicians int            `json:"technicians"`
	Weeks       []visits.Load  `json:"weeks"`
	Late        []lateLine     `json:"late,omitempty"`
	NoRoom      int            `json:"no_room"`
	Extra       []visits.Extra `json:"extra_days,omitempty"`
	Tiers       []visits.Tier  `json:"tiers"`
	Picture     string         `json:"picture,omitempty"` // an SVG
}

type aheadArgs struct {
	Picture bool `json:"picture,omitempty"`
}

func (h *house) askVisitAhead(ctx context.Context, r call.Request, a aheadArgs) (out aheadAnswer, err error) {
	x, err := h.desk.WorkAhead(ctx, by(r))
	if err != nil {
		return out, err
	}
	out = aheadAnswer{From: x.Today, To: x.Last, Technicians: x.Technicians, Weeks: x.Weeks, Late: lateLines(x.Late), NoRoom: x.NoRoom, Extra: x.Extra, Tiers: x.Tiers}
	if a.Picture {
		o, err := h.desk.Operator()
		if err != nil {
			return out, err
		}
		out.Picture = picture.Ahead{Weeks: x.Weeks, Alone: true}.SVG(wording.For(o.Language, o.Units))
	}
	return out, nil
}

type linkArgs struct {
	Person string `json:"person"`
	Site   string `json:"site,omitempty"`
}

type linkAnswer struct {
	Address string `json:"address"`
}

func (h *house) askVisitLink(_ context.Context, r call.Request, a linkArgs) (out linkAnswer, err error) {
	person, err := h.desk.FindPerson(a.Person)
	if err != nil {
		return out, err
	}
	site, err := h.siteNamed(a.Site)
	if err != nil {
		return out, err
	}
	path, err := h.desk.BookingLink(by(r), person, vent.Scope{Kind: vent.KindSite, ID: site})
	return linkAnswer{publicBase(*h.cfg.Load()) + path}, err
}

// technicianArgs says what is known of a technician; nil and "" keep what is stored.
type technicianArgs struct {
	Name, Email string
	Hours       string
	Home        *vent.Point
	Skills      []string
	Leave       []vent.Leave
	RunMinutes  int
	TripMinutes int
	MaxDues     int
	Block       *blockArgs // only takes time on a day
	List        bool
}

type blockArgs struct {
	On    vent.Date
	Hours vent.Span
	Note  string
}

type technicianAnswer struct {
	Technicians []vent.Person `json:"technicians"`
	Blocked     string        `json:"blocked,omitempty"`
}

func (h *house) askTechnician(_ context.Context, r call.Request, a technicianArgs) (out technicianAnswer, err error) {
	switch {
	case a.List:
		out.Technicians, err = h.desk.Technicians()
		return out, err
	case a.Block != nil:
		p, err := h.desk.FindTechnician(a.Name)
		if err != nil {
			return out, err
		}
		c, err := h.desk.BlockTime(by(r), p.ID, a.Block.On, a.Block.Hours, a.Block.Note)
		return technicianAnswer{[]vent.Person{p}, fmt.Sprintf("%s %s, visit %s", c.Visit.On, a.Block.Hours, c.Visit.ID)}, err
	}
	hours, err := vent.ParseWeek(a.Hours)
	if err != nil {
		return out, fmt.Errorf("%w: %w", err, vent.ErrInvalid)
	}
	p, err := h.desk.SetTechnician(by(r), a.Name, a.Email, func(p *vent.Person) {
		if !hours.IsZero() {
			p.Hours = hours
		}
		if a.Home != nil {
			p.Home = a.Home
		}
		if len(a.Skills) > 0 {
			p.Skills = a.Skills
		}
		p.Leave = append(p.Leave, a.Leave...)
		for _, x := range []struct{ to, from *int }{{&p.RunMinutes, &a.RunMinutes}, {&p.TripMinutes, &a.TripMinutes}, {&p.MaxDues, &a.MaxDues}} {
			if *x.from > 0 {
				*x.to = *x.from
			}
		}
	})
	return technicianAnswer{Technicians: []vent.Person{p}}, err
}
