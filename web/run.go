package web

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/scheduler/faults"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// How much of the history and the audit trail a page shows unasked, newest first.
const (
	historyRows = 60
	trailRows   = 40
)

// runPage is everything about one run.
type runPage struct {
	page
	ID                         string
	Site, Room, Address        string
	SiteLink, Customer, CuLink string
	Note, Ended                string
	Access                     []string
	Recorded                   []string   // what the finding that was just recorded changed
	Diagnosis                  *diagnosis // what follows from its part checks; nil where nothing does
	Dues                       []dueCard
	Flow                       flow
	Cautions                   []string
	Route                      geometry
	Dryer                      []fact
	Signs                      []notable
	Faults                     []faultCard
	Checks                     []checkRow
	ChecksLink                 string   // address of all recurring checks of the building; "" for whom that is not
	Doubts                     []string // what cannot be judged, and what is missing for it
	Record, SiteRecord         string   // addresses of the service records
	Visit                      string   // address of the form alone, for a phone
	Label, LabelText           string   // address of the form for whoever lives with the dryer, and how it is written on a label
	LabelSheet                 string   // address of the label to print; "" for whoever may not
	Told                       string   // where it stands who was told; "" for whoever may not see it
	History                    []look
	Earlier                    string // address of the whole history; "" where it is all there
	Trail                      []trailLine
	TrailMore                  string
	Form                       recordForm
}

// dueCard is one open due with all its reasons.
type dueCard struct {
	State, StateWord     string
	Stop                 bool
	What, Day, ISO, Away string
	Reasons, Numbers     []string
}

// notable is a sign.
type notable struct {
	State, StateWord string
	What, When, Note string
}

// look is one finding of the history.
type look struct {
	ID, Day, ISO, Outcome, By string
	Facts                     []fact
	Note, Recorded            string
	Photos                    []photo
	Corrected                 bool   // a later word replaced it
	Corrects                  bool   // it replaced an earlier one
	CorrectLink               string // address of the form that corrects it; "" where it no longer counts
	RecordLink                string // address of the service record of it alone
}

// trailLine is one line of who did what when.
type trailLine struct{ When, ISO, Who, What string }

func (s *server) showRun(w http.ResponseWriter, r *http.Request, v visitor) error {
	view, err := s.runOf(r, v)
	if err != nil {
		return err
	}
	words := figures{s.words(v)}
	form, err := s.formAsked(r, view, words)
	if err != nil {
		return err
	}
	p, err := s.runPage(v, view, form, sentFault{})
	if err != nil {
		return err
	}
	if f, ok := findingOf(view, r.URL.Query().Get("recorded")); ok {
		p.Recorded = words.changes(view, f)
		judged, err := s.desk.Judge(f)
		if err != nil {
			return err
		}
		p.Recorded = append(p.Recorded, words.judgedReadings(judged)...)
		follows, err := s.desk.Diagnosis(f.ID)
		if err != nil {
			return err
		}
		p.Diagnosis = words.diagnosed(follows)
	}
	if len(p.History) > historyRows && r.URL.Query().Get("history") != "all" {
		p.History, p.Earlier = p.History[:historyRows], s.root+runAddress(view)+"?history=all#history"
	}
	return s.render(w, http.StatusOK, "run", p)
}

// runOf loads the run that an address names.
func (s *server) runOf(r *http.Request, v visitor) (desk.RunView, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return desk.RunView{}, vent.ErrNotFound
	}
	return s.desk.Run(s.by(v), id)
}

// runAddress gives the address of a run's page.
func runAddress(view desk.RunView) string { return "/runs/" + view.Run.ID.String() }

func findingOf(view desk.RunView, id string) (vent.Finding, bool) {
	for _, f := range view.Findings {
		if id != "" && f.ID.String() == id {
			return f, true
		}
	}
	return vent.Finding{}, false
}

func (s *server) runPage(v visitor, view desk.RunView, form recordForm, sent sentFault) (p runPage, err error) {
	p = runPage{page: s.newPage(v, "due"), ID: view.Run.ID.String(), Form: form}
	f := figures{p.Words}
	p.Title = view.Label()
	p.Site, p.Room, p.Address = view.Site.Name, roomIn(view.Place), view.Site.Address
	p.SiteLink, p.CuLink = s.root+siteAddress(view.Site.ID), s.root+customerAddress(view.Customer.ID)
	p.Customer, p.Note, p.Access = view.Customer.Name, view.Run.Note, f.access(view.Site.Access.Public())
	if view.Run.Ended != 0 {
		p.Ended = f.Say("page.run.ended", "date", f.Date(view.Run.Ended))
	}
	for _, d := range inTurn(view.Dues) {
		p.Dues = append(p.Dues, f.dueCard(d, view.Today))
	}
	version := view.Run.Current()
	p.Cautions = f.Cautions(view.Dryer, version)
	p.Route = f.geometry(version, view.Dryer, view.InLine, s.desk.Policy().Dates.Edition)
	p.Dryer = f.dryerFacts(view.Dryer)
	p.Signs = f.signs(view.Signs)
	p.Faults = f.faultCards(view.Faults, view.Dryer.Fuel == vent.Gas, view.Run.Shared(), view.Today, zoneOf(view.Site.Zone))
	for i := range p.Faults {
		p.Faults[i].Forms = f.faultForms(p.Faults[i].fault, view.Today, s.root+runAddress(view), sent)
	}
	for _, x := range f.CheckItems(view.Checks) {
		p.Checks = append(p.Checks, f.checkRow(x, view.Today))
	}
	if v.role.May(vent.Office) {
		p.ChecksLink = s.root + checksAddress(view.Site.ID)
	}
	p.Label = s.root + s.signs.Path(view.Run.ID)
	p.LabelText = s.baseURL + s.signs.Path(view.Run.ID)
	if v.role.May(vent.Office) {
		p.Told = s.root + "/customers/" + view.Customer.ID.String() + "/mail"
		p.LabelSheet = s.root + "/labels?site=" + view.Site.ID.String() + "&run=" + p.ID
	}
	p.Visit = s.root + visitAddress(view)
	p.Record, p.SiteRecord = s.root+runAddress(view)+"/record", s.root+"/sites/"+view.Site.ID.String()+"/record"
	zone := zoneOf(view.Site.Zone)
	for _, x := range view.Findings {
		p.History = append(p.History, f.look(x, zone, s.root, f.Say("page.by.us")))
	}
	p.Trail = f.trail(view.Trail, zone)
	if n := len(view.Trail) - trailRows; n > 0 {
		p.TrailMore = f.Say("page.trail.more", "n", strconv.Itoa(n))
	}
	doubts, err := s.desk.Doubts(s.by(v), view.Run.ID)
	if err != nil {
		return p, err
	}
	p.Doubts = each(doubts, func(d faults.Doubt) string { return f.Say("page.doubt", "rule", f.rule(d.Rule), "why", d.Why) })
	if err := s.gaugeForm(&p.Form, view); err != nil {
		return p, err
	}
	p.Flow, err = s.flowOf(v, view)
	return p, err
}

// renderRun writes a run's page with forms that were sent and have to be asked again.
func (s *server) renderRun(w http.ResponseWriter, status int, v visitor, view desk.RunView, form recordForm, sent sentFault) error {
	p, err := s.runPage(v, view, form, sent)
	if err != nil {
		return err
	}
	return s.render(w, status, "run", p)
}

func zoneOf(name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC
	}
	return z
}

func (f figures) dueCard(d vent.Due, today vent.Date) dueCard {
	state := wording.StateKey(d, today)
	return dueCard{State: state, StateWord: f.Say("state." + state), Stop: d.Severity == vent.Stop,
		What: f.What(d), Day: f.Date(d.Day), ISO: d.Day.String(), Away: f.Away(d.Day, today), Reasons: f.Reason(d), Numbers: f.Numbers(d)}
}

// access tells how to get in, without codes and keys: those are for the assigned technician on the day.
func (f figures) access(a vent.Access) []string {
	var all []string
	for _, x := range []struct {
		is  bool
		key string
	}{{a.Dog, "dog"}, {a.Ladder, "ladder"}, {a.Roof, "roof"}} {
		if x.is {
			all = append(all, f.Say("page.access."+x.key))
		}
	}
	if a.Parking != "" {
		all = append(all, f.Say("page.access.parking", "where", a.Parking))
	}
	if a.Note != "" {
		all = append(all, a.Note)
	}
	return all
}

func (f figures) signs(signs []vent.Sign) []notable {
	var all []notable
	for i := len(signs) - 1; i >= 0; i-- {
		x := signs[i]
		n := notable{State: "soon", StateWord: f.Say("page.sign.open"), What: f.named("sign.", string(x.Kind)), When: f.Date(x.On), Note: x.Note}
		if !x.Open() {
			n.State, n.StateWord = "done", f.Say("page.sign.answered")
		}
		if x.By != "" {
			n.When += ", " + x.By
		}
		all = append(all, n)
	}
	return all
}

// named gives the catalogue's text of an id, or the id as words.
func (f figures) named(prefix, id string) string {
	if f.Has(prefix + id) {
		return f.Say(prefix + id)
	}
	return strings.ReplaceAll(id, "_", " ")
}

// look tells one finding. root stands before every address; us is how the operator is called.
func (f figures) look(x vent.Finding, zone *time.Location, root, us string) look {
	l := look{ID: x.ID.String(), Day: f.Date(x.Date), ISO: x.Date.String(), Outcome: f.Say("page.outcome." + string(x.Outcome)),
		By: f.doer(x.By, us), Note: x.Note, Corrected: !x.Counts(), Corrects: !x.Corrects.IsZero()}
	if x.Counts() {
		l.CorrectLink = root + "/runs/" + x.RunID.String() + "?correct=" + l.ID + "#record"
	}
	l.Photos = pictures(x.Photos, root)
	l.RecordLink = root + "/findings/" + l.ID + "/record"
	add := func(key string, values ...string) {
		if value := strings.Join(values, "; "); value != "" {
			l.Facts = append(l.Facts, fact{Label: f.Say("page.look." + key), Value: value})
		}
	}
	if x.Symptom != vent.NoSymptom {
		add("symptom", f.Say("page.symptom."+string(x.Symptom)))
	}
	add("before", f.state(x.LintBefore, x.Before))
	if x.Reach != vent.ReachUnknown {
		add("reach", f.Say("page.reach."+string(x.Reach)))
	}
	add("after", f.state(x.LintAfter, x.After))
	add("faults", each(x.Faults, f.rule)...)
	add("fixed", each(x.Fixed, f.rule)...)
	add("parts", each(x.Parts, f.part)...)
	add("close_out", each(x.CloseOut, f.CloseLine)...)
	if x.LoadCounter > 0 {
		add("counter", wording.Grouped(int(x.LoadCounter)))
	}
	if x.Recorded != 0 {
		l.Recorded = f.Say("page.look.recorded", "when", f.moment(x.Recorded, zone), "who", x.Recorder)
	}
	return l
}

func each[T, U any](list []T, say func(T) U) []U {
	all := make([]U, len(list))
	for i, x := range list {
		all[i] = say(x)
	}
	return all
}

// part tells the check of one part of the dryer.
func (f figures) part(x vent.PartCheck) string {
	said := f.Say("page.part", "part", f.PartName(x.Part), "result", f.named("page.part.", x.Result))
	if x.Reading != nil {
		said += ", " + f.Reading(*x.Reading)
	}
	if x.Replaced {
		said += ", " + f.Say("page.part.replaced")
	}
	if x.Note != "" {
		said += " (" + x.Note + ")"
	}
	return said
}

// state tells what a run looked and measured like at one moment.
func (f figures) state(lint vent.Grade, readings []vent.Reading) string {
	var parts []string
	if lint != vent.NotGraded {
		parts = append(parts, f.Say("page.grade."+string(lint)))
	}
	for _, r := range readings {
		parts = append(parts, f.Reading(r))
	}
	return strings.Join(parts, "; ")
}

func (f figures) moment(at vent.Instant, zone *time.Location) string {
	t := at.Time().In(zone)
	return f.Date(vent.DateOf(t)) + ", " + t.Format("15:04")
}

func (f figures) trail(trail []vent.Audit, zone *time.Location) []trailLine {
	var all []trailLine
	for i := len(trail) - 1; i >= 0 && len(all) < trailRows; i-- {
		x := trail[i]
		all = append(all, trailLine{When: f.moment(x.At, zone), ISO: x.At.String(), Who: x.Actor, What: x.What})
	}
	return all
}

// changes says in sentences what a finding brought about. It is worked out from what is stored, so that the page can be
// loaded again and says the same while nothing else happens.
func (f figures) changes(view desk.RunView, x vent.Finding) []string {
	key := "page.recorded"
	if !x.Corrects.IsZero() {
		key = "page.recorded.corrected"
	}
	all := []string{f.Say(key, "outcome", f.Say("page.outcome."+string(x.Outcome)), "date", f.Date(x.Date))}
	for _, d := range view.Past {
		if d.ClosedBy == x.ID {
			all = append(all, f.Say("page.recorded.closed", "what", f.What(d), "date", f.Date(d.Day)))
		}
	}
	if missing := faults.MissingCloseOut(x, view.Dryer.Fuel); len(missing) > 0 {
		lines := each(missing, func(l rules.CloseLine) string { return f.CloseLine(l.ID) })
		all = append(all, f.Say("page.recorded.missing", "what", strings.Join(lines, "; ")))
	}
	for _, d := range inTurn(view.Dues) {
		all = append(all, f.Say("page.recorded.next", "what", f.What(d), "date", f.Date(d.Day), "away", f.Away(d.Day, view.Today)))
	}
	return all
}
