package desk

import (
	"slices"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// contacts finds or makes a customer's contacts.
func (m *matching) contacts(n *intake.Customer, c *customerState) error {
	for _, p := range n.Contacts {
		among, err := m.personsOf(c)
		if err != nil {
			return err
		}
		problems := m.problems()
		k, err := m.person(p, intake.OfContact, among)
		if err != nil {
			return err
		}
		if k.v.Name == "" {
			k.v.Name = c.v.Name
		}
		if k.v.Name != "" { // else it is the customer's that is missing, and that is told
			m.invalid(&p.Said, intake.OfContact, k.v.Valid())
		}
		if !slices.Contains(c.v.Persons, k.v.ID) {
			c.v.Persons = append(slices.Clip(c.v.Persons), k.v.ID)
			c.persons = append(c.persons, k)
		}
		k.bad = m.problems() > problems
		k.settle()
	}
	return nil
}

// personsOf gives a customer's contacts.
func (m *matching) personsOf(c *customerState) ([]*known[vent.Person], error) {
	if c.persons == nil {
		for _, id := range c.v.Persons {
			k, err := m.personOf(id)
			if err != nil {
				return nil, err
			}
			c.persons = append(c.persons, k)
		}
	}
	return c.persons, nil
}

// personOf gives the state of a stored person.
func (m *matching) personOf(id vent.ID) (*known[vent.Person], error) {
	if k, ok := m.byID[id].(*known[vent.Person]); ok {
		return k, nil
	}
	v, err := store.Persons.Get(m.tx, id)
	k := found(v, 0)
	m.byID[id] = &k
	return &k, err
}

// person finds somebody by key, among people by address, then by name; or makes them.
func (m *matching) person(p *intake.Person, part intake.Part, among []*known[vent.Person]) (*known[vent.Person], error) {
	k := pickPerson(p, among)
	if k == nil && p.Ref != "" {
		var err error
		if k, err = m.personByRef(p.Ref); err != nil {
			return nil, err
		}
	}
	if k == nil {
		k = &known[vent.Person]{v: vent.Person{ID: m.tx.NewID()}}
		m.byID[k.v.ID] = k
	}
	if k.row == 0 {
		k.row = p.Row
		m.persons = append(m.persons, k)
	}
	if p.Ref != "" {
		m.people[p.Ref] = k
	}
	was := k.v.Email
	d := &m.draft
	d.Contact, d.Occupant = k.v, k.v
	d.Fill(p.Cells)
	k.v = d.Contact
	if part == intake.OfOccupant {
		k.v = d.Occupant
	}
	if was != k.v.Email {
		k.v.Undeliverable = ""
	}
	return k, nil
}

// personByRef finds a person with the operator's own key, who may be a contact of several customers; nil when none is.
func (m *matching) personByRef(ref string) (*known[vent.Person], error) {
	if k := m.people[ref]; k != nil {
		return k, nil
	}
	old, err := orNone(store.PersonByRef(m.tx, ref))
	if old == nil {
		return nil, err
	}
	return m.personOf(old.ID)
}

func pickPerson(p *intake.Person, among []*known[vent.Person]) *known[vent.Person] {
	var byName *known[vent.Person]
	for _, k := range among {
		if p.Ref != "" && k.v.Ref == p.Ref {
			return k
		}
		if p.Ref != "" && k.v.Ref != "" {
			continue
		}
		if p.Email != "" && intake.Fold(k.v.Email) == p.Email {
			return k
		}
		if p.Name != "" && intake.Fold(k.v.Name) == p.Name {
			byName = k
		}
	}
	if byName == nil && p.Name == "" && p.Ref == "" && p.Email == "" && len(among) == 1 {
		return among[0]
	}
	return byName
}

// usePersons marks the people whom good customers and units name.
func (m *matching) usePersons() {
	use := func(id vent.ID) {
		if k, ok := m.byID[id].(*known[vent.Person]); ok {
			k.used = true
		}
	}
	for _, c := range m.customers {
		if c != nil && c.used {
			for _, id := range c.v.Persons {
				use(id)
			}
		}
	}
	for _, u := range m.units {
		if u != nil && u.used {
			for _, o := range u.v.Occupancies {
				use(o.PersonID)
			}
		}
	}
}

// occupant writes who lives behind the door. Another person than the present one moves in on occupant_since, or today;
// the present one ends on that day.
func (m *matching) occupant(n *intake.Unit, u *unitState) error {
	if n.Occupant == nil {
		return nil
	}
	d := &m.draft
	d.Since, d.Vacant = 0, false
	d.Fill(n.Occupant.Cells)
	since, from := d.Since, d.Since
	if from == 0 {
		from = m.o.Today
	}
	list := slices.Clone(u.v.Occupancies)
	last := len(list) - 1
	var now *vent.Occupancy
	if last >= 0 && list[last].To == 0 {
		now = &list[last]
	}
	if d.Vacant {
		if now != nil && now.PersonID.IsZero() {
			return nil
		}
		u.v.Occupancies = m.moveIn(n, list, vent.Occupancy{From: from})
		return nil
	}
	var present []*known[vent.Person]
	var err error
	if now != nil && !now.PersonID.IsZero() {
		p, err := m.personOf(now.PersonID)
		if err != nil {
			return err
		}
		present = append(present, p)
	}
	same := pickPerson(n.Occupant, present)
	among := present
	if same == nil { // the customer may live here
		if among, err = m.personsOf(u.site.customer); err != nil {
			return err
		}
	}
	problems := m.problems()
	k, err := m.person(n.Occupant, intake.OfOccupant, among)
	if err != nil {
		return err
	}
	if k.v.Name == "" {
		k.v.Name = k.v.Email
	}
	m.invalid(&n.Occupant.Said, intake.OfOccupant, k.v.Valid())
	k.bad = m.problems() > problems
	k.settle()
	if now != nil && now.PersonID == k.v.ID {
		if since != 0 {
			now.From = since
		}
		u.v.Occupancies = list
		return nil
	}
	u.v.Occupancies = m.moveIn(n, list, vent.Occupancy{PersonID: k.v.ID, From: from})
	return nil
}

// moveIn ends the present occupancy and starts the next.
func (m *matching) moveIn(n *intake.Unit, list []vent.Occupancy, next vent.Occupancy) []vent.Occupancy {
	if last := len(list) - 1; last >= 0 && list[last].To == 0 {
		if next.From < list[last].From {
			m.cellProblem(&n.Occupant.Said, "occupant_since", "is before the present occupant moved in on "+list[last].From.String(),
				"give the day on which the new one moved in")
		}
		list[last].To = next.From
	}
	return append(list, next)
}
