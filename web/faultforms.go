package web

import (
	"errors"
	"net/http"
	"net/url"

	"ventdue/desk"
	"ventdue/vent"
)

// The steps that can be taken with a fault on a run's page.
const (
	stepFix     = "fix"
	stepWaive   = "waive"
	stepRelease = "release"
	stepCall    = "call" // somebody was told of a stop
	stepTag     = "tag"  // whether a tag hangs on a stopped dryer
)

// faultForm is one thing that can be done about a fault.
type faultForm struct {
	Action, Heading, What, Go string
	General                   string // what is wrong with no field in particular
	Open                      bool   // was sent and has to be asked again
	Fields                    []faultField
	Choice                    *field    // of one out of several; nil where nobody asks for it
	Tick                      *tickList // nil where nobody asks for it
}

// faultField is a field of a fault's form. Its name carries the fault, since a page has a form for each.
type faultField struct {
	field
	Date     bool
	Min, Max string
}

// sentFault is a fault's form as it was sent.
type sentFault struct {
	id      vent.ID
	step    string
	values  url.Values
	problem error
}

// at gives a field's value.
func (s sentFault) at(name string) string {
	return s.values.Get(fieldName(name, s.step, s.id.String()))
}

func fieldName(name, step, fault string) string { return name + "-" + step + "-" + fault }

// stepsOf gives what can be done about a fault: what must stop is told, tagged, and released by a qualified person.
func stepsOf(x vent.Fault, today vent.Date) []string {
	switch {
	case x.State == vent.FaultFixed:
		return nil
	case x.Severity == vent.Stop:
		return []string{stepTag, stepCall, stepRelease}
	case !standsOpen(x, today):
		return []string{stepFix}
	}
	return []string{stepFix, stepWaive}
}

// stepFields lists a step's fields in order; the office calls them by the names on the right.
var stepFields = map[string][]struct{ name, problem string }{
	stepFix:     {{"who", "closed_by"}, {"on", "closed"}, {"how", "why"}},
	stepWaive:   {{"who", "closed_by"}, {"until", "until"}, {"why", "why"}},
	stepRelease: {{"who", "closed_by"}, {"as", "released_as"}, {"on", "closed"}, {"what", "why"}},
	stepCall:    {{"who", "told.who"}, {"how", "told.how"}},
	stepTag:     {},
}

// faultForms asks what is to be done about a fault. run is the address of the run's page; sent was sent before.
func (f figures) faultForms(x vent.Fault, today vent.Date, run string, sent sentFault) []faultForm {
	return each(stepsOf(x, today), func(step string) faultForm {
		id := x.ID.String()
		form := faultForm{Action: run + "/faults/" + id + "/" + step + "#fault-" + id, Heading: f.Say("page.close." + step), What: f.rule(x.Rule), Go: f.Say("page.close." + step + ".go")}
		form.Open = sent.id == x.ID && sent.step == step
		for _, k := range stepFields[step] {
			field := faultField{field: field{Name: fieldName(k.name, step, id), Label: f.Say("page.close.field." + k.name)}}
			switch k.name {
			case "on":
				field.Date, field.Value, field.Max = true, today.String(), today.String()
			case "until":
				field.Date, field.Min = true, today.AddDays(1).String()
			}
			if form.Open {
				field.Value = sent.at(k.name)
			}
			form.Fields = append(form.Fields, field)
		}
		f.choose(&form, x, step, sent)
		if form.Open {
			form.blame(step, sent.problem)
		}
		return form
	})
}

// choose adds what a step asks for besides its fields.
func (f figures) choose(form *faultForm, x vent.Fault, step string, sent sentFault) {
	id := x.ID.String()
	tick := func(name, label, text string) {
		form.Tick = &tickList{Name: fieldName(name, step, id), Label: f.Say(label), Choices: []choice{{Value: "yes", Label: f.Say(text)}}}
		form.Tick.fill(sent.values)
	}
	pick := func(name, chosen string, all []choice) {
		form.Choice = &field{Name: fieldName(name, step, id), Label: f.Say("page.close.field." + name), Choices: all}
		if form.Open {
			chosen = sent.at(name)
		}
		for i := range all {
			all[i].Chosen = all[i].Value == chosen
		}
	}
	switch step {
	case stepRelease:
		tick("licensed", "page.close.licence", "page.close.licensed")
	case stepCall:
		pick("role", string(vent.ToldOccupant), choices(f, "page.call.role.", vent.ToldOccupant, vent.ToldCustomer, vent.ToldOperator, vent.CallRole("")))
		tick("ack", "page.call.answer", "page.fault.acknowledged")
	case stepTag:
		hangs := map[bool]string{true: "yes", false: "no"}[x.Tagged]
		pick("hangs", hangs, []choice{{Value: "yes", Label: f.Say("page.fault.tagged")}, {Value: "no", Label: f.Say("page.fault.untagged")}})
	}
}

// blame puts what was wrong at the fields it is about.
func (form *faultForm) blame(step string, err error) {
	var problems vent.Problems
	if !errors.As(err, &problems) {
		form.General = answerTo(err).detail
		return
	}
	for _, p := range problems {
		said := false
		for i, k := range stepFields[step] {
			if x := &form.Fields[i]; k.problem == p.Field && x.Problem == "" {
				x.Problem, said = x.Label+" "+p.Text, true
			}
		}
		if !said {
			form.General += p.Text + ". "
		}
	}
}

// closeFault takes one step with a fault.
func (s *server) closeFault(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	sent := sentFault{step: r.PathValue("step")}
	sent.id, err = vent.ParseID(r.PathValue("fault"))
	if _, known := stepFields[sent.step]; err != nil || !known || !hasFault(view, sent.id) {
		return vent.ErrNotFound
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	sent.values = r.PostForm
	sent.problem = s.takeStep(v, sent)
	if sent.problem == nil {
		s.seeOther(w, r, runAddress(view)+"#fault-"+sent.id.String())
		return nil
	}
	a := answerTo(sent.problem)
	if a.status != http.StatusUnprocessableEntity && a.status != http.StatusConflict {
		return sent.problem
	}
	return s.renderRun(w, a.status, v, view, figures{s.words(v)}.blankForm(view), sent)
}

func hasFault(view desk.RunView, id vent.ID) bool {
	for _, x := range view.Faults {
		if x.ID == id {
			return true
		}
	}
	return false
}

// takeStep has the office do what a form asks for.
func (s *server) takeStep(v visitor, sent sentFault) error {
	name := "on"
	if sent.step == stepWaive {
		name = "until"
	}
	var day vent.Date
	if typed := sent.at(name); typed != "" {
		var err error
		if day, err = vent.ParseDate(typed); err != nil {
			field := map[string]string{"on": "closed", "until": "until"}[name]
			return vent.Problems{{Field: field, Value: typed, Text: "is not a day: write it as YYYY-MM-DD"}}
		}
	}
	var err error
	switch sent.step {
	case stepTag:
		_, err = s.desk.TagFault(s.by(v), sent.id, sent.at("hangs") == "yes")
	case stepCall:
		_, err = s.desk.NoteCall(s.by(v), sent.id, vent.Call{Who: sent.at("who"), How: sent.at("how"), Role: vent.CallRole(sent.at("role")), Ackd: sent.at("ack") == "yes"})
	case stepFix:
		_, err = s.desk.FixFault(s.by(v), sent.id, day, sent.at("who"), sent.at("how"))
	case stepWaive:
		_, err = s.desk.WaiveFault(s.by(v), sent.id, sent.at("who"), day, sent.at("why"))
	case stepRelease:
		_, err = s.desk.ReleaseFault(s.by(v), sent.id, desk.Release{Name: sent.at("who"), As: sent.at("as"), Licensed: sent.at("licensed") == "yes", On: day, What: sent.at("what")})
	}
	return err
}
