package desk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
)

// stopDue is an open stop of which a person must be told, with the roles in which they must.
type stopDue struct {
	due   vent.Due
	fault vent.Fault
	roles []vent.CallRole
}

// unheard reports whether one of the roles has not acknowledged yet.
func (s stopDue) unheard() bool {
	return slices.ContainsFunc(s.roles, func(r vent.CallRole) bool {
		_, more := faults.NextCall(s.fault, r, 0)
		return more
	})
}

// spell begins the steps of the fault's present spell: one that was released and came back is told anew.
func (s stopDue) spell() string { return fmt.Sprintf("stop_%d_", len(s.fault.Again)+1) }

// stops looks for the stops that they must be told of now: at any hour, beside any reminder, past any "no more mails", once a
// day until the person's role has acknowledged or the dryer is released. It only reads.
func (l *listener) stops() (e errand, err error) {
	if l.reachable(classStop) != "" {
		return errand{}, nil
	}
	stops, err := stopsFor(l.tx, l.person, l.today)
	if err != nil {
		return errand{}, err
	}
	before := notices{}
	var wanted []vent.Notice
	for _, s := range stops {
		now, err := l.tellNow(s)
		if err != nil {
			return errand{}, err
		}
		if now {
			k := l.noticeKey(s.due, vent.Step(s.spell()+l.today.String()))
			if before.find(l.tx, k, &err); err != nil {
				return errand{}, err
			}
			wanted = append(wanted, vent.Notice{Key: k, Kind: vent.NoticeStop, Day: s.due.Day})
		}
		e.next = vent.InstantOf(l.today.AddDays(1).At(l.policy.Opens, l.zone))
		if at := vent.InstantOf(l.today.At(l.policy.Opens, l.zone)); at > l.tx.Now() {
			e.next = at
		}
	}
	return e, l.fill(&e, classStop, wanted, before)
}

// tellNow reports whether a stop is to be told at this moment: at once for the first time, then each day when the window
// for mail opens. A mail that still waits or that was refused today says it already.
func (l *listener) tellNow(s stopDue) (bool, error) {
	last := vent.Date(0)
	for n, err := range store.NoticesAbout(l.tx, vent.Subject{Kind: vent.KindDue, ID: s.due.ID}) {
		if err != nil {
			return false, err
		}
		if n.Kind != vent.NoticeStop || n.Key.PersonID != l.person.ID || n.Key.Channel != l.channel || !strings.HasPrefix(string(n.Key.Step), s.spell()) {
			continue
		}
		if n.State == vent.NoticeWanted {
			return false, nil
		}
		if n.State.Stands() || n.State == vent.NoticeFailed {
			last = max(last, n.Created.DateIn(l.zone))
		}
	}
	return last == 0 || last < l.today && l.tx.Now() >= vent.InstantOf(l.today.At(l.policy.Opens, l.zone)), nil
}

// stopsFor gives the open stops of which a person must be told and has not acknowledged: as contact of the customer, as
// occupant, as the operator.
func stopsFor(tx *store.Tx, p vent.Person, today vent.Date) ([]stopDue, error) {
	l := stopLister{tx: tx, at: map[vent.ID]int{}}
	customers, err := store.Collect(store.CustomersOf(tx, p.ID))
	if err != nil {
		return nil, err
	}
	for _, c := range customers {
		if ended(c, today) {
			continue
		}
		for due, err := range store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindCustomer, ID: c.ID}, 0, today.AddDays(2)) {
			if err := l.take(due, vent.ToldCustomer, err); err != nil {
				return nil, err
			}
		}
	}
	for unit, err := range store.UnitsOccupiedBy(tx, p.ID) {
		if err != nil {
			return nil, err
		}
		if unit.OccupantOn(today) != p.ID {
			continue
		}
		for run, err := range store.RunsOfUnit(tx, unit.ID) {
			if err != nil {
				return nil, err
			}
			for due, err := range store.OpenDuesOf(tx, vent.Subject{Kind: vent.KindRun, ID: run.ID}) {
				if err := l.take(due, vent.ToldOccupant, err); err != nil {
					return nil, err
				}
			}
		}
	}
	if isOperator(tx, p) {
		for due, err := range store.OpenDues(tx, 0, today.AddDays(2)) { // a stop is due on the day it was found
			if err := l.take(due, vent.ToldOperator, err); err != nil {
				return nil, err
			}
		}
	}
	return slices.DeleteFunc(l.stops, func(s stopDue) bool { return !s.unheard() }), nil
}

type stopLister struct {
	tx    *store.Tx
	stops []stopDue
	at    map[vent.ID]int
}

func (l *stopLister) take(due vent.Due, role vent.CallRole, err error) error {
	if err != nil || !isStopDue(due) {
		return err
	}
	i, known := l.at[due.ID]
	if !known {
		f, err := store.Faults.Get(l.tx, due.Opener)
		if err != nil {
			return fmt.Errorf("stop %s: %w", due.ID, err)
		}
		i = len(l.stops)
		l.at[due.ID] = i
		l.stops = append(l.stops, stopDue{due: due, fault: f})
	}
	l.stops[i].roles = append(l.stops[i].roles, role)
	return nil
}

// isStopDue reports whether a due is told as a stop, not as a reminder.
func isStopDue(d vent.Due) bool { return d.Kind == vent.DueFault && d.Severity == vent.Stop }

// isOperator reports whether a person is reached at the operator's own address.
func isOperator(tx *store.Tx, p vent.Person) bool {
	mail := operator(tx).Email
	return mail != "" && strings.EqualFold(mail, p.Email)
}

// operatorPerson gives the person at the operator's own address, who is made on the first stop where there is none;
// zero where the operator has no address.
func operatorPerson(tx *store.Tx) (vent.ID, error) {
	o := operator(tx)
	if o.Email == "" {
		return vent.ID{}, nil
	}
	var any vent.ID
	for p, err := range store.PersonsByMail(tx, o.Email) {
		if err != nil || p.Role == vent.Owner {
			return p.ID, err
		}
		any = cmp.Or(any, p.ID)
	}
	if !any.IsZero() {
		return any, nil
	}
	p := vent.Person{ID: tx.NewID(), Name: o.Name, Email: o.Email, Role: vent.Owner}
	return p.ID, store.Persons.Put(tx, p, "made so that the operator is told of stopped dryers")
}

// wakeForStop has the clock look now at everybody who must be told of a stop on a run: occupant, contacts, operator.
func wakeForStop(tx *store.Tx, p planCase) error {
	all := slices.Clone(p.customer.Persons)
	if id := p.in.Unit.OccupantOn(tx.Now().DateIn(zoneOf(p.in.Site.Zone))); !id.IsZero() {
		all = append(all, id)
	}
	op, err := operatorPerson(tx)
	if err != nil {
		return err
	}
	if !op.IsZero() {
		all = append(all, op)
	}
	for _, id := range all {
		if err := tx.WakeBy(store.WakeTell, id, tx.Now()); err != nil {
			return err
		}
	}
	return nil
}

// WakeStops has the clock look again at everybody who must be told of an open stop, once a day: somebody moved in, or
// the record came from another installation, and no plan has seen to it.
func (d *Desk) WakeStops(by By) error {
	err := d.store.Update(by, func(tx *store.Tx) error {
		runs := map[vent.ID]bool{}
		for due, err := range store.OpenDues(tx, 0, tx.Now().DateIn(time.UTC).AddDays(2)) {
			if err != nil {
				return err
			}
			if isStopDue(due) {
				runs[due.Subject.ID] = true
			}
		}
		for id := range runs {
			run, err := store.Runs.Get(tx, id)
			if err != nil {
				return err
			}
			p, err := d.planInput(tx, run)
			if err != nil {
				return err
			}
			if err := wakeForStop(tx, p); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("wake those who must be told of a stop: %w", err)
	}
	d.kick(JobTell)
	return nil
}

// stopStillTrue looks at the notice of a stop once more: why it must not be told any more, or what there is to tell.
func stopStillTrue(tx *store.Tx, g *guide, n vent.Notice, due vent.Due, today vent.Date) (item ReminderItem, why string, err error) {
	p, err := store.Persons.Get(tx, n.Key.PersonID)
	if err != nil {
		return item, "", err
	}
	stops, err := stopsFor(tx, p, today)
	if err != nil {
		return item, "", err
	}
	i := slices.IndexFunc(stops, func(s stopDue) bool { return s.due.ID == due.ID })
	if i < 0 || !strings.HasPrefix(string(n.Key.Step), stops[i].spell()) {
		return item, "it was released or acknowledged, or is no longer theirs", nil
	}
	item, why, err = itemOf(tx, g, due)
	if err == nil {
		item.Fault = stops[i].fault
	}
	return item, why, err
}

// noteStopTold adds a line to the call list of a stop that a person was mailed. The line names the role; who was mailed
// where is told by their messages, so that erasing a person finds it.
func noteStopTold(tx *store.Tx, n vent.Notice) error {
	p, err := store.Persons.Get(tx, n.Key.PersonID)
	if err != nil {
		return err
	}
	stops, err := stopsFor(tx, p, tx.Now().DateIn(zoneOf(operator(tx).Zone)))
	if err != nil {
		return err
	}
	for _, s := range stops {
		if s.due.ID != n.Key.Thing.ID {
			continue
		}
		f := s.fault
		for _, role := range s.roles {
			if f, err = faults.Tell(f, vent.Call{At: tx.Now(), Who: "the " + string(role), How: string(n.Key.Channel), Role: role}); err != nil {
				return err
			}
		}
		return putFault(tx, f)
	}
	return nil
}
