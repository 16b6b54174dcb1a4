package faults

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// CallWithin is by when everybody concerned is told of a stop fault; CallAgain is after how long they are told again
// while they have not acknowledged.
const (
	CallWithin = time.Hour
	CallAgain  = 24 * time.Hour
)

// Stage is how far a stop fault has come.
type Stage string

// The stages.
const (
	StageOpen         Stage = "open"
	StageTagged       Stage = "tagged"       // a tag hangs on the dryer
	StageAcknowledged Stage = "acknowledged" // everybody who had to be told said so
	StageReleased     Stage = "released"     // by a named qualified person
)

// StageOf gives a stop fault's stage. roles are those who must be told: where nobody lives, no occupant.
func StageOf(f vent.Fault, roles []vent.CallRole) Stage {
	switch {
	case f.State == vent.FaultFixed:
		return StageReleased
	case len(Unacknowledged(f, roles)) == 0 && len(roles) > 0:
		return StageAcknowledged
	case f.Tagged:
		return StageTagged
	}
	return StageOpen
}

// Untold gives the roles in which nobody has been told yet, in the order given.
func Untold(f vent.Fault, roles []vent.CallRole) []vent.CallRole {
	return slices.DeleteFunc(slices.Clone(roles), func(r vent.CallRole) bool {
		return slices.ContainsFunc(f.Told, func(c vent.Call) bool { return c.Role == r })
	})
}

// Unacknowledged gives the roles in which nobody has acknowledged yet, in the order given.
func Unacknowledged(f vent.Fault, roles []vent.CallRole) []vent.CallRole {
	return slices.DeleteFunc(slices.Clone(roles), func(r vent.CallRole) bool { return acknowledged(f, r) })
}

func acknowledged(f vent.Fault, r vent.CallRole) bool {
	return slices.ContainsFunc(f.Told, func(c vent.Call) bool { return c.Role == r && c.Ackd })
}

// NextCall gives when somebody in a role is to be told next of a stop fault that was written down at raised: at once,
// then a day after the last time until they acknowledge. False where nothing is left to tell.
func NextCall(f vent.Fault, role vent.CallRole, raised vent.Instant) (vent.Instant, bool) {
	if f.Severity != vent.Stop || f.State != vent.FaultOpen || acknowledged(f, role) {
		return 0, false
	}
	next := raised
	for _, c := range f.Told {
		if c.Role == role {
			next = max(next, c.At.Add(CallAgain))
		}
	}
	return next, true
}

// Tell adds a line to a stop fault's call list: who was told, when, how. It refuses a line that leaves one of them out.
func Tell(f vent.Fault, c vent.Call) (vent.Fault, error) {
	p := isStop(f)
	if c.At.IsZero() {
		p.Add("told.at", "", "is missing: when were they told?")
	}
	if !named(c.Who) {
		p.Add("told.who", c.Who, "is no name: say who was told")
	}
	if strings.TrimSpace(c.How) == "" {
		p.Add("told.how", "", "is empty: telephone, at the door, mail?")
	}
	if !slices.Contains([]vent.CallRole{"", vent.ToldOccupant, vent.ToldCustomer, vent.ToldOperator}, c.Role) {
		p.Add("told.role", string(c.Role), "is not known: use occupant, customer, operator or none")
	}
	if err := p.Err(); err != nil {
		return f, fmt.Errorf("tell of %s: %w", f.Rule, err)
	}
	if slices.Contains(f.Told, c) {
		return f, nil
	}
	f.Told = append(slices.Clone(f.Told), c)
	slices.SortStableFunc(f.Told, func(a, b vent.Call) int { return cmp.Compare(a.At, b.At) })
	return f, nil
}

// Tag says that a tag hangs on the dryer, or no longer does.
func Tag(f vent.Fault, hangs bool) (vent.Fault, error) {
	if err := isStop(f).Err(); err != nil {
		return f, fmt.Errorf("tag %s: %w", f.Rule, err)
	}
	f.Tagged = hangs
	return f, nil
}

// Releaser is who releases a stop fault, and by what right.
type Releaser struct {
	Name string
	// As is the licence, trade or authority, for example "gas fitter, licence 12345".
	As string
	// Licensed says that it is a licence for the work: rules that ask for licensed people demand it.
	Licensed bool
}

// Release lets a dryer be used again. Only a named qualified person can; for gas and electrical faults a licensed one.
func Release(f vent.Fault, on vent.Date, who Releaser, what string) (vent.Fault, error) {
	p := closing(f, on, who.Name)
	if f.Severity != vent.Stop {
		p.Add("severity", string(f.Severity), "is no stop fault: fix it")
	}
	if !named(who.As) {
		p.Add("released_as", who.As, "is empty: say by what right, a licence, trade or authority")
	}
	if strings.TrimSpace(what) == "" {
		p.Add("why", "", "is empty: say what was found and done")
	}
	if r, ok := rules.FaultByID(f.Rule); (!ok || r.By == rules.Licensed) && !who.Licensed {
		p.Add("released_as", who.As, "is no licence: %s is released by licensed people only", f.Rule)
	}
	if err := p.Err(); err != nil {
		return f, fmt.Errorf("release %s: %w", f.Rule, err)
	}
	closeAs(&f, vent.FaultFixed, on, who.Name, what)
	f.ReleasedAs, f.Tagged = who.As, false
	return f, nil
}

func isStop(f vent.Fault) vent.Problems {
	var p vent.Problems
	if f.Severity != vent.Stop {
		p.Add("severity", string(f.Severity), "is no stop fault: only those have a tag and a call list")
	}
	if f.State != vent.FaultOpen {
		p.Add("state", string(f.State), "is closed already: on %s by %s", f.Closed, f.ClosedBy)
	}
	return p
}
