package web

import (
	"errors"
	"net/http"
	"net/url"

	"ventdue/desk"
	"ventdue/vent"
)

// The steps by which a fault is closed on a run's page.
const (
	stepFix     = "fix"
	stepWaive   = "waive"
	stepRelease = "release"
)

// faultForm is one way of closing a fault.
type faultForm struct {
	Action, Heading, What, Go string
	General                   string // what is wrong with no field in particular
	Open                      bool   // was sent and has to be asked again
	Fields                    []faultField
	Licensed                  *tickList // nil where nobody asks for it
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

// stepsOf gives the ways in which a fault can be closed: what must stop is released by a qualified person.
func stepsOf(x vent.Fault, today vent.Date) []string {
	switch {
	case x.State == vent.FaultFixed:
		return nil
	case x.Severity == vent.Stop:
		return []string{stepRelease}
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
}

// faultForms asks in what ways a fault may be closed. run is the address of the run's page; sent was sent before.
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
		if step == stepRelease {
			form.Licensed = &tickList{Name: fieldName("licensed", step, id), Label: f.Say("page.close.licence"), Choices: []choice{{Value: "yes", Label: f.Say("page.close.licensed")}}}
			form.Licensed.fill(sent.values)
		}
		if form.Open {
			form.blame(step, sent.problem)
		}
		return form
	})
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

// closeFault puts right, puts off or releases a fault.
func (s *server) closeFault(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	sent := sentFault{step: r.PathValue("step")}
	sent.id, err = vent.ParseID(r.PathValue("fault"))
	if err != nil || !hasFault(view, sent.id) || stepFields[sent.step] == nil {
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
	case stepFix:
		_, err = s.desk.FixFault(s.by(v), sent.id, day, sent.at("who"), sent.at("how"))
	case stepWaive:
		_, err = s.desk.WaiveFault(s.by(v), sent.id, sent.at("who"), day, sent.at("why"))
	case stepRelease:
		_, err = s.desk.ReleaseFault(s.by(v), sent.id, desk.Release{Name: sent.at("who"), As: sent.at("as"), Licensed: sent.at("licensed") == "yes", On: day, What: sent.at("what")})
	}
	return err
}
