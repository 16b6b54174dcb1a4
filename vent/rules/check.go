package rules

import (
	"slices"

	"ventdue/vent"
)

// Line is where and by whom a check is done. Checks of one line are one thing to a household: it sees at most five.
type Line string

// The lines, in the order in which they are shown.
const (
	AtDryer   Line = "at_the_dryer" // the one who lives there, in the laundry room
	Outside   Line = "outside"      // a walk round the building, from the ground
	Alarms    Line = "alarms"
	ByLicence Line = "licensed" // a licensed person comes
	WhenOpen  Line = "opened"   // with the next opening of the dryer
)

// Lines lists all lines in order.
func Lines() []Line { return []Line{AtDryer, Outside, Alarms, ByLicence, WhenOpen} }

// Check is one recurring look.
type Check struct {
	ID, What string
	// On is its subject: vent.KindAppliance, vent.KindRun, or vent.KindSite for one walk per building.
	On vent.Kind
	// Months is the usual interval, Most the longest an operator may set.
	Months, Most int
	Once         bool // a date, not a series: replaced by then
	By           Party
	Line         Line
	// CloseOut is the line of the close-out list that settles it when a visit does it anyway; "" for none.
	CloseOut string
	Sources  []Source
	Cautions []string
}

// The checks.
const (
	CheckScreen        = "lint_screen"
	CheckFlap          = "outlet_flap"
	CheckTransition    = "transition"
	CheckCabinet       = "cabinet"
	CheckGas           = "gas_connection"
	CheckCOTest        = "co_alarm_test"
	CheckSmokeTest     = "smoke_alarm_test"
	CheckAlarmReplace  = "alarm_replace"
	CheckTrap          = "booster_trap"
	CheckSecondFilter  = "ventless_filter"
	CheckCoil          = "ventless_coil"
	CheckDrain         = "ventless_drain"
	CheckGasket        = "ventless_gasket"
	ScreenMonthsSheets = 3 // with dryer sheets
	SmokeAlarmMonths   = 120
	COAlarmMonths      = 84
)

var makersFirst = practice("the maker's own interval comes first")

var checks = []Check{
	{ID: CheckScreen, What: "wash the lint screen with a soft brush (every 3 months with dryer sheets)", On: vent.KindAppliance, Months: 6, Most: 12, By: Anybody, Line: AtDryer, CloseOut: CloseScreen,
		Sources: []Source{second("USFA tip: wash the filter with a nylon brush every six months"), practice("every 3 months with dryer sheets")}},
	{ID: CheckFlap, What: "look at every outlet flap from the ground while a dryer runs: it opens, nothing grows or nests in it", On: vent.KindSite, Months: 3, Most: 12, By: Anybody, Line: Outside,
		Sources: []Source{read("one maker's home instructions: check the hood often"), practice()}, Cautions: []string{CautionHeight}},
	{ID: CheckTransition, What: "look at the piece of duct behind the dryer: not crushed, not torn, tight", On: vent.KindRun, Months: 12, Most: 24, By: Anybody, Line: AtDryer, CloseOut: CloseTransition,
		Sources: []Source{practice()}, Cautions: []string{CautionGasMove}},
	{ID: CheckCabinet, What: "open the cabinet and take the lint out, with the next opening of the run", On: vent.KindAppliance, Months: 24, Most: 24, By: Competent, Line: WhenOpen, CloseOut: CloseCabinet,
		Sources: []Source{read("one maker's home instructions: dryer interior after a year, then every 1 to 2 years"), practice("by qualified people")}, Cautions: []string{CautionPower, CautionDust}},
	{ID: CheckGas, What: "gas connection looked at and tested for leaks", On: vent.KindAppliance, Months: 12, Most: 12, By: Licensed, Line: ByLicence, CloseOut: CloseGasTest,
		Sources: []Source{practice(), read("a city fire department's advice: gas dryers and lines are checked by a professional")}, Cautions: []string{CautionGasWork, CautionGasMove, CautionGasSmell}},
	{ID: CheckCOTest, What: "press the CO alarm's button: it sounds", On: vent.KindAppliance, Months: 1, Most: 3, By: Anybody, Line: Alarms,
		Sources: []Source{second("NFPA: test alarms at least monthly")}, Cautions: []string{CautionCO}},
	{ID: CheckSmokeTest, What: "press the smoke alarm's button: it sounds", On: vent.KindAppliance, Months: 1, Most: 3, By: Anybody, Line: Alarms,
		Sources: []Source{second("NFPA: test alarms at least monthly")}},
	{ID: CheckAlarmReplace, What: "replace the alarm: by its maker's date, else 10 years (smoke) or 7 (CO) from manufacture", On: vent.KindAppliance, Months: SmokeAlarmMonths, Most: SmokeAlarmMonths, Once: true, By: Anybody, Line: Alarms,
		Sources: []Source{second("NFPA 72 as quoted: 10 years from manufacture"), read("a maker's page: CO alarms 5 to 10 years by model, 5 to 7 usual")}},
	{ID: CheckTrap, What: "empty the lint trap in the duct", On: vent.KindAppliance, Months: 1, Most: 3, By: Anybody, Line: AtDryer, Sources: []Source{practice()}, Cautions: []string{CautionDust}},
	{ID: CheckSecondFilter, What: "wash the second filter of the ventless dryer", On: vent.KindAppliance, Months: 1, Most: 6, By: Anybody, Line: AtDryer, Sources: []Source{makersFirst}},
	{ID: CheckCoil, What: "look at the ventless dryer's coil: lint brushed or rinsed off", On: vent.KindAppliance, Months: 6, Most: 12, By: Anybody, Line: AtDryer, Sources: []Source{makersFirst}, Cautions: []string{CautionPower}},
	{ID: CheckDrain, What: "ventless dryer: drain, hose or tank clear", On: vent.KindAppliance, Months: 6, Most: 12, By: Anybody, Line: AtDryer, Sources: []Source{makersFirst}},
	{ID: CheckGasket, What: "ventless dryer: door gasket clean and whole", On: vent.KindAppliance, Months: 12, Most: 24, By: Anybody, Line: AtDryer, Sources: []Source{makersFirst}},
}

var checkIndex = index(checks, func(c Check) string { return c.ID })

// Checks lists all recurring checks.
func Checks() []Check { return slices.Clone(checks) }

// CheckByID finds a check; false where there is none of that id.
func CheckByID(id string) (Check, bool) { return byID(checks, checkIndex, id) }
