package faults

import (
	"slices"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// SightKind is what a sight says of a fault.
type SightKind string

// The kinds.
const (
	Found  SightKind = "found"   // it is there
	Mended SightKind = "mended"  // somebody put it right
	Gone   SightKind = "no_more" // the record that showed it no longer does
	// TakenBack: the finding that put it right was corrected. What the correction says follows.
	TakenBack SightKind = "taken_back"
)

// Sight is one word on one fault: that it was found, put right, or no longer follows from the record.
type Sight struct {
	Kind    SightKind
	Rule    string // id of the fault rule
	Subject vent.Subject
	On      vent.Date // day of the finding or sign, or from which the record is so
	Finding vent.ID   // that showed it; none where it follows from the record alone
	Sign    vent.ID   // that raised it; none else
	ByTool  bool      // it follows from what is recorded; nobody looked for it
	By      string    // who put it right
	Note    string
}

func (s Sight) key() key { return key{s.Rule, s.Subject} }

// key is what makes a fault the same fault.
type key struct {
	rule    string
	subject vent.Subject
}

// Setting is where faults are found: it decides whom they are about and how grave they are.
type Setting struct {
	Run   vent.ID
	Dryer vent.ID // of that day; none where not known
	// Gas and Shared: the dryer burns gas; several dryers share the run.
	Gas, Shared bool
	// Branches are the runs of the flats on a riser; a fault that stops all of them is raised on each.
	Branches []vent.ID
}

// SettingOf gives the setting of a run with the dryer of the day.
func SettingOf(run vent.Run, dryer vent.Appliance, branches ...vent.ID) Setting {
	return Setting{Run: run.ID, Dryer: dryer.ID, Gas: dryer.Fuel == vent.Gas, Shared: run.Shared(), Branches: branches}
}

// subject gives whom a rule's fault is about: the dryer where it is the dryer's and known, else the run.
func (s Setting) subject(r rules.Fault) vent.Subject {
	if r.On == vent.KindAppliance && !s.Dryer.IsZero() {
		return vent.Subject{Kind: vent.KindAppliance, ID: s.Dryer}
	}
	return vent.Subject{Kind: vent.KindRun, ID: s.Run}
}

// FromFinding gives what a person said in a finding: the faults seen and those put right, and the follow-ups that
// it answers. Part checks speak through Diagnose. It is for the moment in which the finding is recorded, once.
func FromFinding(f vent.Finding, at Setting) []Sight {
	var out []Sight
	say := func(kind SightKind, id string) {
		r, ok := rules.FaultByID(id)
		if !ok {
			out = append(out, Sight{Kind: kind, Rule: id, On: f.Date}) // refused by Raise, by name
			return
		}
		s := Sight{Kind: kind, Rule: id, Subject: at.subject(r), On: f.Date, Finding: f.ID, By: doer(f.By)}
		out = append(out, s)
		if r.Spreads {
			for _, b := range at.Branches {
				s.Subject = vent.Subject{Kind: vent.KindRun, ID: b}
				out = append(out, s)
			}
		}
	}
	for _, id := range f.Faults {
		say(Found, id)
	}
	for _, id := range f.Fixed {
		say(Mended, id)
	}
	if f.Looked() {
		say(Mended, rules.FollowUpCall)
	}
	if answersReading(f) {
		say(Mended, rules.FollowUpReading)
	}
	return out
}

// answersReading reports whether a finding tells how well the air gets out: measured, or as the customer saw it.
func answersReading(f vent.Finding) bool {
	return slices.ContainsFunc(slices.Concat(f.Before, f.After), func(r vent.Reading) bool {
		return isAir(r) || r.Quantity == vent.Flap || r.Quantity == vent.DryMinutes
	})
}

func isAir(r vent.Reading) bool {
	return r.Quantity == vent.AirSpeed || r.Quantity == vent.Static || r.Quantity == vent.Flow
}

// Unsaid gives what a corrected finding no longer says: faults that the old one showed and the new one does not, and those that
// the old one put right. Where the new one does so as well, its own word closes them again.
func Unsaid(stored []vent.Fault, old vent.ID, on vent.Date, now []Sight) []Sight {
	var out []Sight
	for _, f := range stored {
		k := key{f.Rule, f.Subject}
		if f.State == vent.FaultFixed && f.ClosedWith == old && !old.IsZero() {
			out = append(out, Sight{Kind: TakenBack, Rule: f.Rule, Subject: f.Subject, On: min(on, f.Since()), Finding: old, Note: "the finding that put it right was corrected"})
		}
		if old.IsZero() || f.FindingID != old || slices.ContainsFunc(now, func(s Sight) bool { return s.Kind == Found && s.key() == k }) {
			continue
		}
		out = append(out, Sight{Kind: Gone, Rule: f.Rule, Subject: f.Subject, On: max(on, f.Since()), Finding: old, Note: "the finding that showed it was corrected"})
	}
	return out
}

// doer names who did it, so that a fault is never put right by nobody.
func doer(d vent.Doer) string {
	if d.Name != "" {
		return d.Name
	}
	switch d.Kind {
	case vent.ByUs:
		return "us"
	case vent.ByCustomer:
		return "the customer"
	case vent.ByOtherFirm:
		return "another firm"
	}
	return "somebody"
}
