package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"ventdue/desk"
	"ventdue/vent"
)

// dayPage is a technician's day sheet, on a telephone or on paper.
type dayPage struct {
	page
	Who, Day   string
	Prev, Next string
	Stops      []dayStop
	Codes      bool // shown: it is the technician's own day
}

type dayStop struct {
	tripRow
	N       int
	Address string
	Geo     template.URL // RFC 5870
	Point   string
	Drive   string
	Access  []string
	Note    string
	Doors   []dayDoor
}

type dayDoor struct {
	Name, When, Who, State string
	What                   []string // what is due, and the first reason
	Runs                   []dayRun
}

type dayRun struct {
	Link, Name, Dryer, Last string
	Faults, Bring           []string
}

func (s *server) showDay(w http.ResponseWriter, r *http.Request, v visitor) error {
	technician, err := vent.ParseID(r.PathValue("technician"))
	if err != nil {
		return vent.ErrNotFound
	}
	on, err := vent.ParseDate(r.PathValue("date"))
	if err != nil {
		return vent.ErrNotFound
	}
	if err := ownOrOffice(v, technician); err != nil {
		return err
	}
	sheet, err := s.desk.DaySheet(s.by(v), technician, on, v.person)
	if err != nil {
		return err
	}
	p := dayPage{page: s.newPage(v, "visits"), Who: sheet.Technician.Name, Codes: v.person == technician && on == sheet.Today}
	p.Day = p.Date(on)
	p.Title = p.Say("page.day.title", "name", p.Who, "date", p.Day)
	path := func(d vent.Date) string { return s.root + "/days/" + d.String() + "/" + technician.String() }
	p.Prev, p.Next = path(on.AddDays(-1)), path(on.AddDays(1))
	for i, stop := range sheet.Stops {
		p.Stops = append(p.Stops, p.stop(i+1, stop))
	}
	return s.render(w, http.StatusOK, "day", p)
}

func (p *dayPage) stop(n int, x desk.SheetStop) dayStop {
	d := dayStop{tripRow: p.row(x.TripView), N: n, Address: x.Site.Address, Note: x.Visit.Note, Drive: p.Duration(x.Visit.Drive)}
	if x.Site.Lat != nil && x.Site.Lon != nil {
		// RFC 5870: the telephone asks its owner's own map. The figures beside it can be copied into any other.
		d.Geo = template.URL(fmt.Sprintf("geo:%.6f,%.6f", *x.Site.Lat, *x.Site.Lon))
		d.Point = fmt.Sprintf("%.5f, %.5f", *x.Site.Lat, *x.Site.Lon)
	}
	a := x.Site.Access
	for _, t := range []struct{ key, text string }{{"note", a.Note}, {"parking", a.Parking}, {"keys", a.Keys}, {"codes", a.Codes}} {
		if t.text != "" {
			d.Access = append(d.Access, p.Say("page.day.access."+t.key, "text", t.text))
		}
	}
	for _, t := range []struct {
		key string
		yes bool
	}{{"dog", a.Dog}, {"ladder", a.Ladder}, {"roof", a.Roof}} {
		if t.yes {
			d.Access = append(d.Access, p.Say("page.day.access."+t.key))
		}
	}
	for _, door := range x.Doors {
		d.Doors = append(d.Doors, p.door(door))
	}
	return d
}

func (p *dayPage) door(x desk.SheetDoor) dayDoor {
	d := dayDoor{Name: firstOf(x.Unit.Name, p.Say("page.visit.building")), When: p.Clock(x.Start), State: p.VisitState(x.State)}
	d.Who = strings.TrimSuffix(x.Occupant.Name+", "+x.Occupant.Phone, ", ")
	for _, due := range x.Dues {
		what := p.What(due.Due)
		if why := p.Reason(due.Due); len(why) > 0 {
			what += ". " + why[0] // the rest stands on the run's page
		}
		d.What = append(d.What, what)
	}
	f := figures{p.Words}
	for _, run := range x.Runs {
		r := dayRun{Link: p.Root + "/runs/" + run.Run.ID.String(), Name: run.Label(), Dryer: strings.TrimSpace(run.Dryer.Maker + " " + run.Dryer.Model)}
		if run.Dryer.Fuel != "" {
			r.Dryer = strings.TrimSpace(r.Dryer + " (" + p.Say("page.fuel."+string(run.Dryer.Fuel)) + ")")
		}
		if run.Last.Date != 0 {
			r.Last = p.Say("page.day.last", "date", p.Date(run.Last.Date), "outcome", p.Say("page.outcome."+string(run.Last.Outcome)))
			if run.Last.Note != "" {
				r.Last += " " + run.Last.Note
			}
		}
		for _, fault := range run.Faults {
			r.Faults = append(r.Faults, f.rule(fault.Rule))
			if do := p.FaultDo(fault.Rule); do != "" && !slices.Contains(r.Bring, do) {
				r.Bring = append(r.Bring, do)
			}
		}
		d.Runs = append(d.Runs, r)
	}
	return d
}
