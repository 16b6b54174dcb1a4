package desk

import (
	"slices"

	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// DaySheet is one technician's day: where to go, in what order, how to get in, what to do and why.
type DaySheet struct {
	Operator   vent.Operator
	Technician vent.Person
	On         vent.Date
	Today      vent.Date // where the technician is
	Stops      []SheetStop
}

// SheetStop is one stop of the day: a visit, or a block of the technician's own time.
type SheetStop struct {
	TripView
	Doors []SheetDoor
}

// SheetDoor is one door of a stop with what is known of its runs.
type SheetDoor struct {
	TripPart
	Runs []SheetRun
}

// SheetRun is one run behind a door.
type SheetRun struct {
	Place
	Dryer  vent.Appliance
	Last   vent.Finding // newest that counts; zero: nothing was recorded
	Faults []vent.Fault // open ones
	Bring  []string     // what putting them right takes, in the words of the rules
}

// DaySheet gives a technician's agreed visits of a day, those of the day that are over among them. Codes and keys are for the technician
// who makes the visit, on its own day, and for nobody else: reader is who reads it.
func (d *Desk) DaySheet(by By, technician vent.ID, on vent.Date, reader vent.ID) (s DaySheet, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		s = DaySheet{Operator: operator(tx), On: on}
		if s.Technician, err = store.Persons.Get(tx, technician); err != nil {
			return err
		}
		zone := zoneOf(s.Operator.Zone)
		if s.Technician.Zone != "" {
			zone = zoneOf(s.Technician.Zone)
		}
		now := vent.InstantOf(by.Now)
		s.Today = now.DateIn(zone)
		open := reader == technician && on == s.Today
		g := newGuide(tx)
		for v, err := range store.VisitsByOn(tx, technician, on, on.AddDays(1)) {
			if err != nil {
				return err
			}
			if !v.Blocks(now) && !v.State.Over() {
				continue
			}
			stop, err := g.stop(v)
			if err != nil {
				return err
			}
			if !open {
				stop.Site.Access = stop.Site.Access.Public()
			}
			s.Stops = append(s.Stops, stop)
		}
		slices.SortStableFunc(s.Stops, func(a, b SheetStop) int { return a.Visit.Start - b.Visit.Start })
		return nil
	})
	return s, err
}

func (g *guide) stop(v vent.Visit) (s SheetStop, err error) {
	if s.TripView, err = tripView(g.tx, v); err != nil {
		return s, err
	}
	for _, p := range s.Parts {
		if p.State == vent.Cancelled {
			continue
		}
		door := SheetDoor{TripPart: p}
		seen := map[vent.ID]bool{}
		for _, due := range p.Dues {
			if due.Run.ID.IsZero() || seen[due.Run.ID] {
				continue
			}
			seen[due.Run.ID] = true
			r, err := g.sheetRun(due.Run)
			if err != nil {
				return s, err
			}
			door.Runs = append(door.Runs, r)
		}
		s.Doors = append(s.Doors, door)
	}
	return s, nil
}

func (g *guide) sheetRun(run vent.Run) (r SheetRun, err error) {
	how, err := g.standing(run)
	if err != nil {
		return r, err
	}
	r = SheetRun{Place: how.Place, Dryer: how.Dryer, Last: how.Last}
	for _, f := range how.Faults {
		if f.State != vent.FaultOpen {
			continue
		}
		r.Faults = append(r.Faults, f)
		if rule, ok := rules.FaultByID(f.Rule); ok && rule.Do != "" && !slices.Contains(r.Bring, rule.Do) {
			r.Bring = append(r.Bring, rule.Do)
		}
	}
	return r, nil
}
