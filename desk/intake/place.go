package intake

import (
	"fmt"
	"slices"
	"strings"

	"ventdue/vent"
)

// findCustomer finds or makes the row's customer.
func (s *Sheet) findCustomer(w *place) *Problem {
	ref, name := w.d.Customer.Ref, Fold(w.d.Customer.Name)
	if ref == "" && name == "" {
		if s.nobody == nil {
			w.newCustomer = true
			w.customer = &Customer{Nameless: true}
			return nil
		}
		w.customer = s.nobody
		return nil
	}
	if c := s.customers.byRef[ref]; ref != "" && c != nil {
		w.customer = c
		return nil
	}
	same := s.customers.byName[name]
	if ref != "" {
		same = slices.DeleteFunc(slices.Clone(s.customers.without[name]), func(c *Customer) bool { return c.Ref != "" })
	}
	switch {
	case len(same) > 1:
		return &Problem{Column: "customer_name", Value: w.d.Customer.Name,
			What: fmt.Sprintf("rows %d and %d name two customers like that", same[0].Row, same[1].Row), Remedy: "say which by customer_ref"}
	case len(same) == 1 && ref == "" && s.stranger(same[0], w):
		return &Problem{Column: "contact_email", Value: w.d.Contact.Email,
			What:   fmt.Sprintf("row %d names a customer like that with another address and another site", same[0].Row),
			Remedy: "is it the same customer? Give customer_ref in both rows"}
	case len(same) == 1:
		w.customer = same[0]
	default:
		w.newCustomer = true
		w.customer = &Customer{}
	}
	return nil
}

// stranger reports whether a row that names the customer shares nothing else with it: another e-mail address and
// another site. Two people may have one name, and the one must not be told of the other's home.
func (s *Sheet) stranger(c *Customer, w *place) bool {
	mail := Fold(w.d.Contact.Email)
	if mail == "" || w.d.Contact.Ref != "" {
		return false
	}
	others := false
	for _, p := range c.Contacts {
		if p.Email == mail {
			return false
		}
		others = others || p.Email != ""
	}
	return others && s.lookSite(c, w) == nil
}

// findSite finds or makes the row's site.
func (s *Sheet) findSite(w *place) *Problem {
	w.site = s.lookSite(w.customer, w)
	if w.site == nil {
		w.newSite = true
		w.site = &Site{Customer: w.customer, Nameless: w.d.Site.Ref == "" && w.d.Site.Name == "" && w.d.Site.Address == ""}
		return nil
	}
	if w.site.Customer != w.customer && !w.customer.Nameless && !w.site.Customer.Nameless {
		return &Problem{Column: "site_ref", Value: w.d.Site.Ref, What: fmt.Sprintf("row %d gives this site to another customer", w.site.Row),
			Remedy: "give both rows the same customer, or another site_ref"}
	}
	return nil
}

func (s *Sheet) lookSite(c *Customer, w *place) *Site {
	d := &w.d.Site
	if x := s.sitesByRef[d.Ref]; d.Ref != "" && x != nil {
		return x
	}
	free := func(x *Site) *Site {
		if x != nil && d.Ref != "" && x.Ref != "" {
			return nil // another one: their refs differ
		}
		return x
	}
	if d.Name != "" {
		if x := free(s.sites[inside[*Customer]{c, "name " + Fold(d.Name)}]); x != nil {
			return x
		}
	}
	if d.Address != "" {
		x := free(s.sites[inside[*Customer]{c, "address " + Fold(d.Address)}])
		if x != nil && (d.Name == "" || x.Name == "") {
			return x
		}
		return nil
	}
	if d.Name == "" && d.Ref == "" {
		return s.sites[inside[*Customer]{c, ""}]
	}
	return nil
}

// findUnit finds or makes the row's unit; a riser has none.
func (s *Sheet) findUnit(w *place) *Problem {
	if w.d.Run.Shape == vent.Riser {
		return nil
	}
	d := &w.d.Unit
	if x := s.unitsByRef[d.Ref]; d.Ref != "" && x != nil {
		w.unit = x
		if x.Site != w.site && !w.site.Nameless && !x.Site.Nameless {
			return &Problem{Column: "unit_ref", Value: d.Ref, What: fmt.Sprintf("row %d puts this unit into another site", x.Row),
				Remedy: "give both rows the same site, or another unit_ref"}
		}
		return nil
	}
	w.unit = s.units[inside[*Site]{w.site, Fold(d.Name)}]
	if w.unit != nil && d.Ref != "" && (w.unit.Ref != "" || d.Name == "") {
		w.unit = nil
	}
	if w.unit == nil {
		w.newUnit = true
		w.unit = &Unit{Site: w.site, Nameless: d.Ref == "" && d.Name == ""}
	}
	return nil
}

// findContact finds or makes the contact of which the row speaks.
func (s *Sheet) findContact(w *place) *Problem {
	if len(w.row.Of(OfContact)) == 0 {
		return nil
	}
	d := &w.d.Contact
	mail, name := Fold(d.Email), Fold(d.Name)
	if name == "" && mail == "" && d.Ref == "" {
		name = Fold(w.d.Customer.Name)
	}
	for _, p := range w.customer.Contacts {
		if d.Ref != "" && p.Ref != "" {
			if p.Ref == d.Ref {
				w.contact = p
				return nil
			}
			continue
		}
		if mail != "" && p.Email == mail || (mail == "" || p.Email == "") && name != "" && p.Name == name {
			w.contact = p
			return nil
		}
	}
	if x := s.people[d.Ref]; d.Ref != "" && x != nil {
		w.contact = x // one person for two customers
		w.newPerson = true
		return nil
	}
	w.newPerson = true
	w.contact = &Person{Ref: d.Ref, Name: name, Email: mail}
	return nil
}

// findRun finds or makes the row's run and its dryer.
func (s *Sheet) findRun(w *place) *Problem {
	d := &w.d.Run
	if w.unit != nil && len(w.unit.Runs) > 1 && d.Ref == "" && d.Name == "" && w.speaks() {
		return &Problem{Column: "run_name", What: "is missing: the unit has several runs", Remedy: "say which by run_name or run_ref"}
	}
	w.run = s.lookRun(w)
	if x := w.run; x != nil && d.Ref != "" && x.Unit != w.unit && w.unit != nil && !w.unit.Nameless && (x.Unit == nil || !x.Unit.Nameless) {
		return &Problem{Column: "run_ref", Value: d.Ref, What: fmt.Sprintf("row %d puts this run into another unit", x.Row),
			Remedy: "give both rows the same unit, or another run_ref"}
	}
	if w.run == nil {
		w.newRun = true
		w.run = &Run{Site: w.site, Unit: w.unit}
	}
	if ref := w.d.Dryer.Ref; ref != "" && s.dryers[ref] != nil && s.dryers[ref] != w.run {
		return &Problem{Column: "dryer_ref", Value: ref, What: fmt.Sprintf("row %d has the same dryer on another run", s.dryers[ref].Row),
			Remedy: "give each dryer its own key"}
	}
	return nil
}

func (s *Sheet) lookRun(w *place) *Run {
	d := &w.d.Run
	if x := s.runsByRef[d.Ref]; d.Ref != "" && x != nil {
		return x
	}
	var x *Run
	switch {
	case w.unit == nil:
		x = s.risers[inside[*Site]{w.site, Fold(d.Name)}]
	case d.Name != "":
		x = s.runs[inside[*Unit]{w.unit, Fold(d.Name)}]
	case d.Ref == "" && len(w.unit.Runs) == 1:
		x = w.unit.Runs[0]
	case d.Ref == "":
		x = s.runs[inside[*Unit]{w.unit, ""}]
	}
	if x != nil && d.Ref != "" && x.Ref != "" {
		return nil
	}
	return x
}

// speaks reports whether the row says anything of a run, its dryer or a cleaning.
func (w *place) speaks() bool {
	return len(w.row.Of(OfRun))+len(w.row.Of(OfDryer))+len(w.row.Of(OfCleaning)) > 0
}

// findCleaning finds or makes the cleaning of which the row tells.
func (s *Sheet) findCleaning(w *place) *Problem {
	on := w.d.Cleaning.Date
	if on == 0 {
		return nil
	}
	for _, c := range w.run.Cleanings {
		if c.Date == on {
			w.cleaning = c
			return nil
		}
	}
	w.newCleaning = true
	w.cleaning = &Cleaning{Date: on}
	return nil
}

// enter puts a good row into the sheet.
func (s *Sheet) enter(w *place) {
	s.enterCustomer(w)
	s.enterSite(w)
	if w.unit != nil {
		s.enterUnit(w)
	}
	s.enterRun(w)
	if w.contact != nil {
		if w.newPerson {
			w.customer.Contacts = append(w.customer.Contacts, w.contact)
		}
		if w.contact.Email == "" {
			w.contact.Email = Fold(w.d.Contact.Email)
		}
		if w.d.Contact.Ref != "" {
			w.contact.Ref = w.d.Contact.Ref
			s.people[w.d.Contact.Ref] = w.contact
		}
	}
	row := w.row.Number
	if cells := w.row.Of(OfOccupant); len(cells) > 0 && w.unit.Occupant == nil {
		w.unit.Occupant = &Person{Said: Said{Row: row}, Name: Fold(w.d.Occupant.Name), Email: Fold(w.d.Occupant.Email)}
	}
	for _, x := range w.pairs() {
		x.said.merge(row, x.cells)
	}
}

func (s *Sheet) enterCustomer(w *place) {
	c := w.customer
	if w.newCustomer {
		c.Row, c.Index = w.row.Number, len(s.Customers)
		s.Customers = append(s.Customers, c)
		if c.Nameless {
			s.nobody = c
		}
	}
	if name := Fold(w.d.Customer.Name); c.Name == "" && name != "" {
		c.Name = name
		s.customers.byName[name] = append(s.customers.byName[name], c)
		if c.Ref == "" && w.d.Customer.Ref == "" {
			s.customers.without[name] = append(s.customers.without[name], c)
		}
	}
	if ref := w.d.Customer.Ref; c.Ref == "" && ref != "" {
		c.Ref = ref
		s.customers.byRef[ref] = c
	}
}

func (s *Sheet) enterSite(w *place) {
	x, d := w.site, &w.d.Site
	if w.newSite {
		x.Row, x.Index = w.row.Number, len(s.Sites)
		s.Sites = append(s.Sites, x)
		w.customer.Sites = append(w.customer.Sites, x)
		if x.Nameless {
			s.sites[inside[*Customer]{w.customer, ""}] = x
		}
	}
	if x.Customer.Nameless && !w.customer.Nameless {
		x.Customer = w.customer // named by site_ref before, now its customer is known
	}
	if d.Ref != "" && x.Ref == "" {
		x.Ref = d.Ref
		s.sitesByRef[d.Ref] = x
	}
	if d.Name != "" && x.Name == "" {
		x.Name = Fold(d.Name)
		s.sites[inside[*Customer]{x.Customer, "name " + x.Name}] = x
	}
	if d.Address != "" && x.Address == "" {
		x.Address = Fold(d.Address)
		k := inside[*Customer]{x.Customer, "address " + x.Address}
		if s.sites[k] == nil {
			s.sites[k] = x
		}
	}
}

func (s *Sheet) enterUnit(w *place) {
	x, d := w.unit, &w.d.Unit
	if w.newUnit {
		x.Row, x.Index = w.row.Number, len(s.Units)
		s.Units = append(s.Units, x)
		w.site.Units = append(w.site.Units, x)
		x.Name = Fold(d.Name)
		if d.Ref == "" || d.Name != "" {
			s.units[inside[*Site]{w.site, x.Name}] = x
		}
	}
	if x.Site.Nameless && !w.site.Nameless {
		x.Site = w.site
	}
	if d.Ref != "" && x.Ref == "" {
		x.Ref = d.Ref
		s.unitsByRef[d.Ref] = x
	}
}

func (s *Sheet) enterRun(w *place) {
	x, d := w.run, &w.d.Run
	if w.newRun {
		x.Row, x.Index = w.row.Number, len(s.Runs)
		s.Runs = append(s.Runs, x)
		x.Name = Fold(d.Name)
		switch {
		case w.unit == nil:
			w.site.Risers = append(w.site.Risers, x)
			s.risers[inside[*Site]{w.site, x.Name}] = x
		default:
			w.unit.Runs = append(w.unit.Runs, x)
			s.runs[inside[*Unit]{w.unit, x.Name}] = x
		}
	}
	if w.unit != nil && x.Unit != nil && x.Unit.Nameless && !w.unit.Nameless {
		x.Unit, x.Site = w.unit, w.site
	}
	x.Rows = append(x.Rows, w.row.Number)
	if d.Ref != "" && x.Ref == "" {
		x.Ref = d.Ref
		s.runsByRef[d.Ref] = x
	}
	if d.Shape != "" {
		x.Shape = d.Shape
	}
	if w.d.RiserRef != "" {
		x.RiserRef = w.d.RiserRef
	}
	if w.d.Dryer.Ref != "" {
		s.dryers[w.d.Dryer.Ref] = x
	}
	if w.newCleaning {
		w.cleaning.Row = w.row.Number
		x.Cleanings = append(x.Cleanings, w.cleaning)
	}
}

// Speaks reports whether the file says anything of the run, its dryer or a cleaning; a row may tell of a customer, a
// site or a unit alone.
func (r *Run) Speaks() bool { return len(r.Cells)+len(r.Dryer.Cells)+len(r.Cleanings) > 0 }

// Vacant reports whether the file says that nobody lives in the unit.
func (p *Person) Vacant() bool { return strings.EqualFold(p.Name, "vacant") }
