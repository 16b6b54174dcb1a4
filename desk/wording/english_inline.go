package wording

import "maps"

// The texts of boosters and lint traps in the duct.
func init() { maps.Copy(english, englishInLine) }

var englishInLine = map[string]string{
	"page.route.in_line":   "In the duct",
	"page.route.booster":   "booster (a second fan)",
	"page.route.lint_trap": "lint trap",
	"page.route.listed":    "listed for dryers",
	"page.route.unlisted":  "nobody has seen that it is listed for dryers",
	"page.code.booster":    "A listed booster is in the run: its maker says how long the run may be. Compare by hand.",
	"page.clean.booster":   "A booster is in the run: what is clean is what was read right after its cleanings.",
	"caution.in_line":      "A booster in the duct can start by itself: disconnect it as well before the duct or a trap is opened.",
	"reason.boosted":       "A booster is in the run, which the formulas of air flow know nothing of: the date comes from a wide guess, and what can be learned comes from its own readings. Read the air at the hood right after each cleaning, with the booster running; that is what later readings are compared with.",
}
