package desk

import (
	"fmt"
	"strings"

	"ventdue/store"
	"ventdue/vent"
)

// LabelSite is a building with the runs that can be given a label.
type LabelSite struct {
	Site     vent.Site
	Operator vent.Operator
	Runs     []Labelled
}

// Labelled is a run with its dryer; the dryer is zero where it is not known.
type Labelled struct {
	Place
	Dryer vent.Appliance
}

// LabelSite gives a building's runs that are still kept, unit by unit.
func (d *Desk) LabelSite(site vent.ID) (l LabelSite, err error) {
	err = d.store.View(func(tx *store.Tx) error {
		l = LabelSite{Operator: operator(tx)}
		if l.Site, err = store.Sites.Get(tx, site); err != nil {
			return err
		}
		g := newGuide(tx)
		for run, err := range store.RunsOfSite(tx, site) {
			if err != nil {
				return err
			}
			if run.Ended != 0 {
				continue
			}
			x := Labelled{}
			if x.Place, err = g.place(run); err != nil {
				return err
			}
			if id := run.Current().DryerID; !id.IsZero() {
				if x.Dryer, err = store.Appliances.Get(tx, id); err != nil {
					return err
				}
			}
			l.Runs = append(l.Runs, x)
		}
		return nil
	})
	if err != nil {
		return l, fmt.Errorf("labels of site %s: %w", site, err)
	}
	return l, nil
}

// Sites lists buildings whose name or address holds all the words, at most most of them; more says that there are others.
func (d *Desk) Sites(words string, most int) (all []vent.Site, more bool, err error) {
	wanted := strings.Fields(strings.ToLower(words))
	err = d.store.View(func(tx *store.Tx) error {
		all, more = nil, false
		for s, err := range store.Sites.All(tx) {
			if err != nil {
				return fmt.Errorf("list sites: %w", err)
			}
			if !hasAll(s.Name+" "+s.Address, wanted) {
				continue
			}
			if more = len(all) == most; more {
				return nil
			}
			all = append(all, s)
		}
		return nil
	})
	return all, more, err
}
