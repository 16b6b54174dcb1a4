package demo

import (
	"fmt"
	"maps"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// laundromat is a small firm with four gas tumblers side by side.
func (w *world) laundromat() {
	owner := w.people.withPhone(w.people.next())
	w.customers++
	shop := row{
		"customer_ref": fmt.Sprintf("C-%03d", w.customers), "customer_name": "Spin Cove Laundry", "customer_note": "Before seven or after nine in the evening.",
		"contact_name": owner.name, "contact_email": owner.email, "contact_phone": owner.phone,
		"site_name": "Spin Cove Laundry", "address": w.address(), "parking": "Loading bay at the rear.", "access_note": "Rear aisle behind the machines, unlocked by the owner.",
		"unit_name": "Machine aisle", "unit_kind": string(vent.LaundryRoom),
	}
	w.place(shop)
	for i := range 4 {
		r := maps.Clone(shop)
		r["run_name"] = fmt.Sprintf("Tumbler %d", i+1)
		w.dryer(r, true)
		r["model"], r["max_static"], r["lint_carry"], r["co_alarm"] = "Drum 35", "0.3 in w.c.", "yes", "yes"
		r["ceiling_months"], r["ceiling_source"] = "6", "insurer"
		b := build{feet: 11 + float64(i), transition: 1, bore: 8, elbows: 1, elbow: smooth, material: airflow.Galvanized,
			flex: airflow.SmoothMetal, outlet: airflow.OutletOpen, class: airflow.LargeTumbler}
		l := w.newLine(openingList, r, b, 24)
		r["loads_per_week"] = "24"
		l.cleanedBefore(vent.ByOtherFirm)
		var visits []visit
		for _, on := range w.back(w.ago(95), w.lists[openingList].on, 165, 12) {
			visits = append(visits, w.full(on, ines))
		}
		w.live(l, visits...)
	}
}

// handyHousehold does most of it itself, writes it down, and asks for a real cleaning now and then.
func (w *world) handyHousehold() {
	who := w.people.withPhone(w.people.next())
	r := row{
		"customer_ref": "H-001", "customer_name": who.name, "customer_note": "The handy one: brushes the run and reads the flap, and sends us the figures.",
		"contact_name": who.name, "contact_email": who.email, "contact_phone": who.phone,
		"address": w.address(), "unit_kind": string(vent.House), "bedrooms": "3", "people": "4", "washer_volume": "4.5 cu ft",
	}
	w.place(r)
	w.dryer(r, false)
	b := usual()
	b.elbow = smooth
	l := w.newLine(openingList, r, b, 6)
	r["loads_per_week"], r["duct_measured"], r["labelled"] = "6", "yes", "yes"
	l.cleanedBefore(vent.ByCustomer)
	var visits []visit
	for i, on := range w.back(w.ago(40), w.lists[openingList].on, 92, 6) {
		visits = append(visits, w.handyVisit(on, who.name, i))
	}
	w.live(l, visits...)
}

// handyVisit is a look at the flap every quarter, a brush from the dryer's side every fourth, and every eighth a
// cleaning by the business.
func (w *world) handyVisit(on vent.Date, name string, i int) visit {
	if i%8 == 2 {
		return w.full(on, marlon)
	}
	v := visit{found: vent.Finding{Date: on, Source: "customer", By: vent.Doer{Kind: vent.ByCustomer, Name: name}, Outcome: vent.LookedOnly}, actor: "office"}
	if i%4 == 0 {
		v.found.Outcome, v.found.Reach, v.left = vent.OneEnd, vent.ReachDryer, 0.5
		v.found.Note = "Brushed from the dryer's side, a handful of lint."
		return v
	}
	v.found.Before = []vent.Reading{
		{Quantity: vent.Flap, Value: 1, Given: "full", Place: "outlet"},
		{Quantity: vent.DryMinutes, Value: float64(w.events.between(42, 50))},
	}
	v.found.Note = "Flap opens fully, towels dry as always."
	return v
}
