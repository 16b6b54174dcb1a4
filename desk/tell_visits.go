package desk

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// visits looks for what they are to be told at once of visits that were agreed, moved or cancelled, and of entries to their
// home. It only reads.
func (l *listener) visits() (e errand, err error) {
	if l.reachable(classVisit) != "" {
		return errand{}, nil
	}
	before := notices{}
	wanted, next, err := l.visitNotices(classVisit, before)
	if err != nil {
		return errand{}, err
	}
	e.next = next
	return e, l.fill(&e, classVisit, wanted, before)
}

// visitNotices gives the notices of visits that are wanted now and go out in a class.
func (l *listener) visitNotices(class string, before notices) (wanted []vent.Notice, next vent.Instant, err error) {
	matters, err := l.visitMatters()
	if err != nil || len(matters) == 0 {
		return nil, 0, err
	}
	plan := cadence.TellVisits(matters, l.policy, l.zone, l.tx.Now())
	for _, w := range plan.Wanted {
		if ClassOf(w.Kind) != class || !wants(l.person, w.Kind) {
			continue
		}
		n := vent.Notice{Key: l.visitKey(w.Matter, w.Step), Kind: w.Kind, Day: w.Matter.Visit.On, Start: w.Matter.Part.Start}
		if before.find(l.tx, n.Key, &err); err != nil {
			return nil, 0, err
		}
		wanted = append(wanted, n)
	}
	return wanted, plan.Next, nil
}

func (l *listener) visitKey(m cadence.VisitMatter, s vent.Step) vent.NoticeKey {
	return vent.NoticeKey{PersonID: l.person.ID, Thing: vent.Subject{Kind: vent.KindAppointment, ID: m.Part.ID}, Opener: m.Visit.ID,
		Arm: m.Part.Sequence, Step: s, Channel: l.channel}
}

// visitMatters gives the appointments that lie ahead and concern them: of customers whose contact they are, and of the
// doors behind which they live.
func (l *listener) visitMatters() (all []cadence.VisitMatter, err error) {
	seen := map[vent.ID]bool{}
	for _, c := range l.served() {
		for a, err := range store.AppointmentsFor(l.tx, c.ID) {
			if err == nil {
				all, err = l.addVisit(all, seen, a)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	for unit, err := range store.UnitsOccupiedBy(l.tx, l.person.ID) {
		if err != nil {
			return nil, err
		}
		for a, err := range store.AppointmentsBehind(l.tx, unit.ID) {
			if err == nil {
				all, err = l.addVisit(all, seen, a)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	return all, nil
}

func (l *listener) addVisit(all []cadence.VisitMatter, seen map[vent.ID]bool, a vent.Appointment) ([]cadence.VisitMatter, error) {
	if seen[a.ID] {
		return all, nil
	}
	seen[a.ID] = true
	m, concerned, err := l.visitMatter(a)
	if err != nil || !concerned {
		return all, err
	}
	return append(all, m), nil
}

// visitMatter puts an appointment beside what they were told of it. It does not concern them when it is over, or when they
// neither are a contact of its customer nor live there, or live where nobody wants entries to be told.
func (l *listener) visitMatter(a vent.Appointment) (m cadence.VisitMatter, concerned bool, err error) {
	m.Part = a
	if m.Visit, err = store.Visits.Get(l.tx, a.VisitID); err != nil {
		return m, false, err
	}
	m.Begins = vent.InstantOf(m.Visit.On.At(a.Start, zoneOf(m.Visit.Zone)))
	if m.Begins <= l.tx.Now() {
		return m, false, nil
	}
	if !l.contactOf(a.CustomerID) {
		if concerned, err = l.asOccupant(&m); err != nil || !concerned {
			return m, false, err
		}
	}
	m.Told, err = l.toldOf(vent.Subject{Kind: vent.KindAppointment, ID: a.ID})
	return m, true, err
}

// asOccupant reports whether they live behind the appointment's door on its day, where entries are announced.
func (l *listener) asOccupant(m *cadence.VisitMatter) (bool, error) {
	unit, err := store.Units.Get(l.tx, m.Part.UnitID)
	if errors.Is(err, vent.ErrNotFound) || err == nil && unit.OccupantOn(m.Visit.On) != l.person.ID {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	site, err := store.Sites.Get(l.tx, unit.SiteID)
	m.Occupant, m.EntryDays = true, site.NoticeDays
	return site.NoticeDays > 0, err
}

func (l *listener) contactOf(customer vent.ID) bool {
	return slices.ContainsFunc(l.served(), func(c vent.Customer) bool { return c.ID == customer })
}

// toldOf gives the notices of a thing that stand with a person, oldest first.
func (l *listener) toldOf(thing vent.Subject) (told []vent.Notice, err error) {
	for n, err := range store.NoticesAbout(l.tx, thing) {
		if err != nil {
			return nil, err
		}
		if n.Key.PersonID == l.person.ID && n.Key.Channel == l.channel && n.State.Stands() {
			told = append(told, n)
		}
	}
	slices.SortStableFunc(told, func(a, b vent.Notice) int { return cmp.Compare(saidAt(a), saidAt(b)) })
	return told, nil
}

// saidAt gives when a notice was told; one that still waits comes after all others.
func saidAt(n vent.Notice) vent.Instant {
	if n.State == vent.NoticeWanted {
		return math.MaxInt64
	}
	return cmp.Or(n.Settled, n.Created)
}

// VisitItem is what a mail says of an appointment. It holds no way to get in: mails are read on machines that nobody here knows.
type VisitItem struct {
	Visit      vent.Visit
	Part       vent.Appointment
	Site       vent.Site
	Unit       vent.Unit // zero: the whole building
	Customer   vent.Customer
	Technician string      // who comes; "" while nobody is named
	Work       []DueView   // what is to be done
	Said       vent.Notice // by which they last learnt another day or hour; zero where they did not
	Occupant   bool        // they live there and did not book it
	InCalendar bool        // a calendar of theirs that shows it was fetched in the last days
}

// visitStillTrue looks at the notice of a visit once more.
func (l *listener) visitStillTrue(g *guide, n vent.Notice) (item ReminderItem, why string, err error) {
	a, err := store.Appointments.Get(l.tx, n.Key.Thing.ID)
	if errors.Is(err, vent.ErrNotFound) {
		return item, "what it was about is gone", nil
	}
	if err != nil {
		return item, "", err
	}
	m, concerned, err := l.visitMatter(a)
	if err != nil || !concerned {
		return item, "it is over, or no longer concerns them", err
	}
	m.Told = slices.DeleteFunc(m.Told, func(other vent.Notice) bool { return other.ID == n.ID })
	if s := m.On(l.policy, l.zone, l.tx.Now()); s.Kind != n.Kind || s.Step != n.Key.Step {
		return item, "the visit has changed since", nil
	}
	item.Visit, err = l.visitItem(g, m)
	return item, "", err
}

func (l *listener) visitItem(g *guide, m cadence.VisitMatter) (*VisitItem, error) {
	v := &VisitItem{Visit: m.Visit, Part: m.Part, Occupant: m.Occupant}
	var err error
	if v.Site, err = remembered(l.tx, g.sites, store.Sites, m.Visit.SiteID); err != nil {
		return nil, err
	}
	v.Site.Access = vent.Access{}
	if v.Customer, err = remembered(l.tx, g.customers, store.Customers, m.Part.CustomerID); err != nil {
		return nil, err
	}
	if !m.Part.UnitID.IsZero() {
		if v.Unit, err = store.Units.Get(l.tx, m.Part.UnitID); err != nil {
			return nil, err
		}
	}
	if !m.Visit.TechnicianID.IsZero() {
		who, err := store.Persons.Get(l.tx, m.Visit.TechnicianID)
		if err != nil && !errors.Is(err, vent.ErrNotFound) {
			return nil, err
		}
		v.Technician = who.Name
	}
	for _, id := range m.Part.Dues {
		due, err := store.Dues.Get(l.tx, id)
		if errors.Is(err, vent.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		view, err := g.due(due)
		if err != nil {
			return nil, err
		}
		view.Site.Access = vent.Access{}
		v.Work = append(v.Work, view)
	}
	for _, n := range m.Told {
		if n.Kind != vent.NoticeVisitSoon && (n.Day != m.Visit.On || n.Start != m.Part.Start) {
			v.Said = n
		}
	}
	v.InCalendar, err = l.inCalendar(v)
	return v, err
}

// fetchedDays is for how long a calendar that was fetched is believed to be read.
const fetchedDays = 7

// inCalendar reports whether a calendar of theirs shows the visit and was fetched in the last days.
func (l *listener) inCalendar(v *VisitItem) (bool, error) {
	since := l.tx.Now().Add(-fetchedDays * 24 * time.Hour)
	for _, s := range []vent.Scope{{Kind: vent.KindCustomer, ID: v.Customer.ID}, {Kind: vent.KindSite, ID: v.Site.ID}} {
		for f, err := range store.FeedsOf(l.tx, s) {
			if err != nil {
				return false, err
			}
			theirs := f.PersonID == l.person.ID || f.PersonID.IsZero() && s.Kind == vent.KindCustomer && !v.Occupant
			if theirs && f.Revoked == 0 && f.Fetched >= since {
				return true, nil
			}
		}
	}
	return false, nil
}
