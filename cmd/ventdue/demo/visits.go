package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ventdue/desk"
	"ventdue/scheduler/visits"
	"ventdue/vent"
)

// crew are the technicians of the business: what they may do, when they work, and from where they start.
var crew = []struct {
	who    technician
	email  string
	hours  string
	skills []string
	home   vent.Point
}{
	{ines, "ines@example.com", "mon-fri 08:00-16:30", []string{visits.SkillGas, visits.SkillPair}, vent.Point{Lat: townLat + 0.01, Lon: townLon}},
	{marlon, "marlon@example.com", "mon-fri 08:00-17:00", []string{visits.SkillGas}, vent.Point{Lat: townLat, Lon: townLon - 0.02}},
	{dot, "dot@example.com", "tue-sat 07:30-15:30", []string{visits.SkillRoof, visits.SkillPair}, vent.Point{Lat: townLat - 0.01, Lon: townLon + 0.01}},
}

// Of the proposed visits every third is booked by the office, a few in all, since each is told to everybody concerned; one is held
// for a customer who has not yet said yes, so that a visitor finds each of the three.
const (
	bookedOf   = 3
	bookedMost = 5
	heldDays   = 4
)

// planVisits sets up the technicians, takes an office hour out of a day of theirs, has visits planned and agrees on some.
func (p *player) planVisits(ctx context.Context, today vent.Date) error {
	by := desk.By{Now: today.At(7*60+45, p.zone), Actor: "office"}
	for _, c := range crew {
		hours, err := vent.ParseWeek(c.hours)
		if err != nil {
			return fmt.Errorf("set up %s: %w", c.who, err)
		}
		t, err := p.desk.SetTechnician(by, string(c.who), c.email, func(x *vent.Person) {
			home := c.home
			x.Hours, x.Skills, x.Home = hours, c.skills, &home
		})
		if err != nil {
			return fmt.Errorf("set up %s: %w", c.who, err)
		}
		if c.who != marlon {
			continue
		}
		on := nextWeekday(today, time.Thursday)
		if _, err := p.desk.BlockTime(by, t.ID, on, vent.Span{From: 13 * 60, To: 15 * 60}, "the van is at the garage"); err != nil {
			return fmt.Errorf("block time of %s: %w", c.who, err)
		}
	}
	if _, err := p.desk.Propose(ctx, by); err != nil {
		return err
	}
	return p.agree(by, today)
}

// agree books and holds some of what was proposed.
func (p *player) agree(by desk.By, today vent.Date) error {
	all, _, err := p.desk.Visits(by, desk.VisitQuery{From: today.AddDays(1)})
	if err != nil {
		return err
	}
	held, booked := false, 0
	for i, v := range all {
		switch {
		case v.Visit.State != vent.Proposed:
			continue
		case i%bookedOf == 0 && booked < bookedMost:
			if _, err = p.desk.BookVisit(by, v.Visit.ID); err == nil {
				booked++
			}
		case !held:
			held = true
			_, err = p.desk.HoldVisit(by, v.Visit.ID, today.AddDays(heldDays).At(12*60, p.zone))
		}
		if err != nil && !errors.Is(err, vent.ErrConflict) { // too soon for the notice that its site asks for
			return fmt.Errorf("agree on the visit of %s: %w", v.Visit.On, err)
		}
	}
	return nil
}

// nextWeekday gives the first such day after the day.
func nextWeekday(d vent.Date, want time.Weekday) vent.Date {
	for d = d.AddDays(1); d.Weekday() != want; d = d.AddDays(1) {
	}
	return d
}

// Feeds makes the calendar addresses that a visitor may subscribe to: everything, and the visits of the technician and the
// customer of the first visit that is booked.
func Feeds(d *desk.Desk, by desk.By) ([]desk.NewFeed, error) {
	wanted := []vent.Feed{{Scope: vent.OperatorScope, Name: "everything"}}
	all, _, err := d.Visits(by, desk.VisitQuery{From: vent.DateOf(by.Now)})
	if err != nil {
		return nil, err
	}
	for _, v := range all {
		if v.Visit.State == vent.Booked && !v.Visit.SiteID.IsZero() {
			wanted = append(wanted,
				vent.Feed{Scope: vent.Scope{Kind: vent.KindPerson, ID: v.Visit.TechnicianID}, Name: "the visits of " + v.Technician.Name, Shows: []vent.FeedPart{vent.FeedVisits}},
				vent.Feed{Scope: vent.Scope{Kind: vent.KindCustomer, ID: v.Customer.ID}, Name: "what " + v.Customer.Name + " sees as a customer"})
			break
		}
	}
	made := make([]desk.NewFeed, 0, len(wanted))
	for _, f := range wanted {
		n, err := d.CreateFeed(by, f)
		if err != nil {
			return nil, err
		}
		made = append(made, n)
	}
	return made, nil
}
