package web

import (
	"slices"
	"testing"

	"ventdue/vent"
)

// A booster and a trap are shown with how the run is built: a listed one's maker gives the length, and nothing is computed
// of the air; one that nobody has seen to be listed lengthens no duct.
func TestBoosterIsShownInTheRun(t *testing.T) {
	f := figures{newServer(t).words(visitor{})}
	has := func(facts []fact, label, value, mark string) bool {
		return slices.ContainsFunc(facts, func(x fact) bool {
			return x.Label == label && (value == "" || x.Value == value) && (mark == "" || x.Mark == mark)
		})
	}
	for _, listed := range []bool{true, false} {
		inLine := []vent.Appliance{{Kind: vent.Booster, Listed: listed}, {Kind: vent.LintTrap}}
		g := f.geometry(vent.Version{Route: maple().route}, vent.Appliance{}, inLine, "irc_2012")
		mark := map[bool]string{true: "good", false: "bad"}[listed]
		if !has(g.Parts, "In the duct", "booster (a second fan)", mark) || !has(g.Parts, "In the duct", "lint trap", "") {
			t.Errorf("listed %v: parts %+v", listed, g.Parts)
		}
		if has(g.Rules, f.Say("page.code.length"), f.Say("page.code.booster"), "") != listed {
			t.Errorf("listed %v: rules %+v", listed, g.Rules)
		}
		if has(g.Rules, f.Say("page.clean.static"), "", "") || !has(g.Rules, f.Say("page.clean.flow"), f.Say("page.clean.not_computed"), "") {
			t.Errorf("listed %v: air is computed: %+v", listed, g.Rules)
		}
		if bare := f.geometry(vent.Version{}, vent.Appliance{}, inLine, "irc_2012"); len(bare.Parts) != 2 || bare.Note == "" {
			t.Errorf("a run nobody described: %+v", bare)
		}
	}
}
