package web

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"ventdue/vent"
	"ventdue/vent/airflow"
)

// fact is one labelled line. Word, where set, says how it stands: its shape is Mark.
type fact struct {
	Label, Value string
	Mark, Word   string // Mark is "good" or "bad"
	Note         string // small print
}

// geometry tells how a run is built, and what follows from that.
type geometry struct {
	Parts []fact // the way of the air
	Rules []fact // code length, transition, clean flow
	Note  string // why a part of it is missing
	Line  template.HTML
	// Sources say where the limits are from.
	Sources []string
}

func (f figures) geometry(v vent.Version, dryer vent.Appliance, inLine []vent.Appliance, edition string) geometry {
	if v.Route == nil {
		return geometry{Note: f.Say("page.route.none"), Parts: f.inLine(inLine)}
	}
	d := v.Route.WithDefaults()
	g := geometry{Parts: f.parts(d, v)}
	g.Parts = append(g.Parts, f.inLine(inLine)...)
	g.Line = f.line(d, v, g.Parts)
	if v.Edition != "" {
		edition = v.Edition
	}
	g.Rules, g.Sources = f.codeLength(*v.Route, v, edition)
	if i := slices.IndexFunc(inLine, isBooster); i >= 0 {
		if inLine[i].Listed { // its maker's length takes the place of the rule's
			g.Rules[0] = fact{Label: f.Say("page.code.length"), Value: f.Say("page.code.booster")}
		}
		g.Rules = append(g.Rules, fact{Label: f.Say("page.clean.flow"), Value: f.Say("page.clean.not_computed"), Note: f.Say("page.clean.booster")})
		return g
	}
	g.Rules = append(g.Rules, f.cleanFlow(*v.Route, dryer)...)
	return g
}

func isBooster(a vent.Appliance) bool { return a.Kind == vent.Booster }

// inLine lists the booster and the trap in the duct.
func (f figures) inLine(all []vent.Appliance) (facts []fact) {
	for _, a := range all {
		x := fact{Label: f.Say("page.route.in_line"), Value: f.Say("page.route." + string(a.Kind))}
		if isBooster(a) {
			x.Mark, x.Word = "good", f.Say("page.route.listed")
			if !a.Listed {
				x.Mark, x.Word = "bad", f.Say("page.route.unlisted")
			}
			if a.Serial != "" {
				x.Note = f.Say("page.dryer.serial") + ": " + a.Serial
			}
		}
		facts = append(facts, x)
	}
	return facts
}

// parts lists the route in the order of the air.
func (f figures) parts(d airflow.Duct, v vent.Version) []fact {
	var all []fact
	if d.Transition.Length > 0 {
		all = append(all, fact{Label: f.Say("page.route.transition"), Value: f.section(d.Transition)})
	}
	for _, s := range d.Sections {
		all = append(all, fact{Label: f.Say("page.route.duct"), Value: f.section(s)})
	}
	for _, x := range d.Fittings {
		all = append(all, fact{Label: f.Say("page.route.fitting"), Value: strconv.Itoa(x.Count) + " × " + f.Say("page.fitting."+string(x.Kind))})
	}
	outlet := f.Say("page.outlet." + string(d.Outlet.Kind))
	if d.Outlet.Diameter > 0 {
		outlet += ", " + f.Bore(d.Outlet.Diameter)
	}
	all = append(all, fact{Label: f.Say("page.route.outlet"), Value: outlet})
	for _, x := range []struct {
		is  bool
		key string
	}{{v.RoofOutlet, "roof"}, {d.Concealed, "concealed"}, {v.Uninsulated, "cold"}, {!v.Measured, "guessed"}} {
		if x.is {
			all = append(all, fact{Label: f.Say("page.route.also"), Value: f.Say("page.route." + x.key)})
		}
	}
	return all
}

func (f figures) section(s airflow.Section) string {
	text := f.Length(s.Length)
	if s.Material != "" {
		text += " " + f.Say("page.material."+string(s.Material))
	}
	if s.Diameter > 0 {
		text += ", " + f.Bore(s.Diameter)
	}
	return text
}

// codeLength compares the run with the limit of its edition, and says where that limit is from.
func (f figures) codeLength(d airflow.Duct, v vent.Version, edition string) (facts []fact, sources []string) {
	label := f.Say("page.code.length")
	rule, err := airflow.RuleFor(airflow.Edition(edition))
	if err != nil {
		return []fact{{Label: label, Value: f.Say("page.code.no_edition", "edition", edition)}}, nil
	}
	c, err := rule.CodeLength(d)
	if err != nil {
		return []fact{{Label: label, Value: f.Say("page.code.not_counted"), Note: err.Error()}}, nil
	}
	facts = append(facts, f.checked(fact{Label: label,
		Value: f.Say("page.code.of", "length", f.Length(c.Length), "limit", f.Length(c.Limit), "rule", rule.Title)}, c.Passes))
	sources = append(sources, c.Source)
	if t := c.Transition; t.Length > 0 {
		facts = append(facts, f.checked(fact{Label: f.Say("page.code.transition"),
			Value: f.Say("page.code.of_transition", "length", f.Length(t.Length), "limit", f.Length(t.Limit))}, t.Passes))
		sources = append(sources, t.Source)
	}
	if c.LabelNeeded && !v.Labelled {
		facts = append(facts, fact{Label: f.Say("page.code.label"), Value: f.Say("page.code.label_needed"), Mark: "bad", Word: f.Say("page.code.missing")})
		sources = append(sources, c.LabelSource)
	}
	return facts, sources
}

func (f figures) checked(x fact, passes bool) fact {
	x.Mark, x.Word = "good", f.Say("page.code.within")
	if !passes {
		x.Mark, x.Word = "bad", f.Say("page.code.over")
	}
	return x
}

// cleanFlow computes what the run moves when it is clean.
func (f figures) cleanFlow(d airflow.Duct, dryer vent.Appliance) []fact {
	system, err := airflow.NewSystem(d, dryer.BlowerCurve())
	var at airflow.Point
	if err == nil {
		at, err = system.At(0)
	}
	if err != nil {
		return []fact{{Label: f.Say("page.clean.flow"), Value: f.Say("page.clean.not_computed"), Note: err.Error()}}
	}
	limit := dryer.StaticLimit()
	return []fact{
		{Label: f.Say("page.clean.flow"), Value: f.Flow(at.Flow), Note: f.Say("page.clean.computed")},
		{Label: f.Say("page.clean.speed"), Value: f.Speed(at.OutletSpeed)},
		f.checked(fact{Label: f.Say("page.clean.static"),
			Value: f.Say("page.clean.of", "static", f.Pressure(at.Static), "limit", f.Pressure(limit))}, at.Static <= limit),
	}
}

// dryerFacts tells what hangs on the run.
func (f figures) dryerFacts(a vent.Appliance) []fact {
	if a.ID.IsZero() {
		return nil
	}
	facts := []fact{{Label: f.Say("page.dryer.fuel"), Value: f.Say("page.fuel." + string(a.Fuel))}}
	add := func(key, value string) {
		if value != "" {
			facts = append(facts, fact{Label: f.Say("page.dryer." + key), Value: value})
		}
	}
	add("maker", strings.TrimSpace(a.Maker+" "+a.Model))
	add("serial", a.Serial)
	if a.Class != "" {
		add("class", f.Say("page.class."+string(a.Class)))
	}
	if a.Made != 0 {
		add("made", f.Month(a.Made))
	}
	if a.Installed != 0 {
		add("installed", f.Date(a.Installed))
	}
	add("static_limit", f.Pressure(a.StaticLimit()))
	if a.Fuel == vent.Gas {
		key := "page.dryer.co_none"
		if a.HasCO {
			key = "page.dryer.co_there"
		}
		add("co", f.Say(key))
	}
	return facts
}
