package wording

import "maps"

// The texts of what the lint model cannot compute.
func init() { maps.Copy(english, englishModel) }

var englishModel = map[string]string{
	"reason.outside_model": "The run as described is outside what the formulas of air flow hold for, so the date comes from a wide guess. Check its length, bore, elbows and blower; a hood reading after cleaning would sharpen it.",
}
