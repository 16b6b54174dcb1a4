package demo

import (
	"fmt"
	"strconv"

	"ventdue/desk/intake"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// plainHouses invents customers of whom nothing but the passing of time is to be told. Each stands somewhere between its
// last cleaning and a little past the next one, evenly, so that some are late, some near and most have time.
func (w *world) plainHouses(n int) {
	order := w.things.rng.Perm(n)
	for i := range n {
		gas := i%4 == 1
		l := w.house(openingList, w.houseBuild(i), gas)
		every := l.interval()
		age := 4 + int(1.2*float64(every)*(float64(order[i])+w.things.part(0, 1))/float64(n))
		if i%5 == 2 {
			l.row["ceiling_months"], l.row["ceiling_source"] = "12", pick(w.things, "insurer", "home warranty")
		}
		w.regular(l, age, every, w.technicianFor(gas, l.build.roof))
		if i%11 == 5 {
			w.secondDryer(l, age)
		}
	}
}

// houseBuild varies the usual run: long ones, flexible ones, roof outlets.
func (w *world) houseBuild(i int) build {
	b := usual()
	b.feet = float64(w.things.between(6, 26))
	b.elbows = w.things.between(1, 3)
	b.elbow = pick(w.things, mitred, mitred, mitred, smooth, smooth, sectioned)
	b.transition = float64(w.things.between(2, 8))
	b.outlet = pick(w.things, airflow.OutletFlapper, airflow.OutletFlapper, airflow.OutletLouvered, airflow.OutletEave)
	b.metric = i%9 == 4
	b.concealed = w.things.chance(0.6)
	switch i % 8 {
	case 3:
		b.feet, b.material = float64(w.things.between(18, 30)), pick(w.things, airflow.SemiRigid, airflow.FoilFlex)
	case 6:
		b.feet, b.elbows, b.roof, b.cold = float64(w.things.between(20, 34)), w.things.between(2, 4), true, true
		b.elbow, b.outlet = smooth, pick(w.things, airflow.OutletRoofGooseneck, airflow.OutletRoofCap)
	}
	return b
}

// technicianFor gives who does a house: gas by the one with the licence, roofs by the one with the harness.
func (w *world) technicianFor(gas, roof bool) technician {
	switch {
	case gas:
		return ines
	case roof:
		return dot
	}
	return pick(w.things, marlon, marlon, dot)
}

// interval is how often somebody comes: once a year, sooner where the business has seen a run fill fast.
func (l *line) interval() int {
	const opened = 0.045 // of the radius
	return int(min(350, max(150, opened/(l.perLoad*l.loads/7))))
}

// regular lets somebody come in such an interval, the last time so many days ago. One cleaning in twelve reaches one end
// only and is finished two or three weeks later.
func (w *world) regular(l *line, age, every int, t technician) {
	var visits []visit
	last := w.ago(age)
	for _, on := range w.back(last, w.lists[l.list].on, every, every/10) {
		if on != last && w.events.chance(1.0/12) {
			visits = append(visits, w.poor(on, t, "No way to the outlet today: to be finished from outside."))
			on = workday(on.AddDays(w.events.between(14, 22)))
		}
		visits = append(visits, w.full(on, t))
	}
	w.live(l, visits...)
}

// house invents a customer with one house and one run.
func (w *world) house(in int, b build, gas bool) *line {
	who := w.people.withPhone(w.people.next())
	w.customers++
	n := w.customers
	r := row{
		"customer_ref": fmt.Sprintf("C-%03d", n), "customer_name": who.name,
		"contact_name": who.name, "contact_email": who.email, "contact_phone": who.phone,
		"address": w.address(), "unit_kind": string(vent.House),
		"bedrooms": strconv.Itoa(w.things.between(2, 5)), "people": strconv.Itoa(w.things.between(1, 6)),
	}
	if n%9 == 7 {
		delete(r, "contact_email") // telephone only
	}
	w.place(r)
	r.yes("pets", w.things.chance(0.35))
	r.yes("dog", w.things.chance(0.15))
	r.yes("ladder", w.things.chance(0.25) || b.roof)
	r.yes("dryer_sheets", w.things.chance(0.3))
	if w.things.chance(0.3) {
		r["access_note"] = pick(w.things, "Side gate sticks: lift it.", "Laundry is in the basement.", "Ring twice.", "The neighbour on the left has a key.")
	}
	w.dryer(r, gas)
	l := w.newLine(in, r, b, float64(w.things.between(3, 8)))
	if w.things.chance(0.6) {
		r["loads_per_week"] = number(l.loads)
	}
	if w.things.chance(0.2) {
		l.neverCleaned()
	} else {
		l.cleanedBefore(pick(w.things, vent.ByOtherFirm, vent.ByOtherFirm, vent.ByCustomer, vent.ByUnknown))
	}
	return l
}

// secondDryer puts another dryer with its own run into a house.
func (w *world) secondDryer(first *line, age int) {
	first.row["run_name"] = "Basement dryer"
	r := row{"run_name": "Upstairs dryer"}
	for _, c := range intake.Columns() {
		switch cell, said := first.row[c.Name]; c.Part {
		case intake.OfCustomer, intake.OfContact, intake.OfSite, intake.OfUnit:
			if said {
				r[c.Name] = cell
			}
		}
	}
	w.dryer(r, false)
	b := usual()
	b.feet, b.class = 9, airflow.Compact
	l := w.newLine(first.list, r, b, 2)
	l.cleanedBefore(vent.ByUnknown)
	w.regular(l, age, 345, marlon)
}

// dryer puts a machine into the row.
func (w *world) dryer(r row, gas bool) {
	made := w.lists[openingList].on.AddDays(-w.things.between(500, 3600))
	r["fuel"] = string(vent.Electric)
	r["maker"], r["model"] = "Norvane", pick(w.things, "DX-200", "DX-240", "Breeze 7")
	r["serial"] = fmt.Sprintf("A%05d", 10000+w.runs*37)
	r["made"], r["installed"] = made.String(), made.AddDays(w.things.between(20, 120)).String()
	if gas {
		r["fuel"] = string(vent.Gas)
		r["model"] = pick(w.things, "DX-200G", "DX-240G")
		r.yes("co_alarm", w.things.chance(0.8))
		return
	}
	r["volts"], r["watts"] = "240", pick(w.things, "5000", "5400")
}

// place puts a building somewhere in town.
func (w *world) place(r row) {
	r["lat"] = fmt.Sprintf("%.4f", townLat+w.things.part(-0.04, 0.04))
	r["lon"] = fmt.Sprintf("%.4f", townLon+w.things.part(-0.05, 0.05))
}
