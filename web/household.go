package web

import (
	"bytes"
	"crypto/rand"
	"encoding/csv"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"ventdue/desk"
	"ventdue/desk/intake"
	"ventdue/vent"
	"ventdue/vent/airflow"
)

// householdPage asks a household about its dryer: who, where, what heats it, the duct, where it ends, how it is used.
type householdPage struct {
	page
	Problem                                string
	Once                                   string // key of this form: sent twice, it describes one dryer
	Name, Email, Address                   field
	Fuel, Length, Elbows, Material, Outlet field
	Loads, Cleaned                         field
	Max                                    string // the last day that a cleaning can be of
}

// Where a duct may end, as a household knows it: the hood and the roof of the import's columns, or the fault that it is.
var outletsAtHome = []struct {
	key, outlet, roof, fault string
}{
	{"flap", string(airflow.OutletFlapper), "no", ""},
	{"louvers", string(airflow.OutletLouvered), "no", ""},
	{"roof", string(airflow.OutletRoofGooseneck), "yes", ""},
	{"eave", string(airflow.OutletEave), "no", ""},
	{"room", "", "no", "outlet_indoors"},
	{"attic", "", "no", "outlet_attic"},
	{"unknown", "", "", ""},
}

func (s *server) showHousehold(w http.ResponseWriter, r *http.Request, v visitor) error {
	return s.render(w, http.StatusOK, "household", s.householdPage(v, url.Values{}))
}

func (s *server) householdPage(v visitor, sent url.Values) householdPage {
	p := householdPage{page: s.newPage(v, "due"), Once: sent.Get("once")}
	f := figures{p.Words}
	if p.Once == "" || len(p.Once) > 40 {
		p.Once = rand.Text()
	}
	o := s.operator()
	p.Title = p.Say("page.home.title")
	p.Max = vent.DateOf(s.now().In(zoneOf(o.Zone))).String()
	ask := func(name, kind string) field {
		x := field{Name: name, Type: kind, Value: strings.TrimSpace(sent.Get(name)), Label: f.Say("page.home." + name)}
		if hint := "page.home." + name + ".hint"; f.Has(hint) {
			x.Hint = f.Say(hint)
		}
		return x
	}
	p.Name, p.Email, p.Address = ask("name", ""), ask("email", "email"), ask("address", "")
	p.Name.Auto, p.Email.Auto, p.Address.Auto = "name", "email", "street-address"
	if len(sent) == 0 {
		p.Name.Value, p.Email.Value = o.Name, o.Email
	}
	p.Length, p.Elbows, p.Loads, p.Cleaned = ask("length", ""), ask("elbows", ""), ask("loads", ""), ask("cleaned", "date")
	p.Length.Hint = f.Say("page.home.length.hint", "unit", f.lengthUnit())
	p.Fuel, p.Material, p.Outlet = ask("fuel", ""), ask("material", ""), ask("outlet", "")
	p.Fuel.Choices = choices(f, "page.home.fuel.", vent.Electric, vent.Gas, vent.Ventless)
	p.Material.Choices = choices(f, "page.material.", airflow.SmoothMetal, airflow.SemiRigid, airflow.FoilFlex, airflow.PlasticFlex)
	for _, x := range outletsAtHome {
		p.Outlet.Choices = append(p.Outlet.Choices, choice{Value: x.key, Label: f.Say("page.home.outlet." + x.key)})
	}
	p.Fuel.choose(sent.Get("fuel"))
	p.Material.choose(sent.Get("material"))
	p.Outlet.choose(sent.Get("outlet"))
	return p
}

func (f figures) lengthUnit() string {
	if f.us() {
		return f.Say("page.home.feet")
	}
	return f.Say("page.home.metres")
}

func (s *server) takeHousehold(w http.ResponseWriter, r *http.Request, v visitor) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	p := s.householdPage(v, r.PostForm)
	row, fault := p.row()
	report, err := s.desk.Import(r.Context(), s.by(v), desk.Source{Name: "home.csv", Format: intake.CSV, Reader: bytes.NewReader(row)}, desk.ImportOptions{})
	if err != nil {
		return err
	}
	if !report.Stored {
		p.blame(report.Problems.Listed)
		return s.render(w, http.StatusUnprocessableEntity, "household", p)
	}
	run, err := s.desk.FindRun(p.ref())
	if err != nil && !errors.Is(err, vent.ErrNotFound) { // a ventless dryer has none
		return err
	}
	if fault != "" && err == nil {
		if err := s.seenAtHome(v, run, fault); err != nil {
			return err
		}
	}
	err = s.shown.once("home "+p.Once, s.now(), func() (desk.NewFeed, error) {
		return s.desk.CreateFeed(s.by(v), vent.Feed{Scope: vent.OperatorScope, Name: p.Say("page.home.feed"), Alarms: true})
	})
	if err != nil {
		return err
	}
	s.seeOther(w, r, "/welcome/done?"+url.Values{"made": {p.Once}, "run": {run.String()}}.Encode())
	return nil
}

// ref is the key of the run that the form describes.
func (p householdPage) ref() string { return "home-" + p.Once[:min(8, len(p.Once))] }

// row writes the answers as the one row of a file that an import takes, and gives the fault that they tell of.
func (p householdPage) row() (file []byte, fault string) {
	outlet, roof := "", ""
	for _, x := range outletsAtHome {
		if x.key == p.Outlet.Value {
			outlet, roof, fault = x.outlet, x.roof, x.fault
		}
	}
	elbows, material := p.Elbows.Value, p.Material.Value
	if p.Length.Value == "" { // without its length a duct is not described
		elbows, material, outlet = "", "", ""
	}
	cells := [][2]string{
		{"run_ref", p.ref()}, {"contact_name", p.Name.Value}, {"contact_email", p.Email.Value}, {"address", p.Address.Value}, {"fuel", p.Fuel.Value},
		{"duct_length", p.Length.Value}, {"elbows_90", elbows}, {"duct_material", material}, {"outlet", outlet}, {"roof_outlet", roof},
		{"loads_per_week", p.Loads.Value}, {"last_cleaned", p.Cleaned.Value}, {"cleaned_by", ""}}
	if p.Cleaned.Value != "" {
		cells[len(cells)-1][1] = string(vent.ByCustomer) // nobody measured it: lint may have stayed
	}
	if p.Fuel.Value == string(vent.Ventless) { // there is no run to say anything of
		cells, fault = cells[1:5], ""
	}
	var names, values []string
	for _, c := range cells {
		names, values = append(names, c[0]), append(values, strings.Join(strings.Fields(c[1]), " "))
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.WriteAll([][]string{names, values}) // a buffer takes everything
	return b.Bytes(), fault
}

// blame puts what is wrong at the fields that it is about.
func (p *householdPage) blame(problems []intake.Problem) {
	at := map[string]*field{"contact_name": &p.Name, "contact_email": &p.Email, "address": &p.Address, "fuel": &p.Fuel, "duct_length": &p.Length,
		"elbows_90": &p.Elbows, "duct_material": &p.Material, "loads_per_week": &p.Loads, "last_cleaned": &p.Cleaned}
	p.Problem = p.Say("page.problem.form")
	for _, x := range problems {
		f := at[x.Column]
		if f == nil {
			p.Problem += " " + x.What + "."
			continue
		}
		if f.Problem == "" {
			f.Problem = p.Say("page.home." + f.Name + ".problem")
		}
	}
}

// seenAtHome writes down the fault that an answer told of.
func (s *server) seenAtHome(v visitor, run vent.ID, fault string) error {
	by := s.by(v)
	_, err := s.desk.Record(by, vent.Finding{RunID: run, Date: vent.DateOf(by.Now.In(zoneOf(s.operator().Zone))), Source: "setup", By: vent.Doer{Kind: vent.ByUs},
		Outcome: vent.LookedOnly, Reach: vent.ReachHood, Faults: []string{fault}})
	return err
}

// homeDonePage is what a household has after the six questions: its first date and its calendar.
type homeDonePage struct {
	page
	Dues     []dueCard
	Ventless bool
	RunLink  string
	Made     *madeFeed
	Mail     string
}

func (s *server) showHouseholdDone(w http.ResponseWriter, r *http.Request, v visitor) error {
	p := homeDonePage{page: s.newPage(v, "due")}
	f := figures{p.Words}
	p.Title = p.Say("page.home.done")
	q := r.URL.Query()
	if made, ok := s.shown.get("home "+q.Get("made"), s.now()); ok {
		p.Made = s.madeFeed(r, made)
		w.Header().Set("Cache-Control", "no-store")
	}
	id, err := vent.ParseID(q.Get("run"))
	if err != nil {
		p.Ventless = true
		return s.render(w, http.StatusOK, "homedone", p)
	}
	view, err := s.desk.Run(s.by(v), id)
	if err != nil {
		return err
	}
	p.RunLink = s.root + runAddress(view)
	for _, d := range inTurn(view.Dues) {
		p.Dues = append(p.Dues, f.dueCard(d, view.Today))
	}
	if p.Mail, err = s.mailOf(view); err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "homedone", p)
}

// mailOf gives the address that reminders of a run go to; "" where there is none.
func (s *server) mailOf(view desk.RunView) (string, error) {
	people, err := s.desk.People(view.Customer.Persons...)
	for _, x := range people {
		if x.Email != "" {
			return x.Email, nil
		}
	}
	return "", err
}
