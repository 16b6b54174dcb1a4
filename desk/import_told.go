package desk

import "ventdue/vent"

// countTold counts the people who have something to be told now, among those whose runs, customers or addresses the file
// changed. Tell decides for itself a moment later; this says beforehand how many mails an import sets off.
func (m *matching) countTold() {
	concerned := map[vent.ID]bool{}
	concern := func(c *customerState) {
		for _, p := range c.v.Persons {
			concerned[p] = true
		}
	}
	for _, r := range m.runs {
		if r.touched() {
			concern(r.site.customer)
		}
	}
	for _, c := range m.customers {
		if c != nil && c.used && (c.old == nil || c.changed) {
			concern(c)
		}
	}
	for _, p := range m.persons {
		if p.used && (p.old == nil || p.changed) {
			concerned[p.v.ID] = true
		}
	}
	for id := range concerned {
		l, err := m.d.listener(m.tx, id)
		if err != nil { // Tell sets the person aside and says so
			continue
		}
		if e, err := l.reminders(); err == nil && len(e.notices) > 0 {
			m.report.Told++
		}
	}
}
