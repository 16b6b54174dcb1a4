package intake

import (
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Part is the noun to which a column belongs.
type Part uint8

// The parts of a row, in the order of the columns.
const (
	OfCustomer Part = iota
	OfContact
	OfSite
	OfUnit
	OfOccupant
	OfDryer
	OfRun
	OfCleaning
	parts
)

// String gives the part's name.
func (p Part) String() string {
	return [...]string{"customer", "contact", "site", "unit", "occupant", "dryer", "run", "cleaning"}[p]
}

// Cell is one filled cell of a documented column.
type Cell struct {
	Col   uint16 // place in Columns
	Row   int32  // row as the spreadsheet shows it
	Value Value
}

// Column gives the cell's column.
func (c Cell) Column() *Column { return &table()[c.Col] }

// Value is what a cell says: Text as it was written (a choice in its documented spelling), and for numbers, dates
// and measures the Number it stands for: SI, a Date as its day count, yes as 1.
type Value struct {
	Text   string
	Number float64
}

// Date gives the value of a date column.
func (v Value) Date() vent.Date { return vent.Date(v.Number) }

// Yes gives the value of a yes-or-no column.
func (v Value) Yes() bool { return v.Number != 0 }

// Says reports whether two cells of one column say the same: 35 and "35 ft" do, where feet are the file's unit, and
// texts that differ in case or blanks alone.
func (c Cell) Says(v Value) bool {
	if c.Column().kind.numeric() {
		return c.Value.Number == v.Number
	}
	return c.Value.Text == v.Text || Fold(c.Value.Text) == Fold(v.Text)
}

// Row is one row of a file: its filled cells in the order of Columns.
type Row struct {
	Number int
	Cells  []Cell
}

// Of gives the cells of one part.
func (r Row) Of(p Part) []Cell {
	t := table()
	lo := 0
	for lo < len(r.Cells) && t[r.Cells[lo].Col].Part < p {
		lo++
	}
	hi := lo
	for hi < len(r.Cells) && t[r.Cells[hi].Col].Part == p {
		hi++
	}
	return r.Cells[lo:hi:hi]
}

// Draft is what cells say, as nouns. Filling a Draft that holds a stored record changes only what a cell gives.
type Draft struct {
	Customer vent.Customer
	Contact  vent.Person
	Site     vent.Site
	Unit     vent.Unit
	Occupant vent.Person
	// Since is the first day of the occupant; Vacant says that nobody lives there.
	Since  vent.Date
	Vacant bool
	// Smoke and CO are the dates of the unit's alarms.
	Smoke, CO AlarmDates
	Dryer     vent.Appliance
	Run       vent.Run
	// Version holds what cells say of the run as it is built now, but for its route.
	Version  vent.Version
	Route    Route
	RiserRef string
	InLine   InLine
	// Changed is the day of a change of dryer or duct; none: the row describes or corrects.
	Changed  vent.Date
	Loads    Optional
	Ceiling  vent.Ceiling
	Cleaning vent.Finding
}

// InLine is what a row says of the booster and the lint trap in the duct.
type InLine struct {
	Booster string // NoBooster, ListedBooster or UnlistedBooster; "" nothing is said
	Serial  string // of the booster
	Trap    Optional
}

// Nothing reports that there is neither booster nor trap, as far as the row says.
func (s InLine) Nothing() bool {
	return (s.Booster == "" || s.Booster == NoBooster) && s.Serial == "" && s.Trap.Value == 0
}

// Appliances gives them as they stand in a run that is not kept, with IDs that are its own alone.
func (s InLine) Appliances() (all []vent.Appliance) {
	if s.Booster != "" && s.Booster != NoBooster {
		all = append(all, vent.Appliance{ID: vent.ID{15: 1}, Kind: vent.Booster, Serial: s.Serial, Listed: s.Booster == ListedBooster})
	}
	if s.Trap.Value != 0 {
		all = append(all, vent.Appliance{ID: vent.ID{15: 2}, Kind: vent.LintTrap})
	}
	return all
}

// The words for a booster. One that nobody has seen to be listed counts as unlisted.
const (
	NoBooster       = "none"
	ListedBooster   = "listed"
	UnlistedBooster = "unlisted"
)

// AlarmDates are the dates on an alarm's back.
type AlarmDates struct{ Made, Replace vent.Date }

// Fill writes cells into the draft.
func (d *Draft) Fill(cells []Cell) {
	t := table()
	for i := range cells {
		t[cells[i].Col].set(d, cells[i].Value)
	}
}

// Optional is a number that may not have been given.
type Optional struct {
	Given bool
	Value float64
}

func given(v Value) Optional { return Optional{true, v.Number} }

// Route is what a row says of the duct; what it does not say stays as it is stored or takes the documented default.
type Route struct {
	Length, Diameter, TransitionLength Optional // m
	Elbows90, Elbows45                 Optional
	Concealed                          Optional // 0 or 1
	Material, TransitionMaterial       airflow.Material
	ElbowKind                          string // a family, see ElbowKinds
	Outlet                             airflow.OutletKind
}

// Any reports whether anything was said of the duct.
func (r Route) Any() bool { return r != Route{} }
