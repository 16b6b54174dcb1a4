package web

import (
	_ "embed"
	"strings"
	"sync"
)

//go:embed zones.txt
var zoneFile string

// zoneNames lists the time zones that a form offers.
var zoneNames = sync.OnceValue(func() (all []string) {
	for _, line := range strings.Split(zoneFile, "\n") {
		if line != "" && !strings.HasPrefix(line, "#") {
			all = append(all, line)
		}
	}
	return all
})

// zoneField offers the time zones; one that is not in the list, as an older installation may have, is offered as well.
func (f figures) zoneField(chosen string) field {
	x := field{Name: "zone", Label: f.Say("page.welcome.zone"), Hint: f.Say("page.welcome.zone.hint")}
	known := false
	for _, name := range zoneNames() {
		x.Choices = append(x.Choices, choice{Value: name, Label: strings.ReplaceAll(name, "_", " ")})
		known = known || name == chosen
	}
	if !known && chosen != "" {
		x.Choices = append([]choice{{Value: chosen, Label: chosen}}, x.Choices...)
	}
	x.choose(chosen)
	return x
}
