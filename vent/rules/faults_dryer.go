package rules

import "ventdue/vent"

// More ids that scheduler/faults raises or asks for by name.
const (
	RiserFanOff     = "riser_fan_off"
	BoosterUnlisted = "booster_unlisted"
	GasNoCOAlarm    = "gas_no_co_alarm"
	AlarmPastDate   = "alarm_past_date"
)

var dryerFaults = []Fault{
	{ID: "lint_in_cabinet", Looks: "lint inside the dryer's cabinet, round motor, heater or burner", Do: "open and clean the cabinet; find where it leaks", Gas: fix(7),
		On: vent.KindAppliance, Grade: fix(14), FoundBy: ByPerson, By: Competent, Sources: []Source{read("one maker's home instructions: look inside the dryer after a year, clean if needed"), practice()}, Cautions: []string{CautionDust}},
	{ID: "screen_torn", Looks: "the lint screen is torn or does not sit", Do: "replace it", Heat: true,
		On: vent.KindAppliance, Grade: fix(7), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}},
	{ID: "screen_missing", Looks: "there is no lint screen", Do: "do not dry without one; fit one", On: vent.KindAppliance, Grade: fix(1), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}},
	{ID: "scorch_marks", Looks: "scorch marks in the cabinet, the drum or the duct", Do: "find what burned before anybody dries again",
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByPerson, By: Licensed, Sources: []Source{practice()}, Cautions: []string{CautionSmell, CautionLive}},
	{ID: "plug_scorched", Looks: "plug, socket or cord is brown, soft or melted", Do: "an electrician replaces both ends",
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByPerson, By: Licensed, Sources: []Source{practice()}, Cautions: []string{CautionLive, CautionSmell}},
	{ID: "extension_lead", Looks: "the dryer runs on an extension lead or a multiple socket", Do: "plug it straight into its own socket",
		On: vent.KindAppliance, Grade: fix(1), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}, Cautions: []string{CautionLive}},
	{ID: "oily_laundry", Looks: "cloth with oil, wax, paint or solvent is dried here", Do: "tell the people; such cloth dries on a line, outdoors",
		On: vent.KindAppliance, Grade: fix(1), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}, Cautions: []string{CautionOilyCloth}},
	{ID: DeviceBypassed, Looks: "a wire bridges a fuse, cut-off or thermostat, or a fuse was reset", Do: "take the bridge out, fit the right part, find why it opened",
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{practice()}, Cautions: []string{CautionBypass}},
}

var gasFaults = []Fault{
	{ID: "gas_leak", Looks: "a smell of gas, or bubbles at the connector in a leak test", Do: "everybody out, call from outside; licensed people find and mend it", GasOnly: true,
		On: vent.KindAppliance, Grade: stopNow, FoundBy: ByPerson, By: Licensed, Sources: []Source{practice()}, Cautions: []string{CautionGasSmell}},
	{ID: GasNoCOAlarm, Looks: "a gas dryer and no CO alarm near it", Do: "put up a CO alarm as its maker says", GasOnly: true,
		On: vent.KindAppliance, Grade: fix(7), FoundBy: ByEither, By: Anybody, Sources: []Source{practice()}, Cautions: []string{CautionCO}},
	{ID: "gas_old_connector", Looks: "an old connector of bare brass, or one that was used before", Do: "do not move the dryer; licensed people replace the connector", GasOnly: true,
		On: vent.KindAppliance, Grade: fix(7), FoundBy: ByPerson, By: Licensed, Sources: []Source{practice(), memory("CPSC warning on uncoated brass gas connectors")}, Cautions: []string{CautionGasSmell}},
	{ID: "gas_no_shutoff", Looks: "no valve at the dryer to close its gas", Do: "licensed people fit one", GasOnly: true,
		On: vent.KindAppliance, Grade: fix(30), FoundBy: ByPerson, By: Licensed, Sources: []Source{practice()}, Cautions: []string{CautionGasSmell}},
	{ID: "no_make_up_air", Looks: "a closet or tight room with no opening that lets air in", Do: "make an opening of 100 in² or as the maker says", Gas: fix(14),
		On: vent.KindRun, Grade: fix(90), FoundBy: ByPerson, By: Competent, Sources: []Source{read("IFGC 614.6: 100 in² (0.0645 m²) into a closet"), read("IMC 504.6: make-up air above 200 cfm (94 L/s)")}, Cautions: []string{CautionCO}},
}

var alarmFaults = []Fault{
	{ID: AlarmPastDate, Looks: "a smoke or CO alarm is past its replacement date", Do: "replace the whole alarm",
		On: vent.KindAppliance, Grade: fix(14), FoundBy: ByEither, By: Anybody, Sources: []Source{second("NFPA 72 as quoted: smoke alarms 10 years from manufacture"), read("a maker's page: CO alarms 5 to 10 years by model, else 7")}},
	{ID: "alarm_silent", Looks: "a smoke or CO alarm does not sound when its button is pressed", Do: "new battery; if it stays silent, replace the alarm",
		On: vent.KindAppliance, Grade: fix(1), FoundBy: ByPerson, By: Anybody, Sources: []Source{second("NFPA: test alarms at least monthly")}, Cautions: []string{CautionCO}},
}
