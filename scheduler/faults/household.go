package faults

import (
	"cmp"
	"slices"
	"strings"

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
}

// Recurring gives the checks that a site should have and lacks (with no ID yet), and the stored ones that follow from an
// appliance that changed: an alarm with another date, a thing that is no longer there. What an operator turned off or set
// to another interval stays as they set it.
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

// changed gives stored checks that no longer fit their appliance.
func (r *recurring) changed() []vent.Check {
	var out []vent.Check
	for _, c := range r.home.Stored {
		i := slices.IndexFunc(r.home.Appliances, func(a vent.Appliance) bool {
			return c.Subject.Kind == vent.KindAppliance && a.ID == c.Subject.ID
		})
		if i < 0 {
			continue
		}
		a, next := r.home.Appliances[i], c
		if a.Removed != 0 && !c.Off {
			next.Off, next.Why = true, "removed on "+a.Removed.String()
		}
		if by, known := ReplaceBy(a); known && c.Rule == rules.CheckAlarmReplace && a.Removed == 0 && by != c.Anchor && by > c.LastDone {
			next.Anchor, next.LastDone, next.Snoozed, next.Why = by, 0, 0, ""
		}
		if next != c {
			out = append(out, next)
		}
	}
	return out
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
		line := rules.AtDryer
		if r, ok := rules.CheckByID(c.Rule); ok {
			line = r.Line
		}
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

func group(line rules.Line, items []Item) Group {
	slices.SortStableFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Check.Rule, b.Check.Rule),
			slices.Compare(a.Check.Subject.ID[:], b.Check.Subject.ID[:]), slices.Compare(a.Check.ID[:], b.Check.ID[:]))
	})
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

// also names the other rules that are due with a line's first, each once, in the order of their days.
func (g Group) also() string {
	var ids []string
	for _, x := range g.Due[1:] {
		if x.Check.Rule != g.Due[0].Check.Rule && !slices.Contains(ids, x.Check.Rule) {
			ids = append(ids, x.Check.Rule)
		}
	}
	return strings.Join(ids, ",")
}

// opener is the id under which the line stays the same line: the lowest of its checks'.
func (g Group) opener() vent.ID {
	id := g.Due[0].Check.ID
	for _, x := range slices.Concat(g.Due, g.Later) {
		if slices.Compare(x.Check.ID[:], id[:]) < 0 {
			id = x.Check.ID
		}
	}
	return id
}
