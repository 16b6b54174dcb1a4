package faults

import (
	"cmp"
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Home is one site with what recurring checks are about.
type Home struct {
	Site vent.ID
	// Known is the day on which this installation learned of it: nothing is due before.
	Known      vent.Date
	Units      []vent.Unit
	Runs       []vent.Run
	Appliances []vent.Appliance
	Stored     []vent.Check // of the site and all in it
	// Kind is whose installation it is. A service business is not asked to press the buttons in its customers' homes: what
	// anybody there can do is left to them until somebody turns it on.
	Kind vent.OperatorKind
}

// Asked reports whether a check is asked for unless somebody turns it off: all in one's own home or buildings, of a service
// business's customers only what is for licensed people and what has a date. Ours.
func Asked(k vent.OperatorKind, r rules.Check) bool {
	return k != vent.Customers || r.By == rules.Licensed || r.Once
}

// Recurring gives the checks that a site should have and lacks (with no ID yet), and the stored ones that follow from
// something that changed: an alarm with another date, a thing that is no longer there or is there again. What an operator
// turned off or set to another interval stays as they set it. Of the missing ones Asked tells which are asked for.
func Recurring(h Home) (missing, changed []vent.Check) {
	r := recurring{home: h, have: map[key]bool{}}
	for _, c := range h.Stored {
		r.have[key{c.Rule, c.Subject}] = true
	}
	r.runs()
	for _, a := range h.Appliances {
		if a.Removed == 0 {
			r.appliance(a)
		}
	}
	return r.out, r.changed()
}

type recurring struct {
	home Home
	have map[key]bool
	out  []vent.Check
}

// want adds a check unless the site has it. since is when the thing was put in; 0 not known.
func (r *recurring) want(id string, subject vent.ID, since vent.Date, months int) {
	rule, _ := rules.CheckByID(id)
	if months == 0 {
		months = rule.Months
	}
	r.put(vent.Check{Rule: id, Subject: vent.Subject{Kind: rule.On, ID: subject}, Months: months, Anchor: r.first(since, months)})
}

func (r *recurring) put(c vent.Check) {
	k := key{c.Rule, c.Subject}
	if !r.have[k] {
		r.have[k] = true
		r.out = append(r.out, c)
	}
}

// first gives the first day: an interval after it was put in; where that is past or not known, within a month of the day
// on which this installation learned of it.
func (r *recurring) first(since vent.Date, months int) vent.Date {
	if day := since.AddMonths(months); day > r.home.Known {
		return day
	}
	return r.home.Known.AddMonths(1)
}

func (r *recurring) runs() {
	for _, run := range r.home.Runs {
		if run.Ended != 0 {
			continue
		}
		r.want(rules.CheckFlap, r.home.Site, 0, 0)
		if run.Shape != vent.Riser {
			r.want(rules.CheckTransition, run.ID, run.Current().From, 0)
		}
	}
}

func (r *recurring) appliance(a vent.Appliance) {
	switch a.Kind {
	case vent.Dryer:
		r.dryer(a)
	case vent.LintTrap:
		r.want(rules.CheckTrap, a.ID, a.Installed, 0)
	case vent.Booster:
		if !r.there(vent.LintTrap, a.UnitID) {
			r.want(rules.CheckTrap, a.ID, a.Installed, 0)
		}
	case vent.COAlarm:
		r.want(rules.CheckCOTest, a.ID, a.Installed, 0)
		r.alarm(a)
	case vent.SmokeAlarm:
		r.want(rules.CheckSmokeTest, a.ID, a.Installed, 0)
		r.alarm(a)
	}
}

func (r *recurring) dryer(a vent.Appliance) {
	months := 0
	if slices.ContainsFunc(r.home.Units, func(u vent.Unit) bool { return u.ID == a.UnitID && u.DryerSheets }) {
		months = rules.ScreenMonthsSheets
	}
	r.want(rules.CheckScreen, a.ID, a.Installed, months)
	switch a.Fuel {
	case vent.Ventless:
		for _, id := range []string{rules.CheckSecondFilter, rules.CheckCoil, rules.CheckDrain, rules.CheckGasket} {
			r.want(id, a.ID, a.Installed, 0)
		}
		return
	case vent.Gas:
		r.want(rules.CheckGas, a.ID, a.Installed, 0)
		if a.HasCO && !r.there(vent.COAlarm, a.UnitID) { // an alarm that is not recorded as such
			r.want(rules.CheckCOTest, a.ID, a.Installed, 0)
		}
	}
	r.want(rules.CheckCabinet, a.ID, a.Installed, 0)
}

func (r *recurring) there(k vent.ApplianceKind, unit vent.ID) bool {
	return slices.ContainsFunc(r.home.Appliances, func(a vent.Appliance) bool { return a.Kind == k && a.UnitID == unit && a.Removed == 0 })
}

// unknownDate says why an alarm without a date is due soon.
const unknownDate = "its date is not known: look on its back, record it"

// alarm adds the day of an alarm's replacement.
func (r *recurring) alarm(a vent.Appliance) {
	rule, _ := rules.CheckByID(rules.CheckAlarmReplace)
	c := vent.Check{Rule: rule.ID, Subject: vent.Subject{Kind: rule.On, ID: a.ID}, Months: alarmMonths(a.Kind)}
	var known bool
	if c.Anchor, known = ReplaceBy(a); !known {
		c.Anchor, c.Why = r.home.Known.AddMonths(1), unknownDate
	}
	r.put(c)
}

// changed gives stored checks that no longer fit what they are about.
func (r *recurring) changed() []vent.Check {
	var out []vent.Check
	for _, c := range r.home.Stored {
		next, gone := c, r.gone(c)
		switch {
		case gone != "" && !c.Off:
			next.Off, next.Why, next.Who, next.Round = true, gone, TheRecord, vent.ID{}
		case gone == "" && c.Off && c.Who == TheRecord:
			next.Off, next.Why, next.Who = false, "", ""
		}
		if a, ok := r.applianceOf(c); ok && c.Rule == rules.CheckAlarmReplace && a.Removed == 0 {
			if by, known := ReplaceBy(a); known && by != c.Anchor && by > c.LastDone {
				next = next.At(vent.Standing{Anchor: by, Round: next.Round})
			}
		}
		if next != c {
			out = append(out, next)
		}
	}
	return out
}

func (r *recurring) applianceOf(c vent.Check) (vent.Appliance, bool) {
	i := slices.IndexFunc(r.home.Appliances, func(a vent.Appliance) bool { return c.Subject.Kind == vent.KindAppliance && a.ID == c.Subject.ID })
	if i < 0 {
		return vent.Appliance{}, false
	}
	return r.home.Appliances[i], true
}

// gone says why nothing is there any more to be looked at; "" where it is.
func (r *recurring) gone(c vent.Check) string {
	switch c.Subject.Kind {
	case vent.KindAppliance:
		if a, ok := r.applianceOf(c); ok && a.Removed != 0 {
			return "removed on " + a.Removed.String()
		} else if ok && c.Rule == rules.CheckTrap && a.Kind == vent.Booster && r.there(vent.LintTrap, a.UnitID) {
			return "the trap is recorded by itself"
		}
	case vent.KindRun:
		for _, run := range r.home.Runs {
			if run.ID == c.Subject.ID && run.Ended != 0 {
				return "the run is no longer kept since " + run.Ended.String()
			}
		}
	case vent.KindSite:
		if len(r.home.Runs) > 0 && !slices.ContainsFunc(r.home.Runs, func(run vent.Run) bool { return run.Ended == 0 }) {
			return "no run of the building is kept any more"
		}
	}
	return ""
}

// Group is one line of a household's list: all checks that are one errand.
type Group struct {
	Line rules.Line
	// Day is the first day on which something of it is due; Due what is to be done then, Later what is not yet.
	Day        vent.Date
	Due, Later []Item
}

// Item is one check and its next day.
type Item struct {
	Check vent.Check
	Day   vent.Date
}

// togetherDays is how much sooner a check is done because another of its line is due. Ours.
const togetherDays = 21

// Lines puts recurring checks together into at most five lines, the soonest first. A check that is due within three weeks
// of the line's day is done with it; the others are listed as later. None is left out but those turned off.
func Lines(checks []vent.Check) []Group {
	by := map[rules.Line][]Item{}
	for _, c := range checks {
		if c.Off {
			continue
		}
		line := LineOf(c.Rule)
		by[line] = append(by[line], Item{c, Next(c)})
	}
	var out []Group
	for _, line := range rules.Lines() {
		if items := by[line]; len(items) > 0 {
			out = append(out, group(line, items))
		}
	}
	slices.SortStableFunc(out, func(a, b Group) int { return cmp.Compare(a.Day, b.Day) })
	return out
}

// LineOf gives the line of a check; one of a newer program is done at the dryer.
func LineOf(rule string) rules.Line {
	if r, ok := rules.CheckByID(rule); ok {
		return r.Line
	}
	return rules.AtDryer
}

func byDay(items []Item) {
	slices.SortStableFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Check.Rule, b.Check.Rule),
			slices.Compare(a.Check.Subject.ID[:], b.Check.Subject.ID[:]), slices.Compare(a.Check.ID[:], b.Check.ID[:]))
	})
}

func group(line rules.Line, items []Item) Group {
	byDay(items)
	g := Group{Line: line, Day: items[0].Day}
	for _, x := range items {
		if x.Day <= g.Day.AddDays(togetherDays) {
			g.Due = append(g.Due, x)
		} else {
			g.Later = append(g.Later, x)
		}
	}
	return g
}
