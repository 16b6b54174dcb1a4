package faults

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"ventdue/vent"
	"ventdue/vent/rules"
)

// TheRecord is who puts a fault right that no longer follows from what is recorded.
const TheRecord = "the record"

// Raise takes in sights and gives the faults that are new (with no ID yet) or changed, the gravest first. stored is
// every fault of the subjects, in any state. A sight of a rule that is not known, of no subject or of no day is refused.
//
// Invariants: the same rule on the same subject is one fault. Its deadline is never before it was found and never moves
// later by itself. A stop fault is never put right here, only released. Nothing is ever left out of the record.
func Raise(stored []vent.Fault, sights []Sight, gas, shared bool) ([]vent.Fault, error) {
	if err := checkSights(sights); err != nil {
		return nil, fmt.Errorf("raise faults: %w", err)
	}
	l := newLedger(stored, gas, shared)
	ordered := slices.Clone(sights)
	slices.SortStableFunc(ordered, func(a, b Sight) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(rank(a.Kind), rank(b.Kind)), cmp.Compare(a.Rule, b.Rule),
			slices.Compare(a.Subject.ID[:], b.Subject.ID[:]), slices.Compare(a.Finding[:], b.Finding[:]), slices.Compare(a.Sign[:], b.Sign[:]))
	})
	l.sights = ordered
	for _, s := range ordered {
		l.take(s)
	}
	return l.changed(), nil
}

func checkSights(sights []Sight) error {
	var p vent.Problems
	for _, s := range sights {
		if _, ok := rules.FaultByID(s.Rule); !ok {
			p.Add("faults", s.Rule, "is no fault rule: see the list of rules for its ids")
			continue
		}
		if !s.On.Valid() {
			p.Add("on", s.On.String(), "is no day: %s was seen on one", s.Rule)
		}
		if s.Subject.ID.IsZero() {
			p.Add("subject", "", "is missing: %s is a fault of a run or an appliance", s.Rule)
		}
		if s.Kind == Mended && strings.TrimSpace(s.By) == "" {
			p.Add("by", "", "is empty: say who put %s right", s.Rule)
		}
		if rank(s.Kind) < 1 {
			p.Add("kind", string(s.Kind), "is not known: use found, mended, no_more or taken_back")
		}
	}
	return p.Err()
}

// rank orders what is said on one day: first what no longer holds, then that it is there.
func rank(k SightKind) int { return slices.Index([]SightKind{"", TakenBack, Found, Mended, Gone}, k) }

// ledger is the state of the faults while sights are taken in.
type ledger struct {
	before      []vent.Fault
	now         []vent.Fault
	at          map[key]int
	sights      []Sight
	gas, shared bool
}

func newLedger(stored []vent.Fault, gas, shared bool) *ledger {
	l := &ledger{before: stored, now: slices.Clone(stored), at: map[key]int{}, gas: gas, shared: shared}
	for i, f := range l.now {
		k := key{f.Rule, f.Subject}
		if j, ok := l.at[k]; !ok || l.now[j].State == vent.FaultFixed {
			l.at[k] = i
		}
	}
	return l
}

// changed gives what is new or differs from what was stored, in an order that depends on nothing else.
func (l *ledger) changed() []vent.Fault {
	var out []vent.Fault
	for i, f := range l.now {
		if i >= len(l.before) || !reflect.DeepEqual(f, l.before[i]) {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b vent.Fault) int {
		return cmp.Or(cmp.Compare(rules.Weight(b.Severity), rules.Weight(a.Severity)), cmp.Compare(a.Rule, b.Rule),
			slices.Compare(a.Subject.ID[:], b.Subject.ID[:]), cmp.Compare(a.Found, b.Found))
	})
	return out
}

func (l *ledger) take(s Sight) {
	r, _ := rules.FaultByID(s.Rule)
	i, known := l.at[s.key()]
	switch {
	case s.Kind == TakenBack && known:
		l.takenBack(&l.now[i], s)
	case s.Kind == Found && !known:
		l.add(s, r)
	case s.Kind == Found:
		l.found(&l.now[i], s, r)
	case s.Kind == Mended && !known && !r.FollowUp && !s.ByTool: // found and put right in one visit
		l.add(s, r)
		l.mended(&l.now[len(l.now)-1], s, r)
	case s.Kind == Mended && known:
		l.mended(&l.now[i], s, r)
	case s.Kind == Gone && known:
		l.gone(&l.now[i], s)
	}
}

func (l *ledger) add(s Sight, r rules.Fault) {
	g := r.At(l.gas, l.shared)
	l.at[s.key()] = len(l.now)
	l.now = append(l.now, vent.Fault{
		Subject: s.Subject, Rule: s.Rule, Severity: g.Severity, Found: s.On, Deadline: s.On.AddDays(g.Days), State: vent.FaultOpen,
		FindingID: s.Finding, SignID: s.Sign, ByTool: s.ByTool, Note: s.Note,
	})
}

// found takes in that a known fault is there.
func (l *ledger) found(f *vent.Fault, s Sight, r rules.Fault) {
	g := r.At(l.gas, l.shared)
	switch f.State {
	case vent.FaultFixed:
		if on, again := l.again(f, s); again {
			reopen(f, s, on, g)
			f.Found = min(f.Found, s.On)
			return
		}
	case vent.FaultWaived:
		if g.Severity == vent.Stop || s.On >= f.Until {
			f.Deadline = min(max(f.Until, f.Since()), s.On.AddDays(g.Days))
			open(f)
		}
	case vent.FaultOpen:
		f.ByTool = f.ByTool && s.ByTool
		f.Note = joinNotes(f.Note, s.Note)
	}
	if s.On < f.Found { // a finding that was recorded late
		f.Found, f.FindingID, f.SignID = s.On, s.Finding, s.Sign
	}
	if f.State != vent.FaultOpen {
		return
	}
	if rules.Weight(g.Severity) > rules.Weight(f.Severity) {
		f.Severity = g.Severity
	}
	if by := max(s.On.AddDays(g.Days), f.Since()); f.Deadline == 0 || by < f.Deadline {
		f.Deadline = by
	}
}

// again reports whether a fault that was put right is there again, and since when. What follows from the record alone
// stays put right where a person said so; where the record closed it, the record opens it again.
func (l *ledger) again(f *vent.Fault, s Sight) (vent.Date, bool) {
	switch {
	case s.On > f.Closed:
		return s.On, true
	case s.ByTool && s.Finding.IsZero():
		return f.Closed, f.ClosedBy == TheRecord
	case s.ByTool || s.On < f.Closed:
		return 0, false
	}
	sameVisit := slices.ContainsFunc(l.sights, func(m Sight) bool { return m.Kind == Mended && m.key() == s.key() && m.On == s.On })
	return s.On, !sameVisit
}

// reopen begins a new spell: nobody has been told of it yet, no tag hangs.
func reopen(f *vent.Fault, s Sight, on vent.Date, g rules.Grade) {
	open(f)
	f.Again = append(slices.Clone(f.Again), on)
	f.Severity, f.Deadline = g.Severity, on.AddDays(g.Days)
	f.FindingID, f.SignID, f.ByTool, f.Note = s.Finding, s.Sign, s.ByTool, s.Note
	f.Tagged, f.Told = false, nil
}

// open takes back whatever closed a fault.
func open(f *vent.Fault) {
	f.State, f.Closed, f.ClosedBy, f.Why, f.Until, f.ReleasedAs = vent.FaultOpen, 0, "", "", 0, ""
	f.ClosedWith = vent.ID{}
}

// mended puts a fault right that was there on that day. A stop fault stays until it is released; what was promised for
// later is not answered too soon.
func (l *ledger) mended(f *vent.Fault, s Sight, r rules.Fault) {
	switch {
	case f.State == vent.FaultFixed || s.On < f.Since() || r.FollowUp && s.On < f.Since().AddDays(r.NotBefore):
	case f.Severity == vent.Stop:
		f.Note = joinNotes(f.Note, fmt.Sprintf("put right on %s by %s, not yet released", s.On, s.By))
	default:
		closeAs(f, vent.FaultFixed, s.On, s.By, s.Note)
		f.ClosedWith = s.Finding
	}
}

// takenBack opens a fault again that a corrected finding had put right. It was never put right, so that no new spell begins.
func (l *ledger) takenBack(f *vent.Fault, s Sight) {
	if f.State == vent.FaultFixed && f.ClosedWith == s.Finding && !s.Finding.IsZero() {
		open(f)
		f.Note = joinNotes(f.Note, s.Note)
	}
}

// gone closes a fault that no longer follows from the record: one that the tool raised, or whose finding was corrected.
// Where findings showed it, only a later day speaks against it.
func (l *ledger) gone(f *vent.Fault, s Sight) {
	corrected := !s.ByTool && s.Finding == f.FindingID && !s.Finding.IsZero()
	later := s.Finding.IsZero() || s.On > f.Since()
	if f.State == vent.FaultFixed || f.Severity == vent.Stop || !corrected && !(f.ByTool && s.ByTool && later) {
		return
	}
	closeAs(f, vent.FaultFixed, max(s.On, f.Since()), TheRecord, s.Note)
}

func closeAs(f *vent.Fault, state vent.FaultState, on vent.Date, by, why string) {
	f.State, f.Closed, f.ClosedBy, f.Why, f.Until, f.ClosedWith = state, on, by, why, 0, vent.ID{}
}

// maxNote bounds a note that grows with every sight.
const maxNote = 1000

func joinNotes(a, b string) string {
	switch {
	case b == "" || strings.Contains(a, b) || len(a)+len(b)+2 > maxNote:
		return a
	case a == "":
		return b
	}
	return a + "; " + b
}
