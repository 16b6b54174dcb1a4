package intake

import (
	"fmt"
	"slices"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

func dryerColumns() []Column {
	return []Column{
		{Name: "dryer_ref", Part: OfDryer, Meaning: "your own key of the dryer", Example: "D-88", kind: textKind(),
			field: "ref", set: func(d *Draft, v Value) { d.Dryer.Ref = v.Text }},
		{Name: "fuel", Part: OfDryer, Meaning: "what heats it", Example: "electric", Required: true,
			kind: choiceKind(choicesOf([]vent.Fuel{vent.Electric, vent.Gas, vent.Ventless})...),
			set:  func(d *Draft, v Value) { d.Dryer.Fuel = vent.Fuel(v.Text) }},
		{Name: "dryer_class", Part: OfDryer, Meaning: "size of the dryer; without it full_size", Example: "full_size",
			kind: choiceKind(choicesOf(airflow.DryerClasses())...), field: "class",
			set: func(d *Draft, v Value) { d.Dryer.Class = airflow.DryerClass(v.Text) }},
		{Name: "maker", Part: OfDryer, Meaning: "the maker's name on the plate", Example: "Acme", kind: textKind(),
			set: func(d *Draft, v Value) { d.Dryer.Maker = v.Text }},
		{Name: "model", Part: OfDryer, Meaning: "model number on the plate", Example: "DX-200", kind: textKind(),
			set: func(d *Draft, v Value) { d.Dryer.Model = v.Text }},
		{Name: "serial", Part: OfDryer, Meaning: "serial number on the plate; another one is another dryer", Example: "A0042", kind: textKind(),
			set: func(d *Draft, v Value) { d.Dryer.Serial = v.Text }},
		{Name: "made", Part: OfDryer, Meaning: "day of manufacture", Example: "2019-03-01", kind: dateKind(),
			set: func(d *Draft, v Value) { d.Dryer.Made = v.Date() }},
		{Name: "installed", Part: OfDryer, Meaning: "first day in use here", Example: "2019-06-15", kind: dateKind(),
			set: func(d *Draft, v Value) { d.Dryer.Installed = v.Date() }},
		{Name: "max_static", Part: OfDryer, Meaning: "the maker's limit for static pressure at the outlet; without it the usual of the class", Example: "0.6 in w.c.", kind: pressureWithin(bounds{0, 2500}),
			field: "max_static_pa", set: func(d *Draft, v Value) { d.Dryer.MaxStatic = airflow.Pascals(v.Number) }},
		{Name: "lint_carry", Part: OfDryer, Meaning: "the maker demands 1 200 ft/min in the duct", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Dryer.LintCarry = v.Yes() }},
		{Name: "volts", Part: OfDryer, Meaning: "heater voltage on the plate", Example: "240", kind: numberKind(0, 600),
			set: func(d *Draft, v Value) { d.Dryer.Volts = v.Number }},
		{Name: "watts", Part: OfDryer, Meaning: "heater power on the plate, in W", Example: "5400", kind: numberKind(0, 100e3),
			set: func(d *Draft, v Value) { d.Dryer.Watts = v.Number }},
		{Name: "fuse_stops", Part: OfDryer, Meaning: "what an open thermal fuse stops on this model", Example: "heat",
			kind: choiceKind(choicesOf([]vent.FuseStops{vent.StopsMotor, vent.StopsHeat})...),
			set:  func(d *Draft, v Value) { d.Dryer.FuseStops = vent.FuseStops(v.Text) }},
		{Name: "co_alarm", Part: OfDryer, Meaning: "a carbon monoxide alarm is near the dryer", Example: "yes", kind: yesNoKind(),
			field: "has_co_alarm", set: func(d *Draft, v Value) { d.Dryer.HasCO = v.Yes() }},
	}
}

func runColumns() []Column {
	return append(routeColumns(), []Column{
		{Name: "uninsulated", Part: OfRun, Meaning: "a part of the duct runs through a cold space without insulation", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Version.Uninsulated = v.Yes() }},
		{Name: "booster", Part: OfRun, Meaning: "a fan in the duct: listed for dryers (UL 705); unlisted, also where nobody has seen that it is listed; none takes it out", Example: "none",
			kind: choiceKind(NoBooster, ListedBooster, UnlistedBooster), set: func(d *Draft, v Value) { d.InLine.Booster = v.Text }},
		{Name: "booster_serial", Part: OfRun, Meaning: "serial number on the fan in the duct; another one is another fan", Example: "B-0771", kind: textKind(),
			set: func(d *Draft, v Value) { d.InLine.Serial = v.Text }},
		{Name: "lint_trap", Part: OfRun, Meaning: "a second lint trap is in the duct, beside the dryer's own screen", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.InLine.Trap = given(v) }},
		{Name: "concealed", Part: OfRun, Meaning: "a part of the duct runs inside a wall, floor or ceiling", Example: "yes", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Route.Concealed = given(v) }},
		{Name: "labelled", Part: OfRun, Meaning: "the label with the duct's length is up", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Version.Labelled = v.Yes() }},
		{Name: "duct_measured", Part: OfRun, Meaning: "the duct was measured, not guessed", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Version.Measured = v.Yes() }},
		{Name: "edition", Part: OfRun, Meaning: "building rule that the duct's length is compared with; without it your policy's", Example: "irc_2012", kind: editionKind(),
			set: func(d *Draft, v Value) { d.Version.Edition = v.Text }},
		{Name: "changed_on", Part: OfRun, Meaning: "day on which dryer, duct or booster was changed to what this row says; leave it empty to describe or to correct", Example: "2026-02-10", kind: dateKind(),
			set: func(d *Draft, v Value) { d.Changed = v.Date() }},
		{Name: "loads_per_week", Part: OfRun, Meaning: "loads dried in a week, as somebody said; without it estimated from the household", Example: "5", kind: numberKind(0, 1000),
			field: "use.loads_per_week", set: func(d *Draft, v Value) { d.Loads = given(v) }},
		{Name: "ceiling_months", Part: OfRun, Meaning: "longest interval between cleanings that somebody outside demands", Example: "12", kind: countKind(1, 120),
			field: "ceilings.months", set: func(d *Draft, v Value) { d.Ceiling.Months = int(v.Number) }},
		{Name: "ceiling_source", Part: OfRun, Meaning: "who demands it: maker, insurer, lease, fire marshal", Example: "insurer", kind: textKind(),
			field: "ceilings.source", set: func(d *Draft, v Value) { d.Ceiling.Source = v.Text }},
		{Name: "past_fuse", Part: OfRun, Meaning: "a one-shot fuse opened here once", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Run.PastFuse = v.Yes() }},
		{Name: "note", Part: OfRun, Meaning: "anything to remember about the run", Example: "hood behind the hedge", kind: noteKind(),
			set: func(d *Draft, v Value) { d.Run.Note = v.Text }},
	}...)
}

func routeColumns() []Column {
	return []Column{
		{Name: "run_ref", Part: OfRun, Meaning: "your own key of the vent run", Example: "V-301", kind: textKind(),
			field: "ref", set: func(d *Draft, v Value) { d.Run.Ref = v.Text }},
		{Name: "run_name", Part: OfRun, Meaning: "the run's name; needed where a unit has several", Example: "Dryer vent", kind: textKind(),
			field: "name", set: func(d *Draft, v Value) { d.Run.Name = v.Text }},
		{Name: "run_shape", Part: OfRun, Meaning: "single: one dryer, one outlet; riser: a common shaft; branch: from a dryer into a riser. Without it single, or branch where riser_ref is given", Example: "single",
			kind: choiceKind(choicesOf([]vent.RunShape{vent.Single, vent.Riser, vent.Branch})...), field: "shape",
			set: func(d *Draft, v Value) { d.Run.Shape = vent.RunShape(v.Text) }},
		{Name: "riser_ref", Part: OfRun, Meaning: "run_ref of the riser into which a branch leads", Example: "V-300", kind: textKind(),
			field: "parent_id", set: func(d *Draft, v Value) { d.RiserRef = v.Text }},
		{Name: "duct_length", Part: OfRun, Meaning: "straight duct, without elbows and without the transition", Example: "25 ft", kind: lengthKind(),
			field: "versions.route", set: func(d *Draft, v Value) { d.Route.Length = given(v) }},
		{Name: "duct_diameter", Part: OfRun, Meaning: "bore; without it 4 in", Example: "4 in", kind: boreKind(),
			set: func(d *Draft, v Value) { d.Route.Diameter = given(v) }},
		{Name: "duct_material", Part: OfRun, Meaning: "without it smooth_metal", Example: "smooth_metal", kind: choiceKind(choicesOf(airflow.Materials())...),
			set: func(d *Draft, v Value) { d.Route.Material = airflow.Material(v.Text) }},
		{Name: "transition_length", Part: OfRun, Meaning: "the piece between dryer and wall", Example: "4 ft", kind: lengthKind(),
			set: func(d *Draft, v Value) { d.Route.TransitionLength = given(v) }},
		{Name: "transition_material", Part: OfRun, Meaning: "without it semi_rigid_metal", Example: "semi_rigid_metal", kind: choiceKind(choicesOf(airflow.Materials())...),
			set: func(d *Draft, v Value) { d.Route.TransitionMaterial = airflow.Material(v.Text) }},
		{Name: "elbows_90", Part: OfRun, Meaning: "number of 90 degree elbows", Example: "2", kind: countKind(0, 50),
			set: func(d *Draft, v Value) { d.Route.Elbows90 = given(v) }},
		{Name: "elbows_45", Part: OfRun, Meaning: "number of 45 degree elbows", Example: "0", kind: countKind(0, 50),
			set: func(d *Draft, v Value) { d.Route.Elbows45 = given(v) }},
		{Name: "elbow_kind", Part: OfRun, Meaning: "how the elbows are made: mitred, smooth by centre-line radius in inches, in sections, or bent flexible duct; without it mitered_r4", Example: "sectioned",
			kind: choiceKind(ElbowKinds()...), set: func(d *Draft, v Value) { d.Route.ElbowKind = v.Text }},
		{Name: "outlet", Part: OfRun, Meaning: "the hood outdoors; without it flapper", Example: "flapper", kind: choiceKind(choicesOf(airflow.OutletKinds())...),
			set: func(d *Draft, v Value) { d.Route.Outlet = airflow.OutletKind(v.Text) }},
		{Name: "roof_outlet", Part: OfRun, Meaning: "the outlet is on the roof", Example: "no", kind: yesNoKind(),
			set: func(d *Draft, v Value) { d.Version.RoofOutlet = v.Yes() }},
	}
}

func editionKind() kind {
	var all []airflow.Edition
	for _, r := range airflow.Rules() {
		all = append(all, r.Edition)
	}
	return choiceKind(choicesOf(append(all, airflow.MakerEdition))...)
}

func cleaningColumns() []Column {
	day := func(d *Draft, v Value) { d.Cleaning.Date = v.Date() }
	all := []Column{
		{Name: "last_cleaned", Part: OfCleaning, Meaning: "day on which the run was last cleaned or looked at; empty or unknown: it is due now", Example: "2025-10-02", kind: cleanedKind(),
			field: "date", set: day},
		{Name: "cleaned_by", Part: OfCleaning, Meaning: "who did it; without it us: your own list is taken at its word", Example: "us", field: "by",
			kind: choiceKind(choicesOf([]vent.DoerKind{vent.ByUs, vent.ByCustomer, vent.ByOtherFirm, vent.ByUnknown})...),
			set:  func(d *Draft, v Value) { d.Cleaning.By.Kind = vent.DoerKind(v.Text) }},
		{Name: "cleaner_name", Part: OfCleaning, Meaning: "name of who did it", Example: "Ines", kind: textKind(), field: "by_name",
			set: func(d *Draft, v Value) { d.Cleaning.By.Name = v.Text }},
		{Name: "cleaning_outcome", Part: OfCleaning, Meaning: "full: the whole run; partial; one_end: the other not seen; looked: nothing taken out; failed. Without it full", Example: "full", field: "outcome",
			kind: choiceKind(choicesOf([]vent.Outcome{vent.Full, vent.Partial, vent.OneEnd, vent.LookedOnly, vent.Failed})...),
			set:  func(d *Draft, v Value) { d.Cleaning.Outcome = vent.Outcome(v.Text) }},
		{Name: "cleaning_reach", Part: OfCleaning, Meaning: "how far the brush or the eye got; through: seen through from end to end", Example: "through", field: "reach",
			kind: choiceKind(choicesOf([]vent.Reach{vent.ReachThrough, vent.ReachDryer, vent.ReachHood, vent.ReachNone})...),
			set:  func(d *Draft, v Value) { d.Cleaning.Reach = vent.Reach(v.Text) }},
		{Name: "lint_before", Part: OfCleaning, Meaning: "lint by sight before, at the worst place", Example: "mat", kind: gradeKind(),
			set: func(d *Draft, v Value) { d.Cleaning.LintBefore = vent.Grade(v.Text) }},
		{Name: "lint_after", Part: OfCleaning, Meaning: "lint by sight afterwards", Example: "bare", kind: gradeKind(),
			set: func(d *Draft, v Value) { d.Cleaning.LintAfter = vent.Grade(v.Text) }},
	}
	for _, q := range []struct {
		name, what, example string
		quantity            vent.Quantity
		kind                kind
	}{
		{"speed", "air speed at the outlet", "1250 fpm", vent.AirSpeed, speedKind()},
		{"static", "static pressure at the dryer's outlet", "0.45 in w.c.", vent.Static, pressureKind()},
		{"flow", "air flow", "140 cfm", vent.Flow, flowKind()},
	} {
		all = append(all,
			Column{Name: q.name + "_before", Part: OfCleaning, Meaning: q.what + " before", Example: q.example, kind: q.kind,
				field: fmt.Sprintf("before.%s", q.quantity), set: func(d *Draft, v Value) { d.Cleaning.Before = read(d.Cleaning.Before, q.quantity, v) }},
			Column{Name: q.name + "_after", Part: OfCleaning, Meaning: q.what + " after cleaning", Example: q.example, kind: q.kind,
				field: fmt.Sprintf("after.%s", q.quantity), set: func(d *Draft, v Value) { d.Cleaning.After = read(d.Cleaning.After, q.quantity, v) }})
	}
	return append(all, Column{Name: "cleaning_note", Part: OfCleaning, Meaning: "what was seen", Example: "nest in the hood", kind: noteKind(),
		field: "note", set: func(d *Draft, v Value) { d.Cleaning.Note = v.Text }})
}

func gradeKind() kind {
	return choiceKind(choicesOf([]vent.Grade{vent.Bare, vent.Film, vent.Fuzz, vent.Mat, vent.Plugged})...)
}

// read puts a reading into a list that has one at most of each quantity.
func read(list []vent.Reading, q vent.Quantity, v Value) []vent.Reading {
	for i := range list {
		if list[i].Quantity == q {
			list = slices.Clone(list) // the stored record's own list stays as it is
			list[i].Value, list[i].Given = v.Number, v.Text
			return list
		}
	}
	return append(list, vent.Reading{Quantity: q, Value: v.Number, Given: v.Text})
}
