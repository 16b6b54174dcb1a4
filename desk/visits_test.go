package desk_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
)

// sunday is 1 March 2026 at noon in New York; the week that follows is Monday 2 to Friday 6 March (by any calendar).
var sunday = time.Date(2026, 3, 1, 17, 0, 0, 0, time.UTC)

const newYork = "America/New_York"

func day(d int) vent.Date { return vent.NewDate(2026, 3, d) }

// technician adds somebody who makes visits, who lives where all houses of these tests are unless they are given another place.
func technician(s *scene.Scene, name, hours string, edit func(*vent.Person)) (id vent.ID) {
	s.TB.Helper()
	week, err := vent.ParseWeek(hours)
	if err != nil {
		s.TB.Fatal(err)
	}
	s.Update(func(tx *store.Tx) error {
		id = tx.NewID()
		p := vent.Person{ID: id, Name: name, Email: "tech@example.com", Role: vent.Technician, Hours: week, Home: &vent.Point{Lat: 40, Lon: -75},
			RunMinutes: 45, TripMinutes: 15}
		if edit != nil {
			edit(&p)
		}
		return store.Persons.Put(tx, p, "added")
	})
	return id
}

// place says where a house is.
func place(s *scene.Scene, site vent.ID, lat, lon float64) {
	scene.Change(s, store.Sites, site, func(x *vent.Site) { x.Lat, x.Lon = &lat, &lon })
}

// dueWithin makes a cleaning due with a window.
func dueWithin(s *scene.Scene, h scene.Home, earliest, on, latest vent.Date) vent.Due {
	s.TB.Helper()
	w := scene.Clean(h.Run, on)
	w.Earliest, w.Latest = earliest, latest
	return s.Want(h, vent.KindOperator, w)[0]
}

func propose(s *scene.Scene) desk.Proposal {
	s.TB.Helper()
	p, err := s.Desk.Propose(context.Background(), s.By())
	if err != nil {
		s.TB.Fatal(err)
	}
	return p
}

func listed(s *scene.Scene, q desk.VisitQuery) []desk.TripView {
	s.TB.Helper()
	list, _, err := s.Desk.Visits(s.By(), q)
	if err != nil {
		s.TB.Fatal(err)
	}
	return list
}

// Proposals are nobody's business: no calendar, no mail, no block; planning again with the same facts changes nothing.
func TestProposeIsQuietAndStable(t *testing.T) {
	s := scene.Start(t, sunday)
	technician(s, "Ida", "mon-fri 08:00-17:00", nil)
	contact := s.Person("Ana", "ana@example.com")
	h := s.House("Lund", newYork, contact)
	place(s, h.Site, 40, -75)
	dueWithin(s, h, day(2), day(4), day(6))
	before := revision(s, h.Customer)
	if p := propose(s); p.New != 1 || len(p.Late) != 0 {
		t.Fatalf("proposed %+v", p)
	}
	list := listed(s, desk.VisitQuery{})
	if len(list) != 1 || list[0].Visit.State != vent.Proposed || list[0].Visit.On < day(2) || list[0].Visit.On > day(6) || list[0].Visit.Minutes != 60 {
		t.Fatalf("listed %+v", list)
	}
	if after := revision(s, h.Customer); after != before {
		t.Error("a proposal changed the customer's calendar")
	}
	if p := propose(s); p.Kept != 1 || p.New+p.Moved+p.Dropped != 0 {
		t.Errorf("planned again: %+v", p)
	}
	if again := listed(s, desk.VisitQuery{}); again[0].Visit.ID != list[0].Visit.ID || again[0].Parts[0].ID != list[0].Parts[0].ID {
		t.Error("the same proposal has another id")
	}
	s.Done(h)
	if p := propose(s); p.Dropped != 1 {
		t.Errorf("nothing is due, and: %+v", p)
	}
}

func revision(s *scene.Scene, customer vent.ID) (n uint64) {
	s.View(func(tx *store.Tx) error {
		n = tx.Revision(vent.Scope{Kind: vent.KindCustomer, ID: customer}).N
		return nil
	})
	return n
}

// What is booked, held or frozen stays, whatever else comes; a proposal gives way to it.
func TestPlanningMovesNothingThatIsAgreed(t *testing.T) {
	s := scene.Start(t, sunday)
	tech := technician(s, "Ida", "mon-fri 09:00-10:00", nil) // one visit a day
	a, b := s.House("Ash", newYork), s.House("Beech", newYork)
	for _, h := range []scene.Home{a, b} {
		place(s, h.Site, 40, -75)
	}
	dueWithin(s, a, day(2), day(2), day(6))
	propose(s)
	ash := listed(s, desk.VisitQuery{SiteID: a.Site})[0].Visit
	if ash.On != day(2) {
		t.Fatalf("proposed for %s, want the due day", ash.On)
	}
	change, err := s.Desk.BookVisit(s.By(), ash.ID)
	if err != nil || change.Visit.State != vent.Booked || change.Visit.Sequence != 0 {
		t.Fatalf("booked: %+v, %v", change, err)
	}
	dueWithin(s, b, day(2), day(2), day(2)) // wants the same hour
	p := propose(s)
	if len(p.Late) != 1 || p.Late[0].Cause != visits.CauseBooked {
		t.Errorf("late %+v, want the one whose time is booked", p.Late)
	}
	if again := listed(s, desk.VisitQuery{SiteID: a.Site})[0].Visit; again != change.Visit {
		t.Errorf("the booked visit became %+v", again)
	}
	if _, err := s.Desk.MoveVisit(s.By(), ash.ID, vent.Spot{On: day(7), Start: -1}, "asked", false); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("moved to a Saturday on which nobody works: %v", err)
	}
	moved, err := s.Desk.MoveVisit(s.By(), ash.ID, vent.Spot{On: day(3), Start: -1}, "the stop next door comes first", false)
	if err != nil || moved.Visit.Was != (vent.Spot{TechnicianID: tech, On: day(2), Start: 540}) || moved.Visit.Sequence != 1 || moved.Parts[0].Sequence != 1 {
		t.Errorf("moved: %+v, %v", moved, err)
	}
	if again, err := s.Desk.MoveVisit(s.By(), ash.ID, vent.Spot{On: day(3), Start: -1}, "again", false); err != nil || !again.Known || again.Visit.Sequence != 1 {
		t.Errorf("moved again to the same place: %+v, %v", again, err)
	}
	if p := propose(s); len(p.Late) != 0 {
		t.Errorf("late %+v though the time is free now", p.Late)
	}
}

// A hold runs out by itself: its time is free again, calendars show it called off.
func TestHoldsRunOut(t *testing.T) {
	s := scene.Start(t, sunday)
	technician(s, "Ida", "mon-fri 09:00-10:00", nil)
	h := s.House("Ash", newYork)
	place(s, h.Site, 40, -75)
	dueWithin(s, h, day(2), day(2), day(6))
	propose(s)
	v := listed(s, desk.VisitQuery{})[0].Visit
	held, err := s.Desk.HoldVisit(s.By(), v.ID, s.Now.Add(2*time.Hour))
	if err != nil || held.Visit.State != vent.Held {
		t.Fatalf("held: %+v, %v", held, err)
	}
	s.Now = s.Now.Add(3 * time.Hour)
	p := propose(s)
	if gone := scene.Get(s, store.Visits, v.ID); gone.State != vent.Cancelled || gone.Sequence != 1 {
		t.Errorf("the hold is %s with SEQUENCE %d, want cancelled with 1", gone.State, gone.Sequence)
	}
	if p.New != 1 {
		t.Errorf("planned anew: %+v", p)
	}
}

// A landlord's building: one door of three is shut. Its due goes back to planning from the next day on; the others' next dues
// follow from the findings.
func TestOneDoorOfThreeIsShut(t *testing.T) {
	s := scene.Start(t, sunday)
	technician(s, "Ida", "mon-fri 08:00-17:00", nil)
	b := building(s, 3)
	propose(s)
	v := listed(s, desk.VisitQuery{})
	if len(v) != 1 || len(v[0].Parts) != 3 || v[0].Visit.Minutes != 3*45+15 {
		t.Fatalf("want one trip to three doors of 150 minutes, got %d trips: %+v", len(v), v)
	}
	if _, err := s.Desk.BookVisit(s.By(), v[0].Visit.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Desk.CloseVisit(s.By(), v[0].Visit.ID, nil); !errors.Is(err, vent.ErrConflict) {
		t.Errorf("closed before its day: %v", err)
	}
	s.Now = v[0].Visit.On.At(17*60, time.UTC).Add(5 * time.Hour)
	shut := v[0].Parts[1]
	closed, err := s.Desk.CloseVisit(s.By(), v[0].Visit.ID, []desk.DoorResult{{Part: shut.ID, State: vent.NobodyHome, Why: "nobody opened"}})
	if err != nil {
		t.Fatal(err)
	}
	if closed.Visit.State != vent.PartDone || len(closed.Findings) != 2 || len(closed.Left) != 1 || closed.Left[0].ID != shut.Dues[0].Due.ID {
		t.Errorf("closed: %s, %d findings, left %v", closed.Visit.State, len(closed.Findings), closed.Left)
	}
	for i, run := range b.runs {
		view, err := s.Desk.Run(s.By(), run)
		if err != nil {
			t.Fatal(err)
		}
		if i == 1 {
			continue
		}
		if len(view.Findings) != 1 || !view.Findings[0].CleanedFully() || slices.ContainsFunc(view.Dues, func(d vent.Due) bool { return d.Day <= v[0].Visit.On.AddDays(30) }) {
			t.Errorf("door %d: %d findings, dues %v", i, len(view.Findings), view.Dues)
		}
	}
	if again, err := s.Desk.CloseVisit(s.By(), v[0].Visit.ID, []desk.DoorResult{{Part: shut.ID, State: vent.NobodyHome, Why: "nobody opened"}}); err != nil || !again.Known || len(again.Findings) != 0 {
		t.Errorf("closed again: %+v, %v", again, err)
	}
	propose(s)
	next := listed(s, desk.VisitQuery{})
	if len(next) != 1 || len(next[0].Parts) != 1 || next[0].Parts[0].UnitID != shut.UnitID || next[0].Visit.On <= v[0].Visit.On {
		t.Errorf("the shut door's next visit: %+v", next)
	}
}

type block struct {
	site, customer vent.ID
	units, runs    []vent.ID
}

// building adds a landlord's building with n flats, whose cleanings are due in the week.
func building(s *scene.Scene, n int, contacts ...vent.ID) (b block) {
	s.TB.Helper()
	first := s.House("Elm Court", newYork, contacts...)
	place(s, first.Site, 40, -75)
	b.site, b.customer = first.Site, first.Customer
	scene.Change(s, store.Units, first.Unit, func(u *vent.Unit) { u.Kind, u.Name = vent.Flat, "1A" })
	for i := range n {
		h := first
		if i > 0 {
			s.Update(func(tx *store.Tx) error {
				h.Unit, h.Dryer, h.Run = tx.NewID(), tx.NewID(), tx.NewID()
				return errors.Join(
					store.Units.Put(tx, vent.Unit{ID: h.Unit, SiteID: h.Site, Kind: vent.Flat, Name: fmt.Sprintf("%dA", i+1)}, "added"),
					store.Appliances.Put(tx, vent.Appliance{ID: h.Dryer, UnitID: h.Unit, Kind: vent.Dryer, Fuel: vent.Electric}, "added"),
					store.Runs.Put(tx, vent.Run{ID: h.Run, SiteID: h.Site, UnitID: h.Unit, Name: vent.UsualRunName, Shape: vent.Single, Known: day(1),
						Versions: []vent.Version{{DryerID: h.Dryer}}}, "added"))
			})
		}
		dueWithin(s, h, day(2), day(2+i), day(16))
		b.units, b.runs = append(b.units, h.Unit), append(b.runs, h.Run)
	}
	return b
}

// Whoever is erased leaves nothing behind in what they asked for, nor in what was written about them at the door.
func TestErasingReachesVisits(t *testing.T) {
	s := scene.Start(t, sunday)
	technician(s, "Ida Holm", "mon-fri 08:00-17:00", nil)
	contact := s.Person("Ana Rivera", "ana@example.com")
	h := s.House("Lund", newYork, contact)
	place(s, h.Site, 40, -75)
	dueWithin(s, h, day(2), day(3), day(6))
	propose(s)
	v := listed(s, desk.VisitQuery{})[0].Visit
	if _, err := s.Desk.BookVisit(s.By(), v.ID); err != nil {
		t.Fatal(err)
	}
	link := desk.By{Now: s.Now, Actor: desk.Booker{Person: vent.Person{ID: contact}}.Actor()}
	if err := s.Desk.WishDays(link, vent.Scope{Kind: vent.KindSite, ID: h.Site}, "any Saturday"); err != nil {
		t.Fatal(err)
	}
	s.Now = v.On.At(23*60, time.UTC)
	if _, err := s.Desk.CloseVisit(s.By(), v.ID, []desk.DoorResult{{Part: listed(s, desk.VisitQuery{})[0].Parts[0].ID, State: vent.Refused, Why: "Ana Rivera said no"}}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Desk.Erase(s.By(), "ana@example.com"); err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := s.Desk.Export(&b); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if strings.Contains(line, "Ana Rivera") || strings.Contains(line, "any Saturday") && strings.Contains(line, `"kind":"site"`) {
			t.Errorf("still there: %s", line)
		}
	}
}
