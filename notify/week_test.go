package notify

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/emersion/go-ical"

	"ventdue/desk"
	"ventdue/internal/scene"
	"ventdue/notify/mail"
	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
)

// week is a service business with one technician, three houses and a building of three flats, all next door to each other.
type week struct {
	*publisher
	outbox Outbox
	ines   vent.ID
	tech   desk.NewFeed
	homes  map[string]scene.Home
	person map[string]vent.ID
	feed   map[string]desk.NewFeed
}

func newWeek(t *testing.T) *week {
	w := &week{publisher: publish(t), homes: map[string]scene.Home{}, person: map[string]vent.ID{}, feed: map[string]desk.NewFeed{}}
	w.outbox = post(w.Scene, mail.Folder{Dir: t.TempDir()})
	hours, err := vent.ParseWeek("mon-fri 08:00-17:00")
	if err != nil {
		t.Fatal(err)
	}
	lat, lon := 40.0, -75.0
	w.ines = w.Person("Ines Moor", "ines@example.com")
	scene.Change(w.Scene, store.Persons, w.ines, func(p *vent.Person) {
		p.Role, p.Hours, p.Home, p.RunMinutes, p.TripMinutes = vent.Technician, hours, &vent.Point{Lat: lat, Lon: lon}, 45, 15
	})
	w.tech = w.publisher.feed(vent.KindPerson, w.ines)
	for _, name := range []string{"Ash", "Beech", "Cedar", "Elm"} {
		w.person[name] = w.Person(name, name+"@example.com")
		h := w.House(name, "America/New_York", w.person[name])
		scene.Change(w.Scene, store.Sites, h.Site, func(s *vent.Site) { s.Lat, s.Lon = &lat, &lon })
		w.homes[name], w.feed[name] = h, w.publisher.feed(vent.KindCustomer, h.Customer)
		w.want(h)
	}
	elm := w.homes["Elm"]
	scene.Change(w.Scene, store.Units, elm.Unit, func(u *vent.Unit) { u.Kind, u.Name = vent.Flat, "1A" })
	for _, name := range []string{"2A", "3A"} {
		h := elm
		w.Update(func(tx *store.Tx) error {
			h.Unit, h.Dryer, h.Run = tx.NewID(), tx.NewID(), tx.NewID()
			return errors.Join(
				store.Units.Put(tx, vent.Unit{ID: h.Unit, SiteID: h.Site, Kind: vent.Flat, Name: name}, "added"),
				store.Appliances.Put(tx, vent.Appliance{ID: h.Dryer, UnitID: h.Unit, Kind: vent.Dryer, Fuel: vent.Electric}, "added"),
				store.Runs.Put(tx, vent.Run{ID: h.Run, SiteID: h.Site, UnitID: h.Unit, Name: vent.UsualRunName, Shape: vent.Single, Known: march2,
					Versions: []vent.Version{{DryerID: h.Dryer}}}, "added"))
		})
		w.want(h)
	}
	return w
}

// want makes a cleaning due in the week, which can wait two weeks more.
func (w *week) want(h scene.Home) {
	x := scene.Clean(h.Run, march2.AddDays(3))
	x.Earliest, x.Latest = march2, march2.AddDays(18)
	w.Want(h, vent.KindOperator, x)
}

// pass lets an hour go by, tells and sends what is to be told, and holds calendars and day sheets to each other.
func (w *week) pass() {
	w.TB.Helper()
	w.Now = w.Now.Add(time.Hour)
	if _, err := work(w.Scene, w.outbox); err != nil {
		w.TB.Error(err)
	}
	shown := map[string]bool{}
	for _, e := range entries(w.TB, w.body(w.tech.Token)) {
		if prop(e, ical.PropStatus) != "CANCELLED" {
			shown[prop(e, ical.PropDateTimeStart)] = true
		}
	}
	stops := 0
	for d := range 30 {
		s, err := w.Desk.DaySheet(w.By(), w.ines, march2.AddDays(d), w.ines)
		if err != nil {
			w.TB.Fatal(err)
		}
		for _, stop := range s.Stops {
			stops++
			y, m, day := stop.Visit.On.Split()
			at := fmt.Sprintf("%04d%02d%02dT%02d%02d00", y, m, day, stop.Visit.Start/60, stop.Visit.Start%60)
			if !shown[at] {
				w.TB.Errorf("the sheet has a stop at %s that is not in the technician's calendar", at)
			}
			if open := stop.Site.Access.Codes != ""; open != (s.On == s.Today) {
				w.TB.Errorf("codes shown on %s for the day %s: %v", s.Today, s.On, open)
			}
		}
	}
	if len(shown) != stops {
		w.TB.Errorf("%d visits in the technician's calendar, %d on the sheets", len(shown), stops)
	}
}

// told counts the notices of a kind that reached somebody.
func (w *week) told(name string, kind vent.NoticeKind) (n int) {
	w.View(func(tx *store.Tx) error {
		for x, err := range store.NoticesFor(tx, w.person[name]) {
			if err != nil {
				return err
			}
			if x.Kind == kind && x.State == vent.NoticeSent {
				n++
			}
		}
		return nil
	})
	return n
}

// visit gives the entries of visits in a customer's calendar.
func (w *week) visit(name string) (all []ical.Event) {
	for _, e := range entries(w.TB, w.body(w.feed[name].Token)) {
		if prop(e, ical.PropDateTimeStart) != "" && e.Props.Get(ical.PropDateTimeStart).ValueType() == ical.ValueDateTime {
			all = append(all, e)
		}
	}
	return all
}

func (w *week) propose() desk.Proposal {
	w.TB.Helper()
	p, err := w.Desk.Propose(context.Background(), w.By())
	if err != nil {
		w.TB.Fatal(err)
	}
	return p
}

func (w *week) booked(name string, slot int) vent.Visit {
	w.TB.Helper()
	scope := vent.Scope{Kind: vent.KindSite, ID: w.homes[name].Site}
	o, err := w.Desk.Offer(w.By(), scope)
	if err != nil || len(o.Slots) <= slot {
		w.TB.Fatalf("%s is offered %d times, %v", name, len(o.Slots), err)
	}
	s := o.Slots[slot]
	c, err := w.Desk.BookSlot(w.By(), scope, desk.SlotWish{TechnicianID: s.TechnicianID, On: s.On, Start: s.Start})
	if err != nil {
		w.TB.Fatal(err)
	}
	return c.Visit
}

func (w *week) close(v vent.Visit, doors ...desk.DoorResult) desk.VisitClosed {
	w.TB.Helper()
	w.Now = v.On.At(v.Start+v.Minutes, time.UTC).Add(5 * time.Hour) // New York is at most five hours behind
	c, err := w.Desk.CloseVisit(w.By(), v.ID, doors)
	if err != nil {
		w.TB.Fatal(err)
	}
	return c
}

// The story of a week: it is planned, two customers book, one moves, one is not at home, a stop breaks in, one door of three is shut.
// Calendars, mails and day sheets stay in step, and SEQUENCE rises as RFC 5546 section 2.1.4 says: with a new time or status, no more.
func TestTheStoryOfAWeek(t *testing.T) {
	w := newWeek(t)
	p := w.propose()
	w.pass()
	if p.New == 0 || len(p.Late) != 0 || len(w.visit("Ash"))+len(w.visit("Elm")) != 0 || w.told("Ash", vent.NoticeVisitBooked) != 0 {
		t.Fatalf("planned: %+v; a proposal is in a calendar or in a mail", p)
	}

	ash, beech := w.booked("Ash", 0), w.booked("Beech", 1)
	w.pass()
	for _, name := range []string{"Ash", "Beech"} {
		if v := w.visit(name); len(v) != 1 || prop(v[0], ical.PropSequence) != "0" || prop(v[0], ical.PropStatus) != "CONFIRMED" {
			t.Errorf("%s booked: %v", name, v)
		}
		if n := w.told(name, vent.NoticeVisitBooked); n != 1 {
			t.Errorf("%s was told of the booking %d times", name, n)
		}
	}

	uid := prop(w.visit("Beech")[0], ical.PropUID)
	scope := vent.Scope{Kind: vent.KindSite, ID: w.homes["Beech"].Site}
	slots, err := w.Desk.MoveSlots(w.By(), scope, beech.ID)
	if err != nil || len(slots) == 0 {
		t.Fatalf("nowhere to move to: %v", err)
	}
	// the latest day, so that it is still to come when the week is over
	last := slices.MaxFunc(slots, func(a, b visits.Slot) int { return cmp.Compare(a.On, b.On) })
	moved, err := w.Desk.MoveToSlot(w.By(), scope, beech.ID, desk.SlotWish{TechnicianID: last.TechnicianID, On: last.On, Start: last.Start})
	if err != nil {
		t.Fatal(err)
	}
	w.pass()
	if v := w.visit("Beech"); len(v) != 1 || prop(v[0], ical.PropSequence) != "1" || prop(v[0], ical.PropUID) != uid || w.told("Beech", vent.NoticeVisitMoved) != 1 {
		t.Errorf("moved: %v, told %d times", v, w.told("Beech", vent.NoticeVisitMoved))
	}

	closed := w.close(ash, desk.DoorResult{Part: partOf(w, ash.ID), State: vent.NobodyHome, Why: "nobody opened"})
	w.pass()
	if closed.Visit.State != vent.NobodyHome || len(closed.Left) != 1 || prop(w.visit("Ash")[0], ical.PropSequence) != "0" {
		t.Errorf("nobody home: %s, %d left, %v", closed.Visit.State, len(closed.Left), w.visit("Ash"))
	}
	w.propose()
	if again := w.proposed("Ash"); again.On <= ash.On {
		t.Errorf("the next try is proposed for %s, the first was on %s", again.On, ash.On)
	}

	// A smell of burning at Cedar: somebody comes within two days, and nothing that is booked moves for it.
	before := scene.Get(w.Scene, store.Visits, moved.Visit.ID)
	if _, err := w.Desk.ReportSign(w.By(), vent.Sign{RunID: w.homes["Cedar"].Run, Kind: vent.BurningSmell, By: "Cedar"}); err != nil {
		t.Fatal(err)
	}
	w.propose()
	w.pass()
	stop := w.proposed("Cedar")
	if today := vent.InstantOf(w.Now).DateIn(time.UTC); today.DaysUntil(stop.On) > 4 { // two days, and a weekend on which nobody works
		t.Errorf("today is %s, and the stop is proposed for %s", today, stop.On)
	}
	if after := scene.Get(w.Scene, store.Visits, moved.Visit.ID); after != before {
		t.Errorf("the stop moved a booked visit: %+v", after)
	}
	if _, err := w.Desk.CancelVisit(w.By(), before.ID, nil, "the stop comes first"); err != nil {
		t.Fatal(err)
	}
	w.pass()
	if v := w.visit("Beech"); prop(v[0], ical.PropStatus) != "CANCELLED" || prop(v[0], ical.PropSequence) != "2" || w.told("Beech", vent.NoticeVisitCancelled) != 1 {
		t.Errorf("called off: %v, told %d times", v, w.told("Beech", vent.NoticeVisitCancelled))
	}

	elm := w.proposed("Elm")
	if _, err := w.Desk.BookVisit(w.By(), elm.ID); err != nil {
		t.Fatal(err)
	}
	w.pass()
	if n := len(w.visit("Elm")); n != 3 {
		t.Errorf("%d doors in the landlord's calendar, want 3", n)
	}
	closed = w.close(elm, desk.DoorResult{Part: partOf(w, elm.ID), State: vent.NobodyHome, Why: "shut"})
	w.pass()
	if closed.Visit.State != vent.PartDone || len(closed.Findings) != 2 || len(closed.Left) != 1 {
		t.Errorf("one door of three: %s, %d findings, %d left", closed.Visit.State, len(closed.Findings), len(closed.Left))
	}
}

// partOf gives a visit's first part.
func partOf(w *week, visit vent.ID) (id vent.ID) {
	w.TB.Helper()
	v, err := w.Desk.Visit(visit)
	if err != nil || len(v.Parts) == 0 {
		w.TB.Fatalf("%d parts, %v", len(v.Parts), err)
	}
	return v.Parts[0].ID
}

// proposed gives the first proposed visit to a house.
func (w *week) proposed(name string) vent.Visit {
	w.TB.Helper()
	list, _, err := w.Desk.Visits(w.By(), desk.VisitQuery{SiteID: w.homes[name].Site, From: march2})
	if err != nil {
		w.TB.Fatal(err)
	}
	for _, v := range list {
		if v.Visit.State == vent.Proposed {
			return v.Visit
		}
	}
	w.TB.Fatalf("nothing is proposed for %s", name)
	return vent.Visit{}
}
