package web

import (
	"net/http"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// paper is what every page that is made to be printed needs besides its frame.
type paper struct {
	page
	Heading, Place            string
	Phone, Email              string // of the operator
	Written                   string
	Site, Room, Address, Cust string
	Back, CSV                 string // addresses
}

// runPaper is the service record of one run, or of one visit to it.
type runPaper struct {
	paper
	OneVisit         bool
	Notice           string // that the visit's record was corrected later
	State, StateWord string
	Away             string // how far the next due is
	Dues             []dueCard
	Faults, Closed   []faultCard
	Signs            []notable
	Looks            []look
	Route            geometry
	Dryer            []fact
	Cautions         []string
}

// sitePaper is the service record of a building.
type sitePaper struct {
	paper
	Rows  []standingRow
	Tally []string // how many stand how
	Ended string
}

// standingRow is one run of a building.
type standingRow struct {
	State, StateWord          string
	Door, Link, Dryer         string
	Last, Measured, Next, Why string
	FaultList                 []faultCard
}

func (s *server) showRunPaper(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, err := s.runService(r, v)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "paper-run", s.runPaper(v, record, false))
}

func (s *server) showFindingPaper(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, err := s.findingService(r, v)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "paper-run", s.runPaper(v, record, true))
}

func (s *server) runService(r *http.Request, v visitor) (desk.ServiceRecord, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return desk.ServiceRecord{}, vent.ErrNotFound
	}
	return s.desk.RunService(s.by(v), id)
}

func (s *server) findingService(r *http.Request, v visitor) (desk.ServiceRecord, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return desk.ServiceRecord{}, vent.ErrNotFound
	}
	return s.desk.FindingService(s.by(v), id)
}

// newPaper fills what all papers share.
func (s *server) newPaper(v visitor, o vent.Operator, site vent.Site, customer vent.Customer, today vent.Date) paper {
	p := paper{page: s.newPage(v, ""), Phone: o.Phone, Email: o.Email, Site: site.Name, Address: site.Address, Cust: customer.Name}
	p.Operator = o.Name
	p.Written = p.Say("page.paper.written", "date", p.Date(today))
	return p
}

func (s *server) runPaper(v visitor, record desk.ServiceRecord, one bool) runPaper {
	view := record.RunView
	p := runPaper{paper: s.newPaper(v, record.Operator, view.Site, view.Customer, view.Today), OneVisit: one}
	f := figures{p.Words}
	p.Room, p.Back = roomIn(view.Place), s.root+runAddress(view)
	p.CSV = s.root + runAddress(view) + "/record.csv"
	p.Heading = p.Say("page.paper.title")
	zone := zoneOf(view.Site.Zone)
	for _, x := range view.Findings {
		l := f.look(x, zone, s.root, record.Operator.Name)
		l.Recorded = p.Say("page.paper.recorded", "when", f.moment(x.Recorded, zone))
		p.Looks = append(p.Looks, l)
	}
	if one {
		x := view.Findings[0]
		p.CSV = s.root + "/findings/" + x.ID.String() + "/record.csv"
		p.Heading = p.Say("page.paper.title_visit", "date", p.Date(x.Date))
		if !x.Counts() {
			p.Notice = p.Say("page.paper.corrected")
		}
	}
	p.Title = p.Heading + ": " + view.Label()
	p.State, p.StateWord = f.standing(view.Dues, view.Faults, view.Today)
	for i, d := range inTurn(view.Dues) {
		if i == 0 && p.State != "stop" {
			p.Away = f.Away(d.Day, view.Today)
		}
		p.Dues = append(p.Dues, f.dueCard(d, view.Today))
	}
	gas := view.Dryer.Fuel == vent.Gas
	for _, c := range f.faultCards(view.Faults, gas, view.Run.Shared(), view.Today, zone) {
		if c.Open || c.Waived {
			p.Faults = append(p.Faults, c)
		} else {
			p.Closed = append(p.Closed, c)
		}
	}
	for _, x := range f.signs(view.Signs) {
		if x.State != "done" {
			p.Signs = append(p.Signs, x)
		}
	}
	version := view.Run.Current()
	p.Route = f.geometry(version, view.Dryer, view.InLine, s.desk.Policy().Dates.Edition)
	p.Dryer = f.dryerFacts(view.Dryer)
	p.Cautions = f.Cautions(view.Dryer, version)
	return p
}

func (s *server) siteService(r *http.Request, v visitor) (desk.SiteService, error) {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return desk.SiteService{}, vent.ErrNotFound
	}
	return s.desk.SiteService(s.by(v), id)
}

func (s *server) showSitePaper(w http.ResponseWriter, r *http.Request, v visitor) error {
	record, err := s.siteService(r, v)
	if err != nil {
		return err
	}
	p := sitePaper{paper: s.newPaper(v, record.Operator, record.Site, record.Customer, record.Today)}
	f := figures{p.Words}
	p.Heading = p.Say("page.paper.title_site")
	p.Title = p.Heading + ": " + record.Site.Name
	p.Back, p.CSV = s.root+siteAddress(record.Site.ID), s.root+"/sites/"+record.Site.ID.String()+"/record.csv"
	counts := map[string]int{}
	var order []string
	for _, x := range record.Runs {
		row := f.standingRow(x, record.Operator.Name, record.Today)
		row.Link = s.root + "/runs/" + x.Run.ID.String() + "/record"
		p.Rows = append(p.Rows, row)
		if counts[row.StateWord]++; counts[row.StateWord] == 1 {
			order = append(order, row.StateWord)
		}
	}
	for _, word := range order {
		p.Tally = append(p.Tally, p.Say("page.paper.tally", "n", wording.Grouped(counts[word]), "state", word))
	}
	if record.Ended > 0 {
		p.Ended = counted(p.Words, "page.paper.ended", record.Ended)
	}
	return s.render(w, http.StatusOK, "paper-site", p)
}

func (f figures) standingRow(x desk.RunStanding, us string, today vent.Date) standingRow {
	row := standingRow{Door: doorOf(x.Place), Dryer: f.dryerLine(x.Dryer), Last: f.lastLine(x, us), Measured: f.state(x.Last.LintBefore, x.Last.Before)}
	row.State, row.StateWord = f.standing(x.Dues, x.Faults, today)
	if after := f.state(x.Last.LintAfter, x.Last.After); after != "" {
		row.Measured = after
	}
	for _, c := range f.faultCards(x.Faults, x.Dryer.Fuel == vent.Gas, x.Run.Shared(), today, zoneOf(x.Site.Zone)) {
		if c.Open || c.Waived {
			row.FaultList = append(row.FaultList, c)
		}
	}
	row.Next = f.Say("page.paper.nothing")
	if dues := inTurn(x.Dues); len(dues) > 0 {
		row.Next = f.Say("page.paper.next", "what", f.What(dues[0]), "date", f.Date(dues[0].Day))
		row.Why = f.Reason(dues[0])[0]
	}
	return row
}

// doorOf names a run inside its building, or the building where that is all there is.
func doorOf(p desk.Place) string {
	if room := roomIn(p); room != "" {
		return room
	}
	return p.Site.Name
}

func (f figures) dryerLine(a vent.Appliance) string {
	if a.ID.IsZero() {
		return f.Say("page.fuel.")
	}
	return strings.Join(strings.Fields(f.Say("page.fuel."+string(a.Fuel))+" "+a.Maker+" "+a.Model), " ")
}

// lastLine says when and how a run was last cleaned from end to end, and what came after that.
func (f figures) lastLine(x desk.RunStanding, us string) string {
	line := f.Say("page.paper.not_cleaned")
	if !x.Clean.ID.IsZero() {
		line = f.Say("page.paper.cleaned", "date", f.Date(x.Clean.Date), "who", f.doer(x.Clean.By, us))
	}
	if !x.Last.ID.IsZero() && x.Last.ID != x.Clean.ID {
		line += " " + f.Say("page.paper.after_that", "date", f.Date(x.Last.Date), "outcome", f.Say("page.outcome."+string(x.Last.Outcome)))
	}
	return line
}

// doer names who did it; us is how the operator is called.
func (f figures) doer(d vent.Doer, us string) string {
	who := f.Say("page.by." + string(d.Kind))
	if d.Kind == vent.ByUs {
		who = us
	}
	if d.Name != "" {
		who += ", " + d.Name
	}
	return who
}
