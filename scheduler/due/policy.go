package due

import (
	"math"
	"strconv"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// Policy is how careful an operator wants to be.
type Policy struct {
	// Risk is the chance of being past the limit at which a one-family electric run must be opened, above 0 to 0.5.
	Risk float64 `json:"risk"`
	// RiskCareful is the same for gas, shared and multi-family runs; not above Risk.
	RiskCareful float64 `json:"risk_careful"`
	// ShortestDays is how soon after a full cleaning a preventive due may stand, 7 to 90 days.
	ShortestDays int `json:"shortest_days"`
	// LongestMonths is the longest time between cleanings whatever the evidence, up to 24.
	LongestMonths int `json:"longest_months"`
	// UnprovenMonths is the longest time between cleanings without evidence, up to LongestMonths.
	UnprovenMonths int `json:"unproven_months"`
	// LookMonths is the longest time between two looks, 1 to 12.
	LookMonths int `json:"look_months"`
	// AllowLonger lets two measured cycles carry a one-family electric run past UnprovenMonths.
	AllowLonger bool `json:"allow_longer"`
	// SpreadDays is over how many days runs whose last cleaning nobody knows are spread, the worst first, 0 to 90; 0: all of
	// them are due on the day they became known.
	SpreadDays int `json:"spread_days"`
	// Edition is the rule for code length where a run names none.
	Edition string `json:"edition"`
}

// Default is the policy of an installation that set nothing: a yearly look and cleaning as fire-safety bodies advise, sooner
// where the run asks for it.
func Default() Policy {
	return Policy{
		Risk: 0.10, RiskCareful: 0.05,
		ShortestDays: 30, LongestMonths: 24, UnprovenMonths: 12, LookMonths: 12, SpreadDays: 42,
		AllowLonger: true,
		Edition:     string(airflow.IRC2012),
	}
}

// Validate names every field that cannot be, with the range that can. As an error it matches vent.ErrInvalid.
func (p Policy) Validate() error {
	var bad vent.Problems
	share := func(field string, v, most float64, remedy string) {
		if !(v > 0 && v <= most) || math.IsNaN(v) {
			bad.Add(field, strconv.FormatFloat(v, 'g', 6, 64), "%s", remedy)
		}
	}
	count := func(field string, v, least, most int) {
		if v < least || v > most {
			bad.Add(field, strconv.Itoa(v), "must be from %d to %d", least, most)
		}
	}
	share("risk", p.Risk, 0.5, "must be above 0 and at most 0.5: 0.10 opens a run when one in ten would be choked")
	share("risk_careful", p.RiskCareful, 0.5, "must be above 0 and at most 0.5: 0.05 is usual for gas and shared runs")
	if p.RiskCareful > p.Risk {
		bad.Add("risk_careful", strconv.FormatFloat(p.RiskCareful, 'g', 6, 64), "must not be above risk (%g): gas and shared runs are opened sooner, not later", p.Risk)
	}
	count("shortest_days", p.ShortestDays, 7, 90)
	count("longest_months", p.LongestMonths, 6, 24)
	count("unproven_months", p.UnprovenMonths, 3, 12)
	if p.UnprovenMonths > p.LongestMonths {
		bad.Add("unproven_months", strconv.Itoa(p.UnprovenMonths), "must not be above longest_months (%d)", p.LongestMonths)
	}
	count("look_months", p.LookMonths, 1, 12)
	count("spread_days", p.SpreadDays, 0, 90)
	return bad.Err()
}
