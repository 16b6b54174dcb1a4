package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
	"ventdue/vent/rules"
)

// checksPage is the recurring checks of one building, in at most five lines.
type checksPage struct {
	page
	Site, Address    string
	SiteLink         string
	Customer, CuLink string
	Lines            []checkLine
	Off, Left        []checkRow
	OnAction         string
	Alarm            alarmForm
}

// checkLine is one errand with the form that says what became of it.
type checkLine struct {
	Line, Name           string
	State, StateWord     string
	Day, ISO, Away       string
	Action               string
	General              string // what is wrong with no field in particular
	Open                 bool   // the second part was sent and has to be asked again
	Rows                 []checkRow
	How, Cautions        []string
	Who, Why, Months     field
	On, Made, New, Until dayField
	Alarm                bool // an alarm is to be replaced: its dates are asked for
	Change               field
}

// checkRow is one check.
type checkRow struct {
	Ref, Name, Where, Every string
	Next, Last, Note        string
	Ticked                  bool
}

// dayField asks for a day.
type dayField struct {
	field
	Min, Max string
}

// alarmForm asks for one more alarm.
type alarmForm struct {
	Action, General string
	Kind, Unit      field
	Made, New       dayField
	Open            bool
}

// sentChecks is a form as it was sent: which, with what, and why it has to be asked again.
type sentChecks struct {
	form    string // a line's, or formOn or formAlarm
	values  url.Values
	problem error
}

// The forms of the page that belong to no line.
const (
	formOn    = "on"
	formAlarm = "alarm"
)

// changeDo is what the second part of a line's form sends: what is chosen there is done.
const changeDo = "change"

// checksAddress gives the address of a site's recurring checks.
func checksAddress(site vent.ID) string { return "/sites/" + site.String() + "/checks" }

func (s *server) showChecks(w http.ResponseWriter, r *http.Request, v visitor) error {
	sheet, err := s.checksOf(r, v)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "checks", s.checksPage(v, sheet, sentChecks{}))
}

// checksOf loads the checks of the site that an address names.
func (s *server) checksOf(r *http.Request, v visitor) (desk.CheckSheet, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return desk.CheckSheet{}, vent.ErrNotFound
	}
	return s.desk.CheckSheet(s.by(v), id)
}

func (s *server) checksPage(v visitor, sheet desk.CheckSheet, sent sentChecks) checksPage {
	p := checksPage{page: s.newPage(v, "due"), Site: sheet.Site.Name, Address: sheet.Site.Address, Customer: sheet.Customer.Name,
		SiteLink: s.root + "/?site=" + sheet.Site.ID.String(), CuLink: s.root + "/?customer=" + sheet.Customer.ID.String(),
		OnAction: s.root + checksAddress(sheet.Site.ID) + "/" + formOn + "#off"}
	p.Title = p.Say("page.checks.title") + ": " + sheet.Site.Name
	f := figures{p.Words}
	told := f.CheckSheet(sheet)
	usual := "" // in one's own home it is mostly oneself
	if o := s.operator(); o.Kind == vent.Household {
		usual = o.Name
	}
	for _, l := range told.Lines {
		x := f.checkLine(l, s.root+checksAddress(sheet.Site.ID), sheet.Today, sent)
		if sent.form != x.Line {
			x.Who.Value = usual
		}
		p.Lines = append(p.Lines, x)
	}
	p.Off = each(told.Off, func(x wording.CheckItem) checkRow { return f.checkRow(x, sheet.Today) })
	p.Left = each(told.Left, func(x wording.CheckItem) checkRow { return f.checkRow(x, sheet.Today) })
	p.Alarm = f.alarmForm(sheet, s.root+checksAddress(sheet.Site.ID), sent)
	return p
}

func (f figures) checkRow(x wording.CheckItem, today vent.Date) checkRow {
	r := checkRow{Ref: x.Ref, Name: x.Name, Where: x.Where, Every: x.Every, Last: f.Say("page.checks.never")}
	if x.Day != 0 {
		r.Next = f.Say("page.checks.next", "date", f.Date(x.Day), "away", f.Away(x.Day, today))
	}
	if x.LastDone != 0 {
		r.Last = f.Say("page.checks.last", "date", f.Date(x.LastDone), "who", x.DoneBy)
	}
	switch {
	case x.PutOff != 0 && x.PutOff == x.Day:
		r.Note = f.Say("page.checks.put_off", "date", f.Date(x.PutOff), "who", x.Who, "why", x.Why)
	case x.Off:
		r.Note = f.Say("page.checks.off.by", "who", x.Who, "why", x.Why)
	case x.Why != "":
		r.Note = f.Say("page.checks.noted", "why", x.Why)
	}
	return r
}

// checkLine asks what became of one errand. What is due of it is ticked.
func (f figures) checkLine(l wording.CheckLine, site string, today vent.Date, sent sentChecks) checkLine {
	name := string(l.Line)
	mine := sent.form == name
	x := checkLine{Line: name, Name: l.Name, State: l.State, StateWord: f.Say("state." + l.State), Day: f.Date(l.Day), ISO: l.Day.String(), Away: l.Away,
		Action: site + "/" + name + "#" + name}
	seen := map[string]bool{}
	var due []string
	for i, c := range l.Checks {
		row := f.checkRow(c, today)
		row.Ticked = i < l.Due
		if mine {
			row.Ticked = slices.Contains(sent.values["check"], c.Ref)
		}
		x.Rows = append(x.Rows, row)
		x.Alarm = x.Alarm || c.Rule == rules.CheckAlarmReplace
		if !seen[c.How] {
			seen[c.How] = true
			x.How, due = append(x.How, c.How), append(due, c.Rule)
		}
	}
	x.Cautions = f.CheckCautions(due...)
	x.Who = f.checkField("who", name)
	x.Why, x.Months = f.checkField("why", name), f.checkField("months", name)
	x.On = dayField{field: f.checkField("on", name), Max: today.String()}
	x.On.Value = today.String()
	x.Until = dayField{field: f.checkField("until", name), Min: today.AddDays(1).String()}
	x.Made, x.New = dayField{field: f.checkField("made", name), Max: today.String()}, dayField{field: f.checkField("replace", name)}
	x.Change = field{Name: "change", Label: f.Say("page.checks.do")}
	for _, do := range []desk.CheckDo{desk.CheckSkip, desk.CheckPutOff, desk.CheckSet, desk.CheckOff} {
		x.Change.Choices = append(x.Change.Choices, choice{Value: string(do), Label: f.Say("page.checks.do." + string(do)), Chosen: mine && sent.values.Get("change") == string(do)})
	}
	if mine {
		x.again(sent)
	}
	return x
}

// checkField is a field of a line's form. Its name carries the form, since a page has one for each line.
func (f figures) checkField(name, form string) field {
	return field{Name: name + "-" + form, Label: f.Say("page.checks.field." + name)}
}

// again fills in what was sent, and puts what was wrong at the fields it is about.
func (x *checkLine) again(sent sentChecks) {
	fields := map[string]*field{"who": &x.Who, "why": &x.Why, "months": &x.Months, "on": &x.On.field, "until": &x.Until.field, "made": &x.Made.field, "replace": &x.New.field}
	for _, to := range fields {
		to.Value = sent.values.Get(to.Name)
	}
	x.Open = sent.values.Get("do") == changeDo
	var problems vent.Problems
	if !errors.As(sent.problem, &problems) {
		x.General = answerTo(sent.problem).detail
		return
	}
	about := map[string]string{"by": "who", "why": "why", "months": "months", "date": "on", "until": "until", "made": "made", "replace_by": "replace"}
	for _, p := range problems {
		if to := fields[about[p.Field]]; to != nil && to.Problem == "" {
			to.Problem = to.Label + " " + p.Text
		} else {
			x.General = strings.TrimSpace(x.General + " " + p.Text + ".")
		}
	}
}

// actOnChecks does what a form of the page asks for.
func (s *server) actOnChecks(w http.ResponseWriter, r *http.Request, v visitor) error {
	sheet, err := s.checksOf(r, v)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	sent := sentChecks{form: r.PathValue("form"), values: r.PostForm}
	switch {
	case sent.form == formAlarm:
		sent.problem = s.addAlarm(v, sheet, sent)
	case sent.form == formOn || isLine(sent.form):
		sent.problem = s.takeChecks(v, sheet, sent)
	default:
		return vent.ErrNotFound
	}
	if sent.problem == nil {
		s.seeOther(w, r, checksAddress(sheet.Site.ID)+"#"+anchorOf(sent.form))
		return nil
	}
	a := answerTo(sent.problem)
	if a.status != http.StatusUnprocessableEntity && a.status != http.StatusConflict || sent.form == formOn {
		return sent.problem
	}
	return s.render(w, a.status, "checks", s.checksPage(v, sheet, sent))
}

func isLine(name string) bool { return slices.Contains(rules.Lines(), rules.Line(name)) }

func anchorOf(form string) string {
	if form == formOn {
		return "lines"
	}
	return form
}

func (s *server) takeChecks(v visitor, sheet desk.CheckSheet, sent sentChecks) error {
	at := func(name string) string { return strings.TrimSpace(sent.values.Get(name + "-" + sent.form)) }
	a := desk.CheckAct{Do: desk.CheckDo(sent.values.Get("do")), Who: cleanName(at("who"))}
	switch a.Do {
	case desk.CheckDone, desk.CheckOn:
	case changeDo:
		if a.Do = desk.CheckDo(sent.values.Get("change")); a.Do == "" {
			return vent.Problems{{Field: "change", Text: "choose what is to be done"}}
		}
		a.Why = at("why")
	default:
		return vent.ErrNotFound
	}
	var p vent.Problems
	days := []struct {
		name, field string
		into        *vent.Date
		of          desk.CheckDo
	}{{"on", "date", &a.On, desk.CheckDone}, {"made", "made", &a.Made, desk.CheckDone}, {"replace", "replace_by", &a.Replace, desk.CheckDone}, {"until", "until", &a.Until, desk.CheckPutOff}}
	for _, d := range days {
		typed := at(d.name)
		if typed == "" || a.Do != d.of && (a.Do != desk.CheckSet || d.name == "on" || d.name == "until") {
			continue
		}
		var err error
		if *d.into, err = vent.ParseDate(typed); err != nil {
			p.Add(d.field, typed, "is not a day: write it as YYYY-MM-DD")
		}
	}
	if a.Do == desk.CheckSet && (at("months") != "" || a.Made == 0 && a.Replace == 0) {
		var err error
		if a.Months, err = strconv.Atoi(at("months")); err != nil {
			p.Add("months", at("months"), "is not a number of months")
		}
	}
	if err := p.Err(); err != nil {
		return err
	}
	refs := sent.values["check"]
	if err := ofSheet(sheet, refs); err != nil {
		return err
	}
	_, err := s.desk.ActOnChecks(s.by(v), refs, a)
	return err
}

// ofSheet refuses checks that are not the site's.
func ofSheet(sheet desk.CheckSheet, refs []string) error {
	known := map[string]bool{}
	for _, l := range sheet.Lines {
		for _, x := range l.Items {
			known[x.Ref] = true
		}
	}
	for _, list := range [][]desk.CheckView{sheet.Off, sheet.Left} {
		for _, x := range list {
			known[x.Ref] = true
		}
	}
	var p vent.Problems
	for _, ref := range refs {
		if !known[ref] {
			p.Add("checks", ref, "is no check of this site")
		}
	}
	return p.Err()
}

func (f figures) alarmForm(sheet desk.CheckSheet, site string, sent sentChecks) alarmForm {
	x := alarmForm{Action: site + "/" + formAlarm + "#" + formAlarm,
		Kind: field{Name: "kind", Label: f.Say("page.checks.alarm.kind")}, Unit: field{Name: "unit", Label: f.Say("page.checks.alarm.unit")},
		Made: dayField{field: field{Name: "made-alarm", Label: f.Say("page.checks.alarm.made")}, Max: sheet.Today.String()},
		New:  dayField{field: field{Name: "replace-alarm", Label: f.Say("page.checks.alarm.replace")}}}
	for _, k := range []vent.ApplianceKind{vent.SmokeAlarm, vent.COAlarm} {
		x.Kind.Choices = append(x.Kind.Choices, choice{Value: string(k), Label: f.Say("page.checks.alarm." + string(k)), Chosen: sent.values.Get("kind") == string(k)})
	}
	for _, u := range sheet.Units {
		x.Unit.Choices = append(x.Unit.Choices, choice{Value: u.ID.String(), Label: u.Name, Chosen: len(sheet.Units) == 1 || sent.values.Get("unit") == u.ID.String()})
	}
	if x.Open = sent.form == formAlarm; x.Open {
		x.Made.Value, x.New.Value = sent.values.Get("made-alarm"), sent.values.Get("replace-alarm")
		x.General = f.Say("page.checks.problem") + " " + answerTo(sent.problem).detail
	}
	return x
}

// addAlarm keeps one more alarm.
func (s *server) addAlarm(v visitor, sheet desk.CheckSheet, sent sentChecks) error {
	a := desk.Alarm{Kind: vent.ApplianceKind(sent.values.Get("kind"))}
	var p vent.Problems
	for _, d := range []struct {
		name, field string
		into        *vent.Date
	}{{"made-alarm", "made", &a.Made}, {"replace-alarm", "replace_by", &a.Replace}} {
		if typed := strings.TrimSpace(sent.values.Get(d.name)); typed != "" {
			var err error
			if *d.into, err = vent.ParseDate(typed); err != nil {
				p.Add(d.field, typed, "is not a day: write it as YYYY-MM-DD")
			}
		}
	}
	var unit vent.ID
	for _, u := range sheet.Units {
		if u.ID.String() == sent.values.Get("unit") {
			unit = u.ID
		}
	}
	if unit.IsZero() {
		p.Add("unit", sent.values.Get("unit"), "is missing: say where the alarm is")
	}
	if err := p.Err(); err != nil {
		return err
	}
	_, _, err := s.desk.AddAlarm(s.by(v), unit, a)
	return err
}
