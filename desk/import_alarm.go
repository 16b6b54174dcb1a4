package desk

import (
	"fmt"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// alarms finds or makes the alarms of a unit that the file dates. A row speaks of one alarm of each kind: the unit's only one,
// or the one that has these dates already. Further ones are kept by `ventdue check alarm`.
func (m *matching) alarms(n *intake.Unit, u *unitState, smoke, co intake.AlarmDates) error {
	for _, x := range []struct {
		kind   vent.ApplianceKind
		dates  intake.AlarmDates
		column string
	}{{vent.SmokeAlarm, smoke, "smoke_alarm"}, {vent.COAlarm, co, "co_alarm"}} {
		if x.dates == (intake.AlarmDates{}) {
			continue
		}
		k, err := m.findAlarm(n, u, x.kind, x.dates, x.column)
		if err != nil || k == nil {
			return err
		}
		if x.dates.Made != 0 {
			if k.v.Made != 0 && k.v.Made != x.dates.Made {
				k.v.Replace = 0 // another alarm hangs there: the maker's date of the old one is not its
			}
			k.v.Made = x.dates.Made
			if k.v.Made > m.o.Today {
				m.cellProblem(&n.Said, x.column+"_made", "is in the future", "write the day of manufacture as YYYY-MM-DD")
			}
		}
		if x.dates.Replace != 0 {
			k.v.Replace = x.dates.Replace
		}
		if k.v.Made != 0 && k.v.Replace != 0 && k.v.Replace <= k.v.Made {
			m.cellProblem(&n.Said, x.column+"_replace_by", "is not after its day of manufacture", "look on the alarm's back again")
		}
		k.settle()
		u.alarms, m.dryers = append(u.alarms, k), append(m.dryers, k)
	}
	return nil
}

// findAlarm gives the alarm of a kind that a row speaks of; nil where that cannot be told, which is noted.
func (m *matching) findAlarm(n *intake.Unit, u *unitState, kind vent.ApplianceKind, dates intake.AlarmDates, column string) (*known[vent.Appliance], error) {
	var have []vent.Appliance
	if u.old != nil {
		for a, err := range store.AppliancesOf(m.tx, u.v.ID) {
			if err != nil {
				return nil, err
			}
			if a.Kind == kind && a.Removed == 0 {
				have = append(have, a)
			}
		}
	}
	for _, a := range have {
		same := (dates.Made == 0 || a.Made == dates.Made) && (dates.Replace == 0 || a.Replace == dates.Replace)
		if same || len(have) == 1 {
			k := found(a, n.Row)
			return &k, nil
		}
	}
	if len(have) > 1 {
		m.cellProblem(&n.Said, column+"_made", fmt.Sprintf("could be any of the unit's %d alarms of this kind", len(have)),
			"empty it here, and say which alarm was replaced by `ventdue check done`")
		return nil, nil
	}
	return &known[vent.Appliance]{row: n.Row, v: vent.Appliance{ID: m.tx.NewID(), UnitID: u.v.ID, Kind: kind}}, nil
}

// redated reports whether the file brings or changes one of the unit's alarms.
func (u *unitState) redated() bool {
	for _, a := range u.alarms {
		if a.old == nil || a.changed {
			return true
		}
	}
	return false
}
