// Package rules holds what the trade knows as data: which faults there are and what each asks for, what signs
// mean, which parts of a dryer are checked and how, which looks recur, what is confirmed before a visit is done.
//
// It decides nothing: scheduler/faults says what follows from a finding. Every line names its source; a habit of
// the trade is marked "common practice", what no document was found for "from memory", what we set ourselves
// "ours". Local codes and the maker's instructions come before all of it. RULES.md is this package as tables.
//
// Ids are for ever: records name them. A line may be reworded, a deadline changed; an id is never used again for
// something else.
package rules

import "ventdue/vent"

// Party is who may do a piece of work.
type Party string

// The parties, the least able first.
const (
	Anybody   Party = "anybody"   // who lives there
	Competent Party = "competent" // somebody trained for it: vent or appliance technician
	Licensed  Party = "licensed"  // licensed for gas or electrical work where the place asks for it
)

// Basis says how sure a source is.
type Basis string

// The bases.
const (
	Read       Basis = "read"            // seen in the document
	SecondHand Basis = "second_hand"     // seen in an account of the document
	Practice   Basis = "common_practice" // a habit of the trade without a published source
	Memory     Basis = "memory"          // recalled, not found in a document
	Ours       Basis = "ours"            // set by this program
)

// Source is where a rule or figure is from.
type Source struct {
	Basis Basis
	// Text names document, edition and section; "" for plain common practice.
	Text string
}

// String gives the source with its basis, as a person reads it.
func (s Source) String() string {
	switch s.Basis {
	case SecondHand:
		return s.Text + " (read at second hand)"
	case Practice:
		if s.Text == "" {
			return "common practice"
		}
		return "common practice: " + s.Text
	case Memory:
		return s.Text + " (from memory)"
	case Ours:
		return "ours: " + s.Text
	}
	return s.Text
}

func read(text string) Source   { return Source{Read, text} }
func second(text string) Source { return Source{SecondHand, text} }
func memory(text string) Source { return Source{Memory, text} }
func ours(text string) Source   { return Source{Ours, text} }
func practice(text ...string) Source {
	s := Source{Basis: Practice}
	if len(text) > 0 {
		s.Text = text[0]
	}
	return s
}

// Grade is how grave a fault is and by when it must be put right.
type Grade struct {
	Severity vent.Severity // "" for no grade of its own
	Days     int           // from the day it was found; 0 the same day
}

// graver gives the graver of two grades: the higher severity, then the shorter time.
func (g Grade) graver(h Grade) Grade {
	switch {
	case h.Severity == "":
		return g
	case Weight(h.Severity) > Weight(g.Severity):
		g.Severity = h.Severity
		g.Days = min(g.Days, h.Days)
	case h.Severity == g.Severity:
		g.Days = min(g.Days, h.Days)
	}
	return g
}

// Weight orders severities: stop above fix above note; 0 for none.
func Weight(s vent.Severity) int {
	switch s {
	case vent.Stop:
		return 3
	case vent.Fix:
		return 2
	case vent.Note:
		return 1
	}
	return 0
}

//go:generate go test . -run TestTablesAreUpToDate -update
