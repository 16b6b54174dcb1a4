package rules

import "ventdue/vent"

// What the computation of lint finds; scheduler/lint calls them troubles.
const (
	CleanPastMaker = "clean_run_past_maker_limit"
	LowStaticFlow  = "low_static_low_flow"
	AfterFarBelow  = "after_cleaning_far_below"
	AfterPastLimit = "after_cleaning_past_limit"
	OddCycle       = "odd_cycle"
	LeftChoked     = "left_choked"
)

// What the part checks lead to.
const (
	FuseOpen         = "thermal_fuse_open"
	FuseOpenClean    = "fuse_open_clean_run"
	FuseBeforeCause  = "fuse_replaced_before_cause"
	SecondFuse       = "second_fuse_in_year"
	CutoffOpen       = "thermal_cutoff_open"
	PairHalf         = "cutoff_pair_half_replaced"
	HeaterGrounded   = "heater_grounded"
	PartGrounded     = "part_grounded"
	PartStuck        = "part_stuck_closed"
	PartFailed       = "part_failed"
	DeviceBypassed   = "device_bypassed"
	BurningReported  = "burning_reported"
	COReported       = "co_alarm_reported"
	FollowUpCall     = "follow_up_call"
	FollowUpReading  = "follow_up_reading"
	followUpCallDays = 7
	followUpReadDays = 30
)

var airFaults = []Fault{
	{ID: CleanPastMaker, Looks: "even clean, the run stands at or past the pressure that the dryer's maker allows", Do: "no interval is safe, cleaning does not help: make the run shorter, wider or straighter",
		On: vent.KindRun, Grade: fix(90), FoundBy: ByTool, By: Competent, Restricts: true, Sources: []Source{read("makers' installation sheets: 0.6 or 0.75 in w.c. (149, 187 Pa) for homes, 0.3 (75 Pa) for large tumblers"), ours("computed for the clean run")}},
	{ID: LowStaticFlow, Looks: "little air at the outlet and little pressure at the dryer", Do: "not clean: look for a leak, a duct fallen off, a choked screen chute or blower wheel",
		On: vent.KindRun, Grade: fix(3), Gas: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{second("home-repair page: low static with low flow is a leak, the fan, or a fault upstream")}, Cautions: []string{CautionCO}},
	{ID: AfterFarBelow, Looks: "the reading after cleaning is far below what the clean run should give", Do: "look for a part the brush did not reach, a crushed piece, a wrong description of the run",
		On: vent.KindRun, Grade: fix(14), Gas: fix(7), FoundBy: ByTool, By: Competent, Restricts: true, Sources: []Source{ours("below 75 % of the computed clean value, 60 % where the route was guessed")}},
	{ID: AfterPastLimit, Looks: "cleaned, and still past the limit", Do: "do not leave it so: clean again from both ends, look for what blocks",
		On: vent.KindRun, Grade: fix(3), Gas: stopNow, FoundBy: ByTool, By: Competent, Restricts: true, Sources: []Source{ours("below 75 % of the clean flow, near the point at which makers' pressure limits are passed")}, Cautions: []string{CautionCO}},
	{ID: OddCycle, Looks: "it filled far faster than its own pace", Do: "look for a nest, a crushed elbow, a torn screen, a new habit",
		On: vent.KindRun, Grade: fix(14), FoundBy: ByTool, By: Competent, Sources: []Source{ours("the cycle does not fit the run's growth")}, Cautions: []string{CautionNest}},
	{ID: LeftChoked, Looks: "measured at 70 % of its clean flow or less, and not cleaned", Do: "clean it; do not leave a run like this",
		On: vent.KindRun, Grade: fix(1), Gas: stopNow, FoundBy: ByTool, By: Competent, Restricts: true, Sources: []Source{ours("70 % of the clean flow")}, Cautions: []string{CautionCO}},
}

const (
	onlyOnce   = "fuse and cut-off are one-shot: replaced, never reset or bypassed; the cause, nearly always a restricted exhaust, is found before or with the part"
	pairTrade  = "parts and repair pages: the cut-off is one-shot, the high-limit resets, both are replaced together"
	caseTrade  = "repair page: any reading to the case is a fault"
	fuseGuides = "repair and parts guides: an open fuse means over-temperature, most often a restricted exhaust; find the cause before replacing"
)

var partFaults = []Fault{
	{ID: FuseOpen, Looks: "the thermal fuse is open and not yet replaced; the run is choked or nobody knows", Do: "clean the run first, then fit a new fuse, in the same visit", Heat: true,
		On: vent.KindAppliance, Grade: fix(7), FoundBy: ByTool, By: Competent, Sources: []Source{practice(onlyOnce), read(fuseGuides)}, Cautions: []string{CautionOneLead, CautionBypass}},
	{ID: FuseOpenClean, Looks: "the thermal fuse is open and the run is clean: nothing found explains the heat", Do: "find why it overheated: screen chute, blower, thermostats, heater to case; only then a new fuse", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{practice(onlyOnce), read(fuseGuides)}, Cautions: []string{CautionOneLead, CautionBypass}},
	{ID: FuseBeforeCause, Looks: "a new fuse was fitted and the run was not cleaned, or not looked at, in that visit", Do: "do not run it: look at the run, clean it, read it with the dryer pushed back, cycle it hot", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{practice(onlyOnce), read(fuseGuides)}, Cautions: []string{CautionBypass}},
	{ID: SecondFuse, Looks: "a one-shot device opened for the second time within twelve months", Do: "the cause was not removed: find it before anybody dries again", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{practice(onlyOnce), ours("twelve months")}, Cautions: []string{CautionOneLead, CautionBypass}},
	{ID: CutoffOpen, Looks: "the thermal cut-off at the heater is open", Do: "it ran far too hot: find why, replace cut-off and high-limit as a pair", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{practice(onlyOnce), second(pairTrade)}, Cautions: []string{CautionOneLead, CautionBypass}},
	{ID: PairHalf, Looks: "only one of cut-off and high-limit was replaced", Do: "replace the other one too",
		On: vent.KindAppliance, Grade: fix(7), FoundBy: ByTool, By: Competent, Sources: []Source{second(pairTrade)}},
	{ID: HeaterGrounded, Looks: "the heater touches its case: it can heat with the dryer off", Do: "replace the heater, look for what bent or burned it", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{second(caseTrade), practice()}, Cautions: []string{CautionOneLead, CautionLive}},
	{ID: PartGrounded, Looks: "a part gives a reading to the dryer's case", Do: "replace it, check the earth connection", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{second(caseTrade), practice()}, Cautions: []string{CautionOneLead, CautionLive}},
	{ID: PartStuck, Looks: "a thermostat, limit or switch does not open when it should", Do: "replace it: nothing else keeps the dryer from overheating or from turning with the door open", Heat: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{practice()}, Cautions: []string{CautionOneLead, CautionBypass}},
	{ID: PartFailed, Looks: "a part was found bad and not replaced", Do: "replace it", Heat: true,
		On: vent.KindAppliance, Grade: fix(30), FoundBy: ByTool, By: Competent, Sources: []Source{practice()}, Cautions: []string{CautionOneLead}},
}

var signFaults = []Fault{
	{ID: BurningReported, Looks: "somebody smelled burning", Do: "a qualified person finds the cause before anybody dries again",
		On: vent.KindRun, Grade: stopNow, FoundBy: ByTool, By: Competent, Sources: []Source{second("advice of a vent trade page: stop using a dryer that smells of burning"), read(cpscSigns)}, Cautions: []string{CautionSmell}},
	{ID: COReported, Looks: "a CO alarm sounded", Do: "a qualified person finds the source before anybody dries again",
		On: vent.KindRun, Grade: stopNow, FoundBy: ByTool, By: Licensed, Sources: []Source{second("advice of a vent trade page: stop when a CO alarm sounds"), practice()}, Cautions: []string{CautionCO}},
}

var followUps = []Fault{
	{ID: FollowUpCall, Looks: "a new fuse was fitted: call them within a week", Do: "ask whether it dries as it should, in one cycle, without heat on top", FollowUp: true,
		On: vent.KindAppliance, Grade: fix(followUpCallDays), NotBefore: 1, FoundBy: ByTool, By: Anybody, Sources: []Source{practice()}},
	{ID: FollowUpReading, Looks: "a new fuse was fitted: read the air after 30 days", Do: "read as before, dryer pushed back; the customer's answer will do", FollowUp: true,
		On: vent.KindAppliance, Grade: fix(followUpReadDays), NotBefore: 21, FoundBy: ByTool, By: Anybody, Sources: []Source{practice()}},
}
