package web

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/picture"
	"ventdue/vent"
)

// visitsPage lists the coming visits by week, what people asked for, and asks planning for proposals.
type visitsPage struct {
	page
	Weeks  []visitWeek
	Wishes []string
	Done   string
	Nobody bool // makes visits yet
	People []sheetLink
}

type visitWeek struct {
	Name  string
	Trips []tripRow
}

type tripRow struct {
	Link, When, State, Site, Customer, Who, Doors, Sheet string
	Proposed                                             bool
}

type sheetLink struct{ Name, Link string }

// shownVisits is how many visits the list shows.
const shownVisits = 300

func (s *server) showVisits(w http.ResponseWriter, _ *http.Request, v visitor) error {
	p, err := s.visitsPage(v)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "visits", p)
}

func (s *server) visitsPage(v visitor) (p visitsPage, err error) {
	by := s.by(v)
	p = visitsPage{page: s.newPage(v, "visits")}
	p.Title = p.Say("page.visits.title")
	today := vent.DateOf(s.now().In(zoneOf(s.operator().Zone)))
	list, _, err := s.desk.Visits(by, desk.VisitQuery{From: today, Max: shownVisits})
	if err != nil {
		return p, err
	}
	for _, t := range list {
		week := p.Say("page.visits.week", "date", p.Date(t.Visit.On.AddDays(-(int(t.Visit.On.Weekday())+6)%7)))
		if n := len(p.Weeks); n == 0 || p.Weeks[n-1].Name != week {
			p.Weeks = append(p.Weeks, visitWeek{Name: week})
		}
		last := &p.Weeks[len(p.Weeks)-1]
		last.Trips = append(last.Trips, p.row(t))
	}
	wishes, err := s.desk.Wishes()
	if err != nil {
		return p, err
	}
	for _, x := range wishes {
		p.Wishes = append(p.Wishes, strings.TrimSuffix(x.Site.Name+", "+x.Unit.Name, ", ")+": "+x.Text)
	}
	people, err := s.desk.Technicians()
	p.Nobody = len(people) == 0
	for _, x := range people {
		p.People = append(p.People, sheetLink{x.Name, s.root + "/days/" + today.String() + "/" + x.ID.String()})
	}
	return p, err
}

func (p page) row(t desk.TripView) tripRow {
	r := tripRow{Link: p.Root + "/visits/" + t.Visit.ID.String(), When: p.Time(t.Visit.On, t.Visit.Start, t.Visit.Minutes), State: p.VisitState(t.Visit.State),
		Site: t.Site.Name, Customer: t.Customer.Name, Who: t.Technician.Name, Proposed: t.Visit.State == vent.Proposed,
		Sheet: p.Root + "/days/" + t.Visit.On.String() + "/" + t.Visit.TechnicianID.String()}
	if t.Visit.SiteID.IsZero() {
		r.Site = p.Say("feed.own_time")
	}
	var doors []string
	for _, x := range t.Parts {
		if x.Unit.Name != "" && x.Unit.Kind != vent.House && x.State != vent.Cancelled {
			doors = append(doors, x.Unit.Name)
		}
	}
	r.Doors = strings.Join(doors, ", ")
	return r
}

// proposeVisits asks planning anew.
func (s *server) proposeVisits(w http.ResponseWriter, r *http.Request, v visitor) error {
	proposal, err := s.desk.Propose(context.WithoutCancel(r.Context()), s.by(v))
	if err != nil {
		return err
	}
	p, err := s.visitsPage(v)
	if err != nil {
		return err
	}
	n := strconv.Itoa
	p.Done = p.Say("page.visits.proposed", "new", n(proposal.New), "moved", n(proposal.Moved), "kept", n(proposal.Kept), "dropped", n(proposal.Dropped), "late", n(len(proposal.Late)))
	return s.render(w, http.StatusOK, "visits", p)
}

// visitPage is one visit with what can be done with it.
type visitPage struct {
	page
	Action                  string
	Row                     tripRow
	Site                    string
	Was, Why, Until, Notice string
	Parts                   []visitPart
	Office                  bool
	Frozen                  bool
	Proposed, Agreed        bool // what can be done depends on where it stands
	CanClose                bool
	OnDay, At               string
	Done, Problem           string
}

type visitPart struct {
	ID, Door, When, State, Who, Why string
	What                            []string
	Open                            bool // can still be closed one way or another
}

// ownOrOffice refuses a technician what is another's.
func ownOrOffice(v visitor, technician vent.ID) error {
	if v.role.May(vent.Office) || !v.person.IsZero() && v.person == technician {
		return nil
	}
	return vent.ErrNotFound
}

func (s *server) visitOf(r *http.Request, v visitor) (desk.TripView, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return desk.TripView{}, vent.ErrNotFound
	}
	t, err := s.desk.Visit(id)
	if err == nil {
		err = ownOrOffice(v, t.Visit.TechnicianID)
	}
	return t, err
}

func (s *server) showVisit(w http.ResponseWriter, r *http.Request, v visitor) error {
	t, err := s.visitOf(r, v)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "visit", s.visitPage(v, t))
}

func (s *server) visitPage(v visitor, t desk.TripView) visitPage {
	p := visitPage{page: s.newPage(v, "visits"), Office: v.role.May(vent.Office), Frozen: t.Visit.Frozen}
	p.Row = p.row(t)
	p.Title = p.Say("page.visit.title", "where", p.Row.Site)
	p.Action = p.Row.Link
	if !t.Visit.SiteID.IsZero() {
		p.Site = s.root + "/sites/" + t.Visit.SiteID.String()
	}
	p.OnDay, p.At, p.Why = t.Visit.On.String(), hourMinute(t.Visit.Start), t.Visit.Why
	if t.Visit.Was.On != 0 {
		p.Was = p.Say("page.visit.was", "when", p.From(t.Visit.Was.On, t.Visit.Was.Start))
	}
	if t.Visit.State == vent.Held {
		until := t.Visit.Until.Time().In(zoneOf(t.Visit.Zone))
		p.Until = p.Say("page.book.hold", "when", p.From(vent.DateOf(until), until.Hour()*60+until.Minute()))
	}
	if t.Site.NoticeDays > 0 {
		p.Notice = p.Say("page.visit.notice", "n", strconv.Itoa(t.Site.NoticeDays))
	}
	today := vent.DateOf(s.now().In(zoneOf(t.Visit.Zone)))
	p.Proposed, p.Agreed = t.Visit.State == vent.Proposed, t.Visit.State.Ahead()
	p.CanClose = (t.Visit.State == vent.Booked || t.Visit.State.Over()) && t.Visit.On <= today
	for _, x := range t.Parts {
		part := visitPart{ID: x.ID.String(), Door: firstOf(x.Unit.Name, p.Say("page.visit.building")), When: p.Clock(x.Start), State: p.VisitState(x.State), Why: x.Why,
			Who: x.Occupant.Name, Open: p.CanClose && x.State != vent.Cancelled}
		for _, d := range x.Dues {
			part.What = append(part.What, p.Say("page.book.due.line", "what", p.What(d.Due), "date", p.Date(d.Due.Day)))
		}
		p.Parts = append(p.Parts, part)
	}
	return p
}

func hourMinute(minutes int) string {
	return time.Date(2000, 1, 1, minutes/60, minutes%60, 0, 0, time.UTC).Format("15:04")
}

// changeVisit does what a button of the visit's page asks. Closing is for its technician too, all else for the office.
func (s *server) changeVisit(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	t, err := s.visitOf(r, v)
	if err != nil {
		return err
	}
	do := r.PostForm.Get("do")
	if do != "close" && !v.role.May(vent.Office) {
		return vent.ErrNotFound
	}
	failed := s.doVisit(r, v, t, do)
	if failed == nil && do == "cancel" && t.Visit.State == vent.Proposed {
		s.seeOther(w, r, "/visits")
		return nil
	}
	if t, err = s.desk.Visit(t.Visit.ID); err != nil {
		return err
	}
	p, status := s.visitPage(v, t), http.StatusOK
	switch {
	case failed == nil:
		p.Done = p.Say("page.visit.done", "state", p.VisitState(t.Visit.State), "when", p.Time(t.Visit.On, t.Visit.Start, t.Visit.Minutes))
	case errors.Is(failed, vent.ErrConflict) || errors.Is(failed, vent.ErrInvalid):
		a := answerTo(failed)
		p.Problem, status = firstOf(a.detail, p.Say("page.visit.wrong")), a.status
	default:
		return failed
	}
	return s.render(w, status, "visit", p)
}

func (s *server) doVisit(r *http.Request, v visitor, t desk.TripView, do string) (err error) {
	by, id, form := s.by(v), t.Visit.ID, r.PostForm
	why := strings.TrimSpace(form.Get("why"))
	switch do {
	case "book":
		_, err = s.desk.BookVisit(by, id)
	case "hold":
		_, err = s.desk.HoldVisit(by, id, s.now().Add(48*time.Hour))
	case "freeze", "thaw":
		_, err = s.desk.Freeze(by, id, do == "freeze")
	case "cancel":
		_, err = s.desk.CancelVisit(by, id, nil, why)
	case "move":
		to := vent.Spot{}
		if to.On, err = vent.ParseDate(form.Get("on")); err != nil {
			return errors.Join(vent.ErrInvalid, err)
		}
		at, err := time.Parse("15:04", form.Get("at"))
		if err != nil {
			return errors.Join(vent.ErrInvalid, err)
		}
		to.Start = at.Hour()*60 + at.Minute()
		_, err = s.desk.MoveVisit(by, id, to, why, false)
		return err
	case "close":
		var doors []desk.DoorResult
		for _, p := range t.Parts {
			if state := vent.VisitState(form.Get("door-" + p.ID.String())); state != "" {
				doors = append(doors, desk.DoorResult{Part: p.ID, State: state, Why: why})
			}
		}
		_, err = s.desk.CloseVisit(by, id, doors)
	default:
		return vent.ErrInvalid
	}
	return err
}

// aheadPage is the work of the coming twelve months.
type aheadPage struct {
	page
	Picture template.HTML
	Weeks   []aheadWeek
	Late    []string
	LateN   string
	Extra   string
	Nobody  bool
}

type aheadWeek struct{ Week, Visits, Work, Drive, Can, Late string }

// shownLate is how many late dues the page lists.
const shownLate = 50

func (s *server) showAhead(w http.ResponseWriter, r *http.Request, v visitor) error {
	x, err := s.desk.WorkAhead(r.Context(), s.by(v))
	if err != nil {
		return err
	}
	p := aheadPage{page: s.newPage(v, "visits"), Nobody: x.Technicians == 0}
	p.Title = p.Say("page.ahead.title")
	p.Picture = template.HTML(picture.Ahead{Weeks: x.Weeks}.SVG(p.Words)) // of our own making, every text in it escaped
	for _, l := range x.Weeks {
		p.Weeks = append(p.Weeks, aheadWeek{p.Date(l.Monday), strconv.Itoa(l.Visits), p.Duration(l.Work), p.Duration(l.Drive), p.Duration(l.Capacity), strconv.Itoa(l.Late)})
	}
	p.LateN = p.Say("page.ahead.late", "n", strconv.Itoa(len(x.Ahead.Late)), "room", strconv.Itoa(x.NoRoom))
	if len(x.Ahead.Late) == 0 {
		p.LateN = p.Say("page.ahead.none")
	}
	for i, l := range x.Late {
		if i == shownLate {
			break
		}
		p.Late = append(p.Late, p.Say("page.ahead.line", "where", l.Label, "what", p.What(l.Due), "date", p.Date(l.Latest), "why", p.Say("visit.cause."+string(l.Cause))))
	}
	if n := len(x.Extra); n > 0 {
		p.Extra = p.Say("page.ahead.extra", "n", strconv.Itoa(n), "date", p.Date(x.Extra[0].On))
	}
	return s.render(w, http.StatusOK, "ahead", p)
}
