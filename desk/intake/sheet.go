package intake

import (
	"fmt"
	"strings"

	"ventdue/vent"
)

// Said is what a file says of one thing: the cells of all its rows, which never contradict each other.
type Said struct {
	Row   int // the first row that names it
	Cells []Cell
}

// Cell gives what was said in a column; the zero Cell where nothing was.
func (s *Said) Cell(column string) Cell {
	col := byName()[column]
	for _, c := range s.Cells {
		if int(c.Col) == col {
			return c
		}
	}
	return Cell{}
}

// Customer is one customer of a file with what hangs on it.
type Customer struct {
	Said
	Index    int // place in Sheet.Customers
	Ref      string
	Name     string
	Nameless bool // the rows name no customer
	Contacts []*Person
	Sites    []*Site
}

// Person is a customer's contact, or the occupant of a unit.
type Person struct {
	Said
	Ref, Name, Email string
}

// Site is one building of a file.
type Site struct {
	Said
	Index         int
	Ref           string
	Name, Address string
	Nameless      bool // the rows name no site
	Customer      *Customer
	Units         []*Unit
	Risers        []*Run
}

// Unit is one door of a file.
type Unit struct {
	Said
	Index     int
	Ref, Name string
	Nameless  bool
	Site      *Site
	Occupant  *Person // nil: nothing said
	Runs      []*Run
}

// Run is one vent run of a file with its dryer and cleanings; a row of a ventless dryer makes one as well.
type Run struct {
	Said
	Index     int
	Ref, Name string
	Shape     vent.RunShape // "" where not said
	RiserRef  string
	Site      *Site
	Unit      *Unit // nil for a riser
	Dryer     Said
	Cleanings []*Cleaning
	Rows      []int // rows that speak of it
}

// Cleaning is one last cleaning of a run.
type Cleaning struct {
	Said
	Date vent.Date
}

// Sheet is what a whole file says: customers, sites, units and runs, each once, found by *_ref or else by
// its natural key:
//
//   - a customer by name (an e-mail address and a site that are both new to the name are refused: who is it?),
//   - a contact within the customer by e-mail address, else by name,
//   - a site within the customer by name, else by address,
//   - a unit within the site by name,
//   - a run within the unit by name; without a name it is the unit's only run.
//
// Names are compared without regard to case and blanks.
type Sheet struct {
	Customers []*Customer
	Sites     []*Site
	Units     []*Unit
	Runs      []*Run

	p          *Problems
	nobody     *Customer
	customers  keyed[*Customer]
	sitesByRef map[string]*Site
	unitsByRef map[string]*Unit
	runsByRef  map[string]*Run
	dryers     map[string]*Run
	refused    map[string]bool // run_refs of rows that were not entered
	people     map[string]*Person
	sites      map[inside[*Customer]]*Site
	units      map[inside[*Site]]*Unit
	runs       map[inside[*Unit]]*Run
	risers     map[inside[*Site]]*Run

	place place // the row at hand; kept here since most of it would be garbage at once
	steps []func(*place) *Problem

	clashes int // rows that contradict earlier ones
}

type keyed[T any] struct {
	byRef   map[string]T
	byName  map[string][]T
	without map[string][]T // those of byName that had no key when they were entered
}

// inside is a natural key within a parent.
type inside[P any] struct {
	parent P
	key    string
}

// NewSheet makes an empty sheet that notes contradictions in p.
func NewSheet(p *Problems) *Sheet {
	s := &Sheet{p: p,
		customers:  keyed[*Customer]{map[string]*Customer{}, map[string][]*Customer{}, map[string][]*Customer{}},
		sitesByRef: map[string]*Site{}, unitsByRef: map[string]*Unit{}, runsByRef: map[string]*Run{}, dryers: map[string]*Run{},
		refused: map[string]bool{},
		people:  map[string]*Person{},
		sites:   map[inside[*Customer]]*Site{}, units: map[inside[*Site]]*Unit{},
		runs: map[inside[*Unit]]*Run{}, risers: map[inside[*Site]]*Run{},
	}
	s.steps = []func(*place) *Problem{(*place).check, s.findCustomer, s.findSite, s.findUnit, s.findContact, s.findRun, s.findCleaning}
	return s
}

// RunByRef gives the file's run with the operator's own key, nil when there is none.
func (s *Sheet) RunByRef(ref string) *Run { return s.runsByRef[ref] }

// Refused reports whether the row of the run with this key was refused, which is told there already.
func (s *Sheet) Refused(ref string) bool { return s.refused[ref] }

// Refuse remembers a row that is not entered.
func (s *Sheet) Refuse(row Row) {
	for _, c := range row.Of(OfRun) {
		if c.Column().Name == "run_ref" {
			s.refused[c.Value.Text] = true
		}
	}
}

// Fold is how names are compared: lower case, blanks joined.
func Fold(s string) string {
	plain := true
	for i := 0; i < len(s) && plain; i++ {
		c := s[i]
		plain = c < 0x80 && (c < 'A' || c > 'Z') && (c > ' ' || c == ' ' && i > 0 && s[i-1] != ' ')
	}
	if plain && !strings.HasSuffix(s, " ") {
		return s
	}
	return strings.ToLower(strings.Join(strings.Fields(s), " "))
}

// place is where a row belongs: its things, those made for it included. Nothing is entered into the sheet before the
// whole row is known to be good.
type place struct {
	row      Row
	d        Draft
	customer *Customer
	contact  *Person
	site     *Site
	unit     *Unit
	run      *Run
	cleaning *Cleaning
	newPerson, newSite, newUnit,
	newRun, newCustomer, newCleaning bool
	found [8]pair // room for pairs
}

// Add enters a row. It returns false, and enters nothing of it, where the row contradicts itself or an earlier one.
func (s *Sheet) Add(row Row) bool {
	w := &s.place
	*w = place{row: row}
	w.d.Fill(row.Cells)
	if bad := s.find(w); bad != nil {
		bad.Row = row.Number
		s.p.Add(*bad)
		s.Refuse(row)
		return false
	}
	ok := true
	for _, x := range w.pairs() {
		ok = s.agrees(x.said, x.cells, x.ref) && ok
	}
	if ok {
		s.enter(w)
	} else {
		s.clashes++
		s.Refuse(row)
	}
	return ok
}

// Settle tells, after the last row, what was kept back: where a heading is not known, rows look alike that are not, and one
// line says so instead of one for each of their cells.
func (s *Sheet) Settle() {
	if s.p.Unknown > 0 && s.clashes > 0 {
		s.p.Add(Problem{Row: s.p.Unknown, What: fmt.Sprintf("%d rows contradict others, perhaps for want of the column that is not known", s.clashes),
			Remedy: "put the first row right, then check again"})
	}
}

// find finds where the row belongs, or what keeps it from being placed.
func (s *Sheet) find(w *place) *Problem {
	for _, step := range s.steps {
		if bad := step(w); bad != nil {
			return bad
		}
	}
	return nil
}

// check finds what cannot be true of one row alone.
func (w *place) check() *Problem {
	d, r := &w.d, w.row
	riser := d.Run.Shape == vent.Riser
	switch {
	case len(r.Of(OfCleaning)) > 0 && d.Cleaning.Date == 0 && len(r.Of(OfCleaning)) > w.cleaningDays():
		return &Problem{Column: "last_cleaned", What: "is missing, but other columns tell of a cleaning", Remedy: "give its day, or empty those columns"}
	case d.Ceiling.Months > 0 && d.Ceiling.Source == "":
		return &Problem{Column: "ceiling_source", What: "is missing beside ceiling_months", Remedy: "say who demands the interval"}
	case d.Ceiling.Months == 0 && d.Ceiling.Source != "":
		return &Problem{Column: "ceiling_months", What: "is missing beside ceiling_source", Remedy: "say how many months, or empty ceiling_source"}
	case riser && (len(r.Of(OfUnit)) > 0 || len(r.Of(OfOccupant)) > 0 || len(r.Of(OfDryer)) > 0):
		return &Problem{Column: "run_shape", Value: "riser", What: "a common riser belongs to the site, not to a unit or dryer",
			Remedy: "empty the unit and dryer columns of this row; give each dryer's branch a row of its own with riser_ref"}
	case riser && d.RiserRef != "", d.Run.Shape == vent.Single && d.RiserRef != "":
		return &Problem{Column: "riser_ref", Value: d.RiserRef, What: "stands in the row of a " + string(d.Run.Shape) + " run", Remedy: "empty it, or write branch in run_shape"}
	case d.Run.Shape == vent.Branch && d.RiserRef == "" && d.Run.Ref == "":
		return &Problem{Column: "riser_ref", What: "is missing: a branch names its riser", Remedy: "give the riser's run_ref"}
	case d.Dryer.Fuel == vent.Ventless && (len(r.Of(OfRun)) > 0 || len(r.Of(OfCleaning)) > 0):
		return &Problem{Column: "fuel", Value: "ventless", What: "a ventless dryer has no exhaust run", Remedy: "empty the run and cleaning columns, or put the fuel right"}
	case d.Since != 0 && d.Occupant.Name == "" && d.Occupant.Email == "":
		return &Problem{Column: "occupant_name", What: "is missing beside occupant_since", Remedy: `give the occupant, or "vacant"`}
	case len(r.Of(OfOccupant)) > 0 && d.Occupant.Name == "" && d.Occupant.Email == "":
		return &Problem{Column: "occupant_name", What: "is missing beside occupant_phone", Remedy: "give the occupant's name"}
	}
	return nil
}

// cleaningDays counts the row's last_cleaned cells: 1 where it says "unknown".
func (w *place) cleaningDays() int {
	for _, c := range w.row.Of(OfCleaning) {
		if c.Column().Name == "last_cleaned" {
			return 1
		}
	}
	return 0
}

// pair is a thing with what the row says of it, and the column that would tell it from another.
type pair struct {
	said  *Said
	cells []Cell
	ref   string
}

func (w *place) pairs() []pair {
	all := append(w.found[:0],
		pair{&w.customer.Said, w.row.Of(OfCustomer), "customer_ref"},
		pair{&w.site.Said, w.row.Of(OfSite), "site_ref"},
		pair{&w.run.Said, w.row.Of(OfRun), "run_ref or run_name"},
		pair{&w.run.Dryer, w.row.Of(OfDryer), "run_ref or run_name"})
	if w.contact != nil {
		all = append(all, pair{&w.contact.Said, w.row.Of(OfContact), "contact_ref"})
	}
	if w.unit != nil {
		all = append(all, pair{&w.unit.Said, w.row.Of(OfUnit), "unit_ref or unit_name"})
		if w.unit.Occupant != nil {
			all = append(all, pair{&w.unit.Occupant.Said, w.row.Of(OfOccupant), "unit_ref or unit_name"})
		}
	}
	if w.cleaning != nil {
		all = append(all, pair{&w.cleaning.Said, w.row.Of(OfCleaning), "last_cleaned"})
	}
	return all
}

// agrees notes every cell that says something else than an earlier row of the same thing.
func (s *Sheet) agrees(said *Said, cells []Cell, ref string) bool {
	if len(said.Cells) == 0 {
		return true
	}
	ok := true
	for _, c := range cells {
		for _, was := range said.Cells {
			if was.Col == c.Col && !was.Says(c.Value) {
				if ok = false; s.p.Unknown > 0 {
					continue
				}
				s.p.Add(Problem{Row: int(c.Row), Column: c.Column().Name, Value: c.Value.Text,
					What:   fmt.Sprintf("contradicts row %d, which says %q of the same %s", was.Row, shorten(was.Value.Text, 60), c.Column().Part),
					Remedy: fmt.Sprintf("make them equal, or tell them apart by %s", ref)})
			}
		}
	}
	return ok
}

// merge adds what earlier rows did not say.
func (s *Said) merge(row int, cells []Cell) {
	if len(s.Cells) == 0 {
		s.Cells = cells
		if s.Row == 0 {
			s.Row = row
		}
		return
	}
next:
	for _, c := range cells {
		for _, was := range s.Cells {
			if was.Col == c.Col {
				continue next
			}
		}
		s.Cells = append(s.Cells, c)
	}
}
