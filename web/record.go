package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/vent"
)

// sourceVisit is the source of what is recorded on a run's page.
const sourceVisit = "visit"

// recordForm is the form that records a finding, in the order of the work. Its names are those of the posted fields.
type recordForm struct {
	Corrects string // id of the finding that is to be replaced; "" records a new one
	Heading  string
	From     string // page that it stands on; "" the run's
	General  string // what is wrong with no field in particular
	Clash    bool   // another finding stands in the way
	Conflict string // its address; "" not known
	Max      string // latest day
	Place    string // where it is, for the list of what waits on a phone

	Date, By, ByName          field
	LintBefore                field
	SpeedBefore, StaticBefore field
	Outcome, Reach            field
	LintAfter                 field
	SpeedAfter, StaticAfter   field
	Note                      field

	SeenRun, SeenDryer, Fixed, CloseOut tickList
	Counter                             field
	Bench                               benchForm
	Photos                              field
	Kept                                []keptPhoto
}

// field is one labelled input with what was typed and what is wrong with it.
type field struct {
	Name, Label, Hint, Value, Problem string
	Choices                           []choice
	Mark                              string // behind the name in the id, where a page has several forms of one kind
	Type, Auto                        string // of an input: "" is text that no browser fills in
	Quantity                          vent.Quantity
	Units                             []unitChoice // of a figure: those that instruments show
	UnitLabel                         string
}

// ID names the field on its page.
func (f field) ID() string { return f.Name + f.Mark }

// choose ticks the choice of a value.
func (f *field) choose(value string) {
	f.Value = value
	for i := range f.Choices {
		f.Choices[i].Chosen = f.Choices[i].Value == value
	}
}

type choice struct {
	Value, Label string
	Chosen       bool
}

// Bad reports whether anything is wrong with the form.
func (f recordForm) Bad() bool {
	if f.General != "" {
		return true
	}
	for _, x := range f.all() {
		if x.Problem != "" {
			return true
		}
	}
	return f.Bench.bad()
}

// status is that of the answer that asks again.
func (f recordForm) status() int {
	if f.Clash {
		return http.StatusConflict
	}
	return http.StatusUnprocessableEntity
}

func (f *recordForm) all() []*field {
	return []*field{&f.Date, &f.By, &f.ByName, &f.LintBefore, &f.SpeedBefore, &f.StaticBefore, &f.Outcome, &f.Reach,
		&f.LintAfter, &f.SpeedAfter, &f.StaticAfter, &f.Note, &f.Counter, &f.Photos}
}

func (f *recordForm) ticks() []*tickList {
	return []*tickList{&f.SeenRun, &f.SeenDryer, &f.Fixed, &f.CloseOut}
}

// blankForm asks for a new finding of today.
func (f figures) blankForm(view desk.RunView) recordForm {
	form := f.emptyForm(view)
	form.fill(url.Values{"date": {view.Today.String()}, "by": {string(vent.ByUs)}})
	return form
}

// formOf asks for the correction of a finding, filled with what it says.
func (f figures) formOf(view desk.RunView, x vent.Finding, root string) recordForm {
	v := url.Values{
		"date": {x.Date.String()}, "by": {string(x.By.Kind)}, "by_name": {x.By.Name}, "outcome": {string(x.Outcome)},
		"reach": {string(x.Reach)}, "lint_before": {string(x.LintBefore)}, "lint_after": {string(x.LintAfter)}, "note": {x.Note},
		"speed_before": {f.typed(x.Before, vent.AirSpeed)}, "static_before": {f.typed(x.Before, vent.Static)},
		"speed_after": {f.typed(x.After, vent.AirSpeed)}, "static_after": {f.typed(x.After, vent.Static)},
		"corrects": {x.ID.String()}, "fault": x.Faults, "fixed": x.Fixed, "close_out": x.CloseOut,
	}
	if x.LoadCounter > 0 {
		v.Set("counter", strconv.FormatInt(x.LoadCounter, 10))
	}
	f.benchValues(v, x)
	form := f.emptyForm(view)
	form.fill(v)
	form.offer(x.Photos, true, root)
	form.Heading = f.Say("page.record.correct", "date", f.Date(x.Date))
	return form
}

// typed gives a reading as it was typed, or its figure where it came from elsewhere.
func (f figures) typed(readings []vent.Reading, q vent.Quantity) string {
	for _, r := range readings {
		switch {
		case r.Quantity != q:
		case r.Given != "":
			return r.Given
		default:
			return f.Figure(r)
		}
	}
	return ""
}

// emptyForm names and labels the fields.
func (f figures) emptyForm(view desk.RunView) recordForm {
	text := func(name string) field {
		return field{Name: name, Label: f.Say("page.field." + name)}
	}
	figure := func(name string, q vent.Quantity) field {
		x := text(name)
		x.Quantity, x.Units, x.UnitLabel = q, f.units(q), f.Say("page.field.unit_of", "what", x.Label)
		return x
	}
	form := recordForm{
		Heading: f.Say("page.record.title"), Max: view.Today.String(), Place: view.Label(),
		Date: text("date"), By: text("by"), ByName: text("by_name"),
		LintBefore: text("lint_before"), SpeedBefore: figure("speed_before", vent.AirSpeed), StaticBefore: figure("static_before", vent.Static),
		Outcome: text("outcome"), Reach: text("reach"),
		LintAfter: text("lint_after"), SpeedAfter: figure("speed_after", vent.AirSpeed), StaticAfter: figure("static_after", vent.Static),
		Note: text("note"), Counter: text("counter"), Bench: f.bench(view), Photos: text("photos"),
		SeenRun: f.seenAt(vent.KindRun, view), SeenDryer: f.seenAt(vent.KindAppliance, view), Fixed: f.fixable(view), CloseOut: f.closing(view),
	}
	form.Photos.Hint = f.Say("page.field.photos.hint", "n", strconv.Itoa(desk.MaxPhotos), "mb", strconv.Itoa(desk.MaxPhotoBytes>>20))
	form.By.Choices = choices(f, "page.by.", vent.ByUs, vent.ByCustomer, vent.ByOtherFirm, vent.ByUnknown)
	form.Outcome.Choices = choices(f, "page.outcome.", vent.Full, vent.Partial, vent.OneEnd, vent.LookedOnly, vent.Failed)
	form.Reach.Choices = choices(f, "page.reach.", vent.ReachUnknown, vent.ReachThrough, vent.ReachDryer, vent.ReachHood, vent.ReachNone)
	form.LintBefore.Choices = choices(f, "page.grade.", vent.NotGraded, vent.Bare, vent.Film, vent.Fuzz, vent.Mat, vent.Plugged)
	form.LintAfter.Choices = choices(f, "page.grade.", vent.NotGraded, vent.Bare, vent.Film, vent.Fuzz, vent.Mat, vent.Plugged)
	return form
}

func choices[T ~string](f figures, prefix string, values ...T) []choice {
	all := make([]choice, len(values))
	for i, v := range values {
		all[i] = choice{Value: string(v), Label: f.Say(prefix + string(v))}
	}
	return all
}

// fill puts what was posted into the fields.
func (f *recordForm) fill(v url.Values) {
	f.Corrects = v.Get("corrects")
	for _, x := range f.all() {
		x.Value = strings.TrimSpace(v.Get(x.Name))
		for i := range x.Choices {
			x.Choices[i].Chosen = x.Choices[i].Value == x.Value
		}
		x.chooseUnit(v.Get(x.Name + "_unit"))
	}
	for _, x := range f.ticks() {
		x.fill(v)
	}
	f.Bench.fill(v)
}

// finding reads the form on top of the finding that it corrects (the zero one for a new finding): what the form does not
// ask for stays. What cannot be read is noted at its field.
func (f figures) finding(form *recordForm, base vent.Finding, dryer vent.Appliance) vent.Finding {
	x := base
	var err error
	if form.Date.Value == "" {
		form.Date.Problem = f.Say("page.problem.date_missing")
	} else if x.Date, err = vent.ParseDate(form.Date.Value); err != nil {
		form.Date.Problem = err.Error()
	}
	if form.Outcome.Value == "" {
		form.Outcome.Problem = f.Say("page.problem.outcome_missing")
	}
	x.By = vent.Doer{Kind: vent.DoerKind(form.By.Value), Name: form.ByName.Value}
	x.Outcome, x.Reach = vent.Outcome(form.Outcome.Value), vent.Reach(form.Reach.Value)
	x.LintBefore, x.LintAfter = vent.Grade(form.LintBefore.Value), vent.Grade(form.LintAfter.Value)
	x.Before = f.readings(base.Before, &form.SpeedBefore, &form.StaticBefore)
	x.After = f.readings(base.After, &form.SpeedAfter, &form.StaticAfter)
	x.Note = form.Note.Value
	if form.Bench.asked {
		x.Symptom = vent.Symptom(form.Bench.Symptom.Value)
		x.Parts = f.checks(&form.Bench, base.Parts, dryer)
		x.LoadCounter = 0
	}
	if typed := strings.NewReplacer(" ", "", "\u202f", "", "\u00a0", "").Replace(form.Counter.Value); typed != "" {
		if x.LoadCounter, err = strconv.ParseInt(typed, 10, 64); err != nil || x.LoadCounter < 0 {
			form.Counter.Problem = f.Say("page.problem.counter")
		}
	}
	x.Faults = form.SeenDryer.ticked(form.SeenRun.ticked(base.Faults))
	x.Fixed, x.CloseOut = form.Fixed.ticked(base.Fixed), form.CloseOut.ticked(base.CloseOut)
	return x
}

// readings reads the two figures of one moment. One that is typed as it was keeps all that was said about it.
func (f figures) readings(old []vent.Reading, speed, static *field) []vent.Reading {
	var all []vent.Reading
	for _, r := range old {
		if r.Quantity != vent.AirSpeed && r.Quantity != vent.Static {
			all = append(all, r)
		}
	}
	for _, x := range []struct {
		in *field
		q  vent.Quantity
	}{{speed, vent.AirSpeed}, {static, vent.Static}} {
		if x.in.Value == "" {
			continue
		}
		if i := quantityIn(old, x.q); i >= 0 && f.typed(old, x.q) == x.in.Value {
			all = append(all, old[i])
			continue
		}
		r, err := f.parse(x.q, x.in.Value, x.in.unit())
		switch {
		case err != nil:
			x.in.Problem = err.Error()
		case r.Valid().Err() != nil:
			x.in.Problem = f.Say("page.problem.reading", "value", f.Figure(r))
		default:
			all = append(all, r)
		}
	}
	return all
}

func quantityIn(readings []vent.Reading, q vent.Quantity) int {
	for i, r := range readings {
		if r.Quantity == q {
			return i
		}
	}
	return -1
}

// blame puts the office's problems at the fields they are about.
func (f *recordForm) blame(problems vent.Problems) {
	at := map[string]*field{
		"date": &f.Date, "by": &f.By, "by_name": &f.ByName, "outcome": &f.Outcome, "reach": &f.Reach,
		"lint_before": &f.LintBefore, "lint_after": &f.LintAfter, "note": &f.Note, "after": &f.SpeedAfter,
		"before.air_speed": &f.SpeedBefore, "before.static_pressure": &f.StaticBefore,
		"after.air_speed": &f.SpeedAfter, "after.static_pressure": &f.StaticAfter,
		"photos": &f.Photos, "symptom": &f.Bench.Symptom,
	}
	for _, p := range problems {
		x := at[p.Field]
		switch {
		case x == nil:
			f.General = strings.TrimSpace(f.General + " " + p.Field + " " + p.Text + ".")
		case x.Problem == "":
			x.Problem = x.Label + " " + p.Text
		}
	}
}

// recordFinding takes the form and shows what it brought about, or asks again.
func (s *server) recordFinding(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	words := s.words(v)
	sent, err := s.readVisit(w, r, words)
	if err != nil {
		return err
	}
	form, out, err := s.takeVisit(v, view, sent, figures{words})
	if err != nil {
		return err
	}
	if form.Bad() {
		return s.askAgain(w, v, view, form, sent.fields.Get("from"))
	}
	s.rememberUnits(w, &form)
	s.seeOther(w, r, recordedAddress(out.Finding))
	return nil
}

// recordedAddress gives the address that tells what a finding brought about.
func recordedAddress(x vent.Finding) string {
	return "/runs/" + x.RunID.String() + "?recorded=" + x.ID.String() + "#done"
}

// takeVisit records what the form says. What is wrong with the form stands in it; then nothing was recorded.
func (s *server) takeVisit(v visitor, view desk.RunView, sent sentVisit, words figures) (form recordForm, out desk.Recorded, err error) {
	photos, err := s.photosOf(sent)
	if err != nil {
		return form, out, err
	}
	form = words.emptyForm(view)
	form.fill(sent.fields)
	form.offer(photos, true, s.root)
	form.Photos.Problem = sent.wrong
	base := vent.Finding{RunID: view.Run.ID, Source: sourceVisit}
	if form.Corrects != "" {
		old, ok := findingOf(view, form.Corrects)
		if !ok {
			return form, out, vent.ErrNotFound
		}
		form.offer(old.Photos, false, s.root)
		base, form.Heading = old, words.Say("page.record.correct", "date", words.Date(old.Date))
	}
	x := words.finding(&form, base, view.Dryer)
	if x.Photos = photos; len(photos) > desk.MaxPhotos {
		form.Photos.Problem = words.Say("page.problem.photos", "n", strconv.Itoa(desk.MaxPhotos))
	}
	if form.Bad() {
		return form, out, nil
	}
	out, err = s.write(v, x, form.Corrects)
	var problems vent.Problems
	switch {
	case errors.As(err, &problems):
		form.blame(problems)
		err = nil
	case errors.Is(err, vent.ErrConflict):
		form.General = words.Say("page.problem.conflict", "date", words.Date(x.Date))
		form.Clash, form.Conflict = true, s.standing(view, x)
		err = nil
	}
	return form, out, err
}

// write records a finding, or the correction of one.
func (s *server) write(v visitor, x vent.Finding, corrects string) (desk.Recorded, error) {
	if corrects == "" {
		return s.desk.Record(s.by(v), x)
	}
	return s.desk.Correct(s.by(v), x.ID, x)
}

// standing gives the address of the form that corrects the finding which stands in the way of x.
func (s *server) standing(view desk.RunView, x vent.Finding) string {
	for _, f := range view.Findings {
		if f.Counts() && f.Date == x.Date && f.Source == x.Source {
			return s.root + runAddress(view) + "?correct=" + f.ID.String() + "#record"
		}
	}
	return ""
}

// askAgain shows the page that the form came from, with the form as it was filled and what is wrong with it.
func (s *server) askAgain(w http.ResponseWriter, v visitor, view desk.RunView, form recordForm, from string) error {
	if form.General == "" {
		form.General = s.words(v).Say("page.problem.form")
	}
	if from == fromVisit {
		return s.renderVisit(w, form.status(), v, view, form)
	}
	return s.renderRun(w, form.status(), v, view, form, sentFault{})
}
