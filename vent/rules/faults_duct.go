package rules

import "ventdue/vent"

// stopNow is the grade of what nobody may use a dryer with.
var stopNow = Grade{vent.Stop, 0}

func fix(days int) Grade { return Grade{vent.Fix, days} }

// noteDays: a note is looked at again by the next yearly visit.
const noteDays = 365

var note = Grade{vent.Note, noteDays}

// Ids that the rules of scheduler/faults raise by themselves.
const (
	FoilTransition    = "foil_transition"
	PlasticTransition = "plastic_transition"
	TransitionLong    = "transition_too_long"
	DuctFlexible      = "duct_foil_or_plastic"
	DuctNarrow        = "duct_narrow"
	CodeLengthOver    = "code_length_over"
	LabelMissing      = "label_missing"
)

const (
	ircTransition = "IRC M1502.4.3: one single length, 8 ft (2 438 mm) at most, listed to UL 2158A, not concealed"
	nycTransition = "NYC MC 504: transition duct 8 ft (2 438.4 mm) at most"
	umcTransition = "UMC 1994 to 2000, 504.3.1.2: transition duct 6 ft at most"
	makersRefuse  = "several dryer makers' instructions refuse foil whatever its listing, and plastic always; the code asks only for a UL 2158A listing (newspaper and inspectors' accounts)"
	ircMaterial   = "IRC 2012, 2015, 2021 M1502.4.1: metal, smooth inside, 4 in (102 mm) nominal, 0.0157 in (0.395 mm) thick"
	ircOutdoors   = "IRC 2012, 2015, 2021 M1502.1-.2: independent of other systems, to the outdoors"
	ircAttic      = "IRC 2012 M1501.1: not into attic, soffit, ridge vent or crawl space"
	ircOutlet     = "IRC 2012, 2015 M1502.3: a backdraft damper, no screen"
	ircNear       = "IRC 2012, 2015 M1502.3: 3 ft (914 mm) from openings where the maker is silent (South Carolina deletes the sentence); IMC 504.4.1 with vented soffits"
	ircPassage    = "IRC 2021 M1502.3.1, IRC 2018 G2439.3.1: open passage 12.5 in² (8 065 mm²) at least"
	nfpaGas       = "NFPA 54 as cited by a gas utility's engineering guide: not into a vent connector, gas vent or chimney, not under a building or into an attic"
	cpscSigns     = "CPSC text on dryer fires: signs of a restricted vent"
)

var transitionFaults = []Fault{
	{ID: PlasticTransition, Looks: "white or grey plastic duct between dryer and wall", Do: "replace it by metal transition duct",
		On: vent.KindRun, Grade: fix(7), FoundBy: ByEither, By: Anybody, Sources: []Source{read(makersRefuse), second("USFA tip: replace plastic or coiled-wire foil by rigid metal")}},
	{ID: FoilTransition, Looks: "thin foil on a wire coil between dryer and wall", Do: "replace it by semi-rigid or rigid metal transition duct",
		On: vent.KindRun, Grade: fix(30), FoundBy: ByEither, By: Anybody, Sources: []Source{practice("foil is no longer recommended and should be replaced"), read(makersRefuse)}},
	{ID: "transition_concealed", Looks: "the flexible piece goes into a wall, floor or cupboard side", Do: "end it where it can be seen; rigid duct from there",
		On: vent.KindRun, Grade: fix(60), FoundBy: ByPerson, By: Competent, Sources: []Source{second(ircTransition)}},
	{ID: TransitionLong, Looks: "the flexible piece is longer than 8 ft", Do: "cut it to what is needed, or move the dryer or the wall connection",
		On: vent.KindRun, Grade: fix(60), FoundBy: ByEither, By: Anybody, Sources: []Source{second(ircTransition), read(nycTransition), read(umcTransition)}},
	{ID: "transition_two_pieces", Looks: "two or more flexible pieces joined", Do: "replace them by a single length",
		On: vent.KindRun, Grade: fix(60), FoundBy: ByPerson, By: Anybody, Sources: []Source{second(ircTransition)}},
	{ID: "transition_crushed", Looks: "the flexible piece is crushed or kinked behind the dryer", Do: "straighten or replace it, push the dryer back with care and read again", Restricts: true,
		On: vent.KindRun, Grade: fix(7), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}},
	{ID: "transition_unlisted", Looks: "no UL 2158A marking on the transition duct", Do: "use a listed and labelled one",
		On: vent.KindRun, Grade: note, FoundBy: ByPerson, By: Anybody, Sources: []Source{second(ircTransition)}},
}

var outletFaults = []Fault{
	{ID: "outlet_screen", Looks: "a screen or mesh over the outlet, often matted with lint", Do: "take it off; a flap keeps animals out", Restricts: true,
		On: vent.KindRun, Grade: fix(14), FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircOutlet)}, Cautions: []string{CautionHeight}},
	{ID: "flap_missing", Looks: "the outlet has no flap", Do: "fit an outlet with a flap",
		On: vent.KindRun, Grade: fix(60), FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircOutlet)}, Cautions: []string{CautionHeight}},
	{ID: "flap_stuck", Looks: "the flap does not move, or moves with a stick only", Do: "free or replace it", Restricts: true,
		On: vent.KindRun, Grade: fix(7), FoundBy: ByPerson, By: Competent, Sources: []Source{practice(), read(cpscSigns)}, Cautions: []string{CautionHeight}},
	{ID: "flap_frozen", Looks: "ice holds the flap shut", Do: "do not dry until it is free; insulate the cold part of the duct", Restricts: true,
		On: vent.KindRun, Grade: fix(1), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}, Cautions: []string{CautionHeight}},
	{ID: "flap_painted", Looks: "paint or caulk glues the flap", Do: "free or replace it", Restricts: true,
		On: vent.KindRun, Grade: fix(7), FoundBy: ByPerson, By: Competent, Sources: []Source{practice()}, Cautions: []string{CautionHeight}},
	{ID: "outlet_overgrown", Looks: "ivy, a shrub, snow or mulch in front of the outlet", Do: "clear it, 12 in all round", Restricts: true,
		On: vent.KindRun, Grade: fix(14), FoundBy: ByPerson, By: Anybody, Sources: []Source{read("makers' instructions: 12 in (305 mm) clear of ground or obstruction")}},
	{ID: "outlet_attic", Looks: "the duct ends in the attic", Do: "lead it outdoors; clear the lint from the attic",
		On: vent.KindRun, Grade: fix(14), Gas: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircAttic), read(nfpaGas)}, Cautions: []string{CautionCO, CautionDust}},
	{ID: "outlet_soffit", Looks: "the duct ends in a soffit or ridge vent", Do: "lead it outdoors through its own outlet",
		On: vent.KindRun, Grade: fix(30), FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircAttic)}, Cautions: []string{CautionHeight}},
	{ID: "outlet_crawl_space", Looks: "the duct ends under the floor", Do: "lead it outdoors; clear the lint",
		On: vent.KindRun, Grade: fix(14), Gas: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircAttic), read(nfpaGas)}, Cautions: []string{CautionCO, CautionDust}},
	{ID: "outlet_wall_cavity", Looks: "the duct ends inside a wall or ceiling", Do: "lead it outdoors; open and clear the cavity",
		On: vent.KindRun, Grade: fix(7), Gas: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircOutdoors)}, Cautions: []string{CautionCO, CautionDust}},
	{ID: "outlet_indoors", Looks: "it blows into the room: a bucket, a diverter, nothing at all", Do: "lead it outdoors",
		On: vent.KindRun, Grade: fix(14), Gas: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircOutdoors)}, Cautions: []string{CautionCO}},
	{ID: "outlet_chimney", Looks: "the duct is led into a chimney or fireplace", Do: "lead it outdoors by itself; have the chimney swept before anything is lit", Gas: stopNow, Shared: stopNow,
		On: vent.KindRun, Grade: fix(7), FoundBy: ByPerson, By: Competent, Sources: []Source{second("IMC 504.2, 504.4: not connected to a vent, chimney or plenum"), read("IRC 2018 G2439.2-.3: the same for gas dryers")}, Cautions: []string{CautionCO, CautionDust}},
	{ID: "outlet_flue", Looks: "the duct is joined to the flue of a heater or water heater", Do: "part them at once; have the flue checked",
		On: vent.KindRun, Grade: stopNow, FoundBy: ByPerson, By: Licensed, Sources: []Source{read(nfpaGas), second("IMC 504.2, 504.4: not connected to a vent, chimney or plenum")}, Cautions: []string{CautionCO}},
	{ID: "outlet_bath_fan", Looks: "the duct shares its way with a bath or kitchen fan", Do: "give the dryer its own duct", Gas: stopNow,
		On: vent.KindRun, Grade: fix(30), FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircOutdoors)}, Cautions: []string{CautionCO}},
	{ID: "outlet_near_opening", Looks: "the outlet is less than 3 ft from a window, door or air intake", Do: "move the outlet", Gas: fix(30),
		On: vent.KindRun, Grade: fix(90), FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircNear)}, Cautions: []string{CautionCO}},
	{ID: "outlet_low", Looks: "the outlet is less than 12 in from the ground", Do: "move it up; until then keep leaves and snow away",
		On: vent.KindRun, Grade: fix(90), FoundBy: ByPerson, By: Competent, Sources: []Source{read("several makers' instructions: 12 in (305 mm) above ground"), read("NFPA 54 as cited by a gas utility's engineering guide: 12 in above grade")}},
	{ID: "outlet_small", Looks: "the outlet's open passage is smaller than 12.5 in²", Do: "fit an outlet with a full opening", Restricts: true,
		On: vent.KindRun, Grade: fix(90), FoundBy: ByPerson, By: Competent, Sources: []Source{read(ircPassage)}, Cautions: []string{CautionHeight}},
}

var ductFaults = []Fault{
	{ID: "fasteners_protrude", Looks: "screws or rivets stick out over 1/8 in into the duct and catch lint", Do: "replace them by clamps, foil tape or short rivets",
		On: vent.KindRun, Grade: fix(180), FoundBy: ByPerson, By: Competent, Sources: []Source{read("IRC 2012 M1502.4.2: 1/8 in (3.2 mm) at most"), second("IRC 2006: no screws at all")}},
	{ID: DuctNarrow, Looks: "a part of the duct is under 4 in wide", Do: "replace that part by 4 in duct", Restricts: true,
		On: vent.KindRun, Grade: fix(90), FoundBy: ByEither, By: Competent, Sources: []Source{read(ircMaterial)}},
	{ID: DuctFlexible, Looks: "foil or plastic duct beyond the transition, in a wall, attic or floor", Do: "replace it by smooth metal duct",
		On: vent.KindRun, Grade: fix(60), FoundBy: ByEither, By: Competent, Sources: []Source{read(ircMaterial), second("USFA tip: replace plastic or coiled-wire foil by rigid metal")}},
	{ID: CodeLengthOver, Looks: "straight duct and fittings together are longer than the rule of the place allows", Do: "shorten it, use elbows of wide radius, or show that the maker's instructions allow the length",
		On: vent.KindRun, Grade: fix(180), FoundBy: ByTool, By: Competent, Sources: []Source{
			read("IRC 2015 M1502.4.5.1 (Florida 2017 text): 35 ft (10 668 mm) less the table's fittings; M1502.4.5.2 lets the maker's instructions take its place"),
			read("IRC 2006 M1502.6, IMC 2000 and 2003: 25 ft less 5 ft a 90 and 2.5 ft a 45"), read("UMC 1994 on, 504.3.1.2: 14 ft with two 90s")}},
	{ID: LabelMissing, Looks: "no label with the duct's length near its connection, where the rule asks for one", Do: "put up a permanent label within 6 ft of the connection",
		On: vent.KindRun, Grade: note, FoundBy: ByEither, By: Anybody, Sources: []Source{second("IRC 2009 M1502.4.5: where the duct is concealed; IMC 504.9.5 (current): over 35 ft")}},
	{ID: "duct_crushed", Looks: "an elbow or a length of duct is crushed", Do: "replace it", Restricts: true,
		On: vent.KindRun, Grade: fix(14), FoundBy: ByPerson, By: Competent, Sources: []Source{practice()}},
	{ID: "duct_fallen_off", Looks: "the duct has come off the dryer, the wall or at a joint", Do: "join, fasten and seal it; take the lint away",
		On: vent.KindRun, Grade: fix(3), Gas: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{read("IRC 2012 M1502.4.2: joints sealed and mechanically fastened"), practice()}, Cautions: []string{CautionCO, CautionDust}},
	{ID: "duct_unsupported", Looks: "the duct sags between supports", Do: "support it", On: vent.KindRun, Grade: fix(180), FoundBy: ByPerson, By: Competent,
		Sources: []Source{read("M1502.4.2: supports every 12 ft (3 658 mm) in IRC 2012 and 2015, 8 ft in South Carolina's 2021 text"), second("current IMC 504.9.2: every 4 ft")}},
	{ID: "damper_in_duct", Looks: "a fire or smoke damper in the dryer's duct", Do: "ask the authority; take it out where the code forbids it", Restricts: true,
		On: vent.KindRun, Grade: fix(60), FoundBy: ByPerson, By: Licensed, Sources: []Source{second("IMC 504.2: no fire or smoke dampers in dryer exhaust"), read("NYC MC 504.10: none in a common riser")}},
	{ID: "lint_outside_duct", Looks: "lint behind the dryer, on the wall or round a joint", Do: "find the leak, seal it, take the lint away", Gas: fix(7),
		On: vent.KindRun, Grade: fix(14), FoundBy: ByPerson, By: Competent, Sources: []Source{practice(), read(cpscSigns)}, Cautions: []string{CautionDust, CautionCO}},
	{ID: "nest_active", Looks: "a nest with eggs, young or birds coming and going", Do: "stop using the dryer; ask the wildlife authority what may be done and when", Restricts: true,
		On: vent.KindRun, Grade: stopNow, FoundBy: ByPerson, By: Competent, Sources: []Source{practice()}, Cautions: []string{CautionNest, CautionHeight, CautionCO}},
	{ID: "nest_empty", Looks: "an old, empty nest in the duct or the outlet", Do: "make sure that it is empty, take it out, fit an outlet with a flap", Restricts: true, Gas: fix(3),
		On: vent.KindRun, Grade: fix(7), FoundBy: ByPerson, By: Competent, Sources: []Source{practice()}, Cautions: []string{CautionNest, CautionHeight, CautionDust}},
}

var sharedFaults = []Fault{
	{ID: "riser_no_cleanout", Looks: "the riser has no opening to clean it from below", Do: "fit a cleanout at its foot",
		On: vent.KindRun, Grade: fix(180), FoundBy: ByPerson, By: Competent, Sources: []Source{second("IMC 504.3: a cleanout at every vertical riser"), read("UFC 3-410-02N: at the base of risers")}},
	{ID: RiserFanOff, Looks: "the fan of the common riser does not run", Do: "nobody on the riser dries until it runs again", Restricts: true, Spreads: true,
		On: vent.KindRun, Grade: stopNow, FoundBy: ByPerson, By: Licensed, Sources: []Source{read("NYC MC 504.9, 504.10: fan continuous or interlocked with the dryers")}, Cautions: []string{CautionCO}},
	{ID: "shared_not_engineered", Looks: "several dryers blow into one duct that was not designed for it", Do: "part the ducts, or have an engineered common system built", Gas: stopNow,
		On: vent.KindRun, Grade: fix(30), FoundBy: ByPerson, By: Licensed, Sources: []Source{second("IMC 504.10, 504.11 (2021): not in common unless an engineered system"), read("Ontario Building Code: one central fan, lint trap and interlock")}, Cautions: []string{CautionCO}},
	{ID: BoosterUnlisted, Looks: "a fan in the duct that is not listed for dryers, or nobody has seen that it is", Do: "replace it by one listed to UL 705 for dryers, or look for the listing and record it",
		On: vent.KindRun, Grade: fix(60), FoundBy: ByEither, By: Competent, Sources: []Source{read("IFGC 614.5: listed to UL 705 for dryers"), second("IMC 504.5")}},
	{ID: "booster_failed", Looks: "the booster does not start with the dryer", Do: "mend or replace it; do not dry through a standing fan", Restricts: true, Gas: fix(1),
		On: vent.KindRun, Grade: fix(3), FoundBy: ByPerson, By: Competent, Sources: []Source{practice()}},
	{ID: "trap_full", Looks: "the lint trap in the duct is full", Do: "empty it, and make it a monthly habit", Restricts: true,
		On: vent.KindRun, Grade: fix(1), FoundBy: ByPerson, By: Anybody, Sources: []Source{practice()}, Cautions: []string{CautionDust}},
}
