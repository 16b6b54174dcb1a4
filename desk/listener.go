package desk

import (
	"slices"
	"time"

	"ventdue/scheduler/cadence"
	"ventdue/store"
	"ventdue/vent"
)

// listener is one person who is looked at, with what every question about them needs.
type listener struct {
	tx        *store.Tx
	person    vent.Person
	customers []vent.Customer // whose contact they are, ended ones included
	operator  vent.Operator
	zone      *time.Location // of their day
	today     vent.Date      // there
	policy    cadence.Policy
	channel   vent.Channel // by which they are told just now
	hook      bool         // there is a webhook to post to
}

// listener loads a person; ErrNotFound where there is none.
func (d *Desk) listener(tx *store.Tx, id vent.ID) (*listener, error) {
	p, err := store.Persons.Get(tx, id)
	if err != nil {
		return nil, err
	}
	customers, err := store.Collect(store.CustomersOf(tx, id))
	if err != nil {
		return nil, err
	}
	zone, err := personZone(tx, p, customers)
	if err != nil {
		return nil, err
	}
	return &listener{tx: tx, person: p, customers: customers, operator: operator(tx), zone: zone, today: tx.Now().DateIn(zone),
		policy: d.Policy().Cadence, channel: vent.ByMail, hook: d.Policy().Webhook}, nil
}

// personZone gives the zone of a person's day: their own, else that of their first site, else the office's.
func personZone(tx *store.Tx, p vent.Person, customers []vent.Customer) (*time.Location, error) {
	if p.Zone != "" {
		return zoneOf(p.Zone), nil
	}
	for _, c := range customers {
		for site, err := range store.SitesOf(tx, c.ID) {
			return zoneOf(site.Zone), err
		}
	}
	for unit, err := range store.UnitsOccupiedBy(tx, p.ID) {
		if err != nil {
			return nil, err
		}
		site, err := store.Sites.Get(tx, unit.SiteID)
		return zoneOf(site.Zone), err
	}
	return zoneOf(operator(tx).Zone), nil
}

// served gives the customers whose contact they are and who are still served.
func (l *listener) served() []vent.Customer {
	return slices.DeleteFunc(slices.Clone(l.customers), func(c vent.Customer) bool { return ended(c, l.today) })
}

func ended(c vent.Customer, today vent.Date) bool { return c.Ended != 0 && c.Ended <= today }

// message gives the message that takes what they are told in a class now.
func (l *listener) message(class string) (vent.Message, error) {
	return l.messageFrom(class, l.tx.Now())
}

// matter puts a due beside how they are told of it as a customer's contact.
func (l *listener) matter(due vent.Due, c vent.Customer) (cadence.Matter, error) {
	booked, err := bookedOn(l.tx, due.ID)
	return cadence.Matter{Due: due, Ladder: l.policy.For(l.operator.Kind, c, l.person, due), Booked: booked}, err
}

// paused reports whether they asked for a time without reminders that is not over, and when it is.
func (l *listener) paused() (until vent.Instant, yes bool) {
	if l.person.PausedUntil <= l.today {
		return 0, false
	}
	return vent.InstantOf(l.person.PausedUntil.At(l.policy.Opens, l.zone)), true
}

// reminders looks for what they are to be reminded of: dues whose step has come, and visits that come near. It only reads.
func (l *listener) reminders() (e errand, err error) {
	if l.reachable(classReminder) != "" {
		return errand{}, nil // the change that makes them reachable wakes them
	}
	if until, yes := l.paused(); yes {
		return errand{next: until}, nil
	}
	before := notices{}
	var wanted []vent.Notice
	for _, c := range l.served() {
		dues, err := l.dues(c)
		if err != nil {
			return errand{}, err
		}
		plan, err := l.plan(c, dues, before)
		if err != nil {
			return errand{}, err
		}
		e.next = sooner(e.next, plan.Next)
		for _, w := range plan.Wanted {
			wanted = append(wanted, vent.Notice{Key: l.noticeKey(w.Due, w.Step), Kind: vent.NoticeKindOf(w.Due), Day: w.Due.Day})
		}
	}
	near, next, err := l.visitNotices(classReminder, before)
	if err != nil {
		return errand{}, err
	}
	e.next = sooner(e.next, next)
	return e, l.fill(&e, classReminder, append(wanted, near...), before)
}

// fill puts notices into the class's message.
func (l *listener) fill(e *errand, class string, wanted []vent.Notice, before notices) (err error) {
	if len(wanted) == 0 {
		return nil
	}
	if e.message, err = l.message(class); err != nil {
		return err
	}
	for _, n := range wanted {
		e.add(l.tx, n, before)
	}
	return nil
}

// plan asks the rule what they are to be told of a customer's dues.
func (l *listener) plan(c vent.Customer, dues []vent.Due, before notices) (plan cadence.Plan, err error) {
	var matters []cadence.Matter
	for _, due := range dues {
		m, err := l.matter(due, c)
		if err != nil {
			return plan, err
		}
		matters = append(matters, m)
	}
	told := func(due vent.Due, s vent.Step) bool {
		n, found := before.find(l.tx, l.noticeKey(due, s), &err)
		return found && n.State.Stands()
	}
	plan = cadence.Tell(matters, told, l.policy, l.zone, l.tx.Now())
	return plan, err
}

// dues gives the open dues of a customer of which they may be told by now, and the first one beyond: enough to know when to
// look again.
func (l *listener) dues(c vent.Customer) (dues []vent.Due, err error) {
	last := l.today.AddDays(l.policy.Ahead(c, l.person))
	for due, err := range store.OpenDuesIn(l.tx, vent.Scope{Kind: vent.KindCustomer, ID: c.ID}, 0, 0) {
		if err != nil {
			return nil, err
		}
		if isStopDue(due) || !l.person.Wants(string(vent.NoticeKindOf(due))) {
			continue // told as a stop, or not at all
		}
		dues = append(dues, due)
		if due.Day > last {
			break
		}
	}
	return dues, nil
}

// bookedOn gives the day of the visit that is agreed or held for a due; none where there is none.
func bookedOn(tx *store.Tx, due vent.ID) (vent.Date, error) {
	a, ok, err := store.BookedFor(tx, due)
	if err != nil || !ok {
		return 0, err
	}
	v, err := store.Visits.Get(tx, a.VisitID)
	return v.On, err
}

// reachableFor says why a person cannot or must not be mailed messages of a class; "" when they can. A stop goes to
// everybody who has an address, and what was agreed about a visit to everybody who takes mail.
func reachableFor(p vent.Person, class string) string {
	switch {
	case p.Email == "":
		return "no e-mail address is known"
	case p.Undeliverable != "":
		return "mail to " + p.Email + " failed for good: " + p.Undeliverable
	case class == classStop:
		return ""
	case len(p.Channels) > 0 && !slices.Contains(p.Channels, vent.ByMail):
		return "does not want mail"
	case !wantsAny(p, class):
		return "asked not to be reminded"
	}
	return ""
}

// wantsAny reports whether a person wants anything that goes out in a class.
func wantsAny(p vent.Person, class string) bool {
	return slices.ContainsFunc(vent.NoticeKinds(), func(k vent.NoticeKind) bool { return ClassOf(k) == class && wants(p, k) })
}

func wants(p vent.Person, k vent.NoticeKind) bool { return !k.MayRefuse() || p.Wants(string(k)) }
