package desk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/scheduler/faults"
	"ventdue/store"
	"ventdue/vent"
)

// classStop is the class of messages that say: do not use the dryer. They leave at any hour, beside any reminder, past any
// "no more mails", once a day until the person's role has acknowledged or the dryer is released.
const classStop = "stop"

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

// stopErrand looks at one person for the stops that they must be told of now. It only reads.
func (d *Desk) stopErrand(tx *store.Tx, id vent.ID) (e errand, err error) {
	p, err := store.Persons.Get(tx, id)
	if errors.Is(err, vent.ErrNotFound) {
		return errand{}, nil
	}
	if err != nil || reachableFor(p, classStop) != "" {
		return errand{}, err
	}
	customers, err := store.Collect(store.CustomersOf(tx, p.ID))
	if err != nil {
		return errand{}, err
	}
	zone, err := personZone(tx, p, customers)
	if err != nil {
		return errand{}, err
	}
	today := tx.Now().DateIn(zone)
	stops, err := stopsFor(tx, p, today)
	if err != nil {
		return errand{}, err
	}
	opens := d.Policy().Cadence.Opens
	for _, s := range stops {
		now, err := tellNow(tx, p.ID, s, today, zone, opens)
		if err != nil {
			return errand{}, err
		}
		if now {
			if e.message.ID.IsZero() {
				if e.message, err = stopMessageFor(tx, p.ID, today); err != nil {
					return errand{}, err
				}
			}
			k := noticeKeyFor(p.ID, s.due, vent.Step(s.spell()+today.String()))
			before := notices{}
			if before.find(tx, k, &err); err != nil {
				return errand{}, err
			}
			e.add(tx, k, vent.NoticeStop, s.due.Day, before)
		}
		e.next = vent.InstantOf(today.AddDays(1).At(opens, zone))
		if at := vent.InstantOf(today.At(opens, zone)); at > tx.Now() {
			e.next = at
		}
	}
	return e, nil
}

// tellNow reports whether a stop is to be told at this moment: at once for the first time, then each day when the window
// for mail opens. A mail that still waits or that was refused today says it already.
func tellNow(tx *store.Tx, person vent.ID, s stopDue, today vent.Date, zone *time.Location, opens int) (bool, error) {
	last := vent.Date(0)
	for n, err := range store.NoticesAbout(tx, vent.Subject{Kind: vent.KindDue, ID: s.due.ID}) {
		if err != nil {
			return false, err
		}
		if n.Kind != vent.NoticeStop || n.Key.PersonID != person || !strings.HasPrefix(string(n.Key.Step), s.spell()) {
			continue
		}
		if n.State == vent.NoticeWanted {
			return false, nil
		}
		if n.State.Stands() || n.State == vent.NoticeFailed {
			last = max(last, n.Created.DateIn(zone))
		}
	}
	return last == 0 || last < today && tx.Now() >= vent.InstantOf(today.At(opens, zone)), nil
}

// stopMessageFor gives the message that takes a person's stops: the one that still waits, else a new one for now.
func stopMessageFor(tx *store.Tx, person vent.ID, today vent.Date) (vent.Message, error) {
	for m, err := range store.MessagesTo(tx, person) {
		if err != nil || m.Class == classStop && m.Channel == vent.ByMail && m.Waits() {
			return m, err
		}
	}
	return vent.Message{ID: tx.NewID(), PersonID: person, On: today, Channel: vent.ByMail, Class: classStop,
		State: vent.MessagePending, Created: tx.Now(), NotFor: tx.Now(), Expires: tx.Now().Add(cadence.GiveUpAfter)}, nil
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
	item, why, err = itemOf(tx, g, due, n.Key.Step)
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
			if f, err = faults.Tell(f, vent.Call{At: tx.Now(), Who: "the " + string(role), How: "mail", Role: role}); err != nil {
				return err
			}
		}
		return putFault(tx, f)
	}
	return nil
}
