// Package scheduler decides, from facts alone, what is due on one run: the day, the window, the reason. It has no clock, no
// store and no other customer: "due now" is the day of the fact that made it so, "overdue" does not exist here.
package scheduler

import (
	"fmt"

	"ventdue/scheduler/due"
	"ventdue/scheduler/lint"
	"ventdue/vent"
)

// Input is everything that is known of one run.
type Input struct {
	Run      vent.Run
	Dryer    vent.Appliance // of the current version; zero where not known
	Unit     vent.Unit      // zero for a common riser
	Site     vent.Site
	Findings []vent.Finding   // of this run, by date
	Signs    []vent.Sign      // of this run
	Faults   []vent.Fault     // of this run and its dryer
	Open     []vent.Due       // stored open dues of this run
	Pool     lint.Pool        // what neighbours teach
	InLine   []vent.Appliance // boosters and traps of all versions of the run
	Policy   due.Policy
}

// Outlook is what the rules want of the run.
type Outlook struct {
	Dues     []vent.Wanted  // looks and cleanings, keyed by (run, Kind, Opener); signs and faults have theirs from faults.Dues
	Troubles []lint.Trouble // what the computation itself found and nobody may forget
	Belief   *lint.Belief   // nil for a run that ended
}

// Plan decides what is due. It gives an error where the policy cannot be or the run cannot be dated (no version, no day on
// which it became known); anything else that is missing makes the answer less sure, not an error.
func Plan(in Input) (Outlook, error) {
	if err := in.Policy.Validate(); err != nil {
		return Outlook{}, fmt.Errorf("plan run %s: policy: %w", in.Run.ID, err)
	}
	if len(in.Run.Versions) == 0 || !in.Run.Known.Valid() {
		return Outlook{}, fmt.Errorf("plan run %s: %w: it needs a version and the day on which it became known", in.Run.ID, vent.ErrInvalid)
	}
	if in.Run.Ended != 0 {
		return Outlook{}, nil
	}
	belief := lint.Learn(in.knowledge())
	f := factsOf(in, &belief)
	out := Outlook{Belief: &belief, Troubles: belief.Troubles()}
	clean := due.Clean(f, in.Policy, told(in.Open, vent.DueClean))
	out.Dues = append(out.Dues, clean)
	if look, ok := due.Look(f, in.Policy, clean, told(in.Open, vent.DueLook)); ok {
		out.Dues = append(out.Dues, look)
	}
	return out, nil
}

// knowledge is what bears on the run's lint.
func (in Input) knowledge() lint.Case {
	return lint.Case{Run: in.Run, Dryer: in.Dryer, Unit: in.Unit, Site: in.Site, Findings: in.Findings, Faults: in.Faults, Pool: in.Pool, InLine: in.InLine}
}

// told finds the open due of a kind that somebody was told a day of.
func told(open []vent.Due, k vent.DueKind) *vent.Due {
	for i := range open {
		if d := &open[i]; d.Kind == k && d.State == vent.DueOpen && d.ToldDay != 0 {
			return d
		}
	}
	return nil
}

// factsOf gathers what the days depend on.
func factsOf(in Input, b *lint.Belief) due.Facts {
	v := in.Run.Current()
	f := due.Facts{
		Run: in.Run, Lat: in.Site.Lat,
		Gas:         in.Dryer.Fuel == vent.Gas,
		Shared:      in.Run.Shared(),
		MultiFamily: in.Unit.Kind == vent.Flat || in.Unit.Kind == vent.LaundryRoom,
		Roof:        v.RoofOutlet,
		Chance:      b.Chance, Day: b.Day,
		Since: b.Since(), Opener: b.Opener(),
		Supports: b.Cycles() >= 2 && b.CleanKnown(),
		Worst:    due.Worst(dangerOf(in, v)),
		Reason:   reasonOf(b),
	}
	f.Past, f.Seen = b.Past()
	for _, x := range in.Findings {
		if !x.Counts() || !x.RunID.IsZero() && x.RunID != in.Run.ID {
			continue
		}
		f.LastFinding = max(f.LastFinding, x.Date)
		if x.Looked() && x.Date >= f.Looked {
			f.Looked, f.Saw = x.Date, x.ID
		}
		if x.Cleaned() && !x.CleanedFully() && x.Date > f.Since {
			f.Partial = max(f.Partial, x.Date)
		}
	}
	f.Proven = f.Partial != 0 && b.ProvenClean()
	return f
}

func dangerOf(in Input, v vent.Version) due.Danger {
	d := due.Danger{
		Gas:  in.Dryer.Fuel == vent.Gas,
		Foil: due.FoilIn(v), PastFuse: in.Run.PastFuse, Roof: v.RoofOutlet,
	}
	for _, s := range in.Signs {
		if s.Open() {
			d.Signs++
		}
	}
	if v.Route != nil {
		d.Meters = float64(v.Route.Transition.Length + v.Route.StraightLength())
	}
	return d
}

// reasonOf carries the belief's numbers, so that a sentence or a picture needs no second computation.
func reasonOf(b *lint.Belief) vent.Reason {
	var r vent.Reason
	r.Limit = b.Limit()
	r.LoadsPerWeek, r.LoadsFrom = b.Loads()
	r.GrowthPer100, r.GrowthDoubt = b.Growth()
	r.Cycles, r.Readings = b.Cycles(), b.Readings()
	r.NoGeometry, r.OutsideModel, r.Boosted = b.NoGeometry(), b.OutsideModel(), b.Boosted()
	if share, on, ok := b.LastFlow(); ok {
		r.LastFlow, r.LastFlowOn = share, on
	}
	return r
}
