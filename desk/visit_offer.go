package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"ventdue/scheduler/visits"
	"ventdue/store"
	"ventdue/vent"
)

// offerDays is how far ahead a customer is offered times.
const offerDays = 120

// Offer is what a customer, or who lives behind a door, sees of visits: what is agreed, what is due, which times fit.
type Offer struct {
	Scope     vent.Scope // a site or a unit
	Operator  vent.Operator
	Site      vent.Site // without ways to get in
	Unit      vent.Unit // zero for a site's
	Today     vent.Date // at the site
	Agreed    []TripView
	Proposals []TripView // that can be agreed to: where one visit is not enough for all
	Dues      []DueView  // that one visit would do
	Slots     []visits.Slot
	Opens     vent.Date // where nothing can be booked yet: when it can; none: nothing is due
	Cutoff    int       // hours before a visit until which it can be moved or cancelled
	Wishes    []vent.Wish
}

// scopeOf loads the site, and the unit, of a scope.
func scopeOf(tx *store.Tx, s vent.Scope) (site vent.Site, unit vent.Unit, err error) {
	switch s.Kind {
	case vent.KindUnit:
		if unit, err = store.Units.Get(tx, s.ID); err != nil {
			return site, unit, err
		}
		site, err = store.Sites.Get(tx, unit.SiteID)
	case vent.KindSite:
		site, err = store.Sites.Get(tx, s.ID)
	default:
		err = fmt.Errorf("visits are booked for a site or a unit, not for a %s: %w", s.Kind, vent.ErrInvalid)
	}
	return site, unit, err
}

// Offer gives what can be booked for a site or a unit. Nothing is changed.
func (d *Desk) Offer(by By, scope vent.Scope) (o Offer, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		o, err = d.offer(tx, by, scope)
		return err
	})
	return o, err
}

func (d *Desk) offer(tx *store.Tx, by By, scope vent.Scope) (o Offer, err error) {
	o = Offer{Scope: scope, Operator: operator(tx), Cutoff: d.Policy().Visits.CutoffHours}
	if o.Site, o.Unit, err = scopeOf(tx, scope); err != nil {
		return o, err
	}
	o.Today = vent.InstantOf(by.Now).DateIn(zoneOf(o.Site.Zone))
	for _, w := range o.Site.Wishes {
		if scope.Kind == vent.KindSite || w.UnitID == o.Unit.ID {
			o.Wishes = append(o.Wishes, w)
		}
	}
	if err := o.loadTrips(tx, by); err != nil {
		return o, err
	}
	c, err := d.bookCase(tx, by, o.Site, scope)
	if err != nil {
		return o, err
	}
	c.group()
	o.Opens = c.opens
	g := newGuide(tx)
	for _, x := range c.p.Dues {
		v, err := g.due(c.dues[x.ID])
		if err != nil {
			return o, err
		}
		v.Site.Access = vent.Access{}
		o.Dues = append(o.Dues, v)
	}
	o.Site.Access, o.Site.Wishes = vent.Access{}, nil
	if len(c.p.Dues) == 0 {
		return o, nil
	}
	if o.Slots, err = c.slots(vent.ID{}); err != nil || len(o.Slots) > 0 {
		o.Proposals = nil // one visit does it: the times say enough
		return o, err
	}
	return o, nil
}

// loadTrips loads what is agreed and proposed in the scope from today on.
func (o *Offer) loadTrips(tx *store.Tx, by By) error {
	now := vent.InstantOf(by.Now)
	for v, err := range store.VisitsAt(tx, o.Site.ID, o.Today, 0) {
		if err != nil {
			return err
		}
		if v.State != vent.Proposed && !v.Blocks(now) {
			continue
		}
		t, err := tripView(tx, v)
		if err != nil {
			return err
		}
		if o.Scope.Kind == vent.KindUnit {
			t.Parts = slices.DeleteFunc(t.Parts, func(p TripPart) bool { return p.UnitID != o.Unit.ID })
		}
		t.Parts = slices.DeleteFunc(t.Parts, func(p TripPart) bool { return !p.State.Live() })
		t.Site.Access, t.Site.Wishes, t.Visit.Note = vent.Access{}, nil, ""
		switch {
		case len(t.Parts) == 0:
		case v.State == vent.Proposed && o.Scope.Kind == vent.KindSite:
			o.Proposals = append(o.Proposals, t)
		case v.State.Ahead():
			o.Agreed = append(o.Agreed, t)
		}
	}
	return nil
}

// bookCase is a question about the dues of one scope that nobody booked yet.
type bookCase struct {
	*visitCase
	opens vent.Date
}

// bookCase asks what can be booked in a scope, from as soon as customers can book.
func (d *Desk) bookCase(tx *store.Tx, by By, site vent.Site, scope vent.Scope) (*bookCase, error) {
	c := &bookCase{visitCase: d.visitCase(tx, by, 0, 0)}
	c.p.Today = max(c.firstDay(), c.firstBookable(site))
	c.p.Last = c.p.Today.AddDays(offerDays)
	dues, err := store.Collect(store.OpenDuesIn(tx, vent.Scope{Kind: vent.KindSite, ID: site.ID}, 0, c.p.Last.AddDays(widest)))
	if err != nil {
		return nil, err
	}
	if err := c.addDues(each(dues)); err != nil {
		return nil, err
	}
	if scope.Kind == vent.KindUnit {
		c.p.Dues = slices.DeleteFunc(c.p.Dues, func(x visits.Due) bool { return x.UnitID != scope.ID })
	}
	return c, c.dropGiven()
}

func each[T any](all []T) func(func(T, error) bool) {
	return func(yield func(T, error) bool) {
		for _, v := range all {
			if !yield(v, nil) {
				return
			}
		}
	}
}

// firstBookable is the first day that lies wholly beyond the cut-off.
func (c *visitCase) firstBookable(site vent.Site) vent.Date {
	at := c.now.Add(time.Duration(c.policy.CutoffHours) * time.Hour)
	return at.DateIn(zoneOf(site.Zone)).AddDays(1)
}

// group keeps the dues that one visit does; where none can be done yet it says when the first can.
func (c *bookCase) group() {
	for _, x := range c.p.Dues {
		if c.opens == 0 || x.Earliest < c.opens {
			c.opens = x.Earliest
		}
	}
	if c.opens > c.p.Last {
		c.p.Dues = nil
		return
	}
	c.opens = 0
	c.p.Dues = visits.Group(c.p.Dues, c.p.Today, c.p.Today.AddDays(c.policy.Plan.CatchUp))
}

// slots gives the times at which somebody can come for the dues of the question. The visit `without` is thought away.
func (c *bookCase) slots(without vent.ID) ([]visits.Slot, error) {
	if err := c.addVisits(store.VisitsBetween(c.tx, c.p.Today, c.p.Last.AddDays(1)), false, without); err != nil {
		return nil, err
	}
	if err := c.addTechnicians(vent.ID{}); err != nil {
		return nil, err
	}
	if len(c.p.Technicians) == 0 {
		return nil, nil
	}
	return visits.Slots(c.p, c.policy.Offers)
}

// SlotWish is the time that somebody chose.
type SlotWish struct {
	TechnicianID vent.ID
	On           vent.Date
	Start        int // minutes after midnight at the site
}

func (w SlotWish) is(v vent.Visit) bool {
	return v.TechnicianID == w.TechnicianID && v.On == w.On && v.Start == w.Start
}

// knownWish tells of a visit of the scope that stands at the wished time already: the same wish again changes nothing. Without
// one out is left as it is.
func (d *Desk) knownWish(tx *store.Tx, scope vent.Scope, w SlotWish, out *VisitChange) (site vent.Site, unit vent.Unit, err error) {
	if site, unit, err = scopeOf(tx, scope); err != nil {
		return site, unit, err
	}
	known, err := bookedSo(tx, site, unit, w)
	if out.Known = err == nil && !known.IsZero(); out.Known {
		err = d.settleVisit(tx, known, out)
	}
	return site, unit, err
}

// BookSlot books the time that somebody chose for what is due in a scope. It is checked and written in one transaction: a time
// that was taken meanwhile, or does not do any more, is refused with ErrConflict; see Offer for the next ones. The same
// wish again gives the same visit.
func (d *Desk) BookSlot(by By, scope vent.Scope, w SlotWish) (out VisitChange, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = VisitChange{}
		site, unit, err := d.knownWish(tx, scope, w, &out)
		if err != nil || out.Known {
			return err
		}
		c, err := d.bookCase(tx, by, site, scope)
		if err != nil {
			return err
		}
		c.group()
		if w.On < c.p.Today || w.On > c.p.Last || w.Start < 0 || w.Start >= 24*60 {
			return fmt.Errorf("%s is not offered: %w", w.On, vent.ErrConflict)
		}
		v := vent.Visit{SiteID: site.ID, TechnicianID: w.TechnicianID, On: w.On, Start: w.Start, Zone: site.Zone, State: vent.Booked}
		if v.Minutes, err = c.check(v); err != nil {
			return err
		}
		id, err := c.book(v)
		if err != nil {
			return err
		}
		if err := store.Sites.Put(tx, site.WithoutWishes(unit.ID), ""); err != nil {
			return err
		}
		return d.settleVisit(tx, id, &out)
	})
	if err != nil {
		return out, fmt.Errorf("book a visit: %w", err)
	}
	if !out.Known {
		d.kick(JobTell)
	}
	return out, nil
}

// bookedSo finds the visit by which a wish was granted before; none where it was not.
func bookedSo(tx *store.Tx, site vent.Site, unit vent.Unit, w SlotWish) (vent.ID, error) {
	for v, err := range store.VisitsAt(tx, site.ID, w.On, w.On.AddDays(1)) {
		if err != nil {
			return vent.ID{}, err
		}
		if v.State != vent.Booked || !w.is(v) {
			continue
		}
		for a, err := range store.AppointmentsOf(tx, v.ID) {
			if err != nil {
				return vent.ID{}, err
			}
			if a.State == vent.Booked && (unit.ID.IsZero() || a.UnitID == unit.ID) {
				return v.ID, nil
			}
		}
	}
	return vent.ID{}, nil
}

// book writes a new agreed visit for the dues of the question and takes them out of what was proposed.
func (c *bookCase) book(v vent.Visit) (vent.ID, error) {
	var ids []vent.ID
	for _, x := range c.p.Dues {
		ids = append(ids, x.ID)
		if err := c.unpropose(x.ID); err != nil {
			return v.ID, err
		}
	}
	v, err := store.SetVisit(c.tx, v, "visit booked for "+v.On.String()+" "+clockTime(v.Start))
	if err != nil {
		return v.ID, err
	}
	return v.ID, c.setParts(v, nil, ids)
}

// unpropose takes a due out of the proposals that hold it.
func (c *visitCase) unpropose(due vent.ID) error {
	parts, err := store.Collect(store.AppointmentsAbout(c.tx, due))
	if err != nil {
		return err
	}
	for _, a := range parts {
		if a.State != vent.Proposed {
			continue
		}
		a.Dues = slices.DeleteFunc(slices.Clone(a.Dues), func(id vent.ID) bool { return id == due })
		if len(a.Dues) > 0 {
			if _, err := store.SetAppointment(c.tx, a, ""); err != nil {
				return err
			}
			continue
		}
		if err := store.Appointments.Delete(c.tx, a.ID, ""); err != nil {
			return err
		}
		rest, err := store.Collect(store.AppointmentsOf(c.tx, a.VisitID))
		if err != nil {
			return err
		}
		if len(rest) == 0 {
			if err := store.DropProposal(c.tx, a.VisitID); err != nil {
				return err
			}
		}
	}
	return nil
}

// inScope loads a visit that is to be changed for a scope, with which of its parts belong to the scope.
func inScope(tx *store.Tx, scope vent.Scope, id vent.ID) (t tripRow, own []vent.ID, err error) {
	none := fmt.Errorf("visit %s: %w", id, vent.ErrNotFound)
	site, unit, err := scopeOf(tx, scope)
	if err != nil {
		return t, nil, err
	}
	if t, err = trip(tx, id); err != nil {
		return t, nil, err
	}
	if t.visit.SiteID != site.ID {
		return t, nil, none
	}
	for _, a := range t.parts {
		if unit.ID.IsZero() || a.UnitID == unit.ID {
			own = append(own, a.ID)
		}
	}
	if len(own) == 0 {
		return t, nil, none
	}
	return t, own, nil
}

// ErrTooLate is returned for a change that a customer may no longer make by link.
var ErrTooLate = fmt.Errorf("it is too late to change the visit by link: please call: %w", vent.ErrConflict)

// beforeCutoff refuses a change that comes too late.
func (d *Desk) beforeCutoff(tx *store.Tx, v vent.Visit) error {
	hours := d.Policy().Visits.CutoffHours
	begins := vent.InstantOf(v.On.At(v.Start, zoneOf(v.Zone)))
	if tx.Now().Add(time.Duration(hours)*time.Hour) > begins {
		return ErrTooLate
	}
	return nil
}

// MoveSlots gives the times to which a scope's part of a visit can be moved.
func (d *Desk) MoveSlots(by By, scope vent.Scope, visit vent.ID) (slots []visits.Slot, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		t, own, err := inScope(tx, scope, visit)
		if err != nil {
			return err
		}
		c, without, err := d.moveCase(tx, by, t, own)
		if err != nil || len(c.p.Dues) == 0 {
			return err
		}
		slots, err = c.slots(without)
		return err
	})
	return slots, err
}

// moveCase asks where the dues of some parts of a visit can go; the visit is thought away where all of it goes.
func (d *Desk) moveCase(tx *store.Tx, by By, t tripRow, own []vent.ID) (*bookCase, vent.ID, error) {
	c := &bookCase{visitCase: d.visitCase(tx, by, 0, 0)}
	site, err := store.Sites.Get(tx, t.visit.SiteID)
	if err != nil {
		return nil, vent.ID{}, err
	}
	c.p.Today = max(c.firstDay(), c.firstBookable(site))
	c.p.Last = c.p.Today.AddDays(offerDays)
	var ids []vent.ID
	for _, a := range t.parts {
		if a.State.Live() && slices.Contains(own, a.ID) {
			ids = append(ids, a.Dues...)
		}
	}
	if err := c.addDues(dueSeq(tx, ids)); err != nil {
		return nil, vent.ID{}, err
	}
	for i := range c.p.Dues { // a date that was agreed on may be put off as far as catching up goes
		x := &c.p.Dues[i]
		x.Latest = max(x.Latest, min(t.visit.On.AddDays(c.policy.Plan.CatchUp), c.p.Last))
	}
	if allOf(t, own) {
		return c, t.visit.ID, nil
	}
	return c, vent.ID{}, nil
}

// allOf reports whether the named parts are all that is left of a visit.
func allOf(t tripRow, own []vent.ID) bool {
	return !slices.ContainsFunc(t.parts, func(a vent.Appointment) bool { return a.State.Live() && !slices.Contains(own, a.ID) })
}

// MoveToSlot moves a scope's part of a visit to a time that somebody chose, until the cut-off. Where the visit is for other
// doors too it stays for them, and the part goes to a visit of its own under its old UID. The same wish again changes nothing.
func (d *Desk) MoveToSlot(by By, scope vent.Scope, visit vent.ID, w SlotWish) (out VisitChange, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = VisitChange{}
		if _, _, err := d.knownWish(tx, scope, w, &out); err != nil || out.Known {
			return err
		}
		t, own, err := inScope(tx, scope, visit)
		if err != nil {
			return err
		}
		return d.moveToSlot(tx, by, t, own, w, &out)
	})
	if err != nil {
		return out, fmt.Errorf("move a visit: %w", err)
	}
	if !out.Known {
		d.kick(JobTell)
	}
	return out, nil
}

func (d *Desk) moveToSlot(tx *store.Tx, by By, t tripRow, own []vent.ID, w SlotWish, out *VisitChange) error {
	if !t.visit.State.Ahead() {
		return fmt.Errorf("the visit of %s is %s: %w", t.visit.On, t.visit.State, vent.ErrConflict)
	}
	if err := d.beforeCutoff(tx, t.visit); err != nil {
		return err
	}
	c, without, err := d.moveCase(tx, by, t, own)
	if err != nil {
		return err
	}
	if w.On < c.p.Today || w.On > c.p.Last || w.Start < 0 || w.Start >= 24*60 {
		return fmt.Errorf("%s is not offered: %w", w.On, vent.ErrConflict)
	}
	v := vent.Visit{ID: without, SiteID: t.visit.SiteID, TechnicianID: w.TechnicianID, On: w.On, Start: w.Start, Zone: t.visit.Zone, State: vent.Booked}
	if v.Minutes, err = c.check(v); err != nil {
		return err
	}
	out.Was = t.visit
	if !without.IsZero() {
		to := vent.Spot{TechnicianID: w.TechnicianID, On: w.On, Start: w.Start}
		if err := d.moveTrip(tx, t, to, "the customer moved it", true); err != nil {
			return err
		}
		return d.settleVisit(tx, t.visit.ID, out)
	}
	v.Was, v.Why = vent.Spot{TechnicianID: t.visit.TechnicianID, On: t.visit.On, Start: t.visit.Start}, "the customer moved it"
	if v, err = store.SetVisit(tx, v, "visit booked for one door that was moved from "+t.visit.On.String()); err != nil {
		return err
	}
	start := v.Start
	for _, a := range t.parts {
		if !slices.Contains(own, a.ID) || !a.State.Live() {
			continue
		}
		a.VisitID, a.Start = v.ID, min(start, 24*60-1)
		start += a.Minutes
		if _, err := store.SetAppointment(tx, a, "appointment moved to "+v.On.String()); err != nil {
			return err
		}
	}
	return d.settleVisit(tx, v.ID, out)
}

// CancelInScope calls a scope's part of a visit off, until the cut-off.
func (d *Desk) CancelInScope(by By, scope vent.Scope, visit vent.ID, why string) (VisitChange, error) {
	return d.changeVisit(by, visit, "cancel", func(tx *store.Tx, t tripRow, out *VisitChange) error {
		t, own, err := inScope(tx, scope, visit)
		if err != nil {
			return err
		}
		live := slices.DeleteFunc(slices.Clone(t.parts), func(a vent.Appointment) bool { return !slices.Contains(own, a.ID) || !a.State.Live() })
		if out.Known = len(live) == 0; out.Known {
			return nil // called off before
		}
		if !t.visit.State.Ahead() {
			return fmt.Errorf("the visit of %s is %s: %w", t.visit.On, t.visit.State, vent.ErrConflict)
		}
		if err := d.beforeCutoff(tx, t.visit); err != nil {
			return err
		}
		return cancelTrip(tx, t, own, why, out)
	})
}

// AgreeInScope agrees to an offered or proposed visit of a scope.
func (d *Desk) AgreeInScope(by By, scope vent.Scope, visit vent.ID) (VisitChange, error) {
	return d.changeVisit(by, visit, "agree to", func(tx *store.Tx, _ tripRow, out *VisitChange) error {
		t, own, err := inScope(tx, scope, visit)
		if err != nil {
			return err
		}
		if out.Known = t.visit.State == vent.Booked; out.Known {
			return nil
		}
		if !allOf(t, own) {
			return fmt.Errorf("it is for other doors too: the office agrees on it: %w", vent.ErrConflict)
		}
		return d.agree(tx, t, vent.Booked, 0)
	})
}

// longestWish is how much of a wish is kept, in runes.
const longestWish = 500

// WishDays writes down the days that somebody proposes in words. The office answers; the last wish of a door counts.
func (d *Desk) WishDays(by By, scope vent.Scope, text string) error {
	text = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "")))
	if r := []rune(text); len(r) > longestWish {
		text = string(r[:longestWish])
	}
	if text == "" {
		return fmt.Errorf("say which days would do: %w", vent.ErrInvalid)
	}
	err := d.store.Update(by, func(tx *store.Tx) error {
		site, unit, err := scopeOf(tx, scope)
		if err != nil {
			return err
		}
		same := func(w vent.Wish) bool { return w.UnitID == unit.ID && w.Text == text && w.By == tx.Actor() }
		if slices.ContainsFunc(site.Wishes, same) {
			return nil
		}
		return store.Sites.Put(tx, site.WithWish(vent.Wish{UnitID: unit.ID, Text: text, By: tx.Actor(), At: tx.Now()}), "days asked for")
	})
	if err != nil && !errors.Is(err, vent.ErrInvalid) {
		return fmt.Errorf("write down a wish: %w", err)
	}
	return err
}
