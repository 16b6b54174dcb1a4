package desk

import (
	"slices"

	"ventdue/store"
	"ventdue/vent"
)

// inLineOf gives the boosters and traps of some versions of a run, each once.
func inLineOf(tx *store.Tx, versions []vent.Version) (all []vent.Appliance, err error) {
	for _, v := range versions {
		for _, id := range v.InLine {
			if slices.ContainsFunc(all, func(a vent.Appliance) bool { return a.ID == id }) {
				continue
			}
			a, err := store.Appliances.Get(tx, id)
			if err != nil {
				return nil, err
			}
			all = append(all, a)
		}
	}
	return all, nil
}
