package rules

import (
	"slices"

	"ventdue/vent"
)

// Sign is what a sign noticed between visits asks for.
type Sign struct {
	Kind vent.SignKind
	// Looks is what was noticed, Say what the one who noticed it is told at once.
	Looks, Say string
	Grade
	Gas Grade // where the dryer burns gas
	// Fault is the stop fault that it raises; "" for none: a look within Days settles it.
	Fault string
	// Emergency: stop, leave, call the emergency number. No date.
	Emergency bool
	Sources   []Source
	Cautions  []string
}

// At gives the sign's grade in a place.
func (s Sign) At(gas bool) Grade {
	if gas {
		return s.graver(s.Gas)
	}
	return s.Grade
}

const (
	sayLook  = "Somebody will look into it. Until then clean the lint screen before every load and stop if it gets worse."
	sayHot   = "Do not leave the dryer running alone and dry less at a time. If it smells of burning, stop, leave and call the emergency number."
	sayLeave = "Stop the dryer if you can do so safely. Everybody out, close the door, call the emergency number from outside. Nobody uses the dryer until a qualified person releases it."
	sayCO    = "Everybody out into the open air now, then call the emergency number. Tell them of any headache, sickness or confusion. Nobody uses the dryer until a qualified person releases it."
)

var signs = []Sign{
	{Kind: vent.TwoCycles, Looks: "clothes need a second cycle", Say: sayLook, Grade: fix(7), Gas: fix(3), Sources: []Source{read(cpscSigns), practice("within days")}},
	{Kind: vent.HotTop, Looks: "dryer or clothes get very hot", Say: sayHot, Grade: fix(2), Sources: []Source{read(cpscSigns), practice("within days")}, Cautions: []string{CautionSmell}},
	{Kind: vent.DampRoom, Looks: "the laundry room is warm and damp", Say: sayLook, Grade: fix(7), Gas: fix(3), Sources: []Source{read(cpscSigns), practice("within days")}, Cautions: []string{CautionCO}},
	{Kind: vent.WeakFlap, Looks: "the outlet flap barely opens", Say: sayLook, Grade: fix(7), Gas: fix(3), Sources: []Source{read(cpscSigns), practice("within days")}, Cautions: []string{CautionHeight}},
	{Kind: vent.BurningSmell, Looks: "a smell of burning", Say: sayLeave, Grade: stopNow, Fault: BurningReported, Emergency: true,
		Sources: []Source{second("advice of a vent trade page: stop using a dryer that smells of burning")}, Cautions: []string{CautionSmell, CautionNoUse}},
	{Kind: vent.COAlarmRang, Looks: "a CO alarm sounded", Say: sayCO, Grade: stopNow, Fault: COReported, Emergency: true,
		Sources: []Source{second("advice of a vent trade page: stop when a CO alarm sounds")}, Cautions: []string{CautionCO, CautionNoUse}},
}

// Signs lists all signs in the order of the form.
func Signs() []Sign { return slices.Clone(signs) }

// SignByKind finds what a sign asks for; false for an unknown kind.
func SignByKind(k vent.SignKind) (Sign, bool) {
	for _, s := range signs {
		if s.Kind == k {
			return s, true
		}
	}
	return Sign{}, false
}
