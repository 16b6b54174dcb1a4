package faults

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Air is how the run was found when a one-shot device was open.
type Air string

// How it was found.
const (
	AirUnknown Air = ""       // nobody looked or measured
	AirChoked  Air = "choked" // something explains the heat
	AirClear   Air = "clear"  // nothing does
)

// Shares and openings that decide it. Ours: 75 % of the clean flow is where a run counts as choked.
const (
	chokedShare = 0.75
	chokedFlap  = 0.25
)

// Hunt is the search for what opened a one-shot device, step by step, and how far it has come.
type Hunt struct {
	Device string // the part that was open; the cut-off where both were
	Air    Air
	// Causes are the ids of the faults seen that explain the heat, and "lint" where lint did.
	Causes []string
	// Removed: every cause was taken away in the same visit.
	Removed bool
	// Replaced: a new device was fitted. Second: another opened within the twelve months before.
	Replaced, Second bool
	Steps            []HuntStep
	first            opening // the opening before, where Second
	now              opening
	devices          []string
}

// HuntStep is one step and whether the finding shows it done.
type HuntStep struct {
	rules.HuntStep
	Done bool
}

// Lint is the cause "lint in the run".
const Lint = "lint"

// Missing lists the steps of the visit itself that are not shown to be done, in order: those without which the new
// device must not run, and those of the same day.
func (h *Hunt) Missing() []rules.HuntStep {
	var out []rules.HuntStep
	for _, s := range h.Steps {
		if !s.Done && (s.When == rules.BeforeFuse || s.When == rules.SameVisit) {
			out = append(out, s.HuntStep)
		}
	}
	return out
}

// hunt begins the search where a one-shot device was open; nil where none was.
func hunt(b Bench, vs []Verdict) *Hunt {
	h := &Hunt{now: opening{b.Finding.Date, b.Finding.ID}}
	for _, v := range vs {
		if v.OneShot && v.Result == rules.Open && !slices.Contains(h.devices, v.Part) {
			h.devices = append(h.devices, v.Part)
			h.Replaced = h.Replaced || swapped(vs, v.Part)
		}
	}
	if len(h.devices) == 0 {
		return nil
	}
	h.Device = h.devices[0]
	if slices.Contains(h.devices, rules.ThermalCutoff) {
		h.Device = rules.ThermalCutoff
	}
	h.Air, h.Causes = airOf(b), causesOf(b)
	h.Removed = removed(b.Finding, h.Causes)
	h.first, h.Second = openedBefore(b)
	for _, s := range rules.Hunt() {
		h.Steps = append(h.Steps, HuntStep{s, huntDone(s.ID, b, vs, h)})
	}
	return h
}

// swapped reports whether a part was replaced in the finding.
func swapped(vs []Verdict, part string) bool {
	return slices.ContainsFunc(vs, func(v Verdict) bool { return v.Part == part && v.Replaced })
}

// openedBefore finds the opening before this finding's, within twelve months.
func openedBefore(b Bench) (opening, bool) {
	all := slices.DeleteFunc(slices.Clone(b.Earlier), func(f vent.Finding) bool {
		return f.ID == b.Finding.ID || !b.Finding.Corrects.IsZero() && f.ID == b.Finding.Corrects
	})
	events := openings(append(all, b.Finding))
	for i, e := range events {
		if i > 0 && e.on == b.Finding.Date && within(events[i-1], e) {
			return events[i-1], true
		}
	}
	return opening{}, false
}

// airOf says how the run was found, by what was measured, seen and graded before anything was done.
func airOf(b Bench) Air {
	if len(causesOf(b)) > 0 {
		return AirChoked
	}
	share := b.FlowShare
	known := share > 0 && !math.IsInf(share, 0)
	if known || slices.Contains([]vent.Grade{vent.Bare, vent.Film, vent.Fuzz}, b.Finding.LintBefore) {
		return AirClear
	}
	return AirUnknown
}

// causesOf lists what was found that keeps the air in.
func causesOf(b Bench) []string {
	f := b.Finding
	lint := f.LintBefore == vent.Mat || f.LintBefore == vent.Plugged || b.FlowShare > 0 && b.FlowShare < chokedShare
	var out []string
	for _, id := range f.Faults {
		if r, ok := rules.FaultByID(id); ok && r.Restricts {
			out = append(out, id)
		}
	}
	shut := slices.ContainsFunc(f.Before, func(r vent.Reading) bool { return r.Quantity == vent.Flap && r.Value < chokedFlap })
	if lint || shut && len(out) == 0 {
		out = append(out, Lint)
	}
	return out
}

// removed reports whether all causes were taken away: lint by a full cleaning, faults by being put right.
func removed(f vent.Finding, causes []string) bool {
	for _, c := range causes {
		if c == Lint && !f.CleanedFully() || c != Lint && !slices.Contains(f.Fixed, c) {
			return false
		}
	}
	return len(causes) > 0
}

// huntDone reports whether the finding shows a step done.
func huntDone(id string, b Bench, vs []Verdict, h *Hunt) bool {
	f := b.Finding
	inPlace := func(r vent.Reading) bool { return isAir(r) && r.Has(vent.PushedBack) }
	switch id {
	case rules.HuntReadBefore:
		return slices.ContainsFunc(f.Before, inPlace)
	case rules.HuntLookAir:
		return h.Air != AirUnknown && f.LintBefore != vent.NotGraded
	case rules.HuntClean:
		return f.CleanedFully()
	case rules.HuntParts:
		return allDecided(vs, heatPartIDs(b.Dryer.Fuel), h.devices)
	case rules.HuntReplace:
		return h.Replaced
	case rules.HuntReadAfter:
		return slices.ContainsFunc(f.After, inPlace)
	case rules.HuntHotCycle:
		return slices.Contains(f.CloseOut, rules.CloseHotRun) ||
			slices.ContainsFunc(vs, func(v Verdict) bool { return v.Part == rules.CyclingThermostat && v.Standing == Sound })
	}
	return false // calls and follow-ups lie ahead
}

func allDecided(vs []Verdict, ids, open []string) bool {
	for _, id := range ids {
		decided := slices.ContainsFunc(vs, func(v Verdict) bool { return v.Part == id && (v.Standing == Sound || v.Standing == Bad) })
		if !decided && !slices.Contains(open, id) {
			return false
		}
	}
	return true
}

// sights says which faults an open one-shot device leads to. Open with a clean run, any open cut-off and a second one
// within twelve months stop the dryer; so does a new device that runs before its cause was removed.
func (h *Hunt) sights(say func(id, note string)) {
	missing := missingNote(h.Missing())
	if slices.Contains(h.devices, rules.ThermalCutoff) {
		say(rules.CutoffOpen, "")
	}
	if h.Second {
		s := secondSight(vent.Subject{}, h.first, h.now)
		say(s.Rule, s.Note)
	}
	if slices.Contains(h.devices, rules.ThermalFuse) {
		switch {
		case h.Air == AirClear:
			say(rules.FuseOpenClean, "")
		case h.Replaced && !h.Removed:
			say(rules.FuseBeforeCause, cmp.Or(missing, "what was found was not all put right"))
		case !h.Replaced:
			say(rules.FuseOpen, "")
		}
	}
	if h.Replaced {
		say(rules.FollowUpCall, "")
		say(rules.FollowUpReading, missing)
	}
}

func missingNote(steps []rules.HuntStep) string {
	var texts []string
	for _, s := range steps {
		texts = append(texts, s.Text)
	}
	if len(texts) == 0 {
		return ""
	}
	return "not shown to be done in the visit: " + strings.Join(texts, "; ")
}
