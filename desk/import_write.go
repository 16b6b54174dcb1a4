package desk

import (
	"fmt"
	"slices"
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

// writeFacts writes what changed, then what is new.
func (m *matching) writeFacts() error {
	if err := m.writeChanged(); err != nil {
		return err
	}
	if err := m.tx.Admit(m.addNew); err != nil {
		return err
	}
	return m.bump()
}

// writeChanged comes first: a key that a stored record gives up may be a new one's.
func (m *matching) writeChanged() error {
	if err := change(m, store.Appliances, m.dryers); err != nil {
		return err
	}
	if err := change(m, store.Customers, m.customers); err != nil {
		return err
	}
	if err := change(m, store.Persons, m.persons); err != nil {
		return err
	}
	if err := change(m, store.Runs, m.runs); err != nil {
		return err
	}
	if err := change(m, store.Sites, m.sites); err != nil {
		return err
	}
	return change(m, store.Units, m.units)
}

// addNew adds the new records noun by noun in the order of their names, a run's findings beside it: so lies the audit
// trail, and keys that rise are written fastest. It runs beside the transaction and must not use it.
func (m *matching) addNew(in *store.Influx) error {
	if err := add(m, in, store.Appliances, m.dryers); err != nil {
		return err
	}
	if err := add(m, in, store.Customers, m.customers); err != nil {
		return err
	}
	if err := add(m, in, store.Persons, m.persons); err != nil {
		return err
	}
	if err := m.addRuns(in); err != nil {
		return err
	}
	if err := add(m, in, store.Sites, m.sites); err != nil {
		return err
	}
	return add(m, in, store.Units, m.units)
}

func (m *matching) addRuns(in *store.Influx) error {
	for _, r := range m.runs {
		k := r.record()
		if k == nil {
			continue
		}
		if err := addOne(m, in, store.Runs, k); err != nil {
			return err
		}
		for i := range r.findings {
			f := &r.findings[i]
			what := "finding of " + f.Date.String() + " imported from " + m.name + ", row " + strconv.Itoa(r.row) + ": " + string(f.Outcome)
			if err := store.Findings.Add(in, f, what); err != nil {
				return err
			}
		}
	}
	store.Runs.Done(in)
	store.Findings.Done(in)
	return nil
}

// recorded is the state of one record; nil where nothing good of the file needs it.
type recorded[T any] interface {
	comparable
	record() *known[T]
}

func (k *known[T]) record() *known[T] {
	if !k.used {
		return nil
	}
	return k
}

func (r *runState) record() *known[vent.Run] {
	if r.noRun {
		return nil
	}
	return r.known.record()
}

// change puts those of the records that changed.
func change[T any, K recorded[T]](m *matching, t *store.Table[T], all []K) error {
	var none K
	for _, x := range all {
		if x == none {
			continue
		}
		if k := x.record(); k != nil && k.changed {
			if err := t.Put(m.tx, k.v, "changed by "+m.name+", row "+strconv.Itoa(k.row)); err != nil {
				return err
			}
		}
	}
	return nil
}

// add adds those of the records that are new.
func add[T any, K recorded[T]](m *matching, in *store.Influx, t *store.Table[T], all []K) error {
	var none K
	for _, x := range all {
		if x == none {
			continue
		}
		if k := x.record(); k != nil {
			if err := addOne(m, in, t, k); err != nil {
				return err
			}
		}
	}
	t.Done(in)
	return nil
}

func addOne[T any](m *matching, in *store.Influx, t *store.Table[T], k *known[T]) error {
	if k.old != nil {
		return nil
	}
	return t.Add(in, &k.v, "imported from "+m.name+", row "+strconv.Itoa(k.row))
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
	if slices.ContainsFunc(r.inLine, func(a *known[vent.Appliance]) bool { return a.changed }) {
		return true
	}
	return r.unit != nil && (r.unit.changed || r.unit.redated()) || r.dryer != nil && r.dryer.changed
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
	if err := m.planChecks(); err != nil {
		return err
	}
	return m.queue(planned)
}

// planChecks plans the recurring checks of every site that something was changed in.
func (m *matching) planChecks() error {
	planned := map[vent.ID]bool{}
	for _, r := range m.runs {
		if r == nil || !r.used || r.site == nil || planned[r.site.v.ID] || !(r.touched() || r.noRun || r.site.changed) {
			continue
		}
		planned[r.site.v.ID] = true
		if len(planned)%500 == 499 {
			if err := m.ctx.Err(); err != nil {
				return err
			}
		}
		c, err := m.d.planChecks(m.tx, r.site.v.ID, vent.Subject{Kind: vent.KindSite, ID: r.site.v.ID})
		if err != nil {
			return fmt.Errorf("row %d: %w", r.row, err)
		}
		m.report.Dues = m.report.Dues.Add(c)
	}
	return nil
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
