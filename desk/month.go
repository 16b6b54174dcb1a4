package desk

import (
	"fmt"

	"ventdue/store"
	"ventdue/vent"
)

// CalendarDay is one day of a month: the first of its dues and visits, and how many there are.
type CalendarDay struct {
	Dues       []DueView
	Visits     []BookedVisit
	TotalDues  int
	TotalVisit int
}

// Month is what is due and booked on the days of a month.
type Month struct {
	Today vent.Date
	First vent.Date
	Days  []CalendarDay // from the first on
}

// Month gives the month of a day: of each day at most max dues and visits.
func (d *Desk) Month(by By, of vent.Date, max int) (m Month, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		m = Month{Today: vent.InstantOf(by.Now).DateIn(zoneOf(operator(tx).Zone))}
		if of == 0 {
			of = m.Today
		}
		y, month, _ := of.Split()
		m.First = vent.NewDate(y, month, 1)
		next := vent.NewDate(y, month+1, 1)
		m.Days = make([]CalendarDay, m.First.DaysUntil(next))
		g := newGuide(tx)
		for due, err := range store.OpenDues(tx, m.First, next) {
			if err != nil {
				return err
			}
			day := &m.Days[m.First.DaysUntil(due.Day)]
			if day.TotalDues++; len(day.Dues) < max {
				if err := g.list(&day.Dues, due); err != nil {
					return fmt.Errorf("due %s: %w", due.ID, err)
				}
			}
		}
		for x, err := range store.VisitsBetween(tx, m.First, next) {
			if err != nil {
				return err
			}
			if x.State != vent.Booked && x.State != vent.VisitDone {
				continue
			}
			day := &m.Days[m.First.DaysUntil(x.On)]
			if day.TotalVisit++; len(day.Visits) < max {
				v, err := g.visit(x)
				if err != nil {
					return fmt.Errorf("visit %s: %w", x.ID, err)
				}
				day.Visits = append(day.Visits, v)
			}
		}
		return nil
	})
	return m, err
}
