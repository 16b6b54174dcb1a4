package web

import (
	"net/http"
	"strings"

	"ventdue/desk"
	"ventdue/desk/wording"
	"ventdue/vent"
)

// apiSite is a building: how each of its runs stands, and who is coming. How to get in stands nowhere in it.
type apiSite struct {
	apiNamed
	Zone     string      `json:"zone"`
	Customer apiNamed    `json:"customer"`
	Today    vent.Date   `json:"today"` // at the site
	Runs     []apiRunAt  `json:"runs"`
	Ended    int         `json:"ended_runs"` // that are no longer kept, left out
	Visits   []apiBooked `json:"visits"`     // booked, from today on
}

// apiRunAt is how one run of a building stands.
type apiRunAt struct {
	ID        vent.ID   `json:"id"`
	Name      string    `json:"name"`
	Unit      *apiNamed `json:"unit,omitempty"`
	State     string    `json:"state"` // stop, unknown, overdue, soon, later, done
	StateText string    `json:"state_text"`
	Dryer     string    `json:"dryer,omitempty"`
	Last      vent.Date `json:"last_finding,omitzero"`
	Clean     vent.Date `json:"last_full_cleaning,omitzero"`
	Next      *apiDue   `json:"next,omitempty"`
	Dues      int       `json:"dues"`
	Faults    []string  `json:"open_faults"` // ids of rules
}

// apiBooked is a visit in a list.
type apiBooked struct {
	ID         vent.ID         `json:"id"`
	State      vent.VisitState `json:"state"`
	On         vent.Date       `json:"on"`
	Start      int             `json:"start_minutes"`
	Minutes    int             `json:"minutes"`
	Zone       string          `json:"zone"`
	Technician string          `json:"technician,omitempty"`
	Site       *apiNamed       `json:"site,omitempty"`
	Customer   *apiNamed       `json:"customer,omitempty"`
	Doors      int             `json:"doors"`
}

func bookedOf(x desk.BookedVisit) apiBooked {
	return apiBooked{ID: x.Visit.ID, State: x.Visit.State, On: x.Visit.On, Start: x.Visit.Start, Minutes: x.Visit.Minutes, Zone: x.Visit.Zone, Doors: x.Doors,
		Technician: x.Technician, Site: named(x.Site.ID, x.Site.Name, x.Site.Address), Customer: named(x.Customer.ID, x.Customer.Name, "")}
}

func runAt(words wording.Words, x desk.RunStanding, today vent.Date) apiRunAt {
	out := apiRunAt{ID: x.Run.ID, Name: x.Run.Name, Unit: unitOf(x.Place), Last: x.Last.Date, Clean: x.Clean.Date, Dues: len(x.Dues), Faults: []string{}}
	if !x.Dryer.ID.IsZero() {
		out.Dryer = firstOf(strings.TrimSpace(x.Dryer.Maker+" "+x.Dryer.Model), string(x.Dryer.Fuel))
	}
	out.State, out.StateText = figures{words}.standing(x.Dues, x.Faults, today)
	if len(x.Dues) > 0 {
		next := dueOf(words, inTurn(x.Dues)[0], today)
		out.Next = &next
	}
	for _, f := range x.Faults {
		if standsOpen(f, today) {
			out.Faults = append(out.Faults, f.Rule)
		}
	}
	return out
}

func (s *server) apiSite(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	x, err := s.desk.Site(s.by(v), id)
	if err != nil {
		return err
	}
	words := s.words(v)
	return writeJSON(w, http.StatusOK, apiSite{apiNamed: apiNamed{ID: x.Site.ID, Name: x.Site.Name, Address: x.Site.Address}, Zone: x.Site.Zone,
		Customer: apiNamed{ID: x.Customer.ID, Name: x.Customer.Name}, Today: x.Today, Ended: x.Ended, Visits: each(x.Visits, bookedOf),
		Runs: each(x.Runs, func(y desk.RunStanding) apiRunAt { return runAt(words, y, x.Today) })})
}

// apiCustomer is a customer with contacts and buildings.
type apiCustomer struct {
	ID      vent.ID       `json:"id"`
	Ref     string        `json:"ref,omitempty"` // the operator's own key
	Name    string        `json:"name"`
	Ended   vent.Date     `json:"ended,omitzero"`
	Today   vent.Date     `json:"today"`
	Persons []apiContact  `json:"persons"`
	Sites   []apiSiteLine `json:"sites"`
}

type apiContact struct {
	ID    vent.ID `json:"id"`
	Name  string  `json:"name"`
	Email string  `json:"email,omitempty"`
	Phone string  `json:"phone,omitempty"`
	Why   string  `json:"unreachable,omitempty"` // why no reminder by mail reaches them
}

type apiSiteLine struct {
	apiNamed
	Runs   int       `json:"runs"`
	Counts apiCounts `json:"counts"`
	Next   *apiDue   `json:"next,omitempty"`
}

func (s *server) apiCustomer(w http.ResponseWriter, r *http.Request, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	x, err := s.desk.Customer(s.by(v), id)
	if err != nil {
		return err
	}
	words := s.words(v)
	return writeJSON(w, http.StatusOK, apiCustomer{ID: x.Customer.ID, Ref: x.Customer.Ref, Name: x.Customer.Name, Ended: x.Customer.Ended, Today: x.Today,
		Persons: each(x.Persons, func(c desk.ContactView) apiContact {
			return apiContact{ID: c.Person.ID, Name: c.Person.Name, Email: c.Person.Email, Phone: c.Person.Phone, Why: c.Why}
		}),
		Sites: each(x.Sites, func(y desk.SiteSum) apiSiteLine {
			line := apiSiteLine{apiNamed: apiNamed{ID: y.Site.ID, Name: y.Site.Name, Address: y.Site.Address}, Runs: y.Runs, Counts: apiCounts(y.Counts)}
			if !y.Next.ID.IsZero() {
				next := dueOf(words, y.Next, x.Today)
				line.Next = &next
			}
			return line
		})})
}

// apiToday is what needs somebody now, and what comes: at most max of each.
type apiToday struct {
	Today       vent.Date          `json:"today"`
	Counts      apiCounts          `json:"counts"`
	Stop        []apiDue           `json:"stop"`
	Overdue     []apiDue           `json:"overdue"`
	Unbooked    []apiDue           `json:"unbooked"`
	Soon        []apiDue           `json:"soon"`
	Visits      []apiBooked        `json:"visits"`
	Undelivered []desk.ToldMessage `json:"undelivered"`
	NoVisit     int                `json:"unbooked_total"`
	NoMail      int                `json:"undelivered_total"`
}

func (s *server) apiToday(w http.ResponseWriter, r *http.Request, v visitor) error {
	max, err := rowsAsked(r.URL.Query().Get("max"))
	if err != nil {
		return err
	}
	x, err := s.desk.Day(s.by(v), max)
	if err != nil {
		return err
	}
	words := s.words(v)
	dues := func(all []desk.DueView) []apiDue {
		return each(all, func(d desk.DueView) apiDue { return placedDue(words, d, x.Today) })
	}
	return writeJSON(w, http.StatusOK, apiToday{Today: x.Today, Counts: apiCounts(x.Counts), Stop: dues(x.Stop), Overdue: dues(x.Overdue), Unbooked: dues(x.Unbooked),
		Soon: dues(x.Soon), Visits: each(x.Visits, bookedOf), Undelivered: listed(x.Undelivered), NoVisit: x.UnbookedTotal, NoMail: x.UndeliveredTotal})
}

// apiMonth is what is due and booked on the days of a month.
type apiMonth struct {
	Today vent.Date     `json:"today"`
	Days  []apiMonthDay `json:"days"`
}

type apiMonthDay struct {
	On          vent.Date   `json:"on"`
	Dues        []apiDue    `json:"dues"`
	Visits      []apiBooked `json:"visits"`
	TotalDues   int         `json:"total_dues"`
	TotalVisits int         `json:"total_visits"`
}

type apiMonthQuery struct {
	On  string `query:"on" pattern:"^[0-9]{4}-[0-9]{2}$" description:"YYYY-MM; without it the present month"`
	Max int    `query:"max" minimum:"1" maximum:"1000" default:"100" description:"of dues and of visits on each day"`
}

func (s *server) apiMonth(w http.ResponseWriter, r *http.Request, v visitor) error {
	var of vent.Date
	var err error
	if given := r.URL.Query().Get("on"); given != "" {
		if of, err = vent.ParseDate(given + "-01"); err != nil {
			var p vent.Problems
			p.Add("on", given, "is not a month: write it as YYYY-MM")
			return p
		}
	}
	max, err := rowsAsked(r.URL.Query().Get("max"))
	if err != nil {
		return err
	}
	m, err := s.desk.Month(s.by(v), of, max)
	if err != nil {
		return err
	}
	words, out := s.words(v), apiMonth{Today: m.Today, Days: []apiMonthDay{}}
	for i, day := range m.Days {
		out.Days = append(out.Days, apiMonthDay{On: m.First.AddDays(i), Visits: each(day.Visits, bookedOf), TotalDues: day.TotalDues, TotalVisits: day.TotalVisit,
			Dues: each(day.Dues, func(d desk.DueView) apiDue { return placedDue(words, d, m.Today) })})
	}
	return writeJSON(w, http.StatusOK, out)
}

type apiHits struct {
	Total int      `json:"total"`
	Hits  []apiHit `json:"hits"` // the best first
}

type apiHit struct {
	Kind   vent.Kind `json:"kind"` // customer, site, run, person
	ID     vent.ID   `json:"id"`
	Name   string    `json:"name"`
	Detail string    `json:"detail,omitempty"`
}

type apiSearchQuery struct {
	Words string `query:"q" required:"true" description:"words or parts of words that all occur"`
	Skip  int    `query:"skip" minimum:"0"`
	Max   int    `query:"max" minimum:"1" maximum:"1000" default:"100"`
}

func (s *server) apiSearch(w http.ResponseWriter, r *http.Request, _ visitor) error {
	words := searched(r.URL.Query().Get("q"))
	if words == "" {
		return vent.Problems{{Field: "q", Text: "is missing: say what to find"}}
	}
	_, skip, err := pageQuery(r)
	if err != nil {
		return err
	}
	max, err := rowsAsked(r.URL.Query().Get("max"))
	if err != nil {
		return err
	}
	hits, err := s.desk.Search(words, skip, max)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, apiHits{Total: hits.Total, Hits: each(hits.List, func(h desk.Hit) apiHit { return apiHit(h) })})
}

// apiPlaceRoutes names the addresses for buildings, customers, and what is on when.
func (s *server) apiPlaceRoutes() []route {
	const office, technician, read = vent.Office, vent.Technician, vent.TokenRead
	return []route{
		apiFor(technician, read, "GET /api/sites/{id}", s.apiSite).onDuty().says(apiDoc{ID: "getSite", Summary: "A building: how its runs stand, what is next, who is coming", Out: apiSite{}}),
		apiFor(office, read, "GET /api/customers/{id}", s.apiCustomer).says(apiDoc{ID: "getCustomer", Summary: "A customer with contacts and buildings", Out: apiCustomer{}}),
		apiFor(office, read, "GET /api/today", s.apiToday).says(apiDoc{ID: "getToday", Summary: "What needs somebody now, and what comes", Query: apiMaxQuery{}, Out: apiToday{}}),
		apiFor(office, read, "GET /api/month", s.apiMonth).says(apiDoc{ID: "getMonth", Summary: "What is due and booked on the days of a month", Query: apiMonthQuery{}, Out: apiMonth{}}),
		apiFor(office, read, "GET /api/find", s.apiSearch).says(apiDoc{ID: "find", Summary: "Customers, buildings, runs and people by any word", Query: apiSearchQuery{}, Out: apiHits{}}),
	}
}
