package lint

import "ventdue/vent"

// Trouble is something the computation itself found that must not be forgotten; it becomes a fault.
type Trouble struct {
	Rule     string        `json:"rule"` // id of the fault rule
	Severity vent.Severity `json:"severity"`
	On       vent.Date     `json:"on"`                  // day of the finding, or from which the run is so
	Finding  vent.ID       `json:"finding_id,omitzero"` // what showed it; none where it follows from the run alone
	Value    float64       `json:"value,omitempty"`     // the figure: Pa for pressure, else a share of the clean flow
	Against  float64       `json:"against,omitempty"`   // what it is compared with
}

// The rules of troubles that the computation finds.
const (
	CleanPastMaker = "clean_run_past_maker_limit" // no safe interval: improve the run
	LeakOrFan      = "low_static_low_flow"        // leak, duct fallen off, choked screen chute or blower
	AfterFarBelow  = "after_cleaning_far_below"   // the after-cleaning value is far below the computed one
	AfterPastLimit = "after_cleaning_past_limit"  // cleaned and still past the limit
	OddCycle       = "odd_cycle"                  // filled far faster than its own pace: nest, crushed elbow
	LeftChoked     = "left_choked"                // measured at 70 % or less and not cleaned
)

// cleanPastMaker says that the clean run already stands at or past the maker's limit.
func cleanPastMaker(b *Belief, c Case) Trouble {
	return Trouble{
		Rule: CleanPastMaker, Severity: vent.Fix, On: max(c.Run.Known, c.Run.Current().From),
		Value: float64(b.build.limit.CleanStatic), Against: float64(c.Dryer.StaticLimit()),
	}
}
