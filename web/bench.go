package web

import (
	"net/url"
	"strings"

	"ventdue/desk"
	"ventdue/scheduler/faults"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// benchForm asks what was wrong with the dryer and what the checks of its parts gave.
type benchForm struct {
	Label   string
	Symptom field
	Parts   []partField
	asked   bool // the form that was posted asked for all this
}

// partField is the check of one part: its result, what the meter showed, whether it was replaced.
type partField struct {
	ID, Name, Healthy string
	Result, Reading   field
	ToCase, Replaced  tickList
	Problem           string
}

// Some reports whether anything is said, so that the list has to be shown open.
func (b benchForm) Some() bool {
	if b.Symptom.Value != "" {
		return true
	}
	for _, p := range b.Parts {
		if p.said() {
			return true
		}
	}
	return false
}

func (p partField) said() bool {
	return p.Result.Value != "" || p.Reading.Value != "" || p.ToCase.Some() || p.Replaced.Some()
}

// bad reports whether something is wrong with it.
func (b benchForm) bad() bool {
	for _, p := range b.Parts {
		if p.Problem != "" {
			return true
		}
	}
	return b.Symptom.Problem != ""
}

// bench asks for the parts that a dryer of that fuel has.
func (f figures) bench(view desk.RunView) benchForm {
	b := benchForm{Label: f.Say("page.bench"), Symptom: field{Name: "symptom", Label: f.Say("page.field.symptom")}}
	b.Symptom.Choices = choices(f, "page.symptom.", vent.NoSymptom, vent.NoStart, vent.NoHeat, vent.NoHeatSetting, vent.Overheats)
	for _, part := range rules.Parts() {
		if part.Fits(view.Dryer.Fuel) {
			b.Parts = append(b.Parts, f.partField(part, view.Dryer))
		}
	}
	return b
}

func (f figures) partField(part rules.Part, dryer vent.Appliance) partField {
	name := "part-" + part.ID
	p := partField{ID: part.ID, Name: f.PartName(part.ID), Healthy: f.Say("page.bench.healthy", "healthy", f.PartHealthy(part.ID), "by", f.Say("page.party."+string(part.By)))}
	if ohms := rules.HeaterOhms(dryer.Volts, dryer.Watts); part.ID == rules.Heater && ohms > 0 {
		p.Healthy += " " + f.Say("page.bench.plate", "ohms", f.Figure(vent.Reading{Quantity: vent.Ohms, Value: ohms}))
	}
	p.Result = field{Name: name, Label: f.Say("page.bench.result"), Choices: []choice{{Label: f.Say("page.bench.none")}}}
	for _, r := range part.Results {
		p.Result.Choices = append(p.Result.Choices, choice{Value: r, Label: f.named("page.part.", r)})
	}
	p.Reading = field{Name: name + "-reading", Label: f.Say("page.bench.reading"), Hint: f.Say("page.bench.ohms")}
	if part.Resets {
		p.Reading.Hint = f.Say("page.bench.ohms_or_heat")
	}
	p.ToCase = tickList{Name: name + "-case", Choices: []choice{{Value: "yes", Label: f.Say("page.bench.case")}}}
	p.Replaced = tickList{Name: name + "-replaced", Choices: []choice{{Value: "yes", Label: f.Say("page.part.replaced")}}}
	return p
}

func (b *benchForm) fill(v url.Values) {
	fill := func(x *field) {
		x.Value = strings.TrimSpace(v.Get(x.Name))
		for i := range x.Choices {
			x.Choices[i].Chosen = x.Choices[i].Value == x.Value
		}
	}
	b.asked = v.Has(b.Symptom.Name)
	for name := range v {
		b.asked = b.asked || strings.HasPrefix(name, "part-")
	}
	fill(&b.Symptom)
	for i := range b.Parts {
		p := &b.Parts[i]
		fill(&p.Result)
		fill(&p.Reading)
		p.ToCase.fill(v)
		p.Replaced.fill(v)
	}
}

// benchValues writes what a finding says of the dryer's parts as the form posts it. Of two checks of one part the form
// shows the first; the other one stays as it is.
func (f figures) benchValues(v url.Values, x vent.Finding) {
	v.Set("symptom", string(x.Symptom))
	for _, c := range x.Parts {
		name := "part-" + c.Part
		if v.Get(name) != "" {
			continue
		}
		v.Set(name, c.Result)
		if c.Reading != nil {
			v.Set(name+"-reading", f.typed([]vent.Reading{*c.Reading}, c.Reading.Quantity))
			if c.Reading.Place == rules.ToCase {
				v.Set(name+"-case", "yes")
			}
		}
		if c.Replaced {
			v.Set(name+"-replaced", "yes")
		}
	}
}

// checks reads the part checks on top of those that were there before. What is wrong with one stands at it.
func (f figures) checks(b *benchForm, before []vent.PartCheck, dryer vent.Appliance) []vent.PartCheck {
	rest := append([]vent.PartCheck(nil), before...)
	var all []vent.PartCheck
	for i := range b.Parts {
		p := &b.Parts[i]
		var c vent.PartCheck
		for n, old := range rest {
			if old.Part == p.ID {
				c, rest = old, append(rest[:n:n], rest[n+1:]...)
				break
			}
		}
		if !p.said() {
			continue
		}
		c = f.check(p, c)
		for _, problem := range rules.CheckFinding(vent.Finding{Parts: []vent.PartCheck{c}}, dryer) {
			p.Problem = strings.TrimSpace(p.Problem + " " + p.Name + " " + problem.Text + ".")
		}
		all = append(all, c)
	}
	return append(all, rest...)
}

// check reads one part's fields. A reading that is typed as it was keeps all that was said about it.
func (f figures) check(p *partField, old vent.PartCheck) vent.PartCheck {
	c := vent.PartCheck{Part: p.ID, Result: p.Result.Value, Replaced: p.Replaced.Some(), Note: old.Note}
	switch {
	case p.Reading.Value == "":
	case old.Reading != nil && f.typed([]vent.Reading{*old.Reading}, old.Reading.Quantity) == p.Reading.Value:
		r := *old.Reading
		c.Reading = &r
	default:
		r, err := vent.ParseMeter(p.Reading.Value)
		if err != nil {
			p.Problem = err.Error() + "."
			return c
		}
		c.Reading = &r
	}
	switch {
	case c.Reading == nil && p.ToCase.Some():
		p.Problem = f.Say("page.bench.case_reading")
	case c.Reading != nil && p.ToCase.Some():
		c.Reading.Place = rules.ToCase
	case c.Reading != nil && c.Reading.Place == rules.ToCase:
		c.Reading.Place = ""
	}
	return c
}

// diagnosis tells what follows from part checks.
type diagnosis struct {
	Heading  string
	Parts    []string // what each check says
	Replace  string   // what is still to be replaced; "" nothing
	Steps    []string // of the search for the cause, that are not done yet
	Next     []string // what to look at, in order
	Cautions []string
}

// diagnosed says in words what follows from a finding's part checks; nil where nothing does.
func (f figures) diagnosed(d *faults.Diagnosis) *diagnosis {
	if d == nil {
		return nil
	}
	said := &diagnosis{Heading: f.Say("page.diagnosis")}
	if d.Symptom != vent.NoSymptom {
		key := "page.diagnosis.open"
		if d.Explained {
			key = "page.diagnosis.explained"
		}
		said.Heading = f.Say(key, "symptom", f.Say("page.symptom."+string(d.Symptom)))
	}
	for _, v := range d.Verdicts {
		said.Parts = append(said.Parts, f.verdict(v))
	}
	if len(d.Replace) > 0 {
		said.Replace = f.Say("page.diagnosis.replace", "parts", strings.Join(each(d.Replace, f.PartName), ", "))
	}
	if d.Hunt != nil {
		said.Steps = each(d.Hunt.Missing(), f.HuntStep)
	}
	said.Next = each(d.Next, f.LookAt)
	said.Cautions = each(d.Cautions, f.Warning)
	return said
}

func (f figures) verdict(v faults.Verdict) string {
	said := f.Say("page.part", "part", f.PartName(v.Part), "result", f.Say("page.verdict."+string(v.Standing)))
	if v.Why != "" {
		said += ", " + v.Why
	}
	said += "."
	if len(v.Explains) > 0 {
		said += " " + f.Say("page.diagnosis.explains", "what", strings.Join(each(v.Explains, func(s vent.Symptom) string { return f.Say("page.symptom." + string(s)) }), "; "))
	}
	if v.OneShot && v.Standing == faults.Bad {
		said += " " + f.Say("page.diagnosis.one_shot")
	}
	return said
}
