package web

import (
	"net/http"

	"ventdue/desk"
	"ventdue/scheduler"
	"ventdue/vent"
)

// fromVisit says in a posted form that it stood on a page of its own.
const fromVisit = "visit"

// onsitePage is the form that records a visit with the little that is needed at the dryer, for a phone.
type onsitePage struct {
	page
	ID, Site, Room, Address string
	Run                     string // address of the run's page
	Access, Cautions        []string
	Dues                    []dueCard
	Form                    recordForm
}

// visitAddress gives the address of the form that records a visit to a run.
func visitAddress(view desk.RunView) string { return runAddress(view) + "/visit" }

func (s *server) showVisitForm(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	form, err := s.formAsked(r, view, figures{s.words(v)})
	if err != nil {
		return err
	}
	return s.renderVisit(w, http.StatusOK, v, view, form)
}

// formAsked gives the form that an address asks for: of a new finding, or of the correction of one.
func (s *server) formAsked(r *http.Request, view desk.RunView, words figures) (form recordForm, err error) {
	form = words.blankForm(view)
	if old := r.URL.Query().Get("correct"); old != "" {
		f, ok := findingOf(view, old)
		if !ok || !f.Counts() {
			return form, vent.ErrNotFound
		}
		form = words.formOf(view, f, s.root)
	}
	form.recall(r)
	return form, nil
}

// renderVisit writes the page of the form.
func (s *server) renderVisit(w http.ResponseWriter, status int, v visitor, view desk.RunView, form recordForm) error {
	p := onsitePage{page: s.newPage(v, ""), ID: view.Run.ID.String(), Site: view.Site.Name, Room: roomIn(view.Place), Address: view.Site.Address,
		Run: s.root + runAddress(view), Form: form}
	f := figures{p.Words}
	p.Title, p.Form.From = form.Heading+": "+view.Label(), fromVisit
	p.Access, p.Cautions = f.access(view.Site.Access.Public()), f.Cautions(view.Dryer, view.Run.Current())
	for _, d := range inTurn(view.Dues) {
		p.Dues = append(p.Dues, f.dueCard(d, view.Today))
	}
	if err := s.gaugeForm(&p.Form, view); err != nil {
		return err
	}
	return s.render(w, status, "onsite", p)
}

// gaugeForm gives the form what is needed to judge readings without signal.
func (s *server) gaugeForm(form *recordForm, view desk.RunView) error {
	g, err := s.desk.Gauges(view.Run.ID)
	form.gauge(g)
	return err
}

// verdict says how one figure that was typed stands.
type verdict struct {
	Standing scheduler.Standing `json:"standing"`
	Share    float64            `json:"share"` // of the clean flow
	Text     string             `json:"text"`
}

// judgeForm says how the figures of a form stand that is being filled in, by field. What cannot be read is left out: it is
// asked again when the form is sent.
func (s *server) judgeForm(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	words := figures{s.words(v)}
	form := words.emptyForm(view)
	form.fill(r.PostForm)
	if form.Outcome.Value == "" {
		form.Outcome.choose(string(vent.Full)) // while a reading after the work is typed
	}
	x := words.finding(&form, vent.Finding{RunID: view.Run.ID, Source: sourceVisit}, view.Dryer)
	if x.Date == 0 || x.Date > view.Today {
		x.Date = view.Today
	}
	judged, err := s.desk.Judge(x)
	if err != nil {
		return err
	}
	said := map[string]verdict{}
	for _, m := range judged.Readings {
		name := map[bool]map[vent.Quantity]string{
			false: {vent.AirSpeed: form.SpeedBefore.Name, vent.Static: form.StaticBefore.Name},
			true:  {vent.AirSpeed: form.SpeedAfter.Name, vent.Static: form.StaticAfter.Name},
		}[m.After][m.Reading.Quantity]
		if name != "" {
			said[name] = verdict{Standing: standingOf(judged, m.After), Share: m.Share, Text: words.judged(judged, m)}
		}
	}
	return writeJSON(w, http.StatusOK, said)
}
