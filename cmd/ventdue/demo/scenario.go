// Package demo invents the scenario that `ventdue demo` shows: a service business with 60 customers, a landlord with 3
// buildings and 84 flats, one household that does most of it itself, and several years of findings.
//
// Nobody and nothing in it is real. The town lies in the open sea, mail goes to example.com, .net and .org, telephones are
// 555-01xx. How lint grows here (see build.air and line.live) is the scenario's own plain law: the model that works out the
// dates shares no code with it, so that what it learns from these findings is learned, not known.
//
// The same seed and day give the same scenario, byte for byte. All days are reckoned back from the day it is made for, so
// that on any day there is something overdue, something for the coming weeks and one dryer that nobody may use.
package demo

import (
	"cmp"
	"slices"
	"time"

	"ventdue/vent"
)

// Scenario is an invented business from its first day to the day before Today.
type Scenario struct {
	Today    vent.Date
	Operator vent.Operator
	Lists    []List    // oldest first
	Findings []Finding // by date; each of a run that an earlier list names
}

// List is one list of customers, dryers and runs as the office imported it.
type List struct {
	On   vent.Date
	Name string // of the file
	CSV  []byte // in the documented import columns
}

// Finding is what was found and done on one run.
type Finding struct {
	RunRef string // run_ref of a list
	Actor  string // who wrote it down
	Found  vent.Finding
}

// openMonths is for how long the business has been there.
const openMonths = 45

// New invents the scenario of a seed as it stands on the morning of today, from 1970 to 2199.
func New(seed uint64, today vent.Date) Scenario {
	w := newWorld(seed, today)
	w.tales()
	w.plainHouses(45)
	w.newcomers(6)
	w.laundromat()
	w.landlord()
	w.handyHousehold()
	return w.scenario()
}

// The lists, in the order of their days.
const (
	openingList = iota
	secondList
	recentList
	nLists
)

// world is a scenario in the making.
type world struct {
	things   dice // what there is: the same on any day
	events   dice // what happens
	today    vent.Date
	lists    [nLists]list
	findings []Finding
	people   *cast
	streets  map[string]bool
	// How many there are so far, for their keys.
	customers, runs int
}

func newWorld(seed uint64, today vent.Date) *world {
	w := &world{things: newDice(seed, 1), events: newDice(seed, 2), today: today, streets: map[string]bool{}}
	w.people = newCast(w.things)
	w.lists[openingList] = list{on: today.AddMonths(-openMonths), name: "customers.csv"}
	w.lists[secondList] = list{on: today.AddMonths(-30), name: "lantern-point.csv"}
	w.lists[recentList] = list{on: today.AddDays(-24), name: "new-customers.csv"}
	return w
}

func (w *world) scenario() Scenario {
	s := Scenario{Today: w.today, Findings: w.findings, Operator: vent.Operator{
		Kind: vent.Customers, Name: "Harbor Dryer Care", Zone: "America/New_York", Units: vent.US, Language: "en",
		Email: "office@example.com", Phone: "555-0100",
	}}
	slices.SortStableFunc(s.Findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(a.Found.Date, b.Found.Date), cmp.Compare(a.RunRef, b.RunRef))
	})
	for _, l := range w.lists {
		s.Lists = append(s.Lists, List{On: l.on, Name: l.name, CSV: l.csv()})
	}
	return s
}

// ago gives the day so many days back, or the working day before it.
func (w *world) ago(days int) vent.Date { return workday(w.today.AddDays(-days)) }

// workday gives the day itself, or the day before it where nobody works.
func workday(d vent.Date) vent.Date {
	_, month, day := d.Split()
	if d.Weekday() == time.Sunday || month == time.December && (day == 25 || day == 26) || month == time.January && day == 1 {
		return workday(d.AddDays(-1))
	}
	return d
}
