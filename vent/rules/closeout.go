package rules

import (
	"slices"

	"ventdue/vent"
)

// The close-out list's lines.
const (
	ClosePushedBack = "pushed_back"
	CloseTransition = "transition_not_crushed"
	CloseReadLast   = "read_after_push_back"
	CloseFlap       = "flap_opens_and_shuts"
	CloseGasTest    = "gas_connector_tested"
	CloseGasOpen    = "gas_valve_open"
	CloseHotRun     = "test_run_with_heat"
	CloseScreen     = "screen_washed"
	CloseCabinet    = "cabinet_cleaned"
	CloseLabelHangs = "label_up_to_date"
)

// CloseLine is one thing to confirm before a visit is done.
type CloseLine struct {
	ID, Text string
	By       Party
	GasOnly  bool
	Wanted   bool // must be confirmed; else it may be, and settles a check
	Cautions []string
}

var closeOut = []CloseLine{
	{ClosePushedBack, "dryer pushed back into its place", Competent, false, true, []string{CautionGasMove}},
	{CloseTransition, "transition not crushed, not kinked, tight at both ends", Competent, false, true, nil},
	{CloseReadLast, "last reading taken after it was pushed back", Competent, false, true, nil},
	{CloseFlap, "flap opens with the air and shuts after it", Competent, false, true, []string{CautionHeight}},
	{CloseGasTest, "gas connector tested for leaks", Licensed, true, true, []string{CautionGasWork, CautionGasSmell}},
	{CloseGasOpen, "gas valve open again", Licensed, true, true, []string{CautionGasWork}},
	{CloseHotRun, "test run with heat", Competent, false, true, []string{CautionSmell}},
	{CloseScreen, "lint screen washed", Anybody, false, false, nil},
	{CloseCabinet, "cabinet opened and cleaned", Competent, false, false, []string{CautionPower, CautionDust}},
	{CloseLabelHangs, "label at the dryer brought up to date", Anybody, false, false, nil},
}

// CloseOut lists what is confirmed, and what may be, before a visit to a dryer of that fuel is done. Common practice.
func CloseOut(fuel vent.Fuel) []CloseLine {
	return slices.DeleteFunc(slices.Clone(closeOut), func(l CloseLine) bool { return l.GasOnly && fuel != vent.Gas })
}

func closeLine(id string) (CloseLine, bool) {
	for _, l := range closeOut {
		if l.ID == id {
			return l, true
		}
	}
	return CloseLine{}, false
}
