package lint

import (
	"math"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// Trouble is something the computation itself found that must not be forgotten; it becomes a fault.
type Trouble struct {
	Rule     string        `json:"rule"` // id of the fault rule
	Severity vent.Severity `json:"severity"`
	On       vent.Date     `json:"on"`                  // day of the finding, or from which the run is so
	Finding  vent.ID       `json:"finding_id,omitzero"` // what showed it; none where it follows from the run alone
	Value    float64       `json:"value,omitempty"`     // the figure: Pa for pressure, else a share of the clean flow
	Against  float64       `json:"against,omitempty"`   // what it is compared with
}

// The rules of troubles that the computation finds; what they mean and ask for stands in package rules.
const (
	CleanPastMaker = rules.CleanPastMaker
	LeakOrFan      = rules.LowStaticFlow
	AfterFarBelow  = rules.AfterFarBelow
	AfterPastLimit = rules.AfterPastLimit
	OddCycle       = rules.OddCycle
	LeftChoked     = rules.LeftChoked
)

// cleanPastMaker says that the clean run already stands at or past the maker's limit.
func cleanPastMaker(b *Belief, c *Case) Trouble {
	return Trouble{
		Rule: CleanPastMaker, Severity: vent.Fix, On: max(c.Run.Known, c.Run.Current().From),
		Value: float64(b.build.limit.CleanStatic), Against: float64(c.Dryer.StaticLimit()),
	}
}

// Shares of the computed clean flow below which the value after a cleaning is far too low, by what is known of the route.
const (
	farBelowMeasured = 0.75
	farBelowGuessed  = 0.60
	farBelowUnknown  = 0.40
)

// neverClean is the share of the computed clean flow below which no slip in the description and no weak blower explains a
// reading after a cleaning: something blocks, or the instrument was held wrongly. It tells nothing of the clean run. Ours.
const neverClean = 0.50

// blocked reports a value after a cleaning that is no clean value.
func (b *build) blocked(a air) bool {
	return a.s > 0 && a.x < math.Log(min(b.far, neverClean))
}

// lastTroubles looks at the newest cleaning and the cycle before it.
func (b *Belief) lastTroubles(c *Case, h *history, ch channel) {
	cy := &h.cycles[len(h.cycles)-1]
	for i := range c.Findings {
		f := &c.Findings[i]
		if f.Date >= cy.start && f.Counts() && (leaks(&b.build, f.Before) && !f.Cleaned() || leaks(&b.build, f.After)) {
			b.troubles = append(b.troubles, Trouble{Rule: LeakOrFan, Severity: b.gasStop(c), On: f.Date, Finding: f.ID})
		}
	}
	f := cy.opener
	if f == nil {
		return
	}
	if b.oddLast > 0.5 && b.oddBy == f || f.Sudden {
		b.troubles = append(b.troubles, Trouble{Rule: OddCycle, Severity: vent.Fix, On: f.Date, Finding: f.ID, Value: b.oddLast})
	}
	a := b.build.airOf(f.After, ch, 1)
	measured := a.s > 0 && !leaks(&b.build, f.After)
	if share := math.Exp(a.x); measured && f.CleanedFully() && share < b.build.far {
		b.troubles = append(b.troubles, Trouble{Rule: AfterFarBelow, Severity: vent.Fix, On: f.Date, Finding: f.ID, Value: share, Against: b.build.far})
	}
	past := Trouble{Rule: AfterPastLimit, Severity: b.gasStop(c), On: f.Date, Finding: f.ID}
	low := measured && f.CleanedFully() && math.Exp(a.x-b.clean) < FlowShare
	if low {
		past.Value, past.Against = math.Exp(a.x-b.clean), FlowShare
	}
	if low || f.LintAfter.Choked() {
		b.troubles = append(b.troubles, past)
	}
}
