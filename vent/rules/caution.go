package rules

import "slices"

// The cautions that stand where the work is.
const (
	CautionPower     = "power"
	CautionOneLead   = "one_lead"
	CautionBypass    = "bypass"
	CautionGasValve  = "gas_valve"
	CautionGasWork   = "gas_work"
	CautionGasMove   = "gas_move"
	CautionCO        = "co"
	CautionSmell     = "smell"
	CautionGasSmell  = "gas_smell"
	CautionLive      = "live"
	CautionHeight    = "height"
	CautionNest      = "nest"
	CautionDust      = "dust"
	CautionNoPermit  = "no_permit"
	CautionCodes     = "codes"
	CautionNoUse     = "no_use"
	CautionOilyCloth = "oily"
)

// Caution is one warning, to be shown with the work it belongs to.
type Caution struct {
	ID, Text string
	Source   Source
}

var cautions = []Caution{
	{CautionPower, "Unplug the dryer or switch off its breaker before any work.", read("repair guides for the dryer's thermal fuse: unplug or breaker off first")},
	{CautionOneLead, "Take one lead off a part before testing it, or the reading goes round through other parts.", practice()},
	{CautionBypass, "Never bypass a fuse, cut-off or thermostat, not even for a test run.", practice()},
	{CautionGasValve, "Close the gas valve before any work on a gas dryer.", read("repair guides for the dryer's thermal fuse: close the gas valve first")},
	{CautionGasWork, "Work on gas parts, valves and connectors is for licensed people only.", read("a city fire department's advice: gas dryers and lines are checked by a professional")},
	{CautionGasMove, "An unlicensed technician does not move a gas dryer: its connector can crack and leak.", practice()},
	{CautionCO, "A blocked gas dryer vent can spill carbon monoxide. Headache, sickness, weakness or confusion: everybody out at once, then call the emergency number.", second("chimney trade page on carbon monoxide from gas dryers")},
	{CautionSmell, "If it smells of burning, stop the dryer, leave and call the emergency number.", second("advice of a vent trade page: stop using a dryer that smells of burning")},
	{CautionGasSmell, "If you smell gas: no switches, no flames, everybody out, and call the gas emergency number from outside.", practice()},
	{CautionLive, "Scorched plugs, sockets and cords are for an electrician. Do not touch them while the breaker is on.", practice()},
	{CautionHeight, "Never climb for a look. Roof and ladder work is for people equipped for it, in dry weather.", practice()},
	{CautionNest, "An active nest may be protected by law. Stop using the dryer and do not rake it out; ask the wildlife authority.", practice()},
	{CautionDust, "Lint burns and irritates: mask and gloves, no sparks, bag it and take it outside.", practice()},
	{CautionNoPermit, "A date here is advice, not a permit to wait.", practice()},
	{CautionCodes, "Local codes and the maker's instructions come first.", practice()},
	{CautionNoUse, "Nobody uses the dryer until a named qualified person releases it: breaker off or unplugged, gas valve closed.", practice()},
	{CautionOilyCloth, "Cloth with oil, wax, paint or solvent in it can catch fire by itself, in the drum or folded up. It does not belong in a dryer.", practice()},
}

// Cautions lists all cautions in the order in which they are shown.
func Cautions() []Caution { return slices.Clone(cautions) }

// CautionText gives a caution's text; "" for an unknown id.
func CautionText(id string) string {
	for _, c := range cautions {
		if c.ID == id {
			return c.Text
		}
	}
	return ""
}

// InOrder gives caution ids once each, in the order in which they are shown; unknown ids are left out.
func InOrder(ids ...string) []string {
	var out []string
	for _, c := range cautions {
		if slices.Contains(ids, c.ID) {
			out = append(out, c.ID)
		}
	}
	return out
}
