package web

import (
	"context"
	"net/http"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// apiVisit is a visit, or a block of a technician's own time, which has no site. How to get in stands nowhere in it: see the
// day sheet.
type apiVisit struct {
	ID         vent.ID         `json:"id"`
	State      vent.VisitState `json:"state"`
	On         vent.Date       `json:"on"`
	Start      int             `json:"start_minutes"` // after midnight, in the zone
	Minutes    int             `json:"minutes"`
	Zone       string          `json:"zone"` // IANA
	Technician *apiNamed       `json:"technician,omitempty"`
	Site       *apiNamed       `json:"site,omitempty"`
	Customer   *apiNamed       `json:"customer,omitempty"`
	Frozen     bool            `json:"frozen,omitempty"`
	Note       string          `json:"note,omitempty"`
	Until      vent.Instant    `json:"until,omitzero"` // of a held one
	Drive      int             `json:"drive_minutes"`
	Told       vent.Instant    `json:"told,omitzero"`
	Why        string          `json:"why,omitempty"`
	Was        *apiSpot        `json:"was,omitempty"`
	Closed     vent.Instant    `json:"closed,omitzero"`
	ClosedBy   string          `json:"closed_by,omitempty"`
	UID        string          `json:"uid"`
	Sequence   int             `json:"sequence"`
	Doors      []apiVisitDoor  `json:"doors"`
}

// apiVisitDoor is what a visit does behind one door; without a unit: for the building.
type apiVisitDoor struct {
	ID       vent.ID         `json:"id"`
	Unit     *apiNamed       `json:"unit,omitempty"`
	Start    int             `json:"start_minutes"`
	Minutes  int             `json:"minutes"`
	State    vent.VisitState `json:"state"`
	Why      string          `json:"why,omitempty"`
	Occupant *apiNamed       `json:"occupant,omitempty"`
	Dues     []apiDue        `json:"dues"`
	Left     []vent.ID       `json:"left,omitempty"` // dues that were not done
	UID      string          `json:"uid"`
}

// apiSpot is where a visit stands or stood.
type apiSpot struct {
	TechnicianID vent.ID   `json:"technician_id,omitzero"`
	On           vent.Date `json:"on"`
	Start        int       `json:"start_minutes"`
}

type apiVisitList struct {
	Total  int        `json:"total"` // that fit, listed or not
	Visits []apiVisit `json:"visits"`
}

type apiVisitQuery struct {
	From       vent.Date `query:"from" description:"first day; without it all days"`
	To         vent.Date `query:"to" description:"the first day that is no longer asked for"`
	Technician vent.ID   `query:"technician" description:"only this technician's"`
	Site       vent.ID   `query:"site" description:"only this building's"`
	Over       bool      `query:"over" description:"those that are over or called off as well"`
	Max        int       `query:"max" minimum:"1" maximum:"1000" default:"100"`
}

// named gives what has a name; nil where there is nothing.
func named(id vent.ID, name, address string) *apiNamed {
	if id.IsZero() {
		return nil
	}
	return &apiNamed{ID: id, Name: name, Address: address}
}

func (s *server) visitFor(v visitor, t desk.TripView) apiVisit {
	x := t.Visit
	out := apiVisit{ID: x.ID, State: x.State, On: x.On, Start: x.Start, Minutes: x.Minutes, Zone: x.Zone, Frozen: x.Frozen, Note: x.Note,
		Until: x.Until, Drive: x.Drive, Told: x.Told, Why: x.Why, Closed: x.Closed, ClosedBy: x.ClosedBy, UID: x.UID, Sequence: x.Sequence,
		Technician: named(t.Technician.ID, t.Technician.Name, ""), Site: named(t.Site.ID, t.Site.Name, t.Site.Address),
		Customer: named(t.Customer.ID, t.Customer.Name, ""), Doors: []apiVisitDoor{}}
	if x.Was.On != 0 {
		was := apiSpot(x.Was)
		out.Was = &was
	}
	words, today := s.words(v), vent.DateOf(s.now().In(zoneOf(x.Zone)))
	for _, p := range t.Parts {
		out.Doors = append(out.Doors, visitDoorOf(words, p, today))
	}
	return out
}

func visitDoorOf(words wording.Words, p desk.TripPart, today vent.Date) apiVisitDoor {
	return apiVisitDoor{ID: p.ID, Unit: named(p.Unit.ID, p.Unit.Name, ""), Start: p.Start, Minutes: p.Minutes, State: p.State, Why: p.Why,
		Occupant: named(p.Occupant.ID, p.Occupant.Name, ""), Left: p.Left, UID: p.UID,
		Dues: each(p.Dues, func(d desk.DueView) apiDue { return placedDue(words, d, today) })}
}

func (s *server) apiVisits(w http.ResponseWriter, r *http.Request, v visitor) error {
	given := r.URL.Query()
	var p vent.Problems
	q := desk.VisitQuery{TechnicianID: idAsked(&p, given.Get("technician"), "technician"), SiteID: idAsked(&p, given.Get("site"), "site"),
		From: dateAsked(&p, given.Get("from"), "from"), To: dateAsked(&p, given.Get("to"), "to"), Over: given.Get("over") == "true"}
	if q.From != 0 && q.To != 0 && q.To <= q.From {
		p.Add("to", q.To.String(), "must be after from")
	}
	if err := p.Err(); err != nil {
		return err
	}
	var err error
	if q.Max, err = rowsAsked(given.Get("max")); err != nil {
		return err
	}
	list, total, err := s.desk.Visits(s.by(v), q)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiVisitList{Total: total, Visits: each(list, func(t desk.TripView) apiVisit { return s.visitFor(v, t) })})
}

// idAsked reads an id of an address; none where none is given.
func idAsked(p *vent.Problems, given, field string) vent.ID {
	if given == "" {
		return vent.ID{}
	}
	id, err := vent.ParseID(given)
	if err != nil {
		p.Add(field, given, "is not an id")
	}
	return id
}

// dateAsked reads a day of an address; none where none is given.
func dateAsked(p *vent.Problems, given, field string) vent.Date {
	if given == "" {
		return 0
	}
	on, err := vent.ParseDate(given)
	if err != nil {
		p.Add(field, given, "is not a day: write it as YYYY-MM-DD")
	}
	return on
}

func (s *server) apiVisit(w http.ResponseWriter, r *http.Request, v visitor) error {
	t, err := s.visitOf(r, v)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, s.visitFor(v, t))
}

// apiPlan is what planning visits brought about, or would bring about.
type apiPlan struct {
	Today   vent.Date     `json:"today"`
	Last    vent.Date     `json:"last"` // day that was planned
	New     int           `json:"new"`
	Moved   int           `json:"moved"`
	Kept    int           `json:"kept"`
	Dropped int           `json:"dropped"`
	Stale   int           `json:"stale"` // dues that changed meanwhile: the next plan takes them
	Left    int           `json:"left"`  // dues that may wait beyond the last day, and do
	Moves   []apiPlanMove `json:"moves"`
	Late    []apiPlanLate `json:"late"`
}

type apiPlanMove struct {
	DueID vent.ID      `json:"due_id"`
	Where string       `json:"where"`
	From  *apiSpot     `json:"from,omitempty"` // none: it had no place
	To    *apiSpot     `json:"to,omitempty"`   // none: it has none now
	Cause visits.Cause `json:"cause"`
	Why   string       `json:"why"`
}

type apiPlanLate struct {
	DueID  vent.ID      `json:"due_id"`
	Where  string       `json:"where"`
	Latest vent.Date    `json:"latest"`
	On     vent.Date    `json:"on,omitzero"` // when it is done instead; none: not at all
	Cause  visits.Cause `json:"cause"`
	Why    string       `json:"why"`
}

func planOf(words wording.Words, x desk.Proposal) apiPlan {
	spot := func(p visits.Spot) *apiSpot {
		if p.On == 0 {
			return nil
		}
		return &apiSpot{TechnicianID: p.TechnicianID, On: p.On, Start: p.Start}
	}
	return apiPlan{Today: x.Today, Last: x.Last, New: x.New, Moved: x.Moved, Kept: x.Kept, Dropped: x.Dropped, Stale: x.Stale, Left: x.Left,
		Moves: each(x.Moves, func(m desk.DueMove) apiPlanMove {
			return apiPlanMove{DueID: m.DueID, Where: m.Label, From: spot(m.From), To: spot(m.To), Cause: m.Cause, Why: words.Say("visit.cause." + string(m.Cause))}
		}),
		Late: each(x.Late, func(l desk.DueLate) apiPlanLate { return planLateOf(words, l) })}
}

func planLateOf(words wording.Words, l desk.DueLate) apiPlanLate {
	return apiPlanLate{DueID: l.DueID, Where: l.Label, Latest: l.Latest, On: l.On, Cause: l.Cause, Why: words.Say("visit.cause." + string(l.Cause))}
}

// apiPlanner answers with a plan, written as proposals or not.
func (s *server) apiPlanner(plan func(ctx context.Context, by desk.By) (desk.Proposal, error)) handler {
	return func(w http.ResponseWriter, r *http.Request, v visitor) error {
		x, err := plan(r.Context(), s.by(v))
		if err != nil {
			return err
		}
		return writeJSON(w, http.StatusOK, planOf(s.words(v), x))
	}
}

// propose writes proposals to the end, also when whoever asked has gone.
func (s *server) propose(ctx context.Context, by desk.By) (desk.Proposal, error) {
	return s.desk.Propose(context.WithoutCancel(ctx), by)
}

// apiAhead is the work of the coming twelve months against what the technicians can do.
type apiAhead struct {
	Today       vent.Date      `json:"today"`
	Last        vent.Date      `json:"last"`
	Technicians int            `json:"technicians"`
	Weeks       []apiAheadWeek `json:"weeks"`
	Late        []apiPlanLate  `json:"late"`
	NoRoom      int            `json:"no_room"` // of the late ones: no day is found at all
	Extra       []apiExtraDay  `json:"extra_days"`
}

type apiAheadWeek struct {
	Monday   vent.Date `json:"monday"`
	Visits   int       `json:"visits"`
	Dues     int       `json:"dues"`
	Work     int       `json:"work_minutes"`
	Drive    int       `json:"drive_minutes"`
	Capacity int       `json:"capacity_minutes"`
	Late     int       `json:"late"`
}

// apiExtraDay is a day of one more technician that would help.
type apiExtraDay struct {
	On   vent.Date `json:"on"`
	Dues int       `json:"dues"`
	Left int       `json:"left"` // dues that still find no room
}

func (s *server) apiAhead(w http.ResponseWriter, r *http.Request, v visitor) error {
	x, err := s.desk.WorkAhead(r.Context(), s.by(v))
	if err != nil {
		return err
	}
	words := s.words(v)
	return writeJSON(w, http.StatusOK, apiAhead{Today: x.Today, Last: x.Last, Technicians: x.Technicians, NoRoom: x.NoRoom,
		Weeks: each(x.Weeks, func(l visits.Load) apiAheadWeek { return apiAheadWeek(l) }),
		Late:  each(x.Late, func(l desk.DueLate) apiPlanLate { return planLateOf(words, l) }),
		Extra: each(x.Extra, func(e visits.Extra) apiExtraDay { return apiExtraDay(e) })})
}
