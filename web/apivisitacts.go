package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"ventdue/desk"
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// What a program may say of a visit.
type (
	apiHold struct {
		Until vent.Instant `json:"until,omitzero" description:"without it for two days"`
	}
	apiMove struct {
		On           vent.Date `json:"on,omitzero" description:"without it the day stays"`
		Start        *int      `json:"start_minutes,omitempty" minimum:"0" maximum:"1439" description:"after midnight at the site; without it the time stays"`
		TechnicianID vent.ID   `json:"technician_id,omitzero" description:"without it the technician stays"`
		Why          string    `json:"why,omitempty"`
		Force        bool      `json:"force,omitempty" description:"refuse only a time that is taken"`
	}
	apiCancel struct {
		Doors []vent.ID `json:"doors,omitempty" description:"only these of the visit's doors"`
		Why   string    `json:"why,omitempty"`
	}
	apiClose struct {
		Doors []apiDoorResult `json:"doors,omitempty" description:"doors that are not named are done"`
	}
	apiDoorResult struct {
		ID      vent.ID      `json:"id" description:"of the visit's door"`
		State   string       `json:"state" enum:"done,nobody_home,refused"`
		Outcome vent.Outcome `json:"outcome,omitempty" description:"of the cleaning, where no finding of that day was recorded; without it a full one"`
		Why     string       `json:"why,omitempty"`
	}
)

// apiVisitChange is a visit as a change left it.
type apiVisitChange struct {
	Visit   *apiVisit `json:"visit,omitempty"`   // none: a proposal that was dropped
	Known   bool      `json:"known,omitempty"`   // it was so already
	Dropped bool      `json:"dropped,omitempty"` // a proposal goes without a trace
}

// apiVisitClosed is a visit of which it was written down what came of it.
type apiVisitClosed struct {
	Visit    apiVisit  `json:"visit"`
	Known    bool      `json:"known,omitempty"`
	Findings []vent.ID `json:"findings"` // that were written for doors that were done and had none
	Left     []apiDue  `json:"left"`     // that goes back to planning
}

// slotTaken refuses a time and tells the next ones.
type slotTaken struct {
	err   error
	slots []apiSlot
}

func (e slotTaken) Error() string { return e.err.Error() }
func (e slotTaken) Unwrap() error { return e.err }

// orSlots adds to a refused time those that could be had. Where none can be found, the refusal alone is told.
func orSlots(err error, find func() ([]visits.Slot, error)) error {
	if !errors.Is(err, vent.ErrConflict) || errors.Is(err, desk.ErrTooLate) {
		return err
	}
	slots, failed := find()
	if failed != nil || len(slots) == 0 {
		return err
	}
	return slotTaken{err, each(slots, slotOf)}
}

// visitStep makes the handler of one thing that can be done with a visit: it reads what is said, and does it.
func visitStep[In any](s *server, do func(by desk.By, id vent.ID, in In) (desk.VisitChange, error)) handler {
	return func(w http.ResponseWriter, r *http.Request, v visitor) error {
		t, err := s.visitOf(r, v)
		if err != nil {
			return err
		}
		var in In
		if err := readJSON(r, &in); err != nil {
			return err
		}
		change, err := do(s.by(v), t.Visit.ID, in)
		if err != nil {
			return orSlots(err, func() ([]visits.Slot, error) {
				return s.desk.MoveSlots(s.by(v), vent.Scope{Kind: vent.KindSite, ID: t.Visit.SiteID}, t.Visit.ID)
			})
		}
		return s.writeChange(w, v, http.StatusOK, change)
	}
}

func (s *server) writeChange(w http.ResponseWriter, v visitor, status int, change desk.VisitChange) error {
	if change.Visit.ID.IsZero() {
		return writeJSON(w, status, apiVisitChange{Dropped: true})
	}
	t, err := s.desk.Visit(change.Visit.ID)
	if err != nil {
		return err
	}
	x := s.visitFor(v, t)
	return writeJSON(w, status, apiVisitChange{Visit: &x, Known: change.Known})
}

// usualHold is how long a visit is held where nobody says.
const usualHold = 48 * time.Hour

func (s *server) holdVisit(by desk.By, id vent.ID, in apiHold) (out desk.VisitChange, err error) {
	until := by.Now.Add(usualHold)
	if !in.Until.IsZero() {
		until = in.Until.Time()
	}
	if !until.After(by.Now) {
		var p vent.Problems
		p.Add("until", in.Until.String(), "is over: name a moment to come")
		return out, p
	}
	return s.desk.HoldVisit(by, id, until)
}

func (s *server) moveVisit(by desk.By, id vent.ID, in apiMove) (out desk.VisitChange, err error) {
	var p vent.Problems
	to := vent.Spot{TechnicianID: in.TechnicianID, On: in.On, Start: -1}
	if in.Start != nil {
		to.Start = *in.Start
		checkStart(&p, to.Start)
	}
	if in.On == 0 && in.Start == nil && in.TechnicianID.IsZero() {
		p.Add("on", "", "is missing: name a day, a time or a technician")
	}
	if err := p.Err(); err != nil {
		return out, err
	}
	return s.desk.MoveVisit(by, id, to, in.Why, in.Force)
}

func checkStart(p *vent.Problems, start int) {
	if start < 0 || start >= 24*60 {
		p.Add("start_minutes", fmt.Sprint(start), "must be from 0 to %d", 24*60-1)
	}
}

func (s *server) apiCloseVisit(w http.ResponseWriter, r *http.Request, v visitor) error {
	t, err := s.visitOf(r, v)
	if err != nil {
		return err
	}
	var in apiClose
	if err := readJSON(r, &in); err != nil {
		return err
	}
	var p vent.Problems
	var doors []desk.DoorResult
	for i, d := range in.Doors {
		if state := vent.VisitState(d.State); state != vent.VisitDone && state != vent.NobodyHome && state != vent.Refused {
			p.Add(fmt.Sprintf("doors[%d].state", i), d.State, "must be done, nobody_home or refused")
		}
		doors = append(doors, desk.DoorResult{Part: d.ID, State: vent.VisitState(d.State), Outcome: d.Outcome, Why: d.Why})
	}
	if err := p.Err(); err != nil {
		return err
	}
	closed, err := s.desk.CloseVisit(s.by(v), t.Visit.ID, doors)
	if err != nil {
		return err
	}
	if t, err = s.desk.Visit(t.Visit.ID); err != nil {
		return err
	}
	today := vent.DateOf(s.now().In(zoneOf(t.Visit.Zone)))
	return writeJSON(w, http.StatusOK, apiVisitClosed{Visit: s.visitFor(v, t), Known: closed.Known, Left: duesOf(s.words(v), closed.Left, today),
		Findings: each(closed.Findings, func(f desk.Recorded) vent.ID { return f.Finding.ID })})
}

// apiVisitRoutes names the addresses for visits.
func (s *server) apiVisitRoutes() []route {
	const office, technician, read, record, all = vent.Office, vent.Technician, vent.TokenRead, vent.TokenRecord, vent.TokenAll
	step := func(name, id, summary string, in any, h handler) route {
		return apiFor(office, all, "POST /api/visits/{id}/"+name, h).says(apiDoc{ID: id, Summary: summary, In: in, Out: apiVisitChange{}, Once: true})
	}
	bare := func(do func(by desk.By, id vent.ID) (desk.VisitChange, error)) handler {
		return visitStep(s, func(by desk.By, id vent.ID, _ struct{}) (desk.VisitChange, error) { return do(by, id) })
	}
	return []route{
		apiFor(office, read, "GET /api/visits", s.apiVisits).says(apiDoc{ID: "listVisits", Summary: "Visits by day and time", Query: apiVisitQuery{}, Out: apiVisitList{}}),
		apiFor(technician, read, "GET /api/visits/{id}", s.apiVisit).says(apiDoc{ID: "getVisit", Summary: "One visit with its doors; a technician sees their own", Out: apiVisit{}}),
		apiFor(office, read, "GET /api/plan", s.apiPlanner(func(ctx context.Context, by desk.By) (desk.Proposal, error) { return s.desk.PlanVisits(ctx, by) })).
			says(apiDoc{ID: "planVisits", Summary: "What planning would propose. Nothing is written; new counts all visits of the plan", Out: apiPlan{}}),
		apiFor(office, all, "POST /api/plan", s.apiPlanner(s.propose)).
			says(apiDoc{ID: "proposeVisits", Summary: "Plan visits and write them as proposals; nobody is told. What is agreed or frozen stays", Out: apiPlan{}, Once: true}),
		apiFor(office, read, "GET /api/ahead", s.apiAhead).says(apiDoc{ID: "lookAhead", Summary: "The work of the coming twelve months against what the technicians can do", Out: apiAhead{}}),
		step("book", "bookVisit", "Agree on a proposed or held visit. A time that does not do is refused with the next ones", struct{}{},
			bare(func(by desk.By, id vent.ID) (desk.VisitChange, error) { return s.desk.BookVisit(by, id) })),
		step("hold", "holdVisit", "Keep a proposed visit's time until a moment: the customer can agree to it", apiHold{}, visitStep(s, s.holdVisit)),
		step("freeze", "freezeVisit", "Planning leaves the visit where it is", struct{}{},
			bare(func(by desk.By, id vent.ID) (desk.VisitChange, error) { return s.desk.Freeze(by, id, true) })),
		step("thaw", "thawVisit", "Planning may move the visit again", struct{}{},
			bare(func(by desk.By, id vent.ID) (desk.VisitChange, error) { return s.desk.Freeze(by, id, false) })),
		step("move", "moveVisit", "Put a visit on another day or time, or give it to another technician", apiMove{}, visitStep(s, s.moveVisit)),
		step("cancel", "cancelVisit", "Call a visit off, or some of its doors. A proposal goes without a trace", apiCancel{},
			visitStep(s, func(by desk.By, id vent.ID, in apiCancel) (desk.VisitChange, error) {
				return s.desk.CancelVisit(by, id, in.Doors, in.Why)
			})),
		apiFor(technician, record, "POST /api/visits/{id}/close", s.apiCloseVisit).says(apiDoc{ID: "closeVisit", Once: true, In: apiClose{}, Out: apiVisitClosed{},
			Summary: "Write down what became of a visit, door by door. A technician closes their own"}),
	}
}
