package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ventdue/scheduler"
	"ventdue/vent"
)

// unitChoice is one unit that an instrument may show, with what it shows at the run at hand: for a phone without signal.
type unitChoice struct {
	Value, Label string
	Chosen       bool
	Clean, Limit string // in this unit, as a program reads numbers; "" not known
}

// instrumentUnits are the units that instruments for a quantity show: how the parsers of airflow know them, and the last
// part of the text that names them.
var instrumentUnits = map[vent.Quantity][]struct{ unit, text string }{
	vent.AirSpeed: {{"fpm", "fpm"}, {"m/s", "mps"}},
	vent.Static:   {{"in w.c.", "inwc"}, {"Pa", "pa"}, {"hPa", "hpa"}, {"mm w.c.", "mmwc"}},
}

// units offers the units of a quantity, the operator's own chosen.
func (f figures) units(q vent.Quantity) []unitChoice {
	var all []unitChoice
	for _, u := range instrumentUnits[q] {
		label := strings.TrimSpace(f.Say("page.unit."+u.text, "n", ""))
		all = append(all, unitChoice{Value: u.unit, Label: label, Chosen: u.unit == f.unit(q)})
	}
	return all
}

// chooseUnit chooses one of the field's units; what is none of them changes nothing.
func (f *field) chooseUnit(unit string) {
	if !slices.ContainsFunc(f.Units, func(u unitChoice) bool { return u.Value == unit }) {
		return
	}
	for i := range f.Units {
		f.Units[i].Chosen = f.Units[i].Value == unit
	}
}

// unit gives the unit that is chosen; "" where none is offered.
func (f *field) unit() string {
	for _, u := range f.Units {
		if u.Chosen {
			return u.Value
		}
	}
	return ""
}

// gauge writes into every figure's units what the instrument shows when the run is clean, and at its limit.
func (f *recordForm) gauge(g scheduler.Gauges) {
	for _, x := range f.all() {
		clean, limit := g.CleanSpeed, g.LimitSpeed
		if x.Quantity == vent.Static {
			clean, limit = g.CleanStatic, g.LimitStatic
		}
		for i := range x.Units {
			one, err := inSI(x.Quantity, "1 "+x.Units[i].Value)
			if err == nil && clean > 0 && limit > 0 {
				x.Units[i].Clean, x.Units[i].Limit = short(clean/one), short(limit/one)
			}
		}
	}
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', 5, 64) }

// unitsCookie remembers in a browser which units its instruments showed last. It tells nothing of anybody.
const unitsCookie = "ventdue-units"

// recall chooses the units that this browser's instruments showed last.
func (f *recordForm) recall(r *http.Request) {
	c, err := r.Cookie(unitsCookie)
	if err != nil {
		return
	}
	for _, name := range strings.Split(c.Value, ".") {
		for _, x := range f.all() {
			for _, u := range instrumentUnits[x.Quantity] {
				if u.text == name {
					x.chooseUnit(u.unit)
				}
			}
		}
	}
}

// rememberUnits has the browser remember the units of the figures that were typed.
func (s *server) rememberUnits(w http.ResponseWriter, f *recordForm) {
	var names []string
	for _, x := range f.all() {
		for _, u := range instrumentUnits[x.Quantity] {
			if x.Value != "" && u.unit == x.unit() {
				names = append(names, u.text)
			}
		}
	}
	if len(names) == 0 {
		return
	}
	c := s.auth.cookie
	c.Name, c.Value, c.MaxAge = unitsCookie, strings.Join(names, "."), 365*24*3600
	http.SetCookie(w, &c)
}
