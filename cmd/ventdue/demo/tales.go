package demo

import (
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// tales are the houses with a story, the same ones for every seed.
func (w *world) tales() {
	w.gasPastItsLimit()
	w.nestInTheHood()
	w.foilBehindTheDryer()
	w.openFuse()
	w.reachedFromOneEnd()
	w.nobodyOpened()
	w.cleanedByTheOwner()
	w.justBuilt()
}

// gasPastItsLimit is the dryer that nobody may use today: called for a damp room, found choked, closed until it is cleaned.
func (w *world) gasPastItsLimit() {
	b := usual()
	b.feet, b.elbows, b.concealed = 24, 3, true
	l := w.house(openingList, b, true)
	l.perLoad *= 1.2
	choked := looked(w.ago(2), ines, both, "Called for a damp laundry room. Hardly any air at the hood, flap stays shut. Gas valve closed, plug pulled, tag hung, owner told. To be opened before anybody uses it.")
	choked.nest = 0.45
	choked.found.Reach = vent.ReachHood
	choked.found.Before = []vent.Reading{{Quantity: vent.Flap, Value: 0, Given: "not", Place: "outlet"}}
	w.live(l, w.full(w.ago(1190), ines), w.full(w.ago(800), ines), w.full(w.ago(405), ines), choked)
}

// nestInTheHood came at once and says nothing of how fast lint grows there.
func (w *world) nestInTheHood() {
	b := usual()
	b.outlet = airflow.OutletLouvered
	l := w.house(openingList, b, false)
	nest := w.full(w.ago(160), marlon)
	nest.nest = 0.3
	nest.found.Sudden = true
	nest.found.Note = "Old nest in the hood, empty, taken out from outside. A louver was broken: to be replaced by a flap."
	w.live(l, w.full(w.ago(1210), marlon), w.full(w.ago(850), marlon), w.full(w.ago(490), marlon), nest)
}

// foilBehindTheDryer is left for another day and must not be forgotten.
func (w *world) foilBehindTheDryer() {
	l := w.house(openingList, usual(), false)
	v := w.full(w.ago(215), dot)
	v.found.Faults = []string{"foil_transition"}
	v.found.Note = "Foil duct behind the dryer, in two pieces, crushed. Owner wants to think about metal: ask again."
	w.live(l, w.full(w.ago(940), dot), w.full(w.ago(575), dot), v)
}

// openFuse is the repair with which such a business begins: a one-shot fuse, a choked run, both seen to in one visit.
func (w *world) openFuse() {
	l := w.house(openingList, usual(), false)
	l.row["past_fuse"], l.row["fuse_stops"] = "yes", string(vent.StopsHeat)
	v := w.full(w.ago(470), ines)
	v.gauges, v.nest = both, 0.2
	v.found.Note = "No heat. Fuse open, run choked: cleaned first, then a new fuse, cycled hot with the dryer pushed back."
	v.found.Parts = []vent.PartCheck{
		{Part: "thermal_fuse", Result: "open", Replaced: true},
		{Part: "heater", Result: "good", Reading: &vent.Reading{Quantity: vent.Ohms, Value: 10.6, Given: "10.6 ohm"}},
	}
	w.live(l, w.full(w.ago(1330), ines), v, looked(w.ago(440), ines, vane, "Look a month after the fuse: air as it should be."), w.full(w.ago(130), ines))
}

// reachedFromOneEnd waits for somebody to come back with a longer ladder.
func (w *world) reachedFromOneEnd() {
	b := usual()
	b.feet, b.elbows, b.roof, b.cold, b.outlet, b.elbow = 30, 3, true, true, airflow.OutletRoofGooseneck, smooth
	l := w.house(openingList, b, false)
	w.live(l, w.full(w.ago(1100), dot), w.full(w.ago(730), dot), w.full(w.ago(380), dot),
		w.poor(w.ago(12), marlon, "Roof wet: brushed from the dryer's side only. Dot to come back with the long ladder."))
}

// nobodyOpened was missed at the right time and is late now.
func (w *world) nobodyOpened() {
	l := w.house(openingList, usual(), false)
	l.row["ceiling_months"], l.row["ceiling_source"] = "12", "insurer"
	w.live(l, w.full(w.ago(1120), marlon), w.full(w.ago(760), marlon), w.full(w.ago(402), marlon), shut(w.ago(36), marlon))
}

// cleanedByTheOwner is believed to have happened, not to have left the run clean.
func (w *world) cleanedByTheOwner() {
	l := w.house(openingList, usual(), false)
	w.live(l, w.full(w.ago(980), dot), w.full(w.ago(620), dot),
		unmeasured(w.ago(250), vent.ByCustomer, l.row["customer_name"], "Told on the telephone: pushed a brush through on the weekend.", 0.4))
}

// justBuilt begins clean on the day it was finished.
func (w *world) justBuilt() {
	b := usual()
	b.elbow, b.feet = smooth, 12
	l := w.house(recentList, b, false)
	built := w.ago(75)
	for _, column := range []string{"last_cleaned", "cleaned_by", "cleaning_outcome", "made", "installed"} {
		delete(l.row, column)
	}
	l.row["changed_on"], l.row["installed"] = built.String(), built.String()
	l.row["duct_measured"], l.row["labelled"] = "yes", "yes"
	l.row["note"] = "New house, run built to plan."
}

// newcomers came over from a firm that closed: nobody knows when their runs were last opened.
func (w *world) newcomers(n int) {
	for i := range n {
		b := usual()
		b.feet, b.elbows = float64(w.things.between(8, 32)), w.things.between(1, 4)
		if i%3 == 2 {
			b.flex = airflow.FoilFlex
		}
		l := w.house(recentList, b, i%3 == 1)
		delete(l.row, "cleaned_by")
		delete(l.row, "cleaning_outcome")
		l.neverCleaned()
	}
}
