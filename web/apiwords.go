package web

import (
	"reflect"

	"ventdue/vent"
)

// apiWords are the words that fields of a type may hold, as the document of the API lists them. A field that may be left out
// may also be empty.
var apiWords = map[reflect.Type][]any{
	reflect.TypeFor[vent.DoerKind]():      wordList(vent.ByUs, vent.ByCustomer, vent.ByOtherFirm, vent.ByUnknown),
	reflect.TypeFor[vent.Outcome]():       wordList(vent.LookedOnly, vent.Full, vent.Partial, vent.OneEnd, vent.Failed),
	reflect.TypeFor[vent.Reach]():         wordList(vent.ReachUnknown, vent.ReachThrough, vent.ReachDryer, vent.ReachHood, vent.ReachNone),
	reflect.TypeFor[vent.Grade]():         wordList(vent.NotGraded, vent.Bare, vent.Film, vent.Fuzz, vent.Mat, vent.Plugged),
	reflect.TypeFor[vent.Symptom]():       wordList(vent.NoSymptom, vent.NoStart, vent.NoHeat, vent.NoHeatSetting, vent.Overheats),
	reflect.TypeFor[vent.Quantity]():      wordList(vent.AirSpeed, vent.Static, vent.Flow, vent.ExhaustT, vent.Flap, vent.DryMinutes, vent.LintMass, vent.Ohms),
	reflect.TypeFor[vent.Condition]():     wordList(vent.SamePoint, vent.FlapOpen, vent.EmptyDrum, vent.CleanScreen, vent.WarmDryer, vent.PushedBack),
	reflect.TypeFor[vent.DueKind]():       wordList(vent.DueLook, vent.DueClean, vent.DueFault, vent.DueSign, vent.DueCheck),
	reflect.TypeFor[vent.SignKind]():      wordList(vent.TwoCycles, vent.HotTop, vent.DampRoom, vent.WeakFlap, vent.BurningSmell, vent.COAlarmRang),
	reflect.TypeFor[vent.FaultState]():    wordList(vent.FaultOpen, vent.FaultFixed, vent.FaultWaived),
	reflect.TypeFor[vent.ApplianceKind](): wordList(vent.Dryer, vent.Booster, vent.LintTrap, vent.SmokeAlarm, vent.COAlarm),
	reflect.TypeFor[vent.Fuel]():          wordList(vent.Electric, vent.Gas, vent.Ventless),
	reflect.TypeFor[vent.VisitState]():    wordList(vent.Proposed, vent.Held, vent.Booked, vent.VisitDone, vent.PartDone, vent.NobodyHome, vent.Refused, vent.Cancelled),
	reflect.TypeFor[vent.RunShape]():      wordList(vent.Single, vent.Riser, vent.Branch),
	reflect.TypeFor[vent.UseSource]():     wordList(vent.UseCounter, vent.UseTold, vent.UseHousehold, vent.UseDefault, vent.UseEmpty),
}

func wordList[T ~string](all ...T) []any {
	list := make([]any, len(all))
	for i, w := range all {
		list[i] = string(w)
	}
	return list
}
