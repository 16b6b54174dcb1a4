package desk

import (
	"fmt"
	"strings"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
)

// sameSite reports whether a stored site is the one that a file names within the same customer: by name, else by address.
func sameSite(n *intake.Site, s vent.Site) bool {
	if n.Ref != "" && s.Ref != "" && n.Ref != s.Ref {
		return false
	}
	if n.Name != "" {
		return intake.Fold(s.Name) == n.Name || n.Address != "" && intake.Fold(s.Address) == n.Address && intake.Fold(s.Name) == n.Address
	}
	return n.Address != "" && intake.Fold(s.Address) == n.Address
}

// taken reports whether a thing with a key of its own must look further: another row found the stored record first.
func (m *matching) taken(ref string, id vent.ID) bool {
	_, taken := m.claimed[id]
	return ref != "" && taken
}

// site finds or makes a site; nil where the rows name neither it nor a customer.
func (m *matching) site(n *intake.Site) (*siteState, error) {
	if m.sites[n.Index] != nil {
		return m.sites[n.Index], nil
	}
	problems := m.problems()
	c, err := m.customer(n.Customer)
	if err != nil {
		return nil, err
	}
	old, err := m.storedSite(n, c)
	if err != nil || old == nil && c == nil {
		return nil, err
	}
	s := &siteState{known: known[vent.Site]{row: n.Row}}
	m.sites[n.Index] = s
	if old != nil {
		s.known = found(*old, n.Row)
		m.claim(old.ID, &n.Said, "site_ref")
		m.byID[old.ID] = s
		if c == nil || n.Customer.Nameless {
			if c, err = m.customerOf(old.CustomerID); err != nil {
				return nil, err
			}
		}
	} else {
		s.v.ID, s.v.Zone = m.tx.NewID(), m.us.Zone
	}
	s.customer, s.v.CustomerID = c, c.v.ID
	d := &m.draft
	d.Site = s.v
	d.Fill(n.Cells)
	s.v = d.Site
	for _, name := range []string{s.v.Address, s.v.Ref, c.v.Name} {
		if s.v.Name == "" {
			s.v.Name = name
		}
	}
	m.invalid(&n.Said, intake.OfSite, m.siteProblems(s.v))
	s.bad = c.bad || m.problems() > problems
	s.settle()
	return s, nil
}

// siteProblems is Site.Valid, but reads each time zone once: that costs more than all the rest of a row.
func (m *matching) siteProblems(s vent.Site) vent.Problems {
	zone := s.Zone
	if m.zones[zone] {
		s.Zone = "UTC"
	}
	p := s.Valid()
	m.zones[zone] = m.zones[zone] || len(p) == 0
	return p
}

// customerOf gives the state of a stored customer that the file does not name.
func (m *matching) customerOf(id vent.ID) (*customerState, error) {
	if c, ok := m.byID[id].(*customerState); ok {
		return c, nil
	}
	v, err := store.Customers.Get(m.tx, id)
	if err != nil {
		return nil, err
	}
	c := &customerState{known: found(v, 0)}
	m.customers, m.byID[id] = append(m.customers, c), c
	return c, nil
}

func (m *matching) storedSite(n *intake.Site, c *customerState) (*vent.Site, error) {
	if n.Ref != "" {
		if s, err := orNone(store.SiteByRef(m.tx, n.Ref)); s != nil || err != nil {
			return s, err
		}
	}
	if c == nil || c.old == nil {
		return nil, nil
	}
	if !c.looked {
		var err error
		if c.sites, err = store.Collect(store.SitesOf(m.tx, c.v.ID)); err != nil {
			return nil, err
		}
		c.looked = true
	}
	if n.Nameless {
		if len(c.sites) > 1 {
			m.cellProblem(&n.Said, "site_name", fmt.Sprintf("is missing: the customer has %d sites", len(c.sites)), "say which by site_name, address or site_ref")
		}
		if len(c.sites) > 0 {
			return &c.sites[0], nil
		}
		return nil, nil
	}
	for i := range c.sites {
		if sameSite(n, c.sites[i]) && !m.taken(n.Ref, c.sites[i].ID) {
			return &c.sites[i], nil
		}
	}
	return nil, nil
}

// unit finds or makes a unit; nil where the rows name neither it nor a site.
func (m *matching) unit(n *intake.Unit) (*unitState, error) {
	if m.units[n.Index] != nil {
		return m.units[n.Index], nil
	}
	problems := m.problems()
	s, err := m.site(n.Site)
	if err != nil {
		return nil, err
	}
	old, err := m.storedUnit(n, s)
	if err != nil || old == nil && s == nil {
		return nil, err
	}
	u := &unitState{known: known[vent.Unit]{row: n.Row}}
	m.units[n.Index] = u
	if old != nil {
		u.known = found(*old, n.Row)
		m.claim(old.ID, &n.Said, "unit_ref")
		m.byID[old.ID] = u
		switch {
		case s == nil || n.Site.Nameless:
			if s, err = m.siteOf(old.SiteID); err != nil {
				return nil, err
			}
		case s.v.ID != old.SiteID:
			m.cellProblem(&n.Said, "unit_ref", "is a unit of another site", "give that site, or another unit_ref")
		}
	} else {
		u.v.ID, u.v.SiteID = m.tx.NewID(), s.v.ID
	}
	u.site = s
	d := &m.draft
	d.Unit, d.Smoke, d.CO = u.v, intake.AlarmDates{}, intake.AlarmDates{}
	d.Fill(n.Cells)
	u.v = d.Unit
	if err := m.alarms(n, u, d.Smoke, d.CO); err != nil {
		return nil, err
	}
	if u.v.Kind == "" {
		u.v.Kind = usualKind(n)
	}
	for _, name := range []string{u.v.Ref, s.v.Name} {
		if u.v.Name == "" {
			u.v.Name = name
		}
	}
	if err := m.occupant(n, u); err != nil {
		return nil, err
	}
	m.invalid(&n.Said, intake.OfUnit, u.v.Valid())
	u.bad = s.bad || m.problems() > problems
	u.settle()
	return u, nil
}

// usualKind says what a door is that nobody gave a kind: the only door of a site is its house, unless it has a number like a
// flat's. A flat's runs are opened at a lower chance of being choked, so this matters.
func usualKind(n *intake.Unit) vent.UnitKind {
	alone := n.Site == nil || len(n.Site.Units) <= 1
	switch {
	case alone && !strings.ContainsAny(n.Name, "0123456789"):
		return vent.House
	case strings.Contains(strings.ToLower(n.Name), "laundry"):
		return vent.LaundryRoom
	}
	return vent.Flat
}

// siteOf gives the state of a stored site that the file does not name.
func (m *matching) siteOf(id vent.ID) (*siteState, error) {
	if s, ok := m.byID[id].(*siteState); ok {
		return s, nil
	}
	v, err := store.Sites.Get(m.tx, id)
	if err != nil {
		return nil, err
	}
	c, err := m.customerOf(v.CustomerID)
	if err != nil {
		return nil, err
	}
	s := &siteState{known: found(v, 0), customer: c}
	m.sites, m.byID[id] = append(m.sites, s), s
	return s, nil
}

func (m *matching) storedUnit(n *intake.Unit, s *siteState) (*vent.Unit, error) {
	if n.Ref != "" {
		if u, err := orNone(store.UnitByRef(m.tx, n.Ref)); u != nil || err != nil {
			return u, err
		}
	}
	if s == nil || s.old == nil {
		return nil, nil
	}
	if !s.looked {
		var err error
		if s.units, err = store.Collect(store.UnitsOf(m.tx, s.v.ID)); err != nil {
			return nil, err
		}
		s.looked = true
	}
	for i := range s.units {
		u := &s.units[i]
		if n.Ref != "" && u.Ref != "" || m.taken(n.Ref, u.ID) {
			continue
		}
		if n.Name != "" && intake.Fold(u.Name) == n.Name {
			return u, nil
		}
	}
	switch {
	case !n.Nameless || len(s.units) == 0:
		return nil, nil
	case len(s.units) > 1:
		m.cellProblem(&n.Said, "unit_name", fmt.Sprintf("is missing: the site has %d units", len(s.units)), "say which by unit_name or unit_ref")
	}
	return &s.units[0], nil
}

// unitOf gives the state of a stored unit that the file does not name.
func (m *matching) unitOf(id vent.ID) (*unitState, error) {
	if id.IsZero() {
		return nil, nil
	}
	if u, ok := m.byID[id].(*unitState); ok {
		return u, nil
	}
	v, err := store.Units.Get(m.tx, id)
	if err != nil {
		return nil, err
	}
	s, err := m.siteOf(v.SiteID)
	if err != nil {
		return nil, err
	}
	u := &unitState{known: found(v, 0), site: s}
	m.units, m.byID[id] = append(m.units, u), u
	return u, nil
}
