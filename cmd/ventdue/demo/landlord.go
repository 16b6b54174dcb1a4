package demo

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// building is one of the landlord's, with a door for every floor and letter.
type building struct {
	list            int
	ref, name, note string
	floors, doors   int
	build           build // of the shortest run
	stack           int   // doors of this number share a common riser; -1: none do
	ceiling         int   // months that the lease allows between two cleanings; 0: it says nothing
	rounds          []int // days back, oldest first
	absent          []int // doors that nobody opened at the last round
	again           int   // days until somebody came back for those; 0: not yet
}

// landlord has 84 flats in three buildings of different ages.
func (w *world) landlord() {
	manager, caretaker := w.people.withPhone(w.people.next()), w.people.withPhone(w.people.next())
	owner := row{
		"customer_ref": "L-001", "customer_name": "Quayside Lettings", "customer_note": "One invoice a quarter, by building.",
		"contact_ref": "P-001", "contact_name": manager.name, "contact_email": manager.email, "contact_phone": manager.phone,
		"access_keys": "with " + caretaker.name + ", " + caretaker.phone, "notice_days": "2",
	}
	for _, x := range buildings() {
		w.building(owner, x)
	}
}

func buildings() []building {
	old, wall, roof := usual(), usual(), usual()
	old.feet, old.elbows, old.material, old.transition = 7, 1, airflow.Galvanized, 5
	wall.feet, wall.transition, wall.concealed = 15, 6, true
	roof.feet, roof.elbow, roof.transition, roof.outlet = 31, smooth, 3, airflow.OutletRoofGooseneck
	roof.roof, roof.cold, roof.concealed = true, true, true
	return []building{
		{list: openingList, ref: "B-1", name: "The Ropewalk", note: "Rope works of 1931, flats since 1988; dryers along the outer walls, the E flats on a common riser.",
			floors: 4, doors: 5, build: old, stack: 4, ceiling: 12, rounds: []int{1065, 700, 352}, absent: []int{3, 11}, again: 19},
		{list: openingList, ref: "B-2", name: "Tern Court", note: "Garden flats of 1978, outlets under the balconies.",
			floors: 3, doors: 12, build: wall, stack: -1, rounds: []int{1050, 730, 405, 64}, absent: []int{8, 22, 30}},
		{list: secondList, ref: "B-3", name: "Lantern Point", note: "Built in 2009. All runs end on the roof: the top floor's are the short ones.",
			floors: 4, doors: 7, build: roof, stack: -1, rounds: []int{870, 620, 400, 196}, absent: []int{5}, again: 33},
	}
}

// building puts a building's doors on its list and lets the rounds go through it, twelve doors a day.
func (w *world) building(owner row, x building) {
	site := maps.Clone(owner)
	site["site_ref"], site["site_name"], site["address"], site["access_note"] = x.ref, x.name, w.address(), x.note
	w.place(site)
	if x.ceiling > 0 {
		site["ceiling_months"], site["ceiling_source"] = strconv.Itoa(x.ceiling), "lease"
	}
	riser := ""
	if x.stack >= 0 {
		riser = w.riser(site, x)
	}
	for i := range x.floors * x.doors {
		l := w.flat(site, x, i, riser)
		w.live(l, w.rounds(x, i)...)
	}
}

// flat is the i-th door with its run.
func (w *world) flat(site row, x building, i int, riser string) *line {
	floor, door := i/x.doors, i%x.doors
	r := maps.Clone(site)
	name := fmt.Sprintf("%d%c", floor+1, 'A'+door)
	r["unit_ref"], r["unit_name"], r["unit_kind"], r["floor"] = x.ref+"/"+name, name, string(vent.Flat), strconv.Itoa(floor+1)
	r["bedrooms"] = strconv.Itoa(1 + door%3)
	r.yes("pets", w.things.chance(0.2))
	w.dryer(r, false)
	loads := w.occupant(r, w.lists[x.list].on, i%17 == 6)
	b := x.build
	switch {
	case door == x.stack:
		b.feet, b.outlet = 5, airflow.OutletOpen
		r["run_shape"], r["riser_ref"] = string(vent.Branch), riser
	case b.roof:
		b.feet += float64(9 * (x.floors - 1 - floor))
		b.elbows += door % 2
	default:
		b.feet += float64(2 * (door % 4))
	}
	l := w.newLine(x.list, r, b, loads)
	if door == x.stack {
		l.gauges = manometer // the outlet is inside the shaft
	}
	if door%4 == 3 {
		l.neverCleaned()
	} else {
		l.cleanedBefore(vent.ByOtherFirm)
	}
	return l
}

// occupant lets somebody live in a flat and gives their loads a week; none where it is vacant.
func (w *world) occupant(r row, listed vent.Date, vacant bool) (loads float64) {
	r["occupant_since"] = listed.AddDays(-w.things.between(30, 1500)).String()
	if vacant {
		r["occupant_name"] = "vacant"
		return 0
	}
	who := w.people.next()
	r["occupant_name"] = who.name
	if w.things.chance(0.5) {
		r["occupant_email"] = who.email
	}
	if w.things.chance(0.3) {
		r["occupant_phone"] = w.people.withPhone(who).phone
	}
	return float64(w.things.between(2, 5))
}

// riser is the common shaft of the stack, looked into and brushed from the roof.
func (w *world) riser(site row, x building) (ref string) {
	r := maps.Clone(site)
	b := build{feet: float64(11 * x.floors), bore: 8, elbow: smooth, material: airflow.Galvanized, flex: airflow.SmoothMetal,
		outlet: airflow.OutletRoofMushroom, roof: true, concealed: true}
	r["run_shape"], r["run_name"] = string(vent.Riser), fmt.Sprintf("Riser %c", 'A'+x.stack)
	r["note"] = "Listed fan on the roof, runs all the time; cleanout in the cellar."
	l := w.newLine(x.list, r, b, float64(4*x.floors))
	l.gauges = byEye
	r["loads_per_week"] = number(l.loads)
	l.cleanedBefore(vent.ByOtherFirm)
	var visits []visit
	for _, days := range x.rounds {
		visits = append(visits, w.full(w.ago(days), dot))
	}
	w.live(l, visits...)
	return l.ref
}

// rounds gives the visits at the i-th door.
func (w *world) rounds(x building, i int) (visits []visit) {
	team := []technician{marlon, dot}
	if x.build.roof {
		team = []technician{dot}
	}
	for n, days := range x.rounds {
		on := workday(w.today.AddDays(i/12 - days))
		t := team[(i+n)%len(team)]
		last := n == len(x.rounds)-1
		switch {
		case last && slices.Contains(x.absent, i):
			visits = append(visits, shut(on, t))
			if x.again > 0 {
				visits = append(visits, w.full(workday(on.AddDays(x.again)), t))
			}
		case !last && w.events.chance(0.04):
			visits = append(visits, w.poor(on, t, "Dryer is built in and could not be pulled out: to be finished at the next round."))
		default:
			visits = append(visits, w.full(on, t))
		}
	}
	return visits
}
