package desk

import (
	"fmt"
	"slices"
	"strings"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// FindTechnician resolves what was typed for a technician: an id, an own key, an e-mail address, or words of a name that fit one.
func (d *Desk) FindTechnician(what string) (p vent.Person, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		p, err = findTechnician(tx, what)
		return err
	})
	return p, err
}

func findTechnician(tx *store.Tx, what string) (vent.Person, error) {
	all, err := store.Collect(store.Technicians(tx))
	if err != nil {
		return vent.Person{}, err
	}
	what = strings.TrimSpace(what)
	var fits []vent.Person
	for _, p := range all {
		switch {
		case what == p.ID.String(), p.Ref != "" && what == p.Ref, p.Email != "" && strings.EqualFold(what, p.Email), intake.Fold(what) == intake.Fold(p.Name):
			return p, nil
		case hasAll(p.Name, strings.Fields(strings.ToLower(what))):
			fits = append(fits, p)
		}
	}
	switch {
	case what == "" || len(fits) == 0:
		return vent.Person{}, fmt.Errorf("no technician fits %q: give the name or the e-mail address; `ventdue technician list` names them all: %w", what, vent.ErrNotFound)
	case len(fits) > 1:
		return vent.Person{}, fmt.Errorf("%q fits %s and %s: give the e-mail address: %w", what, fits[0].Name, fits[1].Name, vent.ErrConflict)
	}
	return fits[0], nil
}

// SetTechnician makes somebody a technician, or changes how one works: the one with the e-mail address, else with the name, else a new
// person. change is given the person as they are, new ones with the name and address.
func (d *Desk) SetTechnician(by By, name, mail string, change func(*vent.Person)) (p vent.Person, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		if p, err = technicianToSet(tx, name, mail); err != nil {
			return err
		}
		p.Role = vent.Technician
		change(&p)
		p.Skills = tidySkills(p.Skills)
		if err := p.Valid().Err(); err != nil {
			return fmt.Errorf("set a technician: %w", err)
		}
		return store.Persons.Put(tx, p, "set as a technician")
	})
	if err == nil {
		d.kick(JobVisits)
	}
	return p, err
}

func technicianToSet(tx *store.Tx, name, mail string) (p vent.Person, err error) {
	if mail != "" {
		for p, err := range store.PersonsByMail(tx, mail) {
			if err != nil {
				return p, err
			}
			if intake.Fold(p.Name) == intake.Fold(name) || name == "" {
				return p, nil
			}
		}
	}
	for p, err := range store.Technicians(tx) {
		if err != nil {
			return p, err
		}
		if intake.Fold(p.Name) == intake.Fold(name) {
			if mail != "" {
				p.Email, p.Undeliverable = mail, ""
			}
			return p, nil
		}
	}
	return vent.Person{ID: tx.NewID(), Name: strings.TrimSpace(name), Email: mail}, nil
}

func tidySkills(all []string) (out []string) {
	for _, s := range all {
		if s = strings.ToLower(strings.TrimSpace(s)); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// BlockTime takes a part of a technician's day for their own: an office hour, a repair of the van. It is refused with ErrConflict where a visit
// is agreed. The same block again is the same one.
func (d *Desk) BlockTime(by By, technician vent.ID, on vent.Date, hours vent.Span, note string) (out VisitChange, err error) {
	err = d.store.Update(by, func(tx *store.Tx) error {
		out = VisitChange{}
		p, err := store.Persons.Get(tx, technician)
		if err != nil {
			return err
		}
		zone := p.Zone
		if zone == "" {
			zone = operator(tx).Zone
		}
		v := vent.Visit{TechnicianID: technician, On: on, Start: hours.From, Minutes: hours.To - hours.From, Zone: zone, State: vent.Booked, Note: note, Frozen: true}
		for old, err := range store.VisitsByOn(tx, technician, on, on.AddDays(1)) {
			if err != nil {
				return err
			}
			if old.SiteID.IsZero() && old.State == vent.Booked && old.Start == v.Start && old.Minutes == v.Minutes {
				out.Known = true
				return d.settleVisit(tx, old.ID, &out)
			}
		}
		if v, err = store.SetVisit(tx, v, "time blocked: "+note); err != nil {
			return err
		}
		return d.settleVisit(tx, v.ID, &out)
	})
	if err != nil {
		return out, fmt.Errorf("block time: %w", err)
	}
	return out, nil
}

// FindVisit resolves an id or its first digits, eight at least.
func (d *Desk) FindVisit(what string) (id vent.ID, err error) {
	what = strings.ToLower(strings.TrimSpace(what))
	if id, err := vent.ParseID(what); err == nil {
		return id, d.store.View(func(tx *store.Tx) error {
			_, err := store.Visits.Get(tx, id)
			return err
		})
	}
	if len(what) < 8 {
		return id, fmt.Errorf("which visit? give its id or the first digits of it, eight at least: %w", vent.ErrInvalid)
	}
	err = d.store.View(func(tx *store.Tx) error {
		n := 0
		for v, err := range store.Visits.All(tx) {
			if err != nil {
				return err
			}
			if strings.HasPrefix(v.ID.String(), what) {
				id = v.ID
				n++
			}
		}
		switch n {
		case 1:
			return nil
		case 0:
			return fmt.Errorf("no visit begins with %q: %w", what, vent.ErrNotFound)
		}
		return fmt.Errorf("%d visits begin with %q: give more digits: %w", n, what, vent.ErrConflict)
	})
	return id, err
}
