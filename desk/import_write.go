package desk

import (
	"fmt"
	"strconv"

	"ventdue/store"
	"ventdue/vent"
)

// write stores what was matched, noun by noun, then plans the runs that are touched.
func (m *matching) write() error {
	m.o.Progress(PhaseWrite, 0, len(m.runs), 0)
	if err := m.writeFacts(); err != nil {
		return err
	}
	return m.plan()
}

// writeFacts writes the nouns in the order of their names, a run's findings beside it: so lies the audit trail, and keys
// that rise are written fastest.
func (m *matching) writeFacts() error {
	for _, k := range m.dryers {
		if err := put(m, store.Appliances, k); err != nil {
			return err
		}
	}
	for _, k := range m.customers {
		if k != nil {
			if err := put(m, store.Customers, &k.known); err != nil {
				return err
			}
		}
	}
	for _, k := range m.persons {
		if err := put(m, store.Persons, k); err != nil {
			return err
		}
	}
	for _, r := range m.runs {
		if err := m.writeRun(r); err != nil {
			return err
		}
	}
	for _, k := range m.sites {
		if k != nil {
			if err := put(m, store.Sites, &k.known); err != nil {
				return err
			}
		}
	}
	for _, k := range m.units {
		if k != nil {
			if err := put(m, store.Units, &k.known); err != nil {
				return err
			}
		}
	}
	return m.bump()
}

func (m *matching) writeRun(r *runState) error {
	if !r.used || r.noRun {
		return nil
	}
	if err := put(m, store.Runs, &r.known); err != nil {
		return err
	}
	for _, f := range r.findings {
		what := "finding of " + f.Date.String() + " imported from " + m.name + ", row " + strconv.Itoa(r.row) + ": " + string(f.Outcome)
		if err := store.Findings.Put(m.tx, f, what); err != nil {
			return err
		}
	}
	return nil
}

// put writes a record where it is new or changed.
func put[T any](m *matching, t *store.Table[T], k *known[T]) error {
	switch {
	case !k.used || k.old != nil && !k.changed:
		return nil
	case k.old == nil:
		return t.Put(m.tx, k.v, "imported from "+m.name+", row "+strconv.Itoa(k.row))
	}
	return t.Put(m.tx, k.v, "changed by "+m.name+", row "+strconv.Itoa(k.row))
}

// bump raises the revisions of calendars whose words changed: names and addresses stand in them.
func (m *matching) bump() error {
	for _, k := range m.customers {
		if k != nil && k.used && k.changed {
			if err := m.tx.BumpPlace(vent.ID{}, k.v.ID); err != nil {
				return err
			}
		}
	}
	for _, k := range m.sites {
		if k == nil || !k.used || !k.changed {
			continue
		}
		if err := m.tx.BumpPlace(k.v.ID, k.old.CustomerID); err != nil {
			return err
		}
		if err := m.tx.BumpPlace(k.v.ID, k.v.CustomerID); err != nil {
			return err
		}
	}
	for _, k := range m.units {
		if k != nil && k.used && k.changed {
			if err := m.tx.BumpPlace(k.site.v.ID, k.site.v.CustomerID); err != nil {
				return err
			}
		}
	}
	for _, k := range m.runs {
		if k.used && k.changed {
			if err := m.tx.BumpPlace(k.site.v.ID, k.site.v.CustomerID); err != nil {
				return err
			}
		}
	}
	return nil
}

// touched reports whether the run's dates may have changed.
func (r *runState) touched() bool {
	switch {
	case !r.used || r.noRun:
		return false
	case r.old == nil, r.changed, len(r.findings) > 0, r.site.changed:
		return true
	}
	return r.unit != nil && r.unit.changed || r.dryer != nil && r.dryer.changed
}

// plan computes the dates of the file's touched runs, and queues other runs that the changes concern.
func (m *matching) plan() error {
	total := 0
	for _, r := range m.runs {
		if r.touched() {
			total++
		}
	}
	m.o.Progress(PhasePlan, 0, total, 0)
	planned := make(map[vent.ID]bool, total)
	for _, r := range m.runs {
		if !r.touched() {
			continue
		}
		if len(planned)%500 == 499 {
			if err := m.ctx.Err(); err != nil {
				return err
			}
			m.o.Progress(PhasePlan, len(planned), total, 0)
		}
		c, err := m.planOne(r)
		if err != nil {
			return fmt.Errorf("row %d: %w", r.row, err)
		}
		m.report.Dues = m.report.Dues.Add(c)
		planned[r.v.ID] = true
	}
	m.report.Planned = len(planned)
	return m.queue(planned)
}

func (m *matching) planOne(r *runState) (store.Changes, error) {
	by := vent.Subject{Kind: vent.KindRun, ID: r.v.ID}
	for _, f := range r.findings {
		by = vent.Subject{Kind: vent.KindFinding, ID: f.ID}
		if r.old == nil {
			continue // nobody can have noticed anything yet
		}
		if err := answerSigns(m.tx, f); err != nil {
			return store.Changes{}, err
		}
	}
	return m.d.planRun(m.tx, r.v, by)
}

// queue has the other runs planned soon that a changed site or unit, or a riser, has a part in.
func (m *matching) queue(planned map[vent.ID]bool) error {
	why := "changed by " + m.name
	var ids []vent.ID
	gather := func(r vent.Run, err error) error {
		if err == nil && !planned[r.ID] {
			ids = append(ids, r.ID)
			planned[r.ID] = true
		}
		return err
	}
	for _, s := range m.sites {
		if s == nil || !s.used || !s.changed {
			continue
		}
		for r, err := range store.RunsOfSite(m.tx, s.v.ID) {
			if err := gather(r, err); err != nil {
				return err
			}
		}
	}
	for _, u := range m.units {
		if u == nil || !u.used || !u.changed {
			continue
		}
		for r, err := range store.RunsOfUnit(m.tx, u.v.ID) {
			if err := gather(r, err); err != nil {
				return err
			}
		}
	}
	for _, riser := range m.runs {
		if !riser.used || !riser.changed || riser.v.Shape != vent.Riser {
			continue
		}
		for r, err := range store.BranchesOf(m.tx, riser.v.ID) {
			if err := gather(r, err); err != nil {
				return err
			}
		}
	}
	for _, id := range ids {
		if err := m.tx.Replan(id, why); err != nil {
			return err
		}
	}
	m.report.Queued = len(ids)
	return nil
}
