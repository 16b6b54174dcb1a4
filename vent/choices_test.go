package vent

import "testing"

// The newest word counts, on a purpose or on all; saying the same again adds no line; many words do not grow for ever.
func TestSay(t *testing.T) {
	var p Person
	say := func(purpose string, given bool, at Instant) {
		p.Say(Consent{Purpose: purpose, Given: given, At: at, How: "test"})
	}
	say(PurposeDues, true, 1) // they were reminded anyway
	if len(p.Consents) != 0 {
		t.Errorf("a yes to what is given anyway: %+v", p.Consents)
	}
	say(PurposeAll, false, 2)
	say(PurposeAll, false, 3)
	if len(p.Consents) != 1 || p.Wants(PurposeDues) || p.Wants(PurposeRecords) {
		t.Errorf("no to all: %+v", p.Consents)
	}
	say(PurposeChecks, true, 4)
	if !p.Wants(PurposeChecks) || p.Wants(PurposeDues) {
		t.Errorf("yes to one after no to all: %+v", p.Consents)
	}
	say(PurposeAll, false, 4) // within the same second: the later word
	if p.Wants(PurposeChecks) {
		t.Errorf("no to all again: %+v", p.Consents)
	}
	for i := range 1000 {
		say(PurposeDues, i%2 == 0, Instant(10+i))
	}
	if len(p.Consents) > maxConsents || p.Wants(PurposeDues) || p.Wants(PurposeFaults) {
		t.Errorf("%d words are kept, dues %v, faults %v", len(p.Consents), p.Wants(PurposeDues), p.Wants(PurposeFaults))
	}
}
