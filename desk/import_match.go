package desk

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"

	"ventdue/desk/intake"
	"ventdue/store"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// matching finds what a file speaks of among what is stored, and works out the records as they will be. It only reads:
// everything is known before the first write, so that writing needs no look-ups and a refusal has touched nothing.
type matching struct {
	*file
	d   *Desk
	tx  *store.Tx
	ctx context.Context

	report  ImportReport
	badRows map[int]bool
	claimed map[vent.ID]int // stored records that were found, by the row that found them
	byName  map[string][]vent.Customer

	customers []*customerState // the file's first, by their index; then stored ones that it needs
	sites     []*siteState
	units     []*unitState
	persons   []*known[vent.Person]
	dryers    []*known[vent.Appliance]
	runs      []*runState
	byID      map[vent.ID]any // states of what is stored
	people    map[string]*known[vent.Person]

	draft, runDraft intake.Draft                   // the noun at hand, and the run at hand
	zones           map[string]bool                // those that are known to be good
	ducts           map[intake.Route]*airflow.Duct // new ones that are good, by what rows say of them
}

// known is one record as it will be.
type known[T any] struct {
	v       T
	old     *T // as it is stored; nil: it is new
	row     int
	bad     bool
	used    bool // something good of the file needs it
	changed bool
}

// settle compares the record with the stored one.
func (k *known[T]) settle() { k.changed = k.old != nil && !reflect.DeepEqual(*k.old, k.v) }

func found[T any](v T, row int) known[T] { return known[T]{v: v, old: &v, row: row} }

// orNone turns the answer of a look-up into a pointer, nil where nothing is stored.
func orNone[T any](v T, err error) (*T, error) {
	if errors.Is(err, vent.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	one := v // v itself would be moved to the heap by every call
	return &one, nil
}

type customerState struct {
	known[vent.Customer]
	persons []*known[vent.Person]
	sites   []vent.Site // stored ones
	looked  bool        // sites are loaded
}

type siteState struct {
	known[vent.Site]
	customer *customerState
	units    []vent.Unit // stored ones
	looked   bool
}

type unitState struct {
	known[vent.Unit]
	site   *siteState
	runs   []vent.Run               // stored ones
	dryers []vent.Appliance         // stored ones
	alarms []*known[vent.Appliance] // of which the file speaks
	looked bool
}

type runState struct {
	known[vent.Run]
	node     *intake.Run
	unit     *unitState
	site     *siteState
	dryer    *known[vent.Appliance]
	gone     *known[vent.Appliance]   // the dryer that was there before
	inLine   []*known[vent.Appliance] // boosters and traps of which the file speaks, those taken out included
	stored   []vent.Finding
	findings []vent.Finding // new ones
	noRun    bool           // a ventless dryer
}

func (f *file) match(ctx context.Context, d *Desk, tx *store.Tx) (*matching, error) {
	m := &matching{file: f, d: d, tx: tx, ctx: ctx, report: f.report,
		badRows: map[int]bool{}, claimed: map[vent.ID]int{}, byID: map[vent.ID]any{}, people: map[string]*known[vent.Person]{}, zones: map[string]bool{}, ducts: map[intake.Route]*airflow.Duct{},
		customers: make([]*customerState, len(f.sheet.Customers)), sites: make([]*siteState, len(f.sheet.Sites)),
		units: make([]*unitState, len(f.sheet.Units)), runs: make([]*runState, len(f.sheet.Runs)),
	}
	// The listed problems are copied: the function may run again.
	m.report.Problems.Listed = slices.Clone(f.report.Problems.Listed)
	total := len(f.sheet.Runs)
	f.o.Progress(PhaseMatch, 0, total, 0)
	for i, n := range f.sheet.Runs {
		if i%500 == 499 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			f.o.Progress(PhaseMatch, i, total, 0)
		}
		if _, err := m.run(n); err != nil {
			return nil, err
		}
	}
	m.usePersons()
	slices.SortStableFunc(m.report.Problems.Listed, func(a, b intake.Problem) int { return a.Row - b.Row })
	return m, nil
}

// problem notes what is wrong with a row.
func (m *matching) problem(row int, column, value, what, remedy string) {
	m.report.Problems.Add(intake.Problem{Row: row, Column: column, Value: value, What: what, Remedy: remedy})
	m.badRow(row)
}

func (m *matching) badRow(row int) {
	if !m.badRows[row] {
		m.badRows[row] = true
		m.report.Bad++
	}
}

// cellProblem notes what is wrong with one cell of a thing.
func (m *matching) cellProblem(s *intake.Said, column, what, remedy string) {
	row, value := s.Row, ""
	if c := s.Cell(column); c.Row != 0 {
		row, value = int(c.Row), c.Value.Text
	}
	m.problem(row, column, value, what, remedy)
}

// invalid notes what a noun finds wrong with itself, under the columns' names.
func (m *matching) invalid(s *intake.Said, part intake.Part, p vent.Problems) {
	for _, x := range p {
		name, unit := x.Field, ""
		if c := part.Column(x.Field); c != nil {
			name, unit = c.Name, c.Base()
		}
		what, remedy := intake.Split(x.Text)
		if remedy == "" && unit != "" {
			what, remedy = what+" "+unit, "check the figure and its unit"
		}
		if remedy == "" {
			remedy = "put the cell right, or empty it"
		}
		row, value := s.Row, x.Value
		if c := s.Cell(name); c.Row != 0 {
			row, value = int(c.Row), c.Value.Text
		}
		m.problem(row, name, value, what, remedy)
	}
}

// problems counts what was found wrong so far; a record whose making added to it is bad.
func (m *matching) problems() int { return m.report.Problems.Len() }

// claim makes sure that one stored record is found by one thing of the file only.
func (m *matching) claim(id vent.ID, s *intake.Said, column string) {
	if row, taken := m.claimed[id]; taken && row != s.Row {
		m.problem(s.Row, column, s.Cell(column).Value.Text, fmt.Sprintf("is the one of row %d as well, written in another way", row),
			"write both rows alike, or tell them apart by "+column)
		return
	}
	m.claimed[id] = s.Row
}

// customer finds or makes a customer; nil where the rows name none.
func (m *matching) customer(n *intake.Customer) (*customerState, error) {
	if m.customers[n.Index] != nil {
		return m.customers[n.Index], nil
	}
	if n.Nameless {
		return m.ownCustomer(n)
	}
	problems := m.problems()
	c, err := m.customerState(n)
	if err != nil {
		return nil, err
	}
	d := &m.draft
	d.Customer = c.v
	d.Fill(n.Cells)
	c.v = d.Customer
	if c.v.Name == "" {
		m.cellProblem(&n.Said, "customer_name", "is missing: no customer with this key is stored", "give the new customer's name")
	} else {
		m.invalid(&n.Said, intake.OfCustomer, c.v.Valid())
	}
	if err := m.contacts(n, c); err != nil {
		return nil, err
	}
	c.bad = m.problems() > problems
	c.settle()
	return c, nil
}

// customerState starts from the stored customer, or from a new one.
func (m *matching) customerState(n *intake.Customer) (*customerState, error) {
	c := &customerState{known: known[vent.Customer]{row: n.Row}}
	m.customers[n.Index] = c
	old, err := m.storedCustomer(n)
	if err != nil {
		return nil, err
	}
	if old == nil {
		c.v.ID = m.tx.NewID()
		return c, nil
	}
	c.known = found(*old, n.Row)
	m.claim(old.ID, &n.Said, "customer_ref")
	m.byID[old.ID] = c
	return c, nil
}

// ownCustomer gives the operator as a customer: a landlord's or a household's file names none.
func (m *matching) ownCustomer(n *intake.Customer) (*customerState, error) {
	if m.us.Kind == vent.Customers {
		return nil, nil
	}
	named := *n
	named.Name = intake.Fold(m.us.Name)
	problems := m.problems()
	c, err := m.customerState(&named)
	if err != nil {
		return nil, err
	}
	if c.old == nil {
		c.v.Name = m.us.Name
	}
	if err := m.contacts(n, c); err != nil {
		return nil, err
	}
	c.bad = m.problems() > problems
	c.settle()
	return c, nil
}

// storedCustomer looks a customer up by key, then by name.
func (m *matching) storedCustomer(n *intake.Customer) (*vent.Customer, error) {
	if n.Ref != "" {
		if c, err := orNone(store.CustomerByRef(m.tx, n.Ref)); c != nil || err != nil {
			return c, err
		}
	}
	if n.Name == "" {
		return nil, nil
	}
	if m.byName == nil {
		m.byName = map[string][]vent.Customer{}
		for c, err := range store.Customers.All(m.tx) {
			if err != nil {
				return nil, err
			}
			name := intake.Fold(c.Name)
			m.byName[name] = append(m.byName[name], c)
		}
	}
	var same []vent.Customer
	for _, c := range m.byName[n.Name] {
		if n.Ref == "" {
			same = append(same, c)
			continue
		}
		// A stored customer without a key takes the file's, unless it is somebody else of that name.
		strange, err := m.stranger(n, c)
		if err != nil {
			return nil, err
		}
		if _, taken := m.claimed[c.ID]; c.Ref == "" && !taken && !strange {
			same = append(same, c)
		}
	}
	switch {
	case len(same) == 0:
		return nil, nil
	case len(same) > 1:
		m.cellProblem(&n.Said, "customer_name", fmt.Sprintf("%d customers of this name are stored", len(same)), "say which by customer_ref")
		return &same[0], nil
	case n.Ref != "":
		return &same[0], nil
	}
	strange, err := m.stranger(n, same[0])
	if strange {
		m.cellProblem(&n.Contacts[0].Said, "contact_email", "a customer of this name with another address and other sites is stored",
			"is it the same customer? Give customer_ref, and give the stored one the same")
	}
	return &same[0], err
}

// stranger reports whether a stored customer has nothing but the name in common with the file's.
func (m *matching) stranger(n *intake.Customer, c vent.Customer) (bool, error) {
	mails := map[string]bool{}
	for _, id := range c.Persons {
		p, err := store.Persons.Get(m.tx, id)
		if err != nil {
			return false, err
		}
		if p.Email != "" {
			mails[intake.Fold(p.Email)] = true
		}
	}
	given := 0
	for _, p := range n.Contacts {
		if p.Ref != "" || mails[p.Email] {
			return false, nil
		}
		if p.Email != "" {
			given++
		}
	}
	if given == 0 || len(mails) == 0 {
		return false, nil
	}
	for site, err := range store.SitesOf(m.tx, c.ID) {
		if err != nil {
			return false, err
		}
		for _, x := range n.Sites {
			if x.Nameless || x.Ref != "" && x.Ref == site.Ref || sameSite(x, site) {
				return false, nil
			}
		}
	}
	return true, nil
}

// tally counts what good rows change.
func (m *matching) tally() {
	t := map[vent.Kind]Tally{}
	tallyOf(t, vent.KindPerson, m.persons)
	tallyOf(t, vent.KindCustomer, m.customers)
	tallyOf(t, vent.KindSite, m.sites)
	tallyOf(t, vent.KindUnit, m.units)
	tallyOf(t, vent.KindAppliance, m.dryers)
	tallyOf(t, vent.KindRun, slices.DeleteFunc(slices.Clone(m.runs), func(r *runState) bool { return r == nil || r.noRun }))
	f := t[vent.KindFinding]
	for _, r := range m.runs {
		if r != nil && r.used {
			f.New += len(r.findings)
			f.Unchanged += len(r.node.Cleanings) - len(r.findings)
		}
	}
	t[vent.KindFinding] = f
	maps.DeleteFunc(t, func(_ vent.Kind, n Tally) bool { return n == Tally{} })
	m.report.Records = t
}

// counted is a record's state without its type.
type counted interface {
	is() (used, isNew, changed bool)
}

func (k *known[T]) is() (used, isNew, changed bool) { return k.used, k.old == nil, k.changed }

func tallyOf[K interface {
	comparable
	counted
}](t map[vent.Kind]Tally, kind vent.Kind, all []K) {
	n := t[kind]
	var none K
	for _, k := range all {
		if k == none {
			continue
		}
		switch used, isNew, changed := k.is(); {
		case !used:
		case isNew:
			n.New++
		case changed:
			n.Changed++
		default:
			n.Unchanged++
		}
	}
	t[kind] = n
}
