package scheduler

import (
	"fmt"
	"slices"

	"ventdue/scheduler/lint"
	"ventdue/vent"
)

// Standing is how a run stands at one moment of a visit.
type Standing string

// The standings.
const (
	NotRead   Standing = ""     // nothing was read that tells of air
	Open      Standing = "open" // at or above the share at which it is to be clean again
	Near      Standing = "near" // below that share, not past the limit yet
	PastLimit Standing = "past" // planning holds it past its limit
)

// Judged is how the readings of one finding stand, as planning will take them. Shares are of the clean flow.
type Judged struct {
	Readings []lint.Measured // the finding's own readings of air
	Share    float64         // of all readings before the work together; 0 not read
	Limit    float64         // share at which the run is to be clean again
	// Before is how the run was found; After how it was left, where lint was taken out.
	Before, After Standing
}

// Judge says how a finding's readings stand, recorded or not, by the rule by which the run is planned: it is planned once
// with the finding as a mere look, and once with what was done. What is known of later days is left out. A run that ended
// is not judged. The error is that of Plan.
func Judge(in Input, f vent.Finding) (Judged, error) {
	if in.Run.Ended != 0 {
		return Judged{}, nil
	}
	in.Open = nil
	earlier := slices.DeleteFunc(slices.Clone(in.Findings), func(x vent.Finding) bool { return x.ID == f.ID || x.Date >= f.Date })
	looked := f
	looked.Outcome, looked.After, looked.Parts = vent.LookedOnly, nil, nil
	looked.LintBefore, looked.LintAfter, f.LintAfter = vent.NotGraded, vent.NotGraded, vent.NotGraded // readings are judged, not sights
	in.Findings = append(slices.Clone(earlier), looked)
	out, err := Plan(in)
	if err != nil {
		return Judged{}, fmt.Errorf("judge readings of run %s: %w", in.Run.ID, err)
	}
	j := Judged{Limit: out.Belief.FlowAtLimit()}
	if share, on, ok := out.Belief.LastFlow(); ok && on == f.Date {
		j.Share = share
	}
	j.Readings = readingsOf(in, f)
	j.Before = j.standing(out.Belief, f.Date, false)
	if !f.Cleaned() {
		return j, nil
	}
	in.Findings = append(earlier, f)
	if out, err = Plan(in); err != nil {
		return Judged{}, fmt.Errorf("judge readings of run %s: %w", in.Run.ID, err)
	}
	j.Readings = append(j.Readings, slices.DeleteFunc(readingsOf(in, f), func(m lint.Measured) bool { return !m.After })...)
	j.After = j.standing(out.Belief, f.Date, true)
	return j, nil
}

// readingsOf gives the finding's readings as shares.
func readingsOf(in Input, f vent.Finding) []lint.Measured {
	return slices.DeleteFunc(lint.Measurements(in.knowledge()), func(m lint.Measured) bool { return m.On != f.Date || m.Finding != f.ID })
}

func (j Judged) standing(b *lint.Belief, on vent.Date, after bool) (s Standing) {
	for _, m := range j.Readings {
		switch {
		case m.After != after || m.Leak:
		case m.Share < j.Limit:
			s = Near
		case s == NotRead:
			s = Open
		}
	}
	if past, _ := b.Past(); past == on {
		s = PastLimit
	}
	return s
}

// Gauges are what instruments show at a run: clean, and where it is past its limit. SI; 0 where it is not known.
type Gauges struct {
	CleanSpeed, LimitSpeed   float64 // air speed at the outlet, m/s; past below
	CleanStatic, LimitStatic float64 // static pressure at the dryer, Pa; past above
}

// GaugesOf gives the few figures by which a reading can be judged where Judge cannot be asked. A reading itself teaches what
// clean is, so that close to the limit Judge may say otherwise. The error is that of Plan.
func GaugesOf(in Input) (g Gauges, err error) {
	if in.Run.Ended != 0 {
		return g, nil
	}
	out, err := Plan(in)
	if err != nil {
		return g, fmt.Errorf("gauges of run %s: %w", in.Run.ID, err)
	}
	g.CleanSpeed, g.CleanStatic = out.Belief.ReadAt(1)
	g.LimitSpeed, g.LimitStatic = out.Belief.ReadAt(lint.FlowShare)
	if most, ok := out.Belief.MakerLimit(in.Dryer); ok && (g.LimitStatic == 0 || most < g.LimitStatic) {
		g.LimitStatic = most
	}
	return g, nil
}
