package wording

import (
	"strconv"

	"ventdue/desk"
	"ventdue/scheduler"
	"ventdue/scheduler/lint"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// Title says what is due and where, short enough for a calendar: "Clean the dryer vent: Maple House, 3B".
func (w Words) Title(v desk.DueView) string {
	t := w.Say("title", "what", w.What(v.Due), "where", v.Label())
	if v.Due.Severity == vent.Stop {
		t = w.Say("title_stop", "title", t)
	}
	return t
}

// What says what is to be done.
func (w Words) What(d vent.Due) string {
	if d.Kind == vent.DueCheck && d.Reason.Rule != "" {
		return w.checkWhat(d)
	}
	key := "what." + string(d.Kind)
	if name := "fault." + d.Reason.Rule; d.Kind == vent.DueFault && w.Has(name) {
		return w.Say(name)
	}
	if d.Reason.Rule != "" && w.Has(key+".of") {
		return w.Say(key+".of", "rule", w.rule(d.Reason.Rule))
	}
	return w.Say(key)
}

// State says in a word how a due stands on a day: overdue, due now, soon, later.
func (w Words) State(d vent.Due, today vent.Date) string { return w.Say("state." + StateKey(d, today)) }

// StateKey gives the state's machine name: what a page chooses a shape by.
func StateKey(d vent.Due, today vent.Date) string {
	n := today.DaysUntil(d.Day)
	switch {
	case d.Severity == vent.Stop:
		return "stop"
	case d.Unknown:
		return "unknown"
	case n < 0:
		return "overdue"
	case n <= 30:
		return "soon"
	}
	return "later"
}

// Reason gives the sentences that explain a due: what set the day, from which numbers, and what would change it.
// They depend on the due alone, not on the day they are read.
func (w Words) Reason(d vent.Due) []string {
	r := d.Reason
	s := w.causes(d)
	if d.Kind == vent.DueClean || d.Kind == vent.DueLook {
		if r.LastFlow > 0 {
			s = append(s, w.lastFlow(r))
		}
		if r.LoadsPerWeek > 0 {
			s = append(s, w.Say("reason.loads."+string(r.LoadsFrom), "n", loads(r.LoadsPerWeek)))
		} else if r.LoadsFrom == vent.UseEmpty {
			s = append(s, w.Say("reason.empty"))
		}
		s = append(s, w.evidence(r))
	}
	if d.Latest != 0 && d.Latest != d.Day {
		s = append(s, w.window(d))
	}
	return s
}

func (w Words) lastFlow(r vent.Reason) string {
	return w.Say("reason.last_flow", "share", w.Percent(r.LastFlow), "date", w.Date(r.LastFlowOn))
}

func (w Words) window(d vent.Due) string {
	return w.Say("reason.window", "earliest", w.Date(d.Earliest), "latest", w.Date(d.Latest))
}

// Why gives the sentences that matter to whoever has to see to it: what set the day, what was last measured, and how
// much it can be moved.
func (w Words) Why(d vent.Due) []string {
	s := w.causes(d)
	if d.Reason.LastFlow > 0 && d.Reason.Bound != vent.BoundPastLimit {
		s = append(s, w.lastFlow(d.Reason))
	}
	if d.Latest != 0 && d.Latest != d.Day && !d.Unknown && d.Severity != vent.Stop {
		s = append(s, w.window(d))
	}
	return s
}

// causes says what set the day, and of recurring checks what is to be looked at.
func (w Words) causes(d vent.Due) []string {
	if d.Kind == vent.DueCheck && d.Reason.Rule != "" {
		return w.checkWhy(d)
	}
	return []string{w.cause(d)}
}

// cause says what set the day.
func (w Words) cause(d vent.Due) string {
	r := d.Reason
	if d.Kind == vent.DueFault && r.Bound == vent.BoundCorrective {
		return w.Say("reason.fault", "rule", w.rule(r.Rule), "since", w.Date(r.Since))
	}
	switch r.Bound {
	case vent.BoundPastLimit:
		return w.past(d)
	case vent.BoundNone:
		return w.Say("reason.limit", "chance", w.Percent(r.Risk), "date", w.Date(d.Day), "limit", w.Say("limit."+string(r.Limit)), "since", w.Date(r.Since))
	case vent.BoundNoEvidence:
		if r.Cycles >= 2 {
			return w.Say("reason.bound.not_allowed", "months", w.months(r.Months), "since", w.Date(r.Since))
		}
		return w.Say("reason.bound.no_evidence", "months", w.months(r.Months), "since", w.Date(r.Since))
	case vent.BoundLongest, vent.BoundLook, vent.BoundCeiling:
		return w.Say("reason.bound."+string(r.Bound), "months", w.months(r.Months), "since", w.Date(r.Since), "source", r.Source, "chance", w.Percent(r.Chance))
	}
	return w.Say("reason.bound."+string(r.Bound), "since", w.Date(r.Since), "model", w.Date(r.ByModel), "chance", w.Percent(r.Chance),
		"share", w.Percent(r.LastFlow), "rule", w.rule(r.Rule), "source", r.Source)
}

// past says what found the run past its limit: an eye, a reading, or the reading right after a cleaning.
func (w Words) past(d vent.Due) string {
	r := d.Reason
	key, seen := "reason.bound.past_limit", ""
	after := d.Day == r.Since
	switch {
	case r.Seen != vent.NotGraded:
		seen = w.Say("seen." + string(r.Seen))
		key += "_seen"
		if after {
			key = "reason.bound.past_limit_left"
		}
	case r.LastFlow <= 0 || r.LastFlowOn != d.Day || r.LastFlow >= lint.FlowShare: // a pressure past the maker's limit
		key += "_found"
	case after:
		key += "_after"
	}
	return w.Say(key, "date", w.Date(d.Day), "share", w.Percent(r.LastFlow), "seen", seen)
}

// Rule names a fault rule, a sign or a check in plain words; an unknown one by its id.
func (w Words) Rule(id string) string { return w.rule(id) }

// rule names a sign, a fault rule or a recurring check in plain words; an unknown one by its id.
func (w Words) rule(id string) string {
	if key := "sign." + id; w.Has(key) {
		return w.Say(key)
	}
	if looks := w.rules.faults[id]; looks != "" {
		return looks
	}
	if r, ok := rules.FaultByID(id); ok {
		return r.Looks
	}
	if c, ok := rules.CheckByID(id); ok {
		return c.What
	}
	return id
}

// evidence says how much is known and what would sharpen it.
func (w Words) evidence(r vent.Reason) string {
	switch {
	case r.Boosted:
		return w.Say("reason.boosted")
	case r.OutsideModel:
		return w.Say("reason.outside_model")
	case r.NoGeometry:
		return w.Say("reason.no_geometry")
	case r.Cycles == 0 && r.Readings == 0:
		return w.Say("reason.no_readings")
	case r.Cycles == 0:
		if r.Readings == 1 {
			return w.Say("reason.one_reading")
		}
		return w.Say("reason.readings", "readings", strconv.Itoa(r.Readings))
	}
	if r.Cycles == 1 {
		return w.Say("reason.one_cycle", "readings", strconv.Itoa(r.Readings))
	}
	return w.Say("reason.cycles", "cycles", strconv.Itoa(r.Cycles), "readings", strconv.Itoa(r.Readings))
}

// Numbers gives the figures behind a look's or a cleaning's day, a sentence each.
func (w Words) Numbers(d vent.Due) (s []string) {
	r := d.Reason
	if d.Kind != vent.DueClean && d.Kind != vent.DueLook {
		return nil
	}
	if r.GrowthPer100 > 0 {
		s = append(s, w.Say("numbers.growth", "share", number(float64(int(r.GrowthPer100*1e4+0.5))/100), "factor", number(float64(int(r.GrowthDoubt*10+0.5))/10)))
	}
	if r.Bound == vent.BoundPastLimit {
		return s // what was found outvotes the numbers
	}
	if r.Chance > 0 && d.Kind == vent.DueClean {
		s = append(s, w.Say("numbers.chance", "chance", w.Percent(r.Chance), "limit", w.Say("limit."+string(r.Limit)), "risk", w.Percent(r.Risk)))
	}
	if r.ByModel != 0 && r.ByModel != d.Day {
		s = append(s, w.Say("numbers.model", "date", w.Date(r.ByModel)))
	}
	if r.Median != 0 {
		s = append(s, w.Say("numbers.median", "month", w.Month(r.Median)))
	}
	return s
}

// Sharper says what would make a run's date surer: the first of the list, which moves it most; "" for an empty list.
func (w Words) Sharper(list []scheduler.Sharper) string {
	if len(list) == 0 {
		return ""
	}
	s := list[0]
	days := max(s.Earlier, s.Later)
	much := w.Say("sharper.days", "n", strconv.Itoa(days))
	switch months := (days*12 + 183) / 365; {
	case months == 1:
		much = w.Say("sharper.month")
	case months > 1:
		much = w.Say("sharper.months", "n", strconv.Itoa(months))
	}
	return w.Say("sharper."+string(s.Measure), "much", much)
}

// Cautions gives the cautions that belong to the work on a run.
func (w Words) Cautions(dryer vent.Appliance, v vent.Version) []string {
	s := []string{w.Say("caution.power")}
	if dryer.Fuel == vent.Gas {
		s = append(s, w.Say("caution.gas"), w.Say("caution.co"))
	}
	if v.RoofOutlet {
		s = append(s, w.Say("caution.roof"))
	}
	if len(v.InLine) > 0 {
		s = append(s, w.Say("caution.in_line"))
	}
	return append(s, w.Say("caution.bypass"), w.Say("caution.smell"), w.Say("caution.codes"))
}
