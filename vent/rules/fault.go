package rules

import (
	"slices"

	"ventdue/vent"
)

// Finder says who can find a fault.
type Finder string

// The finders.
const (
	ByPerson Finder = "person" // seen on a visit
	ByTool   Finder = "tool"   // follows from what is recorded
	ByEither Finder = "either" // both
)

// Fault is one rule: a condition that must not be forgotten.
type Fault struct {
	// ID names the rule for ever, in snake_case.
	ID string
	// Looks is what it looks like, in plain words; Do is what puts it right.
	Looks, Do string
	// On is what it is a fault of: vent.KindRun or vent.KindAppliance.
	On vent.Kind
	Grade
	// Gas and Shared are graver grades where the dryer burns gas and where several dryers share the run.
	Gas, Shared Grade
	FoundBy     Finder
	By          Party // who may put it right
	Sources     []Source
	Cautions    []string // ids

	GasOnly   bool // makes sense on a gas dryer only
	Restricts bool // explains a dryer that ran too hot: the air could not get out
	Heat      bool // explains long drying as well as lint does
	Spreads   bool // of a riser: every flat on it has the fault
	// FollowUp is no condition but a thing promised: to call, to read again. NotBefore is how many days must pass first.
	FollowUp  bool
	NotBefore int
}

// At gives the grade in a place: the gravest of those that hold there.
func (f Fault) At(gas, shared bool) Grade {
	g := f.Grade
	if gas {
		g = g.graver(f.Gas)
	}
	if shared {
		g = g.graver(f.Shared)
	}
	return g
}

// CautionsAt gives the caution ids that belong to the fault in a place: its own, and what work, a stop and gas always carry.
func (f Fault) CautionsAt(gas, shared bool) []string {
	ids := append([]string{CautionNoPermit, CautionCodes}, f.Cautions...)
	if f.FollowUp {
		return InOrder(ids...) // a call opens nothing
	}
	ids = append(ids, CautionPower)
	if gas {
		ids = append(ids, CautionGasValve, CautionGasMove)
	}
	if f.At(gas, shared).Severity == vent.Stop {
		ids = append(ids, CautionNoUse)
	}
	if f.By == Licensed && (f.GasOnly || gas) {
		ids = append(ids, CautionGasWork)
	}
	return InOrder(ids...)
}

var (
	faults     = slices.Concat(transitionFaults, outletFaults, ductFaults, sharedFaults, dryerFaults, gasFaults, alarmFaults, airFaults, partFaults, signFaults, followUps)
	faultIndex = index(faults, func(f Fault) string { return f.ID })
)

// Faults lists all fault rules in the order of a form.
func Faults() []Fault { return slices.Clone(faults) }

// FaultByID finds a rule; false where there is none of that id.
func FaultByID(id string) (Fault, bool) { return byID(faults, faultIndex, id) }

func index[T any](rows []T, id func(T) string) map[string]int {
	m := make(map[string]int, len(rows))
	for i, r := range rows {
		m[id(r)] = i
	}
	return m
}

func byID[T any](rows []T, at map[string]int, id string) (T, bool) {
	if i, ok := at[id]; ok {
		return rows[i], true
	}
	var none T
	return none, false
}
